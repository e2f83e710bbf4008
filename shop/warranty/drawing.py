"""The body sheet of a certificate: filmed panels solid, the rest as lines."""

from collections.abc import Collection

from django.utils.safestring import SafeString, mark_safe

from shop.documents.models import Document
from shop.intake.drawing import draw_sheet
from shop.intake.names import body_of
from shop.intake.sheet_states import PanelMark, PanelState


def covered_sheet(
    facts: dict, workshop, *, size: str, width: int, over: Collection[str] = (), ids: str = "covered"
) -> SafeString:
    """The car of these facts, drawn on the version of the body they name. `over`: panels whose cover has ended."""
    body = body_of(_body(facts, workshop))
    filmed = [panel["code"] for panel in facts["panels"]]
    panels = {
        code: PanelState(PanelMark.NOT_STARTED, "cover ended")
        if code in over
        else PanelState(PanelMark.SIGNED, "covered")
        for code in filmed
    }
    return mark_safe(
        draw_sheet(
            body,
            panels=panels,
            size=size,
            width=width,
            ids=ids,
            title=title(facts),
            language=facts["language"],
        )
    )


def title(facts: dict) -> str:
    labels = ", ".join(panel["label"] for panel in facts["panels"])
    return f"The car unfolded, nose up. Covered: {labels}."


def _body(facts: dict, workshop) -> Document:
    named = facts["body"]
    return Document.objects.get(
        workshop=workshop, kind=Document.Kind.BODY, name=named["name"], version=named["version"]
    )
