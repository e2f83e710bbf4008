"""The paint gauge: spots measured on metal panels, and panels that stand out from the rest of their car."""

from collections import defaultdict
from dataclasses import dataclass, field

from django.db import transaction

from shop.documents import built_in
from shop.documents.rights import must_be_allowed
from shop.intake import spots
from shop.intake.jobs import held
from shop.intake.looked_over import PaintSpot
from shop.intake.models import PaintNote
from shop.intake.names import body_of, panel_name
from shop.intake.panels import panel_row
from shop.intake.typed import Typed
from shop.people.identity import By
from shop.record.actions import write
from shop.units import METRIC, US, format_um10

MOST_READINGS = 20
THICKEST_UM10 = 50_000  # what a gauge for car paint can show at all


@transaction.atomic
def measure_paint(*, job, panel, readings_um10: list[int], note="", by: By, now) -> PaintSpot:
    """One spot: at least three readings of the gauge close together, in 0.1 µm, on a metal panel."""
    must_be_allowed(by, "mark_damage", workshop=job.workshop)
    job = held(job)
    row = panel_row(job, panel)
    typed = Typed()
    note = typed.line(note, name="The note", most=100, where="#note")
    thickness = _spot(typed, readings_um10, row.material)
    typed.stop()
    spot = PaintSpot.objects.create(
        job=job,
        panel=row,
        readings_um10=list(readings_um10),
        thickness_um10=thickness,
        note=note,
        person=by.person,
        made_at=now,
    )
    said = {
        "spot": spot.pk,
        "panel": row.code,
        "readings_um10": list(readings_um10),
        "thickness_um10": thickness,
        "note": note,
    }
    write(workshop=job.workshop, job=job, verb="measure_paint", body=said, by=by, now=now)
    return spot


@transaction.atomic
def strike_spot(*, spot: PaintSpot, why="", by: By, now) -> PaintSpot:
    """A spot measured wrongly: it stays in the book and counts no more."""
    must_be_allowed(by, "mark_damage", workshop=spot.job.workshop)
    job = held(spot.job)
    typed = Typed()
    why = typed.line(why, name="The reason", most=200, where="#why")
    if spot.struck_at:
        typed.wrong("This was already struck out.", code="superseded")
    typed.stop()
    spot.struck_at = now
    spot.save(update_fields=["struck_at"])
    said = {"spot": spot.pk, "panel": spot.panel.code, "why": why}
    write(workshop=job.workshop, job=job, verb="strike_spot", body=said, by=by, now=now)
    return spot


def _spot(typed: Typed, readings, material: str) -> int:
    if any(type(one) is not int for one in readings):
        typed.wrong("A reading is a number as the gauge shows it.", "#readings")
        return 0
    if len(readings) > MOST_READINGS:
        typed.wrong(f"Keep at most {MOST_READINGS} readings a spot.", "#readings")
        return 0
    if readings and max(readings) > THICKEST_UM10:
        typed.wrong("No gauge for paint shows that much: look at the unit.", "#readings")
        return 0
    try:
        return spots.spot_um10(readings, material)
    except ValueError as error:
        typed.wrong(str(error), "#readings")
        return 0


@dataclass
class PanelPaint:
    """The spots of one panel; `stands_out` says how it differs, `noted` that somebody wrote that down."""

    code: str
    name: str
    spots: list[PaintSpot] = field(default_factory=list)
    said: list[str] = field(default_factory=list)
    stands_out: str = ""
    noted: bool = False


def gauged(job) -> list[PanelPaint]:
    """Every panel measured, in the order of the body."""
    body, language, system = body_of(job.body), job.workshop.language, units_of(job.workshop)
    by_panel: dict[str, list[PaintSpot]] = defaultdict(list)
    for spot in PaintSpot.objects.standing(job):
        by_panel[spot.panel.code].append(spot)
    if not by_panel:
        return []
    out = {
        one.panel: one.text
        for one in spots.standing_out(
            {code: [spot.thickness_um10 for spot in rows] for code, rows in by_panel.items()},
            differs_um10=differs_um10(job.plan.body),
            units=system,
        )
    }
    noted = set(PaintNote.objects.standing(job).values_list("panel__code", flat=True))
    order = [panel.code for panel in body.panels if panel.code in by_panel]
    return [
        PanelPaint(
            code,
            panel_name(body, code, language),
            by_panel[code],
            [format_um10(spot.thickness_um10, system) for spot in by_panel[code]],
            out.get(code, ""),
            code in noted,
        )
        for code in order
    ]


def gauge_text(found: list[PanelPaint]) -> str:
    """What was measured, as the customer reads it; nothing where nothing was."""
    if not found:
        return ""
    said = "; ".join(f"{one.name} {', '.join(one.said)}" for one in found)
    out = [one.name for one in found if one.stands_out]
    more = f" Standing out from the rest of this car: {', '.join(out)}." if out else ""
    return f"Paint measured, mean of each spot: {said}.{more}"


def differs_um10(plan: dict) -> int:
    """How far a panel may lie from the middle of its car; the built-in plan's figure where this one has none."""
    usual = built_in.read(built_in.folder() / "plans" / "builtin.toml")
    return int((plan.get("paint") or usual["paint"])["differs_um10"])


def units_of(workshop) -> str:
    return US if workshop.unit_system == "us" else METRIC
