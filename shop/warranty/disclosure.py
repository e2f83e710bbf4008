"""What terms have to say before a certificate may be issued, by place.

Everywhere: who, what, how long, from when, where, how to claim, who pays, transfer, rights by law.
United States: 16 CFR 701.3 (a), 701.4, 700.7, 700.10; 15 USC 2303, 2304. United Kingdom: Consumer Rights Act 2015
s.30. European Union: Directive (EU) 2019/771 Art. 17. Presence is checked, not whether the wording is good law.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import islice
from typing import Any, Final

from shop.reasons import Reason
from shop.warranty.coverage import EVENT_DAY_EXCLUDED, FIRST_DAY_COUNTED
from shop.warranty.tying import ties

LEGAL_NOTE: Final = (
    "These checks follow published rules and are no legal advice. Have the wording read by somebody qualified "
    "where it is used."
)
Terms = Mapping[str, Any]

# Prescribed words, 16 CFR 701.3 (a)(7) to (9).
IMPLIED: Final = (
    "Some States do not allow limitations on how long an implied warranty lasts, so the above limitation may "
    "not apply to you."
)
DAMAGES: Final = (
    "Some States do not allow the exclusion or limitation of incidental or consequential damages, so the above "
    "limitation or exclusion may not apply to you."
)
RIGHTS: Final = (
    "This warranty gives you specific legal rights, and you may also have other rights which vary from State to "
    "State."
)
_MEMBERS: Final = "AT BE BG CY CZ DE DK EE ES FI FR GR HR HU IE IT LT LU LV MT NL PL PT RO SE SI SK"
_EU: Final = frozenset(_MEMBERS.split())
_SECTIONS: Final = ("entitled", "starts", "ends", "again", "territory", "transfer", "recheck", "statutory")
_NEEDED: Final = (
    ("heading", "what this paper is called"),
    ("starts", "when the cover starts"),
    ("territory", "where the cover holds"),
    ("remedy", "what is done when something is wrong"),
    ("remedy.pays", "who pays for it"),
    ("transfer", "what happens when the car is sold"),
    ("statutory", "that rights by law are not affected"),
)
_LISTS: Final = (
    ("covered", "what is covered"),
    ("excluded", "what is not covered"),
    ("claim.steps", "how to claim, step by step"),
)


@dataclass(frozen=True)
class Point:
    """A section of the paper: its title and its paragraphs."""

    key: str
    title: str
    texts: tuple[str, ...]


def place_of(country: str) -> str:
    """us, gb, eu, or nothing where only the common list is asked.

    >>> place_of("de"), place_of("GB"), place_of("NZ")
    ('eu', 'gb', '')
    """
    country = country.upper()
    return "eu" if country in _EU else {"US": "us", "GB": "gb"}.get(country, "")


def missing(terms: Terms, *, country: str, language: str) -> list[Reason]:
    """Every gap in the terms for a workshop in that country and a paper in that language, as `terms_incomplete`."""
    found = [*_common(terms, language)]
    match place_of(country):
        case "us":
            found += _us(terms, language)
        case "gb":
            found += _gb(terms, language)
        case "eu":
            found += _need(
                terms, "place.eu.seller", "that remedies from the seller stay free of charge", language
            )
    return found


def missing_on_paper(*, guarantor: str, address: str, goods: int, handed_over: bool) -> list[Reason]:
    """What the paper itself must name besides the terms; `goods` counts the panels designated on it."""
    return [
        _gap(path, sentence)
        for there, path, sentence in (
            (guarantor.strip(), "guarantor", "The paper does not name who gives the warranty."),
            (
                address.strip(),
                "address",
                "The workshop's postal address is missing: type it in the letterhead.",
            ),
            (goods, "goods", "The paper names no panel."),
            (handed_over, "handed_over", "The day of hand-over is missing."),
        )
        if not there
    ]


def points(terms: Terms, *, country: str, language: str) -> list[Point]:
    """The titled sections to print, those the place asks for last. Prescribed words stay in English."""
    keys = list(_SECTIONS) + [f"place.{place_of(country)}.{name}" for name in _place_sections(terms, country)]
    found = []
    for key in keys:
        spoken = "en" if key.startswith("place.us.") else language
        text = said(terms, key, spoken)
        if text:
            found.append(Point(key, said(terms, key, spoken, "title"), (text,)))
    return found


def said(terms: Terms, path: str, language: str, name: str = "text") -> str:
    """The text of a section in that language, or nothing: another language on a paper is a gap, not a help."""
    section = _at(terms, path)
    words = section.get(name) if isinstance(section, Mapping) else None
    text = words.get(language) if isinstance(words, Mapping) else None
    return text.strip() if isinstance(text, str) else ""


def _common(terms: Terms, language: str) -> Iterator[Reason]:
    for path, what in _NEEDED:
        yield from _need(terms, path, what, language)
    for path, what in _LISTS:
        rows = _at(terms, path)
        rows = rows if isinstance(rows, list | tuple) else []
        if not rows:
            yield _gap(path, f"The terms do not say {what}.")
        # One entry without words stands for all of them: a whole list lacks a language as a rule.
        gaps = (gap for n in range(len(rows)) for gap in _need(terms, f"{path}.{n}", what, language))
        yield from islice(gaps, 1)
    for path in ("cover.material.months", "cover.workmanship.months", "cover.touch_up.days"):
        length = _at(terms, path)
        if not isinstance(length, int) or isinstance(length, bool) or length < 1:
            yield _gap(path, f"The terms do not say how long the cover lasts ({path}).")
    if terms.get("counting") not in (EVENT_DAY_EXCLUDED, FIRST_DAY_COUNTED):
        yield _gap("counting", "The terms do not say how the last day is counted.")
    if _at(terms, "transfer.rule") not in ("never", "once", "always"):
        yield _gap(
            "transfer.rule", "The terms do not say if the cover goes with the car: never, once or always."
        )


def _us(terms: Terms, language: str) -> Iterator[Reason]:
    yield from _need(terms, "entitled", "who is covered", language)
    yield from _us_title(terms)
    for flag in ("implied_limited", "damages_limited"):
        if not isinstance(_at(terms, f"place.us.{flag}"), bool):
            yield _gap(f"place.us.{flag}", f"The terms do not say yes or no to {flag.replace('_', ' ')}.")
    for name, sentence, applies in (
        ("rights", RIGHTS, True),
        ("implied", IMPLIED, _at(terms, "place.us.implied_limited") is True),
        ("damages", DAMAGES, _at(terms, "place.us.damages_limited") is True),
    ):
        path = f"place.us.{name}"
        if applies and _even(sentence) not in _even(said(terms, path, "en")):
            yield _gap(path, f"The prescribed sentence is missing or changed (16 CFR 701.3): “{sentence}”")
    yield from _us_extras(terms)
    for path, text in _texts(terms, ""):
        for sentence in ties(text):
            yield _gap(path, f"Cover must not depend on a brand or a service (16 CFR 700.10): “{sentence}”")


def _us_title(terms: Terms) -> Iterator[Reason]:
    heading = _even(said(terms, "heading", "en"))
    match terms.get("designation"):
        case "limited":
            if "limited warranty" not in heading:
                yield _gap("heading", "The heading must say “Limited warranty” (15 USC 2303).")
        case "full":
            if not re.search(r"\bfull\b.*\b(?:day|month|year)s?\b.*\bwarranty\b", heading):
                yield _gap("heading", "The heading must say “Full … warranty” with its length (15 USC 2303).")
            yield from _full(terms)
        case _:
            yield _gap(
                "designation", "The terms do not say if this is a limited or a full warranty (15 USC 2303)."
            )


def _full(terms: Terms) -> Iterator[Reason]:
    """What a full warranty may not do: 15 USC 2304, 16 CFR 700.7."""
    for path, kept, what in (
        ("remedy.free", True, "the remedy costs the owner something"),
        ("remedy.refund", True, "nothing is paid back after a reasonable number of attempts"),
        ("pro_rata", False, "the remedy shrinks with age"),
        ("place.us.implied_limited", False, "implied warranties are limited"),
    ):
        if _at(terms, path) is not kept:
            yield _gap(path, f"A full warranty cannot be given when {what}: call it limited (15 USC 2304).")
    if _at(terms, "transfer.rule") != "always":
        yield _gap("transfer.rule", "A full warranty covers every owner in its time: call it limited.")
    if _at(terms, "place.us.owner_card") == "condition":
        yield _gap("place.us.owner_card", "A full warranty may not depend on a returned card (16 CFR 700.7).")


def _us_extras(terms: Terms) -> Iterator[Reason]:
    card, dispute = _at(terms, "place.us.owner_card"), _at(terms, "place.us.dispute")
    if card not in ("none", "suggested", "condition"):
        yield _gap(
            "place.us.owner_card", "The terms do not say if an owner card is none, suggested or condition."
        )
    elif card != "none":
        yield from _need(terms, "place.us.card", "what returning the owner card means (16 CFR 701.4)", "en")
    if isinstance(dispute, Mapping) or dispute not in ("none", "informal"):
        yield _gap(
            "place.us.dispute", "The terms do not say if disputes are settled informally: none or informal."
        )
    elif dispute == "informal":
        yield from _need(terms, "place.us.settlement", "how disputes are settled (16 CFR 701.3 (a)(6))", "en")


def _gb(terms: Terms, language: str) -> Iterator[Reason]:
    if language.split("-")[0].lower() != "en":
        yield _gap("language", "A guarantee offered in the United Kingdom is in English: choose English.")
    if _at(terms, "place.gb.extra_charge") is not False:
        yield _gap(
            "place.gb.extra_charge", "The terms do not say that the warranty is given without extra charge."
        )
    yield from _need(terms, "place.gb.request", "that it is given in writing on request", language)


def _place_sections(terms: Terms, country: str) -> list[str]:
    match place_of(country):
        case "us":
            us = _at(terms, "place.us")
            us = us if isinstance(us, Mapping) else {}
            return [
                "rights",
                *(["implied"] if us.get("implied_limited") is True else []),
                *(["damages"] if us.get("damages_limited") is True else []),
                *(["settlement"] if us.get("dispute") == "informal" else []),
                *(["card"] if us.get("owner_card") in ("suggested", "condition") else []),
            ]
        case "gb":
            return ["request"]
        case "eu":
            return ["seller"]
    return []


def _need(terms: Terms, path: str, what: str, language: str) -> Iterator[Reason]:
    if said(terms, path, language):
        return
    if said(terms, path, "en"):
        yield _gap(path, f"The terms do not say {what} in the language of the paper ({language}).")
    else:
        yield _gap(path, f"The terms do not say {what}.")


def _gap(path: str, sentence: str) -> Reason:
    return Reason("terms_incomplete", sentence, where=f"#{path}")


def _at(terms: Any, path: str) -> Any:
    """What stands at a dotted path, numbers being places in a list; None where there is nothing."""
    found = terms
    for step in path.split("."):
        if isinstance(found, Mapping):
            found = found.get(step)
        elif isinstance(found, list | tuple) and step.isdigit() and int(step) < len(found):
            found = found[int(step)]
        else:
            return None
    return found


def _texts(value: Any, path: str) -> Iterator[tuple[str, str]]:
    """Every English text anywhere in the terms, with its path."""
    if isinstance(value, Mapping):
        for key, inner in value.items():
            here = f"{path}.{key}" if path else str(key)
            if key == "text" and isinstance(inner, Mapping) and isinstance(inner.get("en"), str):
                yield path, inner["en"]
            else:
                yield from _texts(inner, here)
    elif isinstance(value, list | tuple):
        for n, inner in enumerate(value):
            yield from _texts(inner, f"{path}.{n}")


def _even(text: str) -> str:
    return " ".join(text.lower().split())
