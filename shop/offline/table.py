"""Which verb each kind of entry calls. One literal table; nothing else on a tablet reaches the shop's rows."""

import re
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from shop.film.models import Lot
from shop.intake.models import Job
from shop.offline.actions import note_gap
from shop.offline.message import is_whole
from shop.people.identity import Claimed
from shop.photos.actions import MOST_BYTES
from shop.photos.models import Upload
from shop.photos.sniff import FEWEST_BYTES
from shop.reasons import Reason, Refused
from shop.record.models import Receipt
from shop.work import actions as work
from shop.work import progress, told
from shop.work.floor import Floor, Piece
from shop.work.kinds import Card

PLACE = re.compile(r"[a-z0-9-]{1,30}\.[0-9]{1,3}")
CODE = re.compile(r"[a-z0-9_-]{0,30}")
LINE = re.compile(r"[a-z0-9_.-]{1,60}")
DIGEST = re.compile(r"[0-9a-f]{64}")
MOST_PLACES = 200


@dataclass(frozen=True)
class Entry:
    """An entry ready for its verb: `job` and `by` are rows of this tablet's workshop, times are ours."""

    kind: str
    body: dict[str, Any]
    job: Job | None
    by: Claimed
    now: datetime
    happened_at: datetime
    device_at: datetime | None
    sure: bool

    @property
    def times(self) -> dict[str, Any]:
        return {
            "now": self.now,
            "happened_at": self.happened_at,
            "device_at": self.device_at,
            "sure": self.sure,
        }


def unclear(text: str) -> Refused:
    return Refused(Reason("entry_unclear", text))


def answer(entry: Entry):
    allowed = ANSWERS[entry.kind]
    given = _text(entry, "answer", 10) or allowed[0]
    if given not in allowed:
        raise unclear(f"“{given}” is no answer that comes as {entry.kind}.")
    line = _coded(entry, "line", LINE)
    panels = _codes(entry, "panels", PLACE)
    return work.answer(
        job=entry.job,
        key=line,
        panels=_asked(entry, line, panels) if entry.body.get("same") is True else panels,
        edges=_codes(entry, "edges", CODE),
        answer=given,
        by=entry.by,
        value=_values(entry),
        typed=_text(entry, "typed", 200),
        reason=_text(entry, "reason", 300),
        lot=_lot(entry),
        seen=_seen(entry),
        **entry.times,
    )


def note(entry: Entry):
    text = _text(entry, "typed", 1000) or _text(entry, "text", 1000) or _text(entry, "reason", 1000)
    return work.note(
        job=entry.job, panels=_codes(entry, "panels", PLACE), text=text, by=entry.by, **entry.times
    )


def defect(entry: Entry):
    return work.raise_defect(
        job=entry.job,
        panel=_coded(entry, "panel", PLACE),
        edge=_coded(entry, "edge", CODE),
        x_mil=_mil(entry, "x_mil"),
        y_mil=_mil(entry, "y_mil"),
        kind=_coded(entry, "kind", CODE),
        cause=_coded(entry, "cause", CODE),
        severity=_coded(entry, "severity", CODE) or "minor",
        note=_text(entry, "note", 500),
        found_at=_coded(entry, "found_at", CODE),
        comes_from=_coded(entry, "comes_from", CODE),
        upload=_promise(entry, entry.body["photo"]) if entry.body.get("photo") else None,
        by=entry.by,
        **entry.times,
    )


def photo(entry: Entry):
    places = entry.body.get("places")
    if not isinstance(places, list) or not 0 < len(places) <= MOST_PLACES:
        raise unclear("Say which edge or line the photo shows.")
    return work.promise_photo(
        job=entry.job,
        upload=_promise(entry, entry.body),
        places=[_place(place) for place in places],
        by=entry.by,
        **entry.times,
    )


def hole(entry: Entry):
    """The tablet counted an entry it does not have any more. Work goes on; the owner is told."""
    return note_gap(tablet=entry.by.tablet, by=entry.by, **entry.times)


ANSWERS = {"tick": ("done", "wrong"), "na": ("na",), "reading": ("value",), "timer": ("start",)}
TABLE: dict[str, Callable[[Entry], Any]] = {
    "tick": answer,
    "na": answer,
    "reading": answer,
    "timer": answer,
    "note": note,
    "defect": defect,
    "photo": photo,
    "hole": hole,
}
WITHOUT_A_CAR = frozenset({"hole"})


def _text(entry: Entry, name: str, most: int) -> str:
    value = entry.body.get(name)
    if value is None:
        return ""
    if not isinstance(value, str) or len(value) > most:
        raise unclear(f"What came as {name} is not a text of at most {most} signs.")
    return value.strip()


def _coded(entry: Entry, name: str, shape: re.Pattern[str]) -> str:
    value = entry.body.get(name) or ""
    if not isinstance(value, str) or not shape.fullmatch(value):
        raise unclear(f"What came as {name} is no code this shop uses.")
    return value


