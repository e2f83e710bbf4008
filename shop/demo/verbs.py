"""Every verb of the shop by name, with what it takes: read off the functions, so that no list can disagree."""

import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from types import NoneType, UnionType
from typing import Any, Union, get_args, get_origin

from django.db.models import Model

from shop.documents import actions as documents
from shop.documents import built_in
from shop.film import actions as film
from shop.intake import actions as intake
from shop.people import actions as people
from shop.warranty import actions as warranty
from shop.work import actions as work
from shop.work import setout
from shop.work.pieces import PieceSet

# What whoever calls a verb knows already: who, when, where. An upload belongs to the tablet's own way in.
GIVEN = {"by", "now", "workshop", "happened_at", "device_at", "sure", "upload"}
PLAIN = {int: "int", str: "str", bool: "bool", date: "date", datetime: "moment", dict: "table"}
ENDINGS = {"_km": "int", "_mil": "int", "_mm": "int", "_on": "date", "_at": "moment"}
UNTYPED = ("job", "customer", "vehicle", "mark", "paint_note", "photo")
# The least a line may leave out although the function asks for it.
MAY_BE_EMPTY = {"answer": ("panels", "edges"), "set_out": ("pieces",), "note": ("panels",)}


@dataclass(frozen=True)
class Arg:
    """One argument: `type` is a plain word, a kind of row, or list, and then `of` says of what."""

    name: str
    type: str
    required: bool
    of: str = ""


@dataclass(frozen=True)
class Verb:
    """`rule` is the verb of the roles document that says who may do it."""

    name: str
    act: Callable[..., Any]
    rule: str

    def identity(self) -> str:
        """claimed, signed_in or proven; none where nobody can be known yet."""
        if "by" not in self.asks():
            return "none"
        return str(built_in.roles()["verbs"][self.rule]["identity"])

    def asks(self) -> Mapping[str, inspect.Parameter]:
        return inspect.signature(self.act).parameters

    def may_be_empty(self) -> tuple[str, ...]:
        return MAY_BE_EMPTY.get(self.name, ())

    def args(self) -> list[Arg]:
        found: list[Arg] = []
        for parameter in self.asks().values():
            if parameter.kind is inspect.Parameter.VAR_KEYWORD:
                found += _of_a_piece()
            elif parameter.name not in GIVEN:
                found.append(self._arg(parameter))
        return found

    def _arg(self, parameter: inspect.Parameter) -> Arg:
        kind, of = _type(parameter)
        required = parameter.default is parameter.empty and parameter.name not in self.may_be_empty()
        return Arg(parameter.name, kind, required, of)


def _verb(act: Callable[..., Any], name: str = "", rule: str = "") -> Verb:
    name = name or act.__name__
    return Verb(name, act, rule or name)


VERBS: dict[str, Verb] = {
    verb.name: verb
    for verb in (
        _verb(people.set_up),
        _verb(people.change_settings),
        _verb(people.add_person),
        _verb(people.change_person),
        _verb(people.set_pin, rule="change_person"),
        _verb(people.set_password, rule="change_person"),
        _verb(people.leave, rule="change_person"),
        _verb(people.enrol_tablet),
        _verb(people.revoke_tablet),
        _verb(documents.adopt_built_ins, rule="publish_document"),
        _verb(film.receive_roll),
        _verb(film.receive_lot),
        _verb(film.open_roll, rule="receive_roll"),
        _verb(film.open_lot, rule="receive_lot"),
        _verb(film.quarantine_lot),
        _verb(film.free_lot, rule="quarantine_lot"),
        _verb(intake.take_in),
        _verb(intake.change_customer, rule="take_in"),
        _verb(intake.change_vehicle, rule="take_in"),
        _verb(intake.cancel_job, rule="take_in"),
        _verb(intake.mark_damage),
        _verb(intake.move_mark, rule="mark_damage"),
        _verb(intake.strike_mark, rule="mark_damage"),
        _verb(intake.note_paint, rule="mark_damage"),
        _verb(intake.strike_paint, rule="mark_damage"),
        _verb(intake.accept_paint),
        _verb(intake.agree_intake, rule="take_in"),
        _verb(setout.set_out),
        _verb(setout.set_out_many, rule="set_out"),
        _verb(setout.mirror_set_out, rule="set_out"),
        _verb(setout.take_off_set_out, rule="set_out"),
        _verb(work.answer),
        _verb(work.note, rule="answer"),
        _verb(work.keep_photo),
        _verb(work.raise_defect),
        _verb(work.put_right),
        _verb(work.waive),
        _verb(work.sign_ready),
        _verb(work.sign_hidden),
        _verb(work.sign_laid),
        _verb(work.sign_released),
        _verb(work.hand_over),
        _verb(warranty.issue),
        _verb(warranty.correct, name="correct_certificate"),
        _verb(warranty.withdraw),
    )
}


def _type(parameter: inspect.Parameter) -> tuple[str, str]:
    name, hint = parameter.name, _bare(parameter.annotation)
    if name == "strokes":
        return "strokes", ""
    if hint in PLAIN:
        return PLAIN[hint], ""
    if isinstance(hint, type) and issubclass(hint, Model):
        return row_name(hint), ""
    items = [PLAIN.get(item) or "table" for item in get_args(hint)]
    if items:
        return "list", items[0]
    return _by_name(name, parameter.default)


def _by_name(name: str, default: Any) -> tuple[str, str]:
    """The type of an argument that carries no annotation, from its name and what it is when left out."""
    if name in UNTYPED:
        return name, ""
    if name.removesuffix("s") in UNTYPED:
        return "list", name.removesuffix("s")
    if name in ("said", "panels"):
        return "list", "str"
    ending = next((kind for ending, kind in ENDINGS.items() if name.endswith(ending)), "")
    return ending or PLAIN.get(type(default), "str"), ""


def _bare(hint: Any) -> Any:
    """`str | None` is a str that may be left out."""
    if get_origin(hint) in (UnionType, Union):
        return next(part for part in get_args(hint) if part is not NoneType)
    return hint


def row_name(model: type[Model]) -> str:
    """`PaintNote` as `paint_note`."""
    return "".join(f"_{sign.lower()}" if sign.isupper() else sign for sign in model.__name__).lstrip("_")


def _of_a_piece() -> list[Arg]:
    """What several panels may be given at once: whatever a piece of film is set out with."""
    known = {"features": ("list", "str"), "people": ("list", "person"), "edges": ("list", "table")}
    rows = [Arg("roll", "roll", False), Arg("sheet", "document", False)]
    names = [name for name in PieceSet.__dataclass_fields__ if name != "piece"]
    return rows + [
        Arg(name, known.get(name, ("str", ""))[0], False, known.get(name, ("", ""))[1]) for name in names
    ]
