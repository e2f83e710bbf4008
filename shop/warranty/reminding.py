"""Mails that remind owners of a recheck. The row stands before the mail leaves, so that no mail leaves twice.

A mail that failed is tried again with the next run. One whose row stands without an answer, because the program
was stopped in between, may have left: it is named for somebody to look after, and never sent by itself.
"""

import logging
from dataclasses import dataclass, field
from datetime import date, timedelta
from email.utils import formataddr
from smtplib import SMTPException
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.mail import EmailMessage
from django.db import IntegrityError, transaction
from django.template.loader import render_to_string

from shop.intake.models import Ownership
from shop.warranty.address import base_of, check_url
from shop.warranty.aftercare import Sending
from shop.warranty.due import COMING, DUE, Due, rechecks_due

log = logging.getLogger("shop")
FAULT_MOST = 300


@dataclass
class Reminded:
    """What one run did, by the number of the certificate."""

    sent: list[str] = field(default_factory=list)
    failed: list[str] = field(default_factory=list)
    no_address: list[str] = field(default_factory=list)
    unclear: list[str] = field(default_factory=list)


def remind(workshop, *, now, send: bool = True) -> Reminded:
    """Write to every owner whose recheck is due or soon due; `send=False` only tells who that would be."""
    today = now.astimezone(ZoneInfo(workshop.zone)).date()
    done = Reminded()
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
    if row and not row.fault:
        done.unclear.append(number)
    elif not address or not address.value:
        done.no_address.append(number)
    elif not send:
        done.sent.append(number)
    elif row := _claimed(due, address, now, row):
        (done.sent if _sent(row, due, address.value) else done.failed).append(number)


def _claimed(due: Due, address, now, row: Sending | None) -> Sending | None:
    """The row this run writes its mail under; None where another run has it."""
    if row:
        mine = Sending.objects.filter(pk=row.pk, sent_at__isnull=True).exclude(fault="")
        if not mine.update(fault="", address=address, made_at=now):
            return None
        row.refresh_from_db()
        return row
    try:
        with transaction.atomic():
            return Sending.objects.create(
                workshop=due.certificate.workshop,
                key=key_of(due),
                certificate=due.certificate,
                address=address,
                subject=f"Recheck of the film on your {due.certificate.job.vehicle.model}"[:200],
                made_at=now,
            )
    except IntegrityError:
        return None


def _sent(row: Sending, due: Due, address: str) -> bool:
    try:
        _mail(row, due, address).send()
    except (SMTPException, OSError, ValueError) as fault:
        log.warning("mail %s did not leave: %s", row.key, fault)
        row.fault = (str(fault) or type(fault).__name__)[:FAULT_MOST]
        row.save(update_fields=["fault"])
        return False
    row.sent_at = row.made_at
    row.save(update_fields=["sent_at"])
    return True


def _mail(row: Sending, due: Due, address: str) -> EmailMessage:
    workshop = due.certificate.workshop
    context = {
        "workshop": workshop,
        "car": due.certificate.job.vehicle,
        "number": due.certificate.number,
        "asked": due.asked,
        "planned_on": due.planned_on,
        "address": check_url(base_of(workshop), due.certificate.token),
    }
    sender = formataddr((workshop.name, workshop.mail)) if workshop.mail else settings.DEFAULT_FROM_EMAIL
    text = render_to_string("warranty/recheck_mail.txt", context)
    return EmailMessage(row.subject, text, sender, [address])
