"""Mails that remind owners of a recheck. The row stands before the mail leaves, so that no mail leaves twice.

A mail that failed, or was never tried, is tried with the next run. One that was tried without an answer, because the
program was stopped in between, may have left: it is named for somebody to look after, and never sent by itself.
"""

from dataclasses import dataclass, field
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from django.db import IntegrityError, transaction

from shop.intake.models import Ownership
from shop.warranty.due import COMING, DUE, Due, rechecks_due
from shop.warranty.posting import post, unready
from shop.warranty.sendings import Sending


@dataclass
class Reminded:
    """What one run did, by the number of the certificate. `unready`: why no mail could leave at all."""

    sent: list[str] = field(default_factory=list)
    failed: list[str] = field(default_factory=list)
    no_address: list[str] = field(default_factory=list)
    unclear: list[str] = field(default_factory=list)
    unready: list[str] = field(default_factory=list)


def remind(workshop, *, now, send: bool = True) -> Reminded:
    """Write to every owner whose recheck is due or soon due; `send=False` only tells who that would be."""
    today = now.astimezone(ZoneInfo(workshop.zone)).date()
    done = Reminded(unready=[reason.text for reason in unready(workshop)])
    due = [one for one in rechecks_due(workshop, today=today, ahead_days=366) if _is_time(one, today)]
    owners = _owners(due)
    written = {
        row.key: row
        for row in Sending.objects.filter(workshop=workshop, key__in=[key_of(one) for one in due])
    }
    for one in due:
        _remind(one, owners.get(one.certificate.job.vehicle_id), written.get(key_of(one)), now, send, done)
    return done


def key_of(due: Due) -> str:
    return f"recheck {due.certificate.number} {due.asked.key}"


def _is_time(due: Due, today: date) -> bool:
    """From some days before it is due, as the terms say, until it is over."""
    ahead = due.revision.terms.body.get("recheck", {}).get("remind_days", 0) if due.revision.terms_id else 0
    return due.state in (COMING, DUE) and today >= due.asked.due_from - timedelta(days=ahead)


def _owners(due: list[Due]) -> dict[int, Ownership]:
    cars = {one.certificate.job.vehicle_id for one in due}
    rows = Ownership.objects.filter(vehicle__in=cars, until__isnull=True)
    return {row.vehicle_id: row for row in rows.select_related("customer__mail", "customer__name")}


def _remind(due: Due, owner: Ownership | None, row: Sending | None, now, send: bool, done: Reminded) -> None:
    number = due.certificate.number
    address = owner.customer.mail if owner else None
    if row and row.sent_at:
        return
    if row and not row.is_to_try():
        done.unclear.append(number)
    elif not address or not address.value:
        done.no_address.append(number)
    elif not send:
        done.sent.append(number)
    elif done.unready:
        done.failed.append(number)
    elif row := _written(due, address, now, row):
        (done.sent if post(row, now=now).sent_at else done.failed).append(number)


def _written(due: Due, address, now, row: Sending | None) -> Sending | None:
    """The row this run writes its mail under; None where another run has made it."""
    if row:
        if row.address_id != address.pk:
            row.address = address
            row.save(update_fields=["address"])
        return row
    try:
        with transaction.atomic():
            return Sending.objects.create(
                workshop=due.certificate.workshop,
                key=key_of(due),
                kind=Sending.Kind.RECHECK,
                certificate=due.certificate,
                address=address,
                subject=f"Recheck of the film on your {due.certificate.job.vehicle.model}"[:200],
                made_at=now,
            )
    except IntegrityError:
        return None
