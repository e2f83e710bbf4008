"""Every verb of the shop by name, with what it takes: read off the functions, so that no list can disagree."""

import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from importlib import import_module
from pathlib import Path
from types import ModuleType, NoneType, UnionType
from typing import Any, Union, get_args, get_origin

from django.db.models import Model

import shop
from shop.documents import built_in
from shop.people import actions as people
from shop.warranty import actions as warranty
from shop.work import setout
from shop.work.pieces import PieceSet

# What whoever calls a verb knows already: who, when, where. An upload belongs to the tablet's own way in.
GIVEN = {"by", "now", "workshop", "happened_at", "device_at", "sure", "upload"}
PLAIN = {int: "int", str: "str", bool: "bool", date: "date", datetime: "moment", dict: "table"}
ENDINGS = {"_km": "int", "_mil": "int", "_mm": "int", "_on": "date", "_at": "moment"}
UNTYPED = ("job", "customer", "vehicle", "mark", "paint_note", "photo")
# Keeping a photo and writing an entry are parts of other rooms' verbs.
PARTS_OF_VERBS = {"photos", "record"}
# No verbs of their own: writing an entry, signing whatever is asked, and what belongs to a tablet's own way in.
NOT_REHEARSED = {"write", "sign", "promise_photo", "photo_arrived", "note_gap"}
CALLED = {warranty.correct: "correct_certificate"}
# Verbs that another one's rule in the roles document covers.
RULES = {
    "set_pin": "change_person",
    "set_password": "change_person",
    "leave": "change_person",
    "open_roll": "receive_roll",
    "open_lot": "receive_lot",
    "free_lot": "quarantine_lot",
    "change_film": "receive_roll",
    "scrap": "cut_film",
    "keep_offcut": "cut_film",
    "change_customer": "take_in",
    "change_vehicle": "take_in",
    "cancel_job": "take_in",
    "move_expected": "expect_car",
    "call_off_expected": "expect_car",
    "agree_intake": "take_in",
    "move_mark": "mark_damage",
    "strike_mark": "mark_damage",
    "note_paint": "mark_damage",
    "strike_paint": "mark_damage",
    "measure_paint": "mark_damage",
    "strike_spot": "mark_damage",
    "try_devices": "mark_damage",
    "set_out_many": "set_out",
    "mirror_set_out": "set_out",
    "take_off_set_out": "set_out",
    "note": "answer",
}
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


def rooms() -> list[ModuleType]:
    """Where the verbs of the rooms stand, whichever rooms there are."""
    folder = Path(shop.__file__).parent
    names = sorted({path.parent.name for path in folder.glob("*/actions.py")} - PARTS_OF_VERBS)
    return [*(import_module(f"shop.{name}.actions") for name in names), setout]


def _found() -> dict[str, Verb]:
    """What the rooms offer: functions that are told who acts and when."""
    found = {"set_up": Verb("set_up", people.set_up, "set_up")}
    for room in rooms():
        for name, act in vars(room).items():
            if name not in NOT_REHEARSED and not name.startswith("_") and _is_verb(act):
                name = CALLED.get(act, name)
                found[name] = Verb(name, act, RULES.get(name, name))
    return found


def _is_verb(act: Any) -> bool:
    return inspect.isfunction(act) and {"by", "now"} <= set(inspect.signature(act).parameters)


VERBS: dict[str, Verb] = _found()


def _type(parameter: inspect.Parameter) -> tuple[str, str]:
    name, hint = parameter.name, _bare(parameter.annotation)
    if name.endswith("strokes"):
        return "strokes", ""
    if hint in PLAIN:
        return PLAIN[hint], ""
    if isinstance(hint, type) and issubclass(hint, Model):
        return row_name(hint), ""
    items = get_args(hint)
    if items:
        return "list", _item(items[0])
    return _by_name(name, parameter.default)


def _item(hint: Any) -> str:
    if isinstance(hint, type) and issubclass(hint, Model):
        return row_name(hint)
    return PLAIN.get(hint, "table")


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
    known = {
        "turned": ("bool", ""),
        "features": ("list", "str"),
        "people": ("list", "person"),
        "edges": ("list", "table"),
    }
    rows = [Arg("roll", "roll", False), Arg("sheet", "document", False)]
    names = [name for name in PieceSet.__dataclass_fields__ if name != "piece"]
    return rows + [
        Arg(name, known.get(name, ("str", ""))[0], False, known.get(name, ("", ""))[1]) for name in names
    ]
