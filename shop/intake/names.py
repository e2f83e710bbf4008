"""What panels and edges are called, read from the body of a job."""

from shop.documents.models import Document
from shop.intake.sheet import Body, Panel, read_body
from shop.intake.stripes import stripe
from shop.templatetags.words import in_language

_read: dict[str, Body] = {}
_KEPT = 40


def body_of(document: Document) -> Body:
    """The body ready to draw. A published version never changes, so it is read once a process."""
    if document.digest not in _read:
        if len(_read) >= _KEPT:
            _read.clear()
        _read[document.digest] = read_body(document.body)
    return _read[document.digest]


def panel_of(body: Body, code: str) -> Panel | None:
    try:
        return body.panel(code)
    except KeyError:
        return stripe(code)


def panel_name(body: Body, code: str, language: str = "en") -> str:
    """`Left front door`; the code in words for a panel this body does not have."""
    panel = panel_of(body, code)
    return in_language(panel.title, language) if panel else code.replace("-", " ").capitalize()


def edge_names(body: Body, code: str, language: str = "en") -> dict[str, str]:
    """Edge and corner codes of a panel with their words."""
    panel = panel_of(body, code)
    return {edge.code: in_language(edge.title, language) for edge in panel.edges} if panel else {}


def piece_name(body: Body, code: str, piece: int, pieces: int, language: str = "en") -> str:
    name = panel_name(body, code, language)
    return name if pieces == 1 else f"{name}, piece {piece}"
