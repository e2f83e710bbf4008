"""What sentences about the record book are made of: what was told, and what things are called."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

Body = Mapping[str, Any]


@dataclass(frozen=True)
class Change:
    """One thing that changed. `before` is empty where there was nothing, or where it is not known."""

    name: str
    before: str
    after: str


@dataclass(frozen=True)
class Told:
    """What one entry says: a sentence without a full stop, the reason given, what was remarked beside it, and what
    changed from what to what."""

    what: str
    reason: str = ""
    changes: tuple[Change, ...] = ()
    note: str = ""

    @property
    def sentence(self) -> str:
        return f"{self.what}: {self.reason.rstrip('.')}." if self.reason else f"{self.what}."


class Names:
    """What things are called, for a reader who knows nothing. Readers who know more say more.

    `past` is what the book said before of the same thing, for entries that hold only what is new.
    """

    past: Body = {}

    def place(self, place: str) -> str:
        """`hood.1`, or `hood` alone."""
        code, _, piece = place.partition(".")
        name = code.replace("-", " ").capitalize()
        return name if piece in ("", "1") else f"{name}, piece {piece}"

    def places(self, places: Sequence[str]) -> str:
        return listed(list(dict.fromkeys(map(self.place, places))))

    def edge(self, place: str, edge: str) -> str:
        return edge.replace("-", " ")

    def line(self, key: str) -> str:
        return key

    def of_plan(self, kind: str, code: str) -> str:
        """A word of the plan, in small letters: `kind` is defects, causes, dispositions, stages or signings."""
        return code.replace("_", " ")

    def person(self, pk: int) -> str:
        return f"person {pk}"

    def value(self, reference: Body | None) -> str:
        """A value about a person, which the book holds by reference only."""
        return "a value kept apart" if reference else ""

    def tablet(self, pk: int) -> str:
        return f"tablet {pk}"

    def measured(self, values: Body) -> str:
        return ", ".join(f"{name.replace('_', ' ')} {value}" for name, value in values.items())


Sentence = Callable[[Body, Names], Told]


def listed(words: Sequence[str]) -> str:
    """
    >>> listed(["hood"]), listed(["hood", "roof", "left mirror"])
    ('hood', 'hood, roof and left mirror')
    """
    return f"{', '.join(words[:-1])} and {words[-1]}" if len(words) > 1 else "".join(words)


def moment(text: str | None) -> str:
    """
    >>> moment("2026-11-26T09:00:00.000Z"), moment(None)
    ('2026-11-26 09:00 UTC', '')
    """
    return f"{text[:16].replace('T', ' ')} UTC" if text else ""


def changes(names: Names, *given: tuple[str, Any, Any]) -> tuple[Change, ...]:
    """(name, before, after) as they are shown, where they differ."""
    said = ((name, _shown(before, names), _shown(after, names)) for name, before, after in given)
    return tuple(Change(name, before, after) for name, before, after in said if before != after)


def _shown(value: Any, names: Names) -> str:
    if value is None or value == "":
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return names.value(value) if set(value) == {"private", "commit"} else names.measured(value)
    if isinstance(value, list | tuple):
        return ", ".join(_shown(one, names) for one in value)
    return str(value)
