"""The body sheet with the place of a claim on it, and the sheet on which a place is chosen."""

from collections.abc import Callable, Collection

from django.utils.safestring import SafeString, mark_safe

from shop.claims.place import where
from shop.intake.drawing import draw_sheet
from shop.intake.models import Job
from shop.intake.names import body_of, panel_of
from shop.intake.sheet_states import EdgeMark, EdgeState, Mark, PanelMark, PanelState


def claim_sheet(claim, *, width: int = 420) -> SafeString:
    """The car with the panel solid and the edge in tape; nothing where this body has no such panel."""
    job = claim.fitting.job if claim.fitting else claim.vehicle.jobs.order_by("-pk").first()
    if job is None or panel_of(body_of(job.body), claim.panel) is None:
        return mark_safe("")
    edge = claim.edge.code if claim.edge else ""
    return mark_safe(
        draw_sheet(
            body_of(job.body),
            panels={claim.panel: PanelState(PanelMark.SIGNED, "the place of this claim")},
            edges={f"{claim.panel}.{edge}": EdgeState(EdgeMark.ASKED)} if edge else {},
            marks=[Mark(claim.panel, 1, where(claim), edge=edge)],
            size="medium",
            width=width,
            ids="claim-sheet",
            title=f"The car unfolded, nose up. The claim is at: {where(claim)}.",
            language=job.workshop.language,
        )
    )


def choosing_sheet(
    vehicle, filmed: Collection[str], link: Callable[[str], str], *, here: str = "", width: int = 420
) -> SafeString:
    """The car with every filmed panel as a link; the one chosen is in tape."""
    job: Job | None = vehicle.jobs.select_related("body", "workshop").order_by("-pk").first()
    if job is None:
        return mark_safe("")
    body = body_of(job.body)
    known = [code for code in filmed if panel_of(body, code)]
    return mark_safe(
        draw_sheet(
            body,
            panels={code: PanelState(PanelMark.SIGNED, "carries our film") for code in known},
            size="medium",
            width=width,
            links=lambda code: link(code) if code in known else "",
            here=here if here in known else "",
            ids="claim-choose",
            title="The car unfolded, nose up. Panels with our film can be chosen.",
            language=job.workshop.language,
        )
    )
