"""Sentences for what leaves the shelf, is mixed, or is kept back."""

from collections.abc import Mapping
from typing import Any

from shop.record.telling import Body, Names, Sentence, Told, changes

FILM = {"colour": "colour", "finish": "finish", "directional": "runs one way", "sheet": "film sheet"}
MEANT = {"in": "one part in the whole", "plus": "one part and the rest water", "strength": "by strength"}


def cut_film(body: Body, names: Names) -> Told:
    roll, place = body["roll"], names.place(body["place"])
    if body.get("offcut"):
        return Told(
            f"{place} takes offcut {body['offcut']} of lot {roll['lot']}, {body['length_mm']} mm long"
        )
    note = "More than the roll held by the book; measured again" if body.get("confirmed") else ""
    what = f"{body['length_mm']} mm were cut off roll {roll['code']} of lot {roll['lot']} for {place}"
    return Told(what, note=note)


def scrap(body: Body, names: Names) -> Told:
    of = f"offcut {body['offcut']}" if body.get("offcut") else f"roll {body['roll']['code']}"
    return Told(f"{body['length_mm']} mm of {of}, lot {body['roll']['lot']}, went to scrap", body["reason"])


def keep_offcut(body: Body, names: Names) -> Told:
    size = f"{body['width_mm']} × {body['length_mm']} mm"
    what = f"Offcut {body['offcut']} of roll {body['roll']['code']}, {size}, lies on shelf {body['shelf']}"
    return Told(what, note="It was cut off the roll for this" if body["off_the_roll"] else "")


def make_mix(body: Body, names: Names) -> Told:
    amount = f"{body['stock_ml10'] / 10:g} ml made up to {body['total_ml10'] / 10:g} ml"
    how = f"{body['ratio']}, {MEANT[body['meant']]}"
    return Told(
        f"{body['kind'].capitalize()} {body['label']} was mixed from lot {body['lot']['code']}: {amount}, {how}"
    )


def reserve_film(body: Body, names: Names) -> Told:
    rows = (("kept back, mm", str(body["from_mm"]), str(body["reserve_mm"])),)
    what = f"Lot {body['lot']['code']}: film is kept back for cars under cover"
    return Told(what, changes=changes(names, *rows))


def change_film(body: Body, names: Names) -> Told:
    now, before = body["film"], body["before"]
    rows = ((said, _said(before[name]), _said(now[name])) for name, said in FILM.items())
    return Told(f"{now['name']}: what is known of this film was put right", changes=changes(names, *rows))


def _said(value: Any) -> Any:
    """A film sheet by the start of its fingerprint, the rest as it is."""
    return value[:12] if isinstance(value, str) and len(value) == 64 else value


STOCK: Mapping[str, Sentence] = {
    "cut_film": cut_film,
    "scrap": scrap,
    "keep_offcut": keep_offcut,
    "make_mix": make_mix,
    "reserve_film": reserve_film,
    "change_film": change_film,
}
