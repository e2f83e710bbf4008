"""From what a line of a rehearsal says to what a verb takes: days, rows of this workshop, photos, signatures."""

import base64
import binascii
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from django.apps import apps
from django.db.models import Model

from shop import models
from shop.demo.photos import edge_photo
from shop.demo.shapes import listed
from shop.demo.verbs import Arg, row_name
from shop.photos import actions as photos
from shop.reasons import Reason, Refused

WORDS = {"str": "text", "int": "whole number", "bool": "yes or no", "date": "day", "moment": "time"}
YES, NO = ("yes", "true", "1"), ("no", "false", "0")


@dataclass(frozen=True)
class Rows:
    """Rows of one kind: the way to their workshop, what else they go by, what is said when there is none such."""

    model: type[Model]
    workshop: str = "workshop"
    goes_by: str = ""
    missing: str = "other_workshop"


ROWS = {
    "job": Rows(models.Job, goes_by="number"),
    "person": Rows(models.Person, goes_by="name"),
    "tablet": Rows(models.Tablet, goes_by="name", missing="tablet_revoked"),
    "customer": Rows(models.Customer),
    "vehicle": Rows(models.Vehicle, goes_by="vin"),
    "document": Rows(models.Document, goes_by="name"),
    "material": Rows(models.Material, goes_by="name", missing="lot_missing"),
    "lot": Rows(models.Lot, "material__workshop", "code", "lot_missing"),
    "roll": Rows(models.Roll, "lot__material__workshop", "code", "lot_missing"),
    "offcut": Rows(models.Offcut, "roll__lot__material__workshop", missing="superseded"),
    "mark": Rows(models.Mark, "job__workshop", missing="superseded"),
    "paint_note": Rows(models.PaintNote, "job__workshop", missing="superseded"),
    "consent": Rows(models.Consent, "job__workshop", missing="superseded"),
    "defect": Rows(models.Defect, "fitting__job__workshop", missing="superseded"),
    "certificate": Rows(models.Certificate, goes_by="number"),
}


def rows_of(kind: str) -> Rows | None:
    """How rows of a kind are found; None where there are no such rows."""
    if kind in ROWS:
        return ROWS[kind]
    model = next(
        (model for model in apps.get_app_config("shop").get_models() if row_name(model) == kind), None
    )
    way = _way_to_workshop(model) if model else ""
    return Rows(model, way, "number" if _has(model, "number") else "") if model and way else None


def _way_to_workshop(model: type[Model], steps: int = 3) -> str:
    """`claim__workshop`: along the keys of a row to the workshop it belongs to, the shortest way first."""
    keys = {field.name: field.related_model for field in model._meta.local_fields if field.many_to_one}
    if "workshop" in keys:
        return "workshop"
    for name, other in keys.items() if steps else ():
        if other is not model and (way := _way_to_workshop(other, steps - 1)):
            return f"{name}__{way}"
    return ""


def _has(model: type[Model], name: str) -> bool:
    return any(field.name == name for field in model._meta.local_fields)


def find(kind: str, value: Any, workshop) -> Model:
    """The row of this workshop by its id, or by the name, number or code it goes by."""
    rows = rows_of(kind)
    words = kind.replace("_", " ")
    found = _by(rows, value)
    if found is None:
        raise Refused(Reason(rows.missing, f"There is no {words} {str(value)[:40]} in this shop."))
    mine = found.filter(**{rows.workshop: workshop}).order_by("-pk").first()
    if mine is None:
        raise Refused(Reason("other_workshop", f"That {words} belongs to another workshop."))
    return mine


def _by(rows: Rows, value: Any):
    """Every row that may be meant, whatever workshop it is of; None where there is none at all."""
    every = rows.model.objects.for_page() if rows.model is models.Job else rows.model.objects.all()
    if isinstance(value, str) and rows.goes_by:
        named = every.filter(**{rows.goes_by: value})
        if named.exists():
            return named
    text = str(value)
    if isinstance(value, bool) or not (text.isascii() and text.isdecimal() and len(text) < 19):
        return None
    numbered = every.filter(pk=int(text))
    return numbered if numbered.exists() else None


