"""From a page to its PDF. Runs in the press: nothing here reads a row or a setting.

The same page gives the same bytes: fonts are files of fixed wheels, dates stand in the page, and the attached
facts carry fixed dates too. It does not hold across versions of the renderer, so the bytes are kept.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

VARIANT = "pdf/a-3a"
FACTS_NAME = "facts.json"


class NotPrinted(Exception):
    """The paper asks for something it did not bring along; the text says what."""


@dataclass(frozen=True)
class Printed:
    """Everything one paper is made of, as plain values that travel to another process.

    `served` maps an address of the page (`photo:…`, `static:…`, `css:…`) to its type and bytes. `mark` becomes
    the file's permanent identifier, which says what a changed copy once was. `facts` is attached.
    """

    html: str
    css: str
    mark: str
    made: datetime
    facts: bytes = b""
    served: Mapping[str, tuple[str, bytes]] = field(default_factory=dict)


def render(paper: Printed) -> bytes:
    """The PDF's bytes: PDF/A-3a, tagged, fonts embedded, facts attached. NotPrinted for a missing part."""
    # Here, not above: whoever only names this function, as every web worker does, need not load the renderer.
    from shop.typesetting import typeset

    return typeset(paper)
