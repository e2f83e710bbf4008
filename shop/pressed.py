"""A paper printed when it is asked for, as an answer: it says how things stand now, and nothing rests on its bytes."""

import logging

from django.http import HttpResponse

from shop import press
from shop.printing import Printed, render

log = logging.getLogger("shop")
PRINT_S = 60
NOT_PRINTED = "This paper could not be printed just now. Go back and try again; nothing is lost."


def pressed(paper: Printed, *, name: str) -> HttpResponse:
    """The PDF to look at, or a sentence where the press failed."""
    try:
        data = press.run(render, paper, timeout=PRINT_S)
    except Exception:
        log.exception("%s was not printed", name)
        return HttpResponse(NOT_PRINTED, status=503, content_type="text/plain; charset=utf-8")
    headers = {"Content-Disposition": f'inline; filename="{name}.pdf"'}
    return HttpResponse(data, content_type="application/pdf", headers=headers)
