"""The desk's day: cars expected, here, curing, ready and gone, each with what it waits for and when it is promised."""

from datetime import date, timedelta
from zoneinfo import ZoneInfo

from django.core.paginator import Paginator

from shop import clock
from shop.documents.rights import may, roles_of
from shop.intake.expected import Expected
from shop.intake.models import Job
from shop.pages import page
from shop.people.doors import staff
from shop.work.floor import floors
from shop.work.waits import waits_for

A_PAGE = 40
AHEAD = timedelta(days=7)
GROUPS = (
    ("bay", "In the bay"),
    ("cure", "Waiting for cure"),
    ("ready", "Ready"),
)


@staff()
def cars(request):
    now = clock.now()
    today = now.astimezone(ZoneInfo(request.workshop.zone)).date()
    jobs = list(Job.objects.in_the_shop(request.workshop).for_page())
    here = [_row(floor, now) for floor in floors(jobs).values()]
    done = Job.objects.gone(request.workshop).for_page()
    roles = roles_of(request.workshop)
    context = {
        "here": "cars",
        "today": today,
        "count": len(here),
        "expected": list(Expected.objects.to_come(request.workshop)),
        "rechecks": _rechecks(request.workshop, today),
        "groups": [(code, name, [row for row in here if row["wait"].group == code]) for code, name in GROUPS],
        "left": list(done.filter(hand_over__on=today)),
        "gone": Paginator(done.exclude(hand_over__on=today), A_PAGE).get_page(request.GET.get("page")),
        "desk": request.person.has("desk", "owner"),
        "may_promise": may(request.person, "promise_time", roles=roles),
        "now": now,
    }
    return page(request, "work/cars.html", context)


def _row(floor, now) -> dict:
    job = floor.job
    return {
        "job": job,
        "wait": waits_for(floor, now),
        "late": bool(job.promised_at and job.promised_at < now),
    }


def _rechecks(workshop, today: date) -> list:
    """Rechecks agreed on for a day soon: cars to come as well. Kept by a later room, asked for by its rows."""
    rows = workshop.rechecks.filter(
        done_on__isnull=True, planned_on__gte=today, planned_on__lte=today + AHEAD
    )
    return list(rows.select_related("certificate__vehicle__plate").order_by("planned_on", "pk"))
