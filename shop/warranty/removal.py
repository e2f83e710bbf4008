"""Film that comes off a car for good: its cover ends with it, for that panel alone."""

from collections.abc import Iterable, Mapping
from datetime import date
from zoneinfo import ZoneInfo

from django.db import transaction

from shop.documents.rights import must_be_allowed
from shop.intake.models import Panel, Vehicle
from shop.intake.names import body_of
from shop.intake.panels import make_panels
from shop.intake.typed import Typed
from shop.people.identity import By
from shop.record.actions import write
from shop.warranty.aftercare import CoverEvent
from shop.warranty.findings import films_of, keep_findings, name_of, read_findings, said
from shop.warranty.models import CoverLine
from shop.warranty.vocabulary import terms_for, vocabulary
from shop.work.models.fitting import Fitting

WHYS = (CoverEvent.Kind.REMOVED, CoverEvent.Kind.PANEL_REPLACED)


@transaction.atomic
def take_film_off(
    *,
    vehicle: Vehicle,
    panel: str,
    on: date,
    why: str = "removed",
    findings: Iterable[Mapping] = (),
    by: By,
    now,
) -> list[CoverEvent]:
    """The film of one panel (`hood`) is taken off, or the panel itself was replaced: `why` removed, panel_replaced.

    Cover of that panel ends with the day. Findings as in `read_findings`, kinds as the terms list them. Refused
    while the film belongs to a running job, or while a supplier has asked that it stays on.
    """
    must_be_allowed(by, "take_film_off", workshop=vehicle.workshop)
    panel = str(panel).partition(".")[0]
    typed = Typed()
    typed.one_of(why, WHYS, sentence="Say whether film or the whole panel came off.", where="#why")
    films = [film for film in films_of(vehicle) if film.panel.code == panel]
    if (
        not films
        and not CoverLine.objects.of_vehicles([vehicle.pk]).filter(panel=panel, fitting=None).exists()
    ):
        typed.wrong("No film of ours is on that panel.", "#panel", "no_film")
    for film in films:
        _may_come_off(typed, film, on, why)
    _day(typed, vehicle.workshop, on, now)
    language = vehicle.workshop.language
    terms = terms_for(vehicle.workshop)
    kinds = vocabulary(terms.body if terms else None, language).removal
    seen = read_findings(typed, findings, films, kinds)
    typed.stop()
    body = {
        "vehicle": vehicle.pk,
        "panel": panel,
        "on": on.isoformat(),
        "why": str(why),
        "pieces": [{"place": film.place, "fitting": film.pk, "job": film.job_id} for film in films],
        "findings": said(seen),
    }
    job = films[0].job if films else None
    entry = write(workshop=vehicle.workshop, job=job, verb="take_film_off", body=body, by=by, now=now)
    common = {"workshop": vehicle.workshop, "vehicle": vehicle, "entry": entry, "kind": why, "on": on}
    common |= {"panel": panel, "person": by.person, "at": now}
    events = [CoverEvent.objects.create(fitting=film, **common) for film in films or [None]]
    Fitting.objects.filter(pk__in=[film.pk for film in films]).update(ended_at=now, ended_as=str(why))
    by_film = {event.fitting_id: event for event in events}
    for one in seen:
        keep_findings([one], now, event=by_film[one.fitting.pk])
    if why == CoverEvent.Kind.PANEL_REPLACED:
        _replace(vehicle, panel, now)
    return events


def _may_come_off(typed: Typed, film: Fitting, on: date, why: str) -> None:
    handed_over = getattr(film.job, "hand_over", None)
    if handed_over is None:
        text = f"{name_of(film)} belongs to job {film.job.number}, which is not handed over: settle it there."
        typed.wrong(text, "#panel", "job_closed")
    elif on < handed_over.on:
        typed.wrong(f"{name_of(film)}: the car left with this film only later.", "#on", "day_wrong")
    waits = film.claims.filter(supplier_waits__isnull=False, supplier_waits__answered_at__isnull=True)
    if why == CoverEvent.Kind.REMOVED and (claim := waits.first()):
        text = f"{name_of(film)}: claim {claim.number} waits for the supplier. Leave the film on until then."
        typed.wrong(text, "#panel", "waiting_for_supplier")


def _day(typed: Typed, workshop, on: date, now) -> None:
    if on > now.astimezone(ZoneInfo(workshop.zone)).date():
        typed.wrong("That day is still to come.", "#on", "day_wrong")


def _replace(vehicle: Vehicle, code: str, now) -> None:
    """The old panel keeps its rows; the new one starts a life of its own."""
    Panel.objects.filter(vehicle=vehicle, code=code, replaced_at__isnull=True).update(replaced_at=now)
    last = vehicle.jobs.select_related("body").order_by("-pk").first()
    if last:
        make_panels(vehicle, body_of(last.body))
