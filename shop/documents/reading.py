"""A document as a person reads it: sections of named entries, figures with their unit, conditions in words."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final

from shop import units
from shop.documents.figures import Reader, figure, human, unit_of
from shop.documents.words import (
    Card,
    Cover,
    Cut,
    EdgeKind,
    Feature,
    Finish,
    Material,
    Meaning,
    Scope,
    Stage,
)

Body = Mapping[str, Any]
_HEAD: Final = ("kind", "name", "version", "title", "note")
_UNSAID: Final = ("source", "title", "text", "caution", "key", "code")


@dataclass(frozen=True)
class Entry:
    """One thing said: its name, the sentence, a caution, and quieter words behind it."""

    name: str
    text: str = ""
    more: tuple[str, ...] = ()
    caution: str = ""


@dataclass(frozen=True)
class Section:
    title: str
    entries: tuple[Entry, ...]


def sections(body: Body, reader: Reader) -> list[Section]:
    """The whole document but its head, in reading order."""
    special = {"plan": _plan, "roles": _roles, "body": _body}.get(str(body.get("kind")))
    if special is None:
        return _parts(body, reader, skip=())
    return special(body, reader)


def _is_text(value: Any) -> bool:
    return (
        isinstance(value, Mapping) and "en" in value and all(isinstance(part, str) for part in value.values())
    )


def _is_leaf(value: Any) -> bool:
    if isinstance(value, list):
        return not any(isinstance(part, Mapping) for part in value)
    return not isinstance(value, Mapping) or _is_text(value)


def _parts(body: Body, reader: Reader, skip: Iterable[str]) -> list[Section]:
    """Any table as it comes: what is said at the top first, then a section a part."""
    left = {key: value for key, value in body.items() if key not in (*_HEAD, *skip)}
    top = tuple(
        Entry(human(key), figure(value, unit_of(key), reader))
        for key, value in left.items()
        if _is_leaf(value)
    )
    found = [Section("In short", top)] if top else []
    return found + [
        Section(human(key), tuple(_entries(human(key), value, unit_of(key), reader)))
        for key, value in left.items()
        if not _is_leaf(value)
    ]


def _entries(name: str, value: Any, unit: str, reader: Reader) -> Iterable[Entry]:
    """A table and the tables in it, each an entry of its own."""
    if isinstance(value, list):
        for number, part in enumerate(value, start=1):
            yield from _entries(_name_of(part, str(number), reader), part, unit, reader)
        return
    said = {key: part for key, part in value.items() if _is_leaf(part) or key == "when"}
    if said:
        yield _entry(_name_of(said, name, reader), said, unit, reader)
    for key, part in value.items():
        if key not in said:
            yield from _entries(human(key), part, unit_of(key) or unit, reader)


def _name_of(part: Any, otherwise: str, reader: Reader) -> str:
    """A table's own title; in a list of texts the text itself stands for it."""
    if "title" in part:
        return reader.say(part["title"])
    return reader.say(part["text"]) if otherwise.isdigit() and "text" in part else otherwise


def _entry(name: str, part: Body, unit: str, reader: Reader) -> Entry:
    """One entry of a small table; its source stands behind it."""
    told = [
        _said(key, value, unit_of(key) or unit, reader)
        for key, value in part.items()
        if key not in _UNSAID and key != "when"
    ]
    told += [f"only {condition(part['when'], reader)}"] if "when" in part else []
    text = "; ".join(told).replace(f"; {_JOINED['good_to']}", f" {_JOINED['good_to']}")
    own = reader.say(part["text"]) if "text" in part and reader.say(part["text"]) != name else ""
    more = (str(part["source"]),) if "source" in part else ()
    text = " ".join(filter(None, (own, text[:1].upper() + text[1:])))
    return Entry(name, text, more, reader.say(part.get("caution", "")))


_JOINED: Final = {"cover": "under", "good_to": "to"}


def _said(key: str, value: Any, unit: str, reader: Reader) -> str:
    if key == "stage":
        return reader.word(Stage, str(value)).lower()
    told = figure(value, unit, reader)
    if key in ("cover", "good_to"):
        return f"{_JOINED[key]} {told}"
    return told if key == unit else f"{human(key).lower()} {told}"


# --- plan --------------------------------------------------------------------------------------------------


def _plan(body: Body, reader: Reader) -> list[Section]:
    found = [
        Section(
            reader.say(stage["title"]),
            (
                *(_line(line, reader) for line in body["lines"] if line["stage"] == stage["key"]),
                *([Entry("Nothing to do", reader.say(stage["none"]))] if "none" in stage else []),
            ),
        )
        for stage in body["stages"]
    ]
    signings = tuple(_signing(signing, reader) for signing in body["signings"])
    return [*found, Section("Signings", signings), *_parts(body, reader, ("stages", "lines", "signings"))]


def _signing(signing: Body, reader: Reader) -> Entry:
    """The sentence as it is signed; names of panels and people come in where the dots are."""
    told = " ".join(reader.say(signing[key]) for key in ("sentence", "others") if key in signing)
    names = ", ".join(reader.word(Stage, stage).lower() for stage in signing["stages"])
    by = {"named": "a named installer", "second": "somebody who did not do the work"}
    more = (f"signs {names}", f"by {by.get(signing['by'], human(signing['by']).lower())}")
    return Entry(reader.say(signing["title"]), re.sub(r"\{\w+\}", "…", told), more)


