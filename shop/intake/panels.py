"""The panels and edges of one car, made from the body document."""

from shop.intake.models import Edge, Panel
from shop.intake.shapes import Body
from shop.intake.stripes import stripe
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


def film_row(job, code: str) -> Panel:
    """The panel, or the stripe of that number, which is made where the car has none yet. Call it in a verb."""
    shape = stripe(str(code))
    if shape is None:
        return panel_row(job, code)
    row, made = Panel.objects.get_or_create(
        vehicle_id=job.vehicle_id,
        code=shape.code,
        replaced_at=None,
        defaults={"kind": shape.kind, "material": shape.material},
    )
    if made:
        Edge.objects.bulk_create(Edge(panel=row, code=edge.code, kind=edge.kind) for edge in shape.edges)
    return row


def panel_row(job, code: str) -> Panel:
    """The panel of this job's car as it is now. Refused when the car has none of that name."""
    panel = Panel.objects.filter(vehicle=job.vehicle_id, code=str(code), replaced_at__isnull=True).first()
    if panel is None:
        raise Refused(Reason("not_asked", f"This car has no panel named “{str(code)[:30]}”."))
    return panel
