"""The film room: what is on the shelf, what comes in, what is held back."""

from django.contrib import messages
from django.shortcuts import get_object_or_404
from django.urls import reverse

from shop import clock
from shop.documents.models import Document
from shop.film import actions, shelf
from shop.film.forms import FilmForm, LotForm, OpenedForm, ReserveForm, RollForm, WhyForm
from shop.film.models import Lot, Material, Roll
from shop.pages import page
from shop.people.desk import settle
from shop.people.doors import DESK, staff

HERE = {"here": "film"}


@staff(*DESK, posts=True)
def new_roll(request):
    workshop = request.workshop
    first = {"received_on": clock.today(request.workshop.zone), "sheet": _usual_sheet(workshop)}
    # As read from a photo and taken over by somebody who compared it with the label.
    first |= {name: request.GET[name][:40] for name in ("lot", "roll") if name in request.GET}
    form = RollForm(request.POST or None, workshop=workshop, initial=first)

    def act(told, by):
        given = {name: value for name, value in told.items() if name not in ("key", "width", "length")}
        row = actions.receive_roll(
            workshop=workshop,
            width_mm=told["width"],
            length_mm=told["length"],
            **given,
            by=by,
            now=clock.now(),
        )
        messages.success(request, f"Roll {row.code} of lot {row.lot.code} is on the shelf.")
        return reverse("film-room")

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    return page(request, "film/new_roll.html", HERE | {"form": form}, status=form.status)


def _usual_sheet(workshop):
    return Document.objects.in_force(workshop, Document.Kind.FILM)


@staff(*DESK, posts=True)
def new_lot(request):
    workshop = request.workshop
    form = LotForm(request.POST or None, initial={"received_on": clock.today(request.workshop.zone)})

    def act(told, by):
        given = {name: value for name, value in told.items() if name != "key"}
        row = actions.receive_lot(workshop=workshop, **given, by=by, now=clock.now())
        messages.success(request, f"Lot {row.code} of {row.material.name} is on the shelf.")
        return reverse("film-room")

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    known = Material.objects.filter(workshop=workshop, kind__in=actions.WET).values_list("name", flat=True)
    context = {"form": form, "products": sorted(set(known))}
    return page(request, "film/new_lot.html", HERE | context, status=form.status)


@staff(*DESK, posts=True)
def quarantine(request, lot):
    row = _lot(request, lot)

    def act(told, by):
        actions.quarantine_lot(lot=row, reason=told["reason"], by=by, now=clock.now())
        messages.success(request, f"Lot {row.code} is held back.")
        return reverse("lot", args=[row.pk])

    return _act_page(request, row, WhyForm(request.POST or None), act, "film/quarantine.html")


@staff(*DESK, posts=True)
def free(request, lot):
    row = _lot(request, lot)

    def act(told, by):
        actions.free_lot(lot=row, reason=told["reason"], by=by, now=clock.now())
        messages.success(request, f"Lot {row.code} may be used again.")
        return reverse("lot", args=[row.pk])

    return _act_page(request, row, WhyForm(request.POST or None), act, "film/free.html")


@staff(*DESK, posts=True)
def open_lot(request, lot):
    row = _lot(request, lot)

    def act(told, by):
        actions.open_lot(lot=row, opened_on=told["opened_on"], by=by, now=clock.now())
        return reverse("lot", args=[row.pk])

    form = OpenedForm(request.POST or None, initial={"opened_on": clock.today(request.workshop.zone)})
    return _act_page(request, row, form, act, "film/opened.html")


@staff(*DESK, posts=True)
def open_roll(request, roll):
    row = get_object_or_404(Roll.objects.on_the_shelf(request.workshop), pk=roll)

    def act(told, by):
        actions.open_roll(roll=row, opened_on=told["opened_on"], by=by, now=clock.now())
        return reverse("lot", args=[row.lot_id])

    form = OpenedForm(request.POST or None, initial={"opened_on": clock.today(request.workshop.zone)})
    return _act_page(request, row.lot, form, act, "film/opened.html", roll=row)


@staff(*DESK, posts=True)
def reserve(request, lot):
    row = _lot(request, lot)

    def act(told, by):
        actions.reserve_film(lot=row, length_mm=told["length"], by=by, now=clock.now())
        messages.success(request, f"Lot {row.code}: what is kept back is written down.")
        return reverse("lot", args=[row.pk])

    kept = shelf.length(row.reserve_mm, request.workshop.unit_system) if row.reserve_mm else ""
    form = ReserveForm(request.POST or None, workshop=request.workshop, initial={"length": kept})
    return _act_page(request, row, form, act, "film/reserve.html")


@staff(*DESK, posts=True)
def change_film(request, material):
    row = get_object_or_404(
        Material.objects.select_related("sheet"),
        pk=material,
        workshop=request.workshop,
        kind=Material.Kind.FILM,
    )
    first = {"colour": row.colour, "finish": row.finish, "directional": row.directional, "sheet": row.sheet}
    form = FilmForm(request.POST or None, workshop=request.workshop, initial=first)

    def act(told, by):
        given = {name: told[name] for name in first}
        actions.change_film(material=row, **given, by=by, now=clock.now())
        messages.success(request, f"{row.name}: put right.")
        return reverse("film-room")

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    return page(request, "film/change_film.html", HERE | {"film": row, "form": form}, status=form.status)


def _lot(request, pk: int) -> Lot:
    return get_object_or_404(Lot.objects.of(request.workshop), pk=pk)


def _act_page(request, row, form, act, template, **more):
    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    return page(request, template, HERE | {"lot": row, "form": form} | more, status=form.status)
