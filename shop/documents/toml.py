"""Documents as text an owner can edit: TOML read with every fault in a sentence, TOML written, and where a path
stands in a text.

A path is written as the faults of a document write it: `lines[3].text.en`.
"""

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import Any, Final

MOST_SIGNS: Final = 300_000
MOST_WHOLE: Final = 2**53 - 1
"""Beyond it a number is not written the same everywhere (RFC 8785)."""
_BARE: Final = re.compile(r"[A-Za-z0-9_-]+")
_INLINE_MOST: Final = 88
_AT: Final = re.compile(
    r"^(?P<what>.*?)\s*\(at (?:line (?P<line>\d+), column (?P<column>\d+)|end of document)\)$"
)


@dataclass(frozen=True)
class Fault:
    """One thing wrong, and the line of the text it stands on; 0 where no line is to blame."""

    text: str
    line: int = 0


@dataclass(frozen=True)
class Parsed:
    """What a text holds. With faults the body is empty: half a document is none."""

    body: dict[str, Any] = field(default_factory=dict)
    faults: tuple[Fault, ...] = ()


def parsed(text: str) -> Parsed:
    """The table a text holds, or why it holds none. Values no document may have are faults here already."""
    if len(text) > MOST_SIGNS:
        return Parsed(faults=(Fault(f"The text is too long: {len(text)} signs, at most {MOST_SIGNS} fit."),))
    try:
        body = tomllib.loads(text.replace("\r\n", "\n"))
    except tomllib.TOMLDecodeError as fault:
        return Parsed(faults=(_unreadable(str(fault)),))
    except (RecursionError, ValueError):
        return Parsed(
            faults=(Fault("The text cannot be read: its brackets do not close, or a number is too long."),)
        )
    odd = tuple(Fault(sentence, line_of(text, path)) for path, sentence in _odd(body, ""))
    return Parsed(faults=odd) if odd else Parsed(body)


def _unreadable(said: str) -> Fault:
    found = _AT.match(said)
    what = (found["what"] if found else said).rstrip(".")
    line = int(found["line"]) if found and found["line"] else 0
    where = f"Line {line} cannot be read" if line else "The end of the text cannot be read"
    return Fault(
        f"{where}: {what[:1].lower()}{what[1:]}. A text stands in quotes, a list in square brackets.", line
    )


def _odd(value: Any, path: str) -> Iterator[tuple[str, str]]:
    if isinstance(value, date | datetime | time):
        yield path, f"{path}: a day or time is written as a text here, in quotes."
    elif isinstance(value, int) and abs(value) > MOST_WHOLE:
        yield path, f"{path}: {value} is more than can be written the same everywhere."
    elif isinstance(value, float):
        yield path, f"{path}: {value!r} is a broken number; use a whole one in a smaller unit."
    elif isinstance(value, Mapping):
        for key, part in value.items():
            yield from _odd(part, f"{path}.{key}" if path else key)
    elif isinstance(value, list):
        for n, part in enumerate(value):
            yield from _odd(part, f"{path}[{n}]")


# --- writing -----------------------------------------------------------------------------------------------


def written(body: Mapping[str, Any]) -> str:
    """The body as TOML that reads back as the same body: tables under their headings, texts by language dotted.

    >>> print(written({"kind": "film", "title": {"en": "Ours"}, "stale": {"minutes": 30}}), end="")
    kind = "film"
    title.en = "Ours"
    <BLANKLINE>
    [stale]
    minutes = 30
    """
    return "\n".join(_table(body, ())).strip("\n") + "\n"


def _table(body: Mapping[str, Any], path: tuple[str, ...]) -> Iterator[str]:
    later = []
    for key, value in body.items():
        if _is_tables(value) or (isinstance(value, Mapping) and not _fits(key, value)):
            later.append((key, value))
        elif isinstance(value, Mapping) and _is_language_map(value):
            yield from (f"{_key(key)}.{_key(code)} = {_value(text)}" for code, text in value.items())
        else:
            yield f"{_key(key)} = {_value(value)}"
    for key, value in later:
        here = (*path, key)
        name = ".".join(map(_key, here))
        for part in [value] if isinstance(value, Mapping) else value:
            yield ""
            yield f"[{name}]" if isinstance(value, Mapping) else f"[[{name}]]"
            yield from _table(part, here)


def _is_tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(part, Mapping) for part in value)


def _is_language_map(value: Mapping[str, Any]) -> bool:
    return "en" in value and all(isinstance(part, str) for part in value.values())


def _fits(key: str, value: Mapping[str, Any]) -> bool:
    """Whether a table stands on the line of its key: texts by language, and conditions."""
    return _is_language_map(value) or (key == "when" and len(_value(value)) <= _INLINE_MOST)


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else _text(key)


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, int):
        return str(value)
    if isinstance(value, Mapping):
        inner = ", ".join(f"{_key(key)} = {_value(part)}" for key, part in value.items())
        return f"{{ {inner} }}" if inner else "{}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(_value, value))}]"
    raise TypeError(f"{value!r} does not stand in a document.")


_ESCAPED: Final = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t", "\r": "\\r", "\b": "\\b", "\f": "\\f"}


def _text(value: str) -> str:
    signs = (
        _ESCAPED.get(sign) or (f"\\u{ord(sign):04X}" if ord(sign) < 0x20 or ord(sign) == 0x7F else sign)
        for sign in value
    )
    return f'"{"".join(signs)}"'


# --- where a path stands -----------------------------------------------------------------------------------

_HEADING: Final = re.compile(r"^\s*(\[\[?)\s*(.+?)\s*\]\]?\s*(?:#.*)?$")
_KEYED: Final = re.compile(
    r"""^\s*((?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*'))*)\s*="""
)
_PART: Final = re.compile(r"""[A-Za-z0-9_-]+|"[^"]*"|'[^']*'""")


def line_of(text: str, path: str) -> int:
    """The line a path stands on, or that of the nearest table around it; 0 where nothing of it is there."""
    return Lines(text).of(path)


class Lines:
    """Where everything stands in one text. It need not be whole: what is not understood is passed over."""

    def __init__(self, text: str) -> None:
        self.at: dict[str, int] = {}
        counts: dict[str, int] = {}
        table = ""
        for number, line in enumerate(text.splitlines(), start=1):
            heading, keyed = _HEADING.match(line), _KEYED.match(line)
            if heading:
                table = _resolved(heading[2], heading[1] == "[[", counts)
                self.at.setdefault(table, number)
            elif keyed:
                self._note(table, [part.strip("\"'") for part in _PART.findall(keyed[1])], number)

    def of(self, path: str) -> int:
        while path:
            if path in self.at:
                return self.at[path]
            path = path[: max(path.rfind("."), path.rfind("["), 0)]
        return 0

    def _note(self, table: str, keys: list[str], number: int) -> None:
        path = table
        for key in keys:
            path = f"{path}.{key}" if path else key
            self.at.setdefault(path, number)


def _resolved(name: str, one_of_many: bool, counts: dict[str, int]) -> str:
    """`lines.fields` with the number of the last line, and its own number where it is one of many."""
    parts = [part.strip("\"'") for part in _PART.findall(name)]
    path = ""
    for n, part in enumerate(parts):
        path = f"{path}.{part}" if path else part
        last = n == len(parts) - 1
        if last and one_of_many:
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path = f"{path}[{counts[path]}]"
    return path
