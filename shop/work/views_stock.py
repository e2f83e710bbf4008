"""The film room with what is set out on it: what is left, planned, free and kept back, and film cut for a car."""

from django.contrib import messages
from django.shortcuts import get_object_or_404
from django.urls import reverse

from shop import clock
from shop.film import actions, shelf
from shop.film.models import Lot, Mix, Offcut, Roll
from shop.pages import page
from shop.people.desk import settle
from shop.people.doors import DESK, staff
from shop.work.forms_stock import CutForm, LayForm, piece_words
from shop.work.models.fitting import Fitting
from shop.work.roll_use import LotUse, lots_of, needs_of, uncut, uses_of

HERE = {"here": "film"}


@staff()
def film_room(request):
    workshop, today = request.workshop, clock.today(request.workshop.zone)
    system = workshop.unit_system
    rolls = list(Roll.objects.on_the_shelf(workshop).with_left())
    planned = {pk: use.planned_mm for pk, use in uses_of(rolls).items()}
    reserved = _reserved({roll.lot_id: roll.lot for roll in rolls}.values(), system)
    context = {
        "films": shelf.films(rolls, system, today, planned=planned, reserved=reserved),
        "wet": shelf.wet(Lot.objects.on_the_shelf(workshop, *actions.WET), today),
        "offcuts": Offcut.objects.on_the_shelf(workshop).count(),
        "mixes": Mix.objects.made_on(workshop, today).count(),
        "may": request.person.has(*DESK),
    }
    return page(request, "film/film_room.html", HERE | context)


def _reserved(lots, system: str) -> dict[int, str]:
    found = lots_of(lot for lot in lots if lot.reserve_mm)
    return {pk: said(use, system) for pk, use in found.items()}


def said(use: LotUse, system: str) -> str:
    return shelf.reserve_said(use.lot.reserve_mm, use.free_mm, system)


@staff()
def lot(request, lot):
    row = get_object_or_404(Lot.objects.of(request.workshop), pk=lot)
    today, system = clock.today(request.workshop.zone), request.workshop.unit_system
    rolls = list(row.rolls.select_related("lot__material__sheet").with_left().order_by("code"))
    planned = {pk: use.planned_mm for pk, use in uses_of(rolls).items()}
    use = lots_of([row])[row.pk]
    context = {
        "lot": row,
        "rolls": [shelf.row_of_roll(each, system, today, planned[each.pk]) for each in rolls],
        "wrong": shelf.wrong(row, row.expires_on, today),
        "film": row.material.kind == row.material.Kind.FILM,
        "reserve": shelf.length(row.reserve_mm, system) if row.reserve_mm else "",
        "short": said(use, system) if use.into_reserve_mm else "",
        "cars": _cars(row),
        "may": request.person.has(*DESK),
    }
    return page(request, "film/lot.html", HERE | context)


def _cars(lot: Lot) -> list[dict]:
    """Who carries this lot: the cars to look at when one of them lifts, and to keep film for."""
    rows = (
        Fitting.objects.live()
        .filter(roll__lot=lot, job__cancelled_at__isnull=True)
        .select_related("panel", "job__vehicle", "job__workshop")
        .prefetch_related("job__body")
        .order_by("-job__pk", "panel__code", "piece")
    )
    return [{"job": row.job, "words": piece_words(row)} for row in rows]


@staff()
def roll(request, roll):
    row = _roll(request, roll)
    today, system = clock.today(request.workshop.zone), request.workshop.unit_system
    planned = needs_of(uncut([row.pk]))
    use = uses_of([row])[row.pk]
    cuts = row.cuts.select_related("fitting__panel", "fitting__job__vehicle", "fitting__job__workshop")
    context = {
        "roll": row,
        "shown": shelf.row_of_roll(row, system, today, use.planned_mm),
        "reserved": "".join(_reserved([row.lot], system).values()),
        "cuts": [
            _cut_row(each, system) for each in cuts.prefetch_related("fitting__job__body").order_by("-pk")
        ],
        "planned": [
            {"fitting": each, "words": piece_words(each), "need": shelf.length(need.taken.length_mm, system)}
            for each, need in planned
        ],
        "offcuts": [
            {"offcut": each, "size": shelf.size(each.width_mm, each.length_mm, system)}
            for each in Offcut.objects.on_the_shelf(request.workshop).filter(roll=row)
        ],
        "may": request.person.has(*DESK),
    }
    return page(request, "film/roll.html", HERE | context)


def _cut_row(cut, system: str) -> dict:
    words = piece_words(cut.fitting) if cut.fitting else cut.note or cut.get_kind_display()
    return {"cut": cut, "words": words, "length": shelf.length(cut.length_mm, system)}


@staff(posts=True)
def cut(request, roll):
    row = _roll(request, roll)
    system = request.workshop.unit_system
    waiting = uncut([row.pk]).select_related("panel", "job__vehicle", "job__workshop", "job__body")
    needs = {each.pk: need.taken for each, need in needs_of(uncut([row.pk]))}
    wanted = request.GET.get("piece", "")
    taken = needs.get(int(wanted)) if wanted.isascii() and wanted.isdigit() and len(wanted) < 19 else None
    first = {"piece": wanted, "length": shelf.length(taken.length_mm, system)} if taken else {}
    form = CutForm(request.POST or None, workshop=request.workshop, pieces=waiting, initial=first)

    def act(told, by):
        actions.cut_film(
            job=told["piece"].job,
            panel=told["piece"].place,
            roll=row,
            length_mm=told["length"],
            width_mm=told["width"] or None,
            confirmed=told.get("confirmed", False),
            by=by,
            now=clock.now(),
        )
        messages.success(request, f"{told['piece'].panel.code.capitalize()}: the cut is written down.")
        return reverse("roll", args=[row.pk])

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    context = {"roll": row, "form": form, "left": shelf.length(max(row.left_mm, 0), system)}
    context["waiting"] = bool(needs)
    return page(request, "film/cut.html", HERE | context, status=form.status)


@staff(posts=True)
def lay_offcut(request, offcut):
    row = get_object_or_404(Offcut.objects.on_the_shelf(request.workshop), pk=offcut)
    lot_rolls = row.roll.lot.rolls.values_list("pk", flat=True)
    pieces = uncut(lot_rolls).select_related("panel", "job__vehicle", "job__workshop", "job__body")
    form = LayForm(request.POST or None, pieces=pieces)

    def act(told, by):
        piece = told["piece"]
        actions.cut_film(job=piece.job, panel=piece.place, offcut=row, by=by, now=clock.now())
        messages.success(request, f"Offcut {row.pk} is for job {piece.job.number}.")
        return reverse("offcuts")

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    size = shelf.size(row.width_mm, row.length_mm, request.workshop.unit_system)
    context = {"offcut": row, "size": size, "form": form, "waiting": pieces.exists()}
    return page(request, "film/lay_offcut.html", HERE | context, status=form.status)


def _roll(request, pk: int) -> Roll:
    return get_object_or_404(Roll.objects.on_the_shelf(request.workshop).with_left(), pk=pk)
