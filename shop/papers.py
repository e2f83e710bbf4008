"""What printed papers have in common: how they are put together, their sheet, and codes that lead back to a screen."""

import io
from collections.abc import Mapping
from datetime import datetime
from typing import Any

import segno
from django.conf import settings
from django.template.loader import render_to_string

from shop.printing import Printed

LETTER_COUNTRIES = ("US", "CA", "MX")


def compose(
    template: str,
    context: Mapping[str, Any],
    *,
    style: str,
    mark: str,
    made: datetime,
    facts: bytes = b"",
    served: Mapping[str, tuple[str, bytes]] | None = None,
) -> Printed:
    """A paper as plain values, ready for the press. `style` names a file of static/css; the rest as in `Printed`."""
    return Printed(
        html=render_to_string(template, dict(context)),
        css=(settings.BASE_DIR / "static" / "css" / style).read_text(encoding="utf-8"),
        mark=mark,
        made=made,
        facts=facts,
        served=served or {},
    )


def paper_size(country: str) -> str:
    """
    >>> paper_size("US"), paper_size("ES")
    ('letter', 'a4')
    """
    return "letter" if country in LETTER_COUNTRIES else "a4"


def base_of(workshop) -> str:
    """The public address without its last slash; the environment's wins over the workshop's own."""
    return (settings.SHOP_URL or workshop.public_url).rstrip("/")


def address_of(workshop, path: str) -> str:
    """The whole address of one of our pages."""
    return base_of(workshop) + path


def code_svg(text: str) -> bytes:
    """A QR code that stands a fold, a stain and a thumb (level Q), as an SVG."""
    code = segno.make(text, error="q", micro=False, boost_error=False)
    out = io.BytesIO()
    code.save(
        out, kind="svg", scale=4, border=4, dark="#14202B", light="#FFFFFF", svgclass=None, lineclass=None
    )
    return out.getvalue()
