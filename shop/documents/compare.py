"""What changed between two versions of a document, in words an owner can read before publishing."""

from collections.abc import Mapping, Sequence
from typing import Any

NAMES = ("key", "code", "meaning", "name", "after", "from_c100")
"""What tells the entries of a list apart, the first that they all have."""


def differences(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[str]:
    """One sentence for each difference, in the order of the older version; additions come last.

    Entries of a list are matched by their key or code, so that a moved line is not called a new one.
    """
    return _tables(old, new, "")


def _any(old: Any, new: Any, path: str) -> list[str]:
    if isinstance(old, Mapping) and isinstance(new, Mapping):
        return _tables(old, new, path)
    if isinstance(old, list | tuple) and isinstance(new, list | tuple):
        name = _name(old, new)
        return _named(old, new, path, name) if name else _plain(old, new, path)
    return [] if _same(old, new) else [f"{path}: was {_said(old)}, now {_said(new)}."]


def _same(old: Any, new: Any) -> bool:
    # True equals 1 in Python, and a rule that went from 1 to true did change.
    return type(old) is type(new) and bool(old == new)


def _tables(old: Mapping[str, Any], new: Mapping[str, Any], path: str) -> list[str]:
    found: list[str] = []
    for key, value in old.items():
        here = f"{path}.{key}" if path else key
        found += _any(value, new[key], here) if key in new else [f"{here}: taken out, was {_said(value)}."]
    for key, value in new.items():
        if key not in old:
            found.append(
                f"{path}.{key}: added, {_said(value)}." if path else f"{key}: added, {_said(value)}."
            )
    return found


def _name(old: Sequence[Any], new: Sequence[Any]) -> str:
    entries = [*old, *new]
    if not entries or not all(isinstance(entry, Mapping) for entry in entries):
        return ""
    for name in NAMES:
        if all(name in entry for entry in entries) and _tells_apart(old, name) and _tells_apart(new, name):
            return name
    return ""


def _tells_apart(entries: Sequence[Mapping[str, Any]], name: str) -> bool:
    return len({str(entry[name]) for entry in entries}) == len(entries)


def _named(old: Sequence[Any], new: Sequence[Any], path: str, name: str) -> list[str]:
    before = {str(entry[name]): entry for entry in old}
    after = {str(entry[name]): entry for entry in new}
    found: list[str] = []
    for key, entry in before.items():
        here = f"{path} “{key}”"
        found += _tables(entry, after[key], here) if key in after else [f"{here}: taken out."]
    found += [f"{path} “{key}”: added." for key in after if key not in before]
    kept_before = [key for key in before if key in after]
    kept_after = [key for key in after if key in before]
    if kept_before != kept_after:
        found.append(f"{path}: in another order.")
    return found


def _plain(old: Sequence[Any], new: Sequence[Any], path: str) -> list[str]:
    if len(old) == len(new) and not any(
        _any(before, after, path) for before, after in zip(old, new, strict=True)
    ):
        return []
    return [f"{path}: was {_said(old)}, now {_said(new)}."]


def _said(value: Any) -> str:
    if isinstance(value, str):
        return f"“{value}”"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {_said(part)}" for key, part in value.items()) or "nothing"
    if isinstance(value, list | tuple):
        return ", ".join(_said(part) for part in value) or "nothing"
    return str(value)
