"""Job numbers, and the job held while it is changed."""

from zoneinfo import ZoneInfo

from django.db import connection
from django.db.models.functions import Length

from shop.intake.models import Job
from shop.people.models import Workshop
from shop.reasons import Reason, Refused


def held(job) -> Job:
    """The job, locked until the transaction ends. Refused once the car has gone."""
    job = (
        Job.objects.select_related("workshop", "body", "plan")
        .select_for_update(of=("self",), no_key=True)
        .get(pk=job.pk)
    )
    if job.cancelled_at:
        raise Refused(
            Reason("job_closed", f"Job {job.number} was called off: nothing of it changes any more.")
        )
    if hasattr(job, "hand_over"):
        raise Refused(Reason("job_closed", f"Job {job.number} was handed over: it changes no more."))
    return job


def hold(job) -> None:
    """Whoever reads a job to decide on it holds it first, or two at once decide on what neither has seen.

    SQLite lets one transaction write at a time and needs nothing of the kind.
    """
    if job is not None and connection.features.has_select_for_update:
        Job.objects.select_for_update(no_key=True).values_list("pk").get(pk=job.pk)


def hold_workshop(workshop) -> None:
    """Lock the workshop's row until the transaction ends."""
    Workshop.objects.select_for_update(no_key=True).get(pk=workshop.pk)


def next_number(workshop, now) -> str:
    """`26-0001`: the workshop's own year and the next number in it, for the transaction that asks.

    Asked first of all: cars come in one after the other, so that numbers have no gap and no VIN comes twice.
    """
    hold_workshop(workshop)
    year = f"{now.astimezone(ZoneInfo(workshop.zone)):%y}"
    last = (
        Job.objects.filter(workshop=workshop, number__startswith=f"{year}-")
        .order_by(Length("number").desc(), "-number")
        .values_list("number", flat=True)
        .first()
    )
    return f"{year}-{int(last.split('-')[1]) + 1 if last else 1:04}"