@dataclass(frozen=True)
class Reader:
    """Reads the arguments of one line. `folder` is where the paths of photos start."""

    workshop: Any
    folder: Path

    def read(self, arg: Arg, value: Any) -> Any:
        """The value the verb takes; Refused with a sentence where it cannot be understood.

        A photo that was not kept before comes back as `Examined`: it is shelved together with the act.
        """
        if value is None:
            return None
        if arg.type == "list":
            return [self.read(Arg(arg.name, arg.of, False), item) for item in listed(value)]
        if arg.name == "pieces":
            return self._piece(value)
        readers: dict[str, Callable[[Any], Any]] = {
            "str": _text,
            "int": _whole,
            "bool": _yes,
            "date": self._day,
            "moment": self._moment,
            "table": _table,
            "photo": self._photo,
            "strokes": lambda given: given,
        }
        if arg.type not in readers and rows_of(arg.type):
            return find(arg.type, value, self.workshop)
        try:
            return readers[arg.type](value)
        except (ValueError, TypeError, OverflowError, OSError, RecursionError):
            text = f"What was given as {arg.name} is no {WORDS.get(arg.type, arg.type)}: {str(value)[:60]!r}."
            raise Refused(Reason("value_wrong", text, where=f"#{arg.name}")) from None

    def _day(self, value: Any) -> date:
        text = str(value)
        return (
            date.fromisoformat(text) if len(text) <= 10 else self._moment(text).astimezone(self._zone).date()
        )

    def _moment(self, value: Any) -> datetime:
        moment = datetime.fromisoformat(str(value))
        return moment if moment.tzinfo else moment.replace(tzinfo=self._zone)

    @property
    def _zone(self) -> ZoneInfo:
        return ZoneInfo(self.workshop.zone)

    def _piece(self, value: Any) -> Any:
        """A piece of film as the set-out takes it: roll and sheet as rows, people by id."""
        if not isinstance(value, dict):
            return value
        found = dict(value)
        for name, kind in (("roll", "roll"), ("sheet", "document")):
            if found.get(name) not in (None, ""):
                found[name] = find(kind, found[name], self.workshop)
        if "people" in found:
            found["people"] = [find("person", who, self.workshop).pk for who in listed(found["people"])]
        return found

    def _photo(self, value: Any) -> "photos.Examined | models.Photo":
        kept = _kept(value, self.workshop)
        return kept or photos.examine(_bytes(value, self.folder), name=_name(value))


def _kept(value: Any, workshop) -> "models.Photo | None":
    rows = models.Photo.objects.of(workshop)
    if isinstance(value, int) and not isinstance(value, bool):
        return rows.get(pk=value) if rows.filter(pk=value).exists() else _no_photo(value)
    digest = value.get("sha256") if isinstance(value, dict) else value
    return rows.filter(sha256=digest).first() if isinstance(digest, str) else None


def _no_photo(pk: int) -> None:
    raise Refused(Reason("photo_missing", f"There is no photo {pk} in this shop."))


def _name(value: Any) -> str:
    path = value.get("path", "") if isinstance(value, dict) else ""
    return str(value.get("name") or Path(path).name) if isinstance(value, dict) else ""


def _bytes(value: Any, folder: Path) -> bytes:
    """`{"drawn": "words"}` draws one, `{"path": …}` or a text reads a file, `{"base64": …}` or a text is decoded."""
    if isinstance(value, dict):
        if "drawn" in value:
            return edge_photo(str(value["drawn"]), str(value["drawn"])[:40])
        if "path" in value:
            return (folder / str(value["path"])).read_bytes()
        value = value.get("base64")
    if not isinstance(value, str):
        raise ValueError("no photo")
    if len(value) < 1000 and (folder / value).is_file():
        return (folder / value).read_bytes()
    try:
        return base64.b64decode(value, validate=True)
    except binascii.Error:
        raise ValueError("neither a file nor base64") from None


def _text(value: Any) -> str:
    if isinstance(value, bool | dict | list):
        raise TypeError("not a text")
    return str(value)


def _whole(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int | str):
        raise TypeError("not a whole number")
    return int(value)


def _yes(value: Any) -> bool:
    text = str(value).lower()
    if text not in YES + NO:
        raise ValueError("neither yes nor no")
    return text in YES


def _table(value: Any) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise TypeError("not a table")
    return value
