"""Offcuts and scrap: film that left its roll and is not on a car."""

from django.contrib import messages
from django.shortcuts import get_object_or_404
from django.urls import reverse

from shop import clock
from shop.film import actions, shelf
from shop.film.forms_cuts import OffcutForm, OffcutScrapForm, ScrapForm
from shop.film.models import Offcut, Roll
from shop.pages import page
from shop.people.desk import settle
from shop.people.doors import staff

HERE = {"here": "film"}


@staff()
def offcuts(request):
    """The shelf of offcuts, each with what it is and where it lies."""
    today = clock.today(request.workshop.zone)
    system = request.workshop.unit_system
    rows = [
        {
            "offcut": row,
            "size": shelf.size(row.width_mm, row.length_mm, system),
            "wrong": shelf.wrong(row.roll.lot, row.roll.expires_on, today),
        }
        for row in Offcut.objects.on_the_shelf(request.workshop)
    ]
    return page(request, "film/offcuts.html", HERE | {"rows": rows})


@staff(posts=True)
def keep_offcut(request, roll):
    row = _roll(request, roll)
    form = OffcutForm(request.POST or None, workshop=request.workshop)

    def act(told, by):
        kept = actions.keep_offcut(
            roll=row,
            width_mm=told["width"],
            length_mm=told["length"],
            shelf=told["shelf"],
            off_the_roll=told["off_the_roll"],
            confirmed=told.get("confirmed", False),
            by=by,
            now=clock.now(),
        )
        messages.success(request, f"Offcut {kept.pk} lies on shelf {kept.shelf}: write its number on it.")
        return reverse("offcuts")

    return _page(request, form, act, "film/keep_offcut.html", row)


@staff(posts=True)
def scrap_roll(request, roll):
    row = _roll(request, roll)
    form = ScrapForm(request.POST or None, workshop=request.workshop)

    def act(told, by):
        actions.scrap(
            roll=row,
            length_mm=told["length"],
            reason=told["reason"],
            confirmed=told.get("confirmed", False),
            by=by,
            now=clock.now(),
        )
        return reverse("roll", args=[row.pk])

    return _page(request, form, act, "film/scrap.html", row)


@staff(posts=True)
def scrap_offcut(request, offcut):
    row = get_object_or_404(Offcut.objects.on_the_shelf(request.workshop), pk=offcut)
    form = OffcutScrapForm(request.POST or None)

    def act(told, by):
        actions.scrap(offcut=row, reason=told["reason"], by=by, now=clock.now())
        messages.success(request, f"Offcut {row.pk} is gone.")
        return reverse("offcuts")

    return _page(request, form, act, "film/scrap.html", row.roll, offcut=row)


def _roll(request, pk: int) -> Roll:
    return get_object_or_404(Roll.objects.on_the_shelf(request.workshop).with_left(), pk=pk)


def _page(request, form, act, template, roll, **more):
    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    system = request.workshop.unit_system
    context = HERE | {"roll": roll, "form": form} | more
    if hasattr(roll, "left_mm"):
        context["left"] = shelf.length(max(roll.left_mm, 0), system)
    return page(request, template, context, status=form.status)