def _codes(entry: Entry, name: str, shape: re.Pattern[str]) -> list[str]:
    values = entry.body.get(name)
    if values is None:
        return []
    if not isinstance(values, list) or len(values) > MOST_PLACES:
        raise unclear(f"What came as {name} is not a list of places.")
    if not all(isinstance(value, str) and shape.fullmatch(value) for value in values):
        raise unclear(f"What came as {name} is no code this shop uses.")
    return list(dict.fromkeys(values))


def _asked(entry: Entry, line: str, panels: list[str]) -> list[str]:
    """Of "same for all panels in work" those in hand at this line: the tablet knows the list of its page only.

    The first is where it was pressed and stays, so that a line asked nowhere is refused in words.
    """
    floor = Floor(entry.job)
    found = {place: floor.piece(place) for place in panels[1:]}
    return panels[:1] + [place for place, piece in found.items() if piece and _in_hand(floor, piece, line)]


def _in_hand(floor: Floor, piece: Piece, key: str) -> bool:
    """Asked this line, its stage not signed yet, and the film down where the line is about film that is."""
    asked = piece.find(key)
    if asked is None:
        return False
    facts = told.fitting_facts(floor, piece)
    if progress.stage_signature(progress.stage_of(facts, asked[0].stage)):
        return False
    return asked[1].card != Card.AFTER or progress.is_flooded(facts)


def _values(entry: Entry) -> dict[str, int | str] | None:
    value = entry.body.get("value")
    if value is None or value == {}:
        return None
    if not isinstance(value, dict) or len(value) > 20:
        raise unclear("What was measured did not arrive as figures with names.")
    return value


def _mil(entry: Entry, name: str) -> int | None:
    value = entry.body.get(name)
    if value is not None and not is_whole(value, most=1000):
        raise unclear("The place lies outside the panel.")
    return value


def _lot(entry: Entry) -> Lot | None:
    pk = entry.body.get("lot")
    if pk is None or isinstance(pk, str):
        return None
    lots = Lot.objects.filter(material__workshop=entry.by.person.workshop_id)
    found = lots.filter(pk=pk).first() if is_whole(pk) else None
    if found is None:
        raise Refused(Reason("lot_missing", "This lot is not on the shelf of this shop."))
    return found


def _seen(entry: Entry) -> int | None:
    """The outcome the person had before them: by its id, or by the key of an entry of this very tablet."""
    after = entry.body.get("after")
    if isinstance(after, str) and after:
        mine = (
            Receipt.objects.filter(key=after, tablet=entry.by.tablet).select_related("entry__outcome").first()
        )
        outcome = getattr(mine.entry, "outcome", None) if mine and mine.entry else None
        if outcome is not None:
            return outcome.pk
    seen = entry.body.get("seen")
    return seen if is_whole(seen) else None


def _place(place: object) -> dict[str, Any]:
    if not isinstance(place, dict):
        raise unclear("Say which edge or line the photo shows.")
    if is_whole(place.get("defect"), least=1):
        return {"defect": place["defect"], "after": place.get("after") is True}
    found = {name: place.get(name) or "" for name in ("line", "panel", "edge")}
    shapes = {"line": LINE, "panel": PLACE, "edge": CODE}
    for name, value in found.items():
        if not isinstance(value, str) or not (
            shapes[name].fullmatch(value) or (name == "panel" and not value)
        ):
            raise unclear(f"What came as {name} of the photo is no code this shop uses.")
    return found


def _promise(entry: Entry, told: object) -> Upload:
    """The row the bytes will be counted on. Its id comes from the tablet, which names the bytes by it."""
    if not isinstance(told, dict):
        raise unclear("The photo did not say what it is.")
    sha256, size, name = told.get("sha256"), told.get("size"), told.get("name") or ""
    if not isinstance(sha256, str) or not DIGEST.fullmatch(sha256) or not isinstance(name, str):
        raise unclear("The photo came without its digest.")
    if not is_whole(size, FEWEST_BYTES, MOST_BYTES):
        raise Refused(
            Reason("photo_unreadable", f"A photo has at most {MOST_BYTES // 1_000_000} MB and is not empty.")
        )
    pk = _uuid(told.get("upload"))
    if Upload.objects.filter(pk=pk).exists():
        raise Refused(Reason("key_reused", "This photo was announced before, in another entry."))
    return Upload.objects.create(
        id=pk,
        workshop_id=entry.by.person.workshop_id,
        tablet=entry.by.tablet,
        job=entry.job,
        sha256=sha256,
        size=size,
        name=name[-100:],
        promised_at=entry.now,
        pressed_at=entry.happened_at,
    )


def _uuid(value: object) -> uuid.UUID:
    try:
        return uuid.UUID(value) if isinstance(value, str) else uuid.UUID("")
    except ValueError:
        raise unclear("The photo came without a name of its own.") from None
