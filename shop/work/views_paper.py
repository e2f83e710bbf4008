"""Papers of a running job, printed when they are asked for: they say how things stand, and nothing rests on them."""

import logging

from django.http import HttpResponse
from django.views.decorators.cache import never_cache

from shop import clock, press
from shop.people import doors
from shop.printing import Printed, render
from shop.work.floor import Floor
from shop.work.job_card import card
from shop.work.views_bay import job_for

log = logging.getLogger("shop")
PRINT_S = 60
NOT_PRINTED = "This paper could not be printed just now. Go back and try again; nothing is lost."


@doors.bay
@never_cache
def job_card(request, job):
    row = job_for(request, job)
    return printed(card(Floor(row), now=clock.now()), name=f"job-card-{row.number}")


def printed(paper: Printed, *, name: str) -> HttpResponse:
    """The PDF to look at, or a sentence where the press failed."""
    try:
        data = press.run(render, paper, timeout=PRINT_S)
    except Exception:
        log.exception("%s was not printed", name)
        return HttpResponse(NOT_PRINTED, status=503, content_type="text/plain; charset=utf-8")
    headers = {"Content-Disposition": f'inline; filename="{name}.pdf"'}
    return HttpResponse(data, content_type="application/pdf", headers=headers)
