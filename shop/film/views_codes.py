"""Codes on labels: a roll's own label to print, and codes read from a photo, shown before anything is taken over."""

from urllib.parse import urlencode

from django import forms
from django.shortcuts import get_object_or_404
from django.urls import reverse

from shop.film import label
from shop.film.models import Roll
from shop.film.roll_label import put_together
from shop.intake import vin as vins
from shop.pages import page
from shop.people.desk import PlainForm
from shop.people.doors import DESK, staff
from shop.photos.fields import CodesField
from shop.pressed import pressed


class PhotoForm(PlainForm):
    photo = CodesField(
        label="Photo of the label", help_text="Close, square on, the whole code in the picture."
    )
    photo.widget = forms.FileInput({"accept": "image/*", "capture": "environment"})


@staff()
def roll_label(request, roll):
    row = get_object_or_404(Roll.objects.on_the_shelf(request.workshop), pk=roll)
    return pressed(put_together(row), name=f"roll-{row.pk}")


@staff(posts=True)
def read_roll(request):
    """Lot and roll from a photo: those that stand here open, others start the form of a roll that comes in."""
    return _read(request, "film", _as_roll, reverse("film-room"))


@staff(*DESK, posts=True)
def read_vin(request):
    """A VIN from a photo, to be compared and then taken over."""
    return _read(request, "cars", _as_vin, reverse("take-in"))


def _read(request, here: str, offers, back: str):
    form = PhotoForm(request.POST, request.FILES) if request.method == "POST" else PhotoForm()
    found, status = None, 200
    if request.method == "POST":
        if form.is_valid():
            found = [offers(request, code) for code in form.cleaned_data["photo"]]
        else:
            status = 422
    context = {"here": here, "form": form, "found": found, "back": back, "vin": here == "cars"}
    return page(request, "film/read_code.html", context, status=status)


def _as_roll(request, code) -> dict:
    on = label.read(code.text)
    if on is None:
        return _nothing(code)
    here = Roll.objects.on_the_shelf(request.workshop)
    rolls = (
        here.filter(code=on.roll, lot__code=on.lot)
        if on.roll and on.lot
        else here.filter(code=on.bare or on.roll)
    )
    acts = [
        {"words": f"Open roll {row.code} of lot {row.lot.code}", "url": reverse("roll", args=[row.pk])}
        for row in rolls[:5]
    ]
    if request.person.has(*DESK) and not acts:
        acts = _receive(on)
    shown = f"lot {on.lot or '–'}, roll {on.roll or '–'}" if not on.bare else on.bare
    return {"kind": code.kind, "text": shown, "acts": acts}


def _receive(on: label.OnLabel) -> list[dict]:
    """A bare code says not what it is: that is asked."""
    ways = [("It is the roll", {"roll": on.bare}), ("It is the lot", {"lot": on.bare})] if on.bare else [
        ("Receive this roll", {name: code for name, code in (("lot", on.lot), ("roll", on.roll)) if code})
    ]  # fmt: skip
    return [{"words": words, "url": f"{reverse('new-roll')}?{urlencode(given)}"} for words, given in ways]


def _as_vin(request, code) -> dict:
    found = vins.in_code(code.text)
    if not found:
        return _nothing(code)
    wrong = [reason.text for reason in vins.problems(found)]
    url = f"{reverse('take-in')}?{urlencode({'vin': found})}"
    return {
        "kind": code.kind,
        "text": found,
        "acts": [{"words": "It is this VIN", "url": url}],
        "wrong": wrong,
    }


def _nothing(code) -> dict:
    printable = "".join(sign if sign.isprintable() else " " for sign in code.text)
    return {"kind": code.kind, "text": printable[:60], "acts": []}
