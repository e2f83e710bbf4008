"""The label of a roll as a paper: what it is in words, and a code that a photo is enough for. Nothing of it is kept."""

from shop import clock, papers
from shop.film.label import payload
from shop.film.models import Roll
from shop.film.shelf import size
from shop.printing import Printed

STYLE = "roll_label_paper.css"


def put_together(roll: Roll) -> Printed:
    system = roll.lot.material.workshop.unit_system
    context = {"roll": roll, "lot": roll.lot, "film": roll.lot.material}
    context["size"] = size(roll.width_mm, roll.length_mm, system)
    return papers.compose(
        "film/roll_label.html",
        context,
        style=STYLE,
        mark=f"roll.{roll.pk}",
        made=clock.now(),
        served={"static:code.svg": ("image/svg+xml", papers.code_svg(payload(roll.lot.code, roll.code)))},
    )
