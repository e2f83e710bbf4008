"""What the book said before: for entries that hold only what is new, so that a change reads from what to what."""

import json
from collections.abc import Callable, Mapping, Sequence
from functools import reduce
from operator import or_
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Q

from shop.keep.names import CarNames, ShopNames, references
from shop.record.models import Book, Entry
from shop.record.words_car import ANSWERS
from shop.work.models.proof import OutcomeOn

Past = dict[int, Mapping[str, Any]]
SETTINGS = ("set_up", "change_settings")
PEOPLE = ("set_up", "add_person", "change_person")
CUSTOMERS = ("take_in", "expect_car", "change_customer", "transfer_cover")
CARS = ("take_in", "change_vehicle")


def pasts(book: Book, entries: Sequence[Entry], names: CarNames | ShopNames) -> Past:
    """For each entry, by its id, how things stood before it; entries that need none are left out."""
    if isinstance(names, CarNames):
        return _answers_before(entries, names)
    found: Past = {}
    found |= _folded(entries, "change_settings", _of_book(book, SETTINGS), _settings)
    found |= _folded(entries, "change_person", _of_book(book, PEOPLE), _person)
    found |= _folded(entries, "change_customer", _about(book, CUSTOMERS, "customer"), _customer)
    found |= _folded(entries, "change_vehicle", _about(book, CARS, "vehicle"), _car)
    if names.looked.may_see:
        names.looked.look_up(references(json.dumps(past) for past in found.values()))
    return found


def _answers_before(entries: Sequence[Entry], names: CarNames) -> Past:
    """The answers that these took the place of."""
    answers = [entry.pk for entry in entries if entry.verb == "answer"]
    if not answers:
        return {}
    rows = OutcomeOn.objects.filter(replaced_by__entry__in=answers).select_related(
        "outcome__person", "replaced_by"
    )
    zone = ZoneInfo(entries[0].book.workshop.zone)
    found: dict[int, list[str]] = {}
    for row in rows.order_by("pk"):
        said = _answer_said(row.outcome, names, zone)
        there = found.setdefault(row.replaced_by.entry_id, [])
        if said not in there:
            there.append(said)
    return {pk: {"said": "; ".join(said)} for pk, said in found.items()}


def _answer_said(outcome, names: CarNames, zone: ZoneInfo) -> str:
    said = ANSWERS.get(outcome.answer, outcome.answer)
    value = f", {names.measured(outcome.value)}" if outcome.value else ""
    reason = f" ({outcome.reason})" if outcome.reason else ""
    return f"{said}{reason}{value}, by {outcome.person.name} at {outcome.at.astimezone(zone):%H:%M}"


Rows = Callable[[list[dict[str, Any]]], list[tuple[int, str, dict[str, Any]]]]
Fold = Callable[[str, dict[str, Any], dict[str, Any]], Mapping[str, Any] | None]


def _folded(entries: Sequence[Entry], verb: str, rows: Rows, fold: Fold) -> Past:
    """Replay what was entered before each entry of this verb. `fold` gives what an older one says of the same."""
    wanted = {entry.pk: json.loads(entry.body) for entry in entries if entry.verb == verb}
    if not wanted:
        return {}
    history = rows(list(wanted.values()))
    found: Past = {}
    for pk, body in wanted.items():
        state: dict[str, Any] = {}
        for older, other, told in history:
            if older < pk:
                state |= fold(other, told, body) or {}
        found[pk] = state
    return found


def _of_book(book: Book, verbs: Sequence[str]) -> Rows:
    def rows(_: list[dict[str, Any]]):
        return _read(Entry.objects.filter(book=book, verb__in=verbs))

    return rows


def _about(book: Book, verbs: Sequence[str], kind: str) -> Rows:
    """Entries of any book of the workshop that name one of these customers or cars, found by their canonical text."""

    def rows(bodies: list[dict[str, Any]]):
        numbers = {body[kind][kind] for body in bodies}
        texts = [f'"{kind}":{number}{end}' for number in sorted(numbers) for end in (",", "}")]
        naming = reduce(or_, (Q(body__contains=text) for text in texts))
        return _read(Entry.objects.filter(naming, book__workshop=book.workshop_id, verb__in=verbs))

    return rows


def _read(rows) -> list[tuple[int, str, dict[str, Any]]]:
    return [
        (pk, verb, json.loads(body))
        for pk, verb, body in rows.order_by("pk").values_list("pk", "verb", "body")
    ]


def _settings(verb: str, told: dict[str, Any], _: dict[str, Any]) -> Mapping[str, Any]:
    return {name: value for name, value in told.items() if name != "owner"}


def _person(verb: str, told: dict[str, Any], body: dict[str, Any]) -> Mapping[str, Any] | None:
    if verb == "set_up":
        return (
            {"roles": ["owner"], "name": told["owner"]["name"]}
            if told["owner"]["id"] == body["person"]
            else None
        )
    if verb == "add_person":
        same = told["person"]["id"] == body["person"]
        return {"roles": told["roles"], "name": told["person"]["name"]} if same else None
    return told if told["person"] == body["person"] else None


def _customer(verb: str, told: dict[str, Any], body: dict[str, Any]) -> Mapping[str, Any] | None:
    found = told.get("owner") if verb == "transfer_cover" else told.get("customer")
    return found if found and found["customer"] == body["customer"]["customer"] else None


def _car(verb: str, told: dict[str, Any], body: dict[str, Any]) -> Mapping[str, Any] | None:
    found = told.get("vehicle")
    return found if isinstance(found, dict) and found["vehicle"] == body["vehicle"]["vehicle"] else None
