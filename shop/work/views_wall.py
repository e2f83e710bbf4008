"""The bay's page for the wall: read from across the room, touched by nobody, with nothing about a person on it."""

from django.views.decorators.cache import never_cache

from shop import clock
from shop.intake.drawing import draw_sheet
from shop.intake.models import Job
from shop.pages import page
from shop.people import doors
from shop.work import states
from shop.work.floor import Floor, floors
from shop.work.waits import waits_for

PARTS = frozenset({"cars"})
MOST = 8


@doors.bay
@never_cache
def wall(request):
    """`?part=cars` is what the page asks for anew every half minute."""
    now = clock.now()
    jobs = list(Job.objects.in_the_shop(request.workshop).for_page())
    cars = [_car(floor, now) for floor in floors(jobs).values()]
    cars.sort(key=lambda car: (car["wait"].rank, car["job"].promised_at or now, car["job"].pk))
    context = {"cars": cars[:MOST], "more": len(cars) - MOST, "now": now}
    return page(request, "work/wall.html", context, parts=PARTS)


def _car(floor: Floor, now) -> dict:
    """What a wall may show: job number, colour and model; no plate, no customer, no names."""
    job = floor.job
    facts = states.facts_of(floor)
    drawing = draw_sheet(
        floor.body,
        panels=states.sheet_states(floor, facts),
        size="small",
        ids=f"wall{job.pk}",
        title=f"Job {job.number}",
    )
    return {
        "job": job,
        "words": f"{job.vehicle.colour} {job.vehicle.model}",
        "svg": drawing,
        "wait": waits_for(floor, now),
        "late": bool(job.promised_at and job.promised_at < now),
    }
