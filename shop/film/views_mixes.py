"""Slip and tack made up for the day."""

from django.contrib import messages
from django.urls import reverse

from shop import clock, units
from shop.film import actions
from shop.film.forms_cuts import MixForm
from shop.film.models import Mix
from shop.pages import page
from shop.people.desk import settle
from shop.people.doors import staff

HERE = {"here": "film"}
LAST = 40


@staff()
def mixes(request):
    """What stands in the sprayers today, and what stood there before."""
    today = clock.today(request.workshop.zone)
    rows = list(Mix.objects.of(request.workshop).order_by("-made_at", "-pk")[:LAST])
    system = request.workshop.unit_system
    told = [
        {
            "mix": row,
            "stock": units.format_ml10(row.stock_ml10, system, both=True),
            "total": units.format_ml10(row.total_ml10, system, both=True),
        }
        for row in rows
    ]
    context = {
        "today": [one for one in told if one["mix"].made_on == today],
        "before": [one for one in told if one["mix"].made_on != today],
    }
    return page(request, "film/mixes.html", HERE | context)


@staff(posts=True)
def new_mix(request):
    form = MixForm(request.POST or None, workshop=request.workshop)

    def act(told, by):
        row = actions.make_mix(workshop=request.workshop, **form.told(), by=by, now=clock.now())
        system = request.workshop.unit_system
        stock, total = (
            units.format_ml10(part, system, both=True) for part in (row.stock_ml10, row.total_ml10)
        )
        messages.success(
            request,
            f"Measure {stock} of {row.lot.material.name}, then fill up with filtered water to {total}. "
            f"Write {row.label} on the sprayer.",
        )
        return reverse("mixes")

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    return page(request, "film/new_mix.html", HERE | {"form": form}, status=form.status)
