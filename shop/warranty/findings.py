"""What was seen at places on a car: read from what somebody gave, kept, and told to the book."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from shop.intake.names import body_of, panel_name
from shop.intake.typed import Typed
from shop.photos.models import Photo
from shop.warranty.aftercare import Finding, FindingPhoto
from shop.warranty.vocabulary import SOUND
from shop.work.models.fitting import Fitting, FittingEdge

NOTE_MOST = 300


@dataclass(frozen=True)
class Seen:
    """One finding ready to be kept."""

    fitting: Fitting
    edge: FittingEdge | None
    kind: str
    touched_up: bool
    note: str
    photos: list[Photo] = field(default_factory=list)
    after: list[Photo] = field(default_factory=list)


def read_findings(
    typed: Typed, given: Iterable[Mapping[str, Any]], films: Collection[Fitting], kinds: Collection[str]
) -> list[Seen]:
    """Findings `{panel: "hood.1", edge, kind, touched_up, note, photos, after}`; what is wrong goes to `typed`.

    `films`: the pieces it can be about, with their edges. Something touched up on the spot wants a photo after.
    """
    by_place = {film.place: film for film in films}
    found = [_read(typed, dict(one), by_place, kinds) for one in given]
    return [seen for seen in found if seen]


def _read(typed: Typed, one: dict, by_place: Mapping[str, Fitting], kinds: Collection[str]) -> Seen | None:
    place = str(one.get("panel") or "")
    film = by_place.get(place) or by_place.get(f"{place}.1")
    if film is None:
        typed.wrong(f"There is no film of ours at “{place[:30]}” on this car.", "#panel", "no_film")
        return None
    name = name_of(film)
    edge = None
    if one.get("edge"):
        edge = next((row for row in film.edges.all() if row.code == one["edge"]), None)
        if edge is None:
            typed.wrong(f"{name} has no edge “{str(one['edge'])[:30]}”.", "#edge")
    kind = typed.one_of(
        one.get("kind"), (SOUND, *kinds), sentence=f"{name}: say what was found.", where="#kind"
    )
    photos, after = list(one.get("photos") or ()), list(one.get("after") or ())
    if any(photo.workshop_id != film.job.workshop_id for photo in (*photos, *after)):
        typed.wrong("That photo belongs to another workshop.", "#photo", "other_workshop")
    touched_up = bool(one.get("touched_up"))
    if touched_up and kind == SOUND:
        typed.wrong(f"{name}: what is sound needs no touch-up.", "#touched_up")
    if touched_up and not after:
        typed.wrong(
            f"{name}: take a photo of the place as it is after the touch-up.", "#photo", "photo_missing"
        )
    note = typed.line(one.get("note"), name="The note", most=NOTE_MOST, where="#note")
    return Seen(film, edge, kind, touched_up, note, photos, after)


def keep_findings(found: Iterable[Seen], now, **of) -> list[Finding]:
    """`of` is `recheck=` or `event=`, the look these belong to."""
    kept = []
    for seen in found:
        row = Finding.objects.create(
            panel=seen.fitting.panel.code,
            fitting=seen.fitting,
            edge=seen.edge,
            kind=seen.kind,
            touched_up=seen.touched_up,
            note=seen.note,
            at=now,
            **of,
        )
        shown = {photo.pk: FindingPhoto(finding=row, photo=photo) for photo in seen.photos}
        shown |= {photo.pk: FindingPhoto(finding=row, photo=photo, after=True) for photo in seen.after}
        FindingPhoto.objects.bulk_create(shown.values())
        kept.append(row)
    return kept


def said(found: Iterable[Seen]) -> list[dict]:
    """Findings for the book."""
    return [
        {
            "place": seen.fitting.place,
            "edge": seen.edge.code if seen.edge else "",
            "kind": seen.kind,
            "touched_up": seen.touched_up,
            "note": seen.note,
            "photos": [photo.sha256 for photo in (*seen.photos, *seen.after)],
        }
        for seen in found
    ]


def films_of(vehicle):
    """The live films of a car with their edges, whatever job laid them."""
    return list(
        Fitting.objects.live()
        .filter(panel__vehicle=vehicle)
        .select_related("panel", "job__body", "job__workshop", "roll__lot")
        .prefetch_related("edges")
        .order_by("panel__code", "piece")
    )


def name_of(film: Fitting) -> str:
    """`Hood`, or `Front bumper, piece 2` where it is not the first."""
    name = panel_name(body_of(film.job.body), film.panel.code, film.job.workshop.language)
    return name if film.piece == 1 else f"{name}, piece {film.piece}"
