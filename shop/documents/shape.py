"""The shape a document must have, part by part. A shape looks at one value and names each fault in a sentence.

Every function that makes a shape returns `(value, path) -> faults`; a path is `lines[3].text.en`.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from typing import Any

Faults = list[str]
Shape = Callable[[Any, str], Faults]

_LANGUAGE = re.compile(r"[a-z]{2,3}(-[A-Za-z0-9]{2,8})*")


def text(value: Any, path: str) -> Faults:
    if isinstance(value, str) and value.strip():
        return []
    return [f"{path}: should be a text, is {_said(value)}."]


def flag(value: Any, path: str) -> Faults:
    return [] if isinstance(value, bool) else [f"{path}: should be true or false, is {_said(value)}."]


def whole(least: int | None = None, most: int | None = None) -> Shape:
    """A whole number; true and false are none."""

    def look(value: Any, path: str) -> Faults:
        if not isinstance(value, int) or isinstance(value, bool):
            return [f"{path}: should be a whole number, is {_said(value)}."]
        if least is not None and value < least:
            return [f"{path}: {value} is less than {least}."]
        if most is not None and value > most:
            return [f"{path}: {value} is more than {most}."]
        return []

    return look


def one_of(words: Iterable[str]) -> Shape:
    known = list(words)

    def look(value: Any, path: str) -> Faults:
        if value in known:
            return []
        return [f"{path}: {_said(value)} is not one of {', '.join(word or '(empty)' for word in known)}."]

    return look


def matching(pattern: str, what: str) -> Shape:
    known = re.compile(pattern)

    def look(value: Any, path: str) -> Faults:
        if isinstance(value, str) and known.fullmatch(value):
            return []
        return [f"{path}: {_said(value)} is no {what}."]

    return look


def words(longest: int | None = None) -> Shape:
    """A language map: a text by language, English always among them."""

    def look(value: Any, path: str) -> Faults:
        if not isinstance(value, Mapping):
            return [f"{path}: should be a text for each language ({path}.en), is {_said(value)}."]
        faults = [] if "en" in value else [f"{path}: the English text ({path}.en) is missing."]
        for language, said in value.items():
            here = f"{path}.{language}"
            if not _LANGUAGE.fullmatch(language):
                faults.append(f"{here}: “{language}” is no language code.")
            faults += text(said, here)
            if longest and isinstance(said, str) and len(said) > longest:
                faults.append(f"{here}: {len(said)} characters, at most {longest} can be read a metre away.")
        return faults

    return look


def table(required: Mapping[str, Shape], optional: Mapping[str, Shape] | None = None) -> Shape:
    """A table with exactly these keys; a key nobody reads is a misspelt one."""
    known = {**required, **(optional or {})}

    def look(value: Any, path: str) -> Faults:
        if not isinstance(value, Mapping):
            return [f"{path or 'The document'}: should be a table, is {_said(value)}."]
        faults = [f"{_join(path, key)}: is missing." for key in required if key not in value]
        for key, part in value.items():
            if key in known:
                faults += known[key](part, _join(path, key))
            else:
                faults.append(f"{_join(path, key)}: is unknown here; perhaps it is misspelt.")
        return faults

    return look


def table_of(key: Shape, part: Shape) -> Shape:
    """A table with free keys."""

    def look(value: Any, path: str) -> Faults:
        if not isinstance(value, Mapping):
            return [f"{path}: should be a table, is {_said(value)}."]
        return [
            fault
            for name, inner in value.items()
            for fault in (*key(name, _join(path, name)), *part(inner, _join(path, name)))
        ]

    return look


def list_of(part: Shape, least: int = 0) -> Shape:
    def look(value: Any, path: str) -> Faults:
        if not isinstance(value, list | tuple):
            return [f"{path}: should be a list, is {_said(value)}."]
        if len(value) < least:
            return [f"{path}: needs at least {least} of them, has {len(value)}."]
        return [fault for n, inner in enumerate(value) for fault in part(inner, f"{path}[{n}]")]

    return look


def twice(entries: Iterable[Any], key: str, path: str) -> Faults:
    """Entries that share what must be their own."""
    seen: set[str] = set()
    faults = []
    for n, entry in enumerate(entries):
        name = entry.get(key) if isinstance(entry, Mapping) else None
        if isinstance(name, str) and name in seen:
            faults.append(f"{path}[{n}].{key}: “{name}” is there twice.")
        seen |= {name} if isinstance(name, str) else set()
    return faults


def floats(value: Any, path: str) -> Faults:
    """Documents are fingerprinted, and a broken number is not written the same everywhere."""
    if isinstance(value, float):
        return [f"{path}: {value!r} is a broken number; use a whole one in a smaller unit."]
    if isinstance(value, Mapping):
        return [fault for key, part in value.items() for fault in floats(part, _join(path, str(key)))]
    if isinstance(value, list | tuple):
        return [fault for n, part in enumerate(value) for fault in floats(part, f"{path}[{n}]")]
    return []


def _join(path: str, key: str) -> str:
    return f"{path}.{key}" if path else key


def _said(value: Any) -> str:
    if isinstance(value, str):
        return f"“{value}”"
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list | tuple):
        return "a list"
    return str(value).lower() if isinstance(value, bool) else str(value)
