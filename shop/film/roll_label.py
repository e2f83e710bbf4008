"""The label of a roll as PDF: what it is in words, and a code that a photo is enough for. Nothing of it is kept."""

import io

import segno
from django.conf import settings
from django.template.loader import render_to_string

from shop import clock, press
from shop.film.label import payload
from shop.film.models import Roll
from shop.film.shelf import size
from shop.printing import Printed, render

PRINT_S = 60
STYLE = "static/css/roll_label_paper.css"


def print_label(roll: Roll) -> bytes:
    """The PDF's bytes; press.PressFailed when it could not be printed."""
    return press.run(render, put_together(roll), timeout=PRINT_S)


def put_together(roll: Roll) -> Printed:
    system = roll.lot.material.workshop.unit_system
    context = {"roll": roll, "lot": roll.lot, "film": roll.lot.material}
    context["size"] = size(roll.width_mm, roll.length_mm, system)
    return Printed(
        html=render_to_string("film/roll_label.html", context),
        css=(settings.BASE_DIR / STYLE).read_text(encoding="utf-8"),
        mark=f"roll.{roll.pk}",
        made=clock.now(),
        served={"static:code.svg": ("image/svg+xml", code_svg(roll))},
    )


def code_svg(roll: Roll) -> bytes:
    """Level Q: a label on a core is scratched and wetted."""
    code = segno.make(payload(roll.lot.code, roll.code), error="q", micro=False, boost_error=False)
    out = io.BytesIO()
    code.save(
        out, kind="svg", scale=4, border=4, dark="#000000", light="#FFFFFF", svgclass=None, lineclass=None
    )
    return out.getvalue()
