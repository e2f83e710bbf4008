"""Rechecks: when a paper's terms ask for one, planned with the owner, done with findings edge by edge."""

from collections.abc import Iterable, Mapping
from datetime import date
from zoneinfo import ZoneInfo

from django.db import transaction

from shop.documents.rights import must_be_allowed
from shop.intake.typed import Typed
from shop.people.identity import By
from shop.record.actions import write
from shop.templatetags.words import day
from shop.warranty.aftercare import Recheck
from shop.warranty.cover import cover_of
from shop.warranty.due import Asked, asked_of
from shop.warranty.findings import Seen, films_of, keep_findings, name_of, read_findings, said
from shop.warranty.models import Certificate
from shop.warranty.vocabulary import vocabulary

EXTRA = "extra"
MOST_KM = 3_000_000


@transaction.atomic
def plan_recheck(*, certificate: Certificate, on: date, key: str = "", by: By, now) -> Recheck:
    """Agree on a day for a recheck the terms ask for (`key`), or for one besides them. A later day replaces it."""
    must_be_allowed(by, "plan_recheck", workshop=certificate.workshop)
    typed = Typed()
    asked = _asked(typed, certificate, key)
    if on < _today(certificate, now):
        typed.wrong("That day is over: plan a day to come.", "#on", "day_wrong")
    typed.stop()
    row = _row(certificate, key, asked, on)
    if row.done_on:
        typed.wrong(f"This recheck was done on {day(row.done_on)}.", code="already_recorded")
        typed.stop()
    row.planned_on = on
    row.save()
    body = {"certificate": certificate.number, "recheck": row.key, "on": on.isoformat()}
    write(workshop=certificate.workshop, job=certificate.job, verb="plan_recheck", body=body, by=by, now=now)
    return row


@transaction.atomic
def record_recheck(
    *,
    certificate: Certificate,
    on: date,
    key: str = "",
    findings: Iterable[Mapping] = (),
    odometer_km: int | None = None,
    by: By,
    now,
) -> Recheck:
    """The car was looked over on this day; no findings means that everything was sound.

    Findings as in `read_findings`, kinds as the terms list symptoms. A place touched up on the spot wants a
    photo of how it is now.
    """
    must_be_allowed(by, "record_recheck", workshop=certificate.workshop)
    typed = Typed()
    asked = _asked(typed, certificate, key)
    terms = certificate.current().terms
    words = vocabulary(terms.body if terms else None, certificate.workshop.language)
    films = films_of(certificate.job.vehicle) if certificate.job else []
    seen = read_findings(typed, findings, films, words.symptoms)
    km = typed.number(
        odometer_km,
        least=0,
        most=MOST_KM,
        sentence="The odometer is a whole number of kilometres.",
        where="#odometer_km",
    )
    _done_day(typed, certificate, on, now)
    _touch_up_runs(typed, certificate, seen, on)
    typed.stop()
    row = _row(certificate, key, asked, on)
    if row.done_on:
        typed.wrong(f"This recheck was done on {day(row.done_on)}.", code="already_recorded")
        typed.stop()
    body = {
        "certificate": certificate.number,
        "recheck": row.key,
        "on": on.isoformat(),
        "odometer_km": km,
        "findings": said(seen),
    }
    row.entry = write(
        workshop=certificate.workshop, job=certificate.job, verb="record_recheck", body=body, by=by, now=now
    )
    row.done_on, row.person, row.odometer_km = on, by.person, km
    row.save()
    keep_findings(seen, now, recheck=row)
    return row


def _touch_up_runs(typed: Typed, certificate: Certificate, seen: Iterable[Seen], on: date) -> None:
    """The free touch-up is a promise in days; later the same fault is a claim, decided before it is mended."""
    touched = [one for one in seen if one.touched_up]
    if not touched:
        return
    cover = cover_of(certificate.job.vehicle, today=on)
    for one in touched:
        spans = [s for s in cover.at(one.fitting.panel.code, one.fitting.piece) if s.kind == "touch_up"]
        if any(span.first_day <= on <= span.last_day for span in spans):
            continue
        last = max((span.last_day for span in spans), default=None)
        ended = f"ended on {day(last)}" if last else "is not promised here"
        text = f"{name_of(one.fitting)}: the free touch-up {ended}. Take the fault down as a claim first."
        typed.wrong(text, "#touched_up", "day_wrong")


def _asked(typed: Typed, certificate: Certificate, key: str) -> Asked | None:
    """What the terms say of this recheck; None for one besides them."""
    if certificate.current().withdrawn_at:
        text = f"Certificate {certificate.number} was withdrawn: nothing under it is rechecked."
        typed.wrong(text, code="certificate_withdrawn")
    if not key or key.startswith(f"{EXTRA}-"):
        return None
    asked = next((one for one in asked_of(certificate) if one.key == key), None)
    if asked is None:
        typed.wrong("The terms of this paper ask for no such recheck.", "#key")
    return asked


def _row(certificate: Certificate, key: str, asked: Asked | None, on: date) -> Recheck:
    """The row of this recheck, new where it was neither planned nor done so far."""
    here = {
        row.key: row for row in Recheck.objects.select_for_update(no_key=True).filter(certificate=certificate)
    }
    if key in here:
        return here[key]
    if asked is None:
        taken = sum(name.startswith(f"{EXTRA}-") for name in here)
        key = f"{EXTRA}-{taken + 1}"
    return Recheck(
        workshop=certificate.workshop,
        certificate=certificate,
        key=key,
        due_from=asked.due_from if asked else on,
        due_until=asked.due_until if asked else None,
    )


def _done_day(typed: Typed, certificate: Certificate, on: date, now) -> None:
    first = min((line.first_day for line in certificate.current().cover.all()), default=on)
    if on > _today(certificate, now):
        typed.wrong("That day is still to come.", "#on", "day_wrong")
    elif on < first:
        typed.wrong(f"The cover began on {day(first)}; it was looked over after that.", "#on", "day_wrong")


def _today(certificate: Certificate, now) -> date:
    return now.astimezone(ZoneInfo(certificate.workshop.zone)).date()
