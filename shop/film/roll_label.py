"""The label of a roll as a paper: what it is in words, and a code that a photo is enough for. Nothing of it is kept."""

from django.conf import settings
from django.template.loader import render_to_string

from shop import clock
from shop.film.label import payload
from shop.film.models import Roll
from shop.film.shelf import size
from shop.papers import code_svg
from shop.printing import Printed

STYLE = "static/css/roll_label_paper.css"


def put_together(roll: Roll) -> Printed:
    system = roll.lot.material.workshop.unit_system
    context = {"roll": roll, "lot": roll.lot, "film": roll.lot.material}
    context["size"] = size(roll.width_mm, roll.length_mm, system)
    return Printed(
        html=render_to_string("film/roll_label.html", context),
        css=(settings.BASE_DIR / STYLE).read_text(encoding="utf-8"),
        mark=f"roll.{roll.pk}",
        made=clock.now(),
        served={"static:code.svg": ("image/svg+xml", code_svg(payload(roll.lot.code, roll.code)))},
    )
