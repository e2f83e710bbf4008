"""What printed papers have in common: the sheet they are printed on, and codes that lead back to a screen."""

import io

import segno
from django.conf import settings

LETTER_COUNTRIES = ("US", "CA", "MX")


def paper_size(country: str) -> str:
    """
    >>> paper_size("US"), paper_size("ES")
    ('letter', 'a4')
    """
    return "letter" if country in LETTER_COUNTRIES else "a4"


def address_of(workshop, path: str) -> str:
    """The whole address of one of our pages; the environment's public address wins over the workshop's own."""
    return (settings.SHOP_URL or workshop.public_url).rstrip("/") + path


def code_svg(text: str) -> bytes:
    """A QR code that stands a fold, a stain and a thumb (level Q), as an SVG."""
    code = segno.make(text, error="q", micro=False, boost_error=False)
    out = io.BytesIO()
    code.save(
        out, kind="svg", scale=4, border=4, dark="#14202B", light="#FFFFFF", svgclass=None, lineclass=None
    )
    return out.getvalue()
