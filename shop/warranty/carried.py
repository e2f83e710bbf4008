"""What film laid again under a warranty is still promised: the rest of the first term, or the whole of it again."""

from dataclasses import dataclass
from datetime import date

from shop.warranty.cover import CarCover, covers
from shop.warranty.coverage import EVENT_DAY_EXCLUDED
from shop.warranty.models import Certificate, CoverLine
from shop.warranty.timeline import Stretch
from shop.work.floor import Floor


@dataclass(frozen=True)
class Carried:
    """One promise as it goes on: a whole term `afresh` as it was given, else the days left of it."""

    months: int | None
    days: int | None
    counting: str
    last_day: date
    afresh: bool


def carried(floor: Floor, start: date) -> dict[int, dict[str, Carried]]:
    """By fitting and kind, for every piece that took the place of film with a paper; others are not in it.

    `start` is the day the car goes back. A kind that is missing has nothing left.
    """
    pieces = [piece.row for piece in floor.pieces if piece.row.replaces_id]
    if not pieces:
        return {}
    own = Certificate.objects.filter(job=floor.job).values_list("pk", flat=True)
    vehicle = floor.job.vehicle
    cover = covers([vehicle], today=start, but=own).get(vehicle.pk)
    if cover is None:
        return {}
    before = {refit.new: refit.old for refit in cover.history.refits}
    papered = {line.fitting_id for line in cover.lines.values() if not line.revision.withdrawn_at}
    found = {}
    for row in pieces:
        if _films_before(row.pk, before) & papered:
            found[row.pk] = {
                stretch.kind: _left(cover, stretch, start)
                for stretch in cover.stretches
                if stretch.film == row.pk and stretch.last_day >= start
            }
    return found


def _films_before(film: int, before: dict[int, int]) -> set[int]:
    found = set()
    while film in before and before[film] not in found:
        film = before[film]
        found.add(film)
    return found


def _left(cover: CarCover, stretch: Stretch, start: date) -> Carried:
    line: CoverLine = cover.lines[stretch.line]
    if stretch.last_day > line.last_day:
        return Carried(line.months, line.days, line.counting, stretch.last_day, afresh=True)
    first_counts = line.counting != EVENT_DAY_EXCLUDED
    days = (stretch.last_day - start).days + first_counts
    return Carried(None, days, line.counting, stretch.last_day, afresh=False)
