"""The panels and edges of one car, made from the body document."""

from shop.intake.models import Edge, Panel
from shop.intake.shapes import Body
from shop.reasons import Reason, Refused


def make_panels(vehicle, body: Body) -> None:
    """The rows this vehicle lacks: all of them for a new car, none for a returning one."""
    here = {panel.code: panel for panel in vehicle.panels.filter(replaced_at__isnull=True)}
    made = Panel.objects.bulk_create(
        Panel(
            vehicle=vehicle,
            code=panel.code,
            kind=panel.kind,
            material=panel.material,
            features=list(panel.features),
        )
        for panel in body.panels
        if panel.code not in here
    )
    here |= {panel.code: panel for panel in made}
    known = set(Edge.objects.filter(panel__in=here.values()).values_list("panel_id", "code"))
    Edge.objects.bulk_create(
        Edge(panel=here[panel.code], code=edge.code, kind=edge.kind)
        for panel in body.panels
        for edge in panel.edges
        if (here[panel.code].pk, edge.code) not in known
    )


def panel_row(job, code: str) -> Panel:
    """The panel of this job's car as it is now. Refused when the car has none of that name."""
    panel = Panel.objects.filter(vehicle=job.vehicle_id, code=str(code), replaced_at__isnull=True).first()
    if panel is None:
        raise Refused(Reason("not_asked", f"This car has no panel named “{str(code)[:30]}”."))
    return panel