_ASKED: Final = {
    Scope.CAR: "asked once for the whole car",
    Scope.PANEL: "asked for each panel",
    Scope.PIECE: "asked for each piece",
    Scope.EDGE: "asked for each edge",
}
_CARDS: Final = {Card.BEFORE: "before wet hands", Card.AFTER: "after wet hands"}


def _line(line: Body, reader: Reader) -> Entry:
    more = [_ASKED[Scope(line["scope"])]]
    if line.get("fields"):
        more.append(
            f"to write down: {', '.join(reader.say(part['label']).lower() for part in line['fields'])}"
        )
    if "when" in line:
        more.append(f"only {condition(line['when'], reader)}")
    if line.get("card"):
        more.append(_CARDS[Card(line["card"])])
    if line.get("photo"):
        more.append("with a photo")
    if line.get("hold"):
        more.append(f"work stops until “{reader.word(Meaning, line['hold'])}” is signed")
    if line.get("second"):
        more.append("by somebody who did not do the work")
    if "source" in line:
        more.append(str(line["source"]))
    name, why = reader.say(line["text"]), reader.say(line.get("why", ""))
    return Entry(name, why, tuple(more), reader.say(line.get("caution", "")))


_PHRASES: Final[tuple[tuple[type[StrEnum], str], ...]] = (
    (Feature, "with {}"),
    (Material, "on {}"),
    (Cut, "with {} film"),
    (Cover, "for {} cover"),
    (Finish, "on {} edges"),
    (EdgeKind, "at a {}"),
)
_OWN_PHRASES: Final = {
    "opens": "where it opens",
    "large": "on large panels",
    "horizontal": "where it lies flat",
    "tight_curve": "on tight curves",
    "sharp_lip": "at a sharp lip",
    "primer": "where primer is named",
    "seam": "at a seam",
    "stripe": "for a stripe",
    "accent": "for an accent",
}


def condition(when: Any, reader: Reader) -> str:
    """When a line is asked.

    >>> condition({"all": ["large", {"not": "pre_cut"}]}, Reader())
    'on large panels and not with pre-cut film'
    """
    if isinstance(when, Mapping):
        if "not" in when:
            return f"not {condition(when['not'], reader)}"
        joined = next(iter(when))
        return {"all": " and ", "any": " or "}[joined].join(condition(part, reader) for part in when[joined])
    if when in _OWN_PHRASES:
        return _OWN_PHRASES[when]
    found = next(((kind, phrase) for kind, phrase in _PHRASES if when in set(kind)), None)
    return (
        found[1].format(reader.word(found[0], when).lower()) if found else f"for {human(str(when)).lower()}"
    )


# --- roles -------------------------------------------------------------------------------------------------

_HOW: Final = {
    "claimed": "a name picked on the tablet is enough",
    "signed_in": "signed in",
    "proven": "with PIN or password in the same act",
}


def _roles(body: Body, reader: Reader) -> list[Section]:
    names = {code: reader.say(role["title"]) for code, role in body["roles"].items()}
    verbs = tuple(
        Entry(
            human(verb),
            ", ".join(names.get(role, role) for role in rule["roles"]),
            (
                _HOW[rule["identity"]],
                *(["a named installer of the piece"] if rule.get("named") else []),
                *(["not who did the work"] if rule.get("second") else []),
            ),
        )
        for verb, rule in body["verbs"].items()
    )
    weights = {"stop": "Stops", "waivable": "Stops until waived", "note": "Is only said"}
    reasons = tuple(
        Entry(
            human(code),
            weights[rule["weight"]],
            (
                *(
                    [f"by {', '.join(names.get(role, role) for role in rule['waive'])}"]
                    if rule.get("waive")
                    else []
                ),
                *(["nobody may ever waive it"] if rule.get("never") else []),
            ),
        )
        for code, rule in body["reasons"].items()
    )
    return [Section("Who may do what", verbs), Section("What stands in the way", reasons)]


# --- body --------------------------------------------------------------------------------------------------


def _body(body: Body, reader: Reader) -> list[Section]:
    return [
        Section(
            reader.say(panel["title"]),
            (
                Entry("Panel", _panel(panel, reader)),
                *_mirrored(panel, reader),
                *(_edge(edge, reader) for edge in panel.get("edges", ())),
            ),
        )
        for panel in body["panels"]
    ]


def _mirrored(panel: Body, reader: Reader) -> list[Entry]:
    return [Entry(reader.say(panel["mirror"]["title"]), "The same, mirrored")] if "mirror" in panel else []


def _panel(panel: Body, reader: Reader) -> str:
    told = [reader.word(Material, panel["material"])] if "material" in panel else []
    told += [reader.word(Feature, feature).lower() for feature in panel.get("features", ())]
    return "; ".join(told)


def _edge(edge: Body, reader: Reader) -> Entry:
    told = reader.word(Finish, edge["finish"])
    if edge.get("return_mm"):
        told += f", return {units.format_mm(edge['return_mm'], reader.system)}"
    return Entry(reader.say(edge["title"]), told, ("primer",) if edge.get("primer") else ())
