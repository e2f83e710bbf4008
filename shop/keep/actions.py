"""Erasing a customer, giving out what is kept of one, and saying how long data stay."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.db import connection, transaction

from shop.documents.rights import must_be_allowed
from shop.intake.models import Customer, SearchKey, Vehicle
from shop.intake.register import rewrite_keys
from shop.keep import erased, state
from shop.keep.belongings import Belongings, belongings_of
from shop.keep.retention import MOST_YEARS, years_kept
from shop.people.identity import By
from shop.photos.models import Photo, Upload
from shop.reasons import Reason, Refused, Weight, blocking
from shop.record.actions import book_of, write
from shop.record.models import Entry, Private
from shop.templatetags.words import day

WHYS = ("request", "retention")
NO_NUMBER = "Erased at the owner's wish."


def reasons_to_keep(found: Belongings, today: date) -> list[Reason]:
    """What stands between this customer and being erased; what is only to be known is a note."""
    reasons = []
    if found.customer.name.erased_at:
        reasons.append(Reason("already_erased", "This customer was erased before."))
    for job in found.jobs:
        if not (hasattr(job, "hand_over") or job.cancelled_at):
            text = f"Job {job.number} is not finished: hand the car over, or call the job off."
            reasons.append(Reason("job_open", text, where=f"/cars/{job.pk}/"))
    for claim in found.claims:
        if not claim.decisions.exists():
            text = f"Claim {claim.number} is not decided yet."
            reasons.append(Reason("claim_open", text, where=f"/claims/{claim.pk}/"))
    until = found.covered_until()
    if until and until >= today:
        text = f"Cover runs until {day(until)}: once erased, nobody can tell whose it is, or that it is this car."
        reasons.append(Reason("cover_runs", text, Weight.NOTE))
    return reasons


@transaction.atomic
def erase_customer(*, customer: Customer, why: str, by: By, now: datetime) -> Entry:
    """Take away what is known of a customer: values with their salts, search keys, signatures, photos of plates and
    papers, printed papers. Digests, the book and what papers state about the film stay. It cannot be undone.

    `why` is request or retention. Bytes go after the commit.
    """
    shop = customer.workshop
    must_be_allowed(by, "erase_customer", workshop=shop)
    if why not in WHYS:
        raise Refused(Reason("value_wrong", "Say whether the customer asked, or the time is over."))
    book_of(shop)
    today = now.astimezone(ZoneInfo(shop.zone)).date()
    found = belongings_of(Customer.objects.select_related("name", "workshop").get(pk=customer.pk))
    stops = blocking(reasons_to_keep(found, today))
    if stops:
        raise Refused(stops)
    values = [private.pk for private in found.standing_values()]
    entry = write(
        workshop=shop,
        verb="erase_customer",
        body={
            "customer": customer.pk,
            "why": why,
            "jobs": [job.number for job in found.jobs],
            "cars": [car.pk for car in found.cars],
            "values": values,
            "photos": sorted(photo.sha256 for photo in found.photos),
            "papers": sorted(found.papers | found.letters),
        },
        by=by,
        now=now,
    )
    Private.objects.filter(pk__in=values).update(value="", salt="", erased_at=now)
    _forget_rows(found)
    if connection.vendor == "sqlite":
        state.note(state.TRACES, left=True)
    transaction.on_commit(erased.finish_all)
    return entry


@transaction.atomic
def give_data(*, customer: Customer, photos: int, papers: int, by: By, now: datetime) -> Entry:
    """Notes that a copy of everything kept of a customer was given out; `shop.keep.giving` makes it."""
    must_be_allowed(by, "give_data", workshop=customer.workshop)
    body = {"customer": customer.pk, "photos": photos, "papers": papers}
    return write(workshop=customer.workshop, verb="give_data", body=body, by=by, now=now)


@transaction.atomic
def set_retention(*, workshop, years: int, by: By, now: datetime) -> int:
    """How many years after the end of all cover and the last visit a customer's data stay; 0 keeps them for good."""
    must_be_allowed(by, "set_retention", workshop=workshop)
    if type(years) is not int or not 0 <= years <= MOST_YEARS:
        text = f"Give whole years up to {MOST_YEARS}, or 0 to keep them until the customer asks."
        raise Refused(Reason("value_wrong", text, where="#years"))
    book_of(workshop)
    before = years_kept(workshop)
    if years != before:
        write(workshop=workshop, verb="set_retention", body={"from": before, "to": years}, by=by, now=now)
    return years


def _forget_rows(found: Belongings) -> None:
    """What stands in plain columns: numbers of cars, keys to find them by, names of files, looks of photos."""
    for car in found.cars:
        Vehicle.objects.filter(pk=car.pk).update(
            vin=None, vin_note="", chassis=f"ERASED {car.pk}", chassis_reason=NO_NUMBER
        )
        SearchKey.objects.filter(vehicle=car).exclude(kind="certificate").delete()
    for car in found.others:
        rewrite_keys(car)
    Upload.objects.filter(job__in=found.jobs).update(name="")
    Photo.objects.filter(pk__in=[photo.pk for photo in found.photos]).update(verdict={}, taken_text="")
