"""Writing and reading the rows of a set-out, and what the book says of it."""

from shop.intake.models import Edge
from shop.work.kinds import EdgeKind, Scope, Stage
from shop.work.models.fitting import Fitting, FittingEdge, FittingPerson
from shop.work.models.outcome import Defect
from shop.work.models.proof import Checklist, OutcomeOn, OutcomePhoto
from shop.work.pieces import EdgeSet, PieceSet


def as_set(row: Fitting) -> PieceSet:
    """A fitting as it stands, in the shape a new one is read into."""
    return PieceSet(
        piece=row.piece,
        cut=row.cut,
        cover=row.cover,
        material=row.material,
        features=tuple(row.features),
        edges={
            edge.code: EdgeSet(edge.code, edge.kind, edge.finish, edge.return_mm, edge.primer)
            for edge in row.edges.all()
        },
        people=tuple(named.person_id for named in row.people.all()),
        turned=row.turned,
    )


def keep(job, asked, now) -> Fitting:
    """The fitting as asked: made with the first round of all its stages, or changed where it stands."""
    row = asked.old or Fitting(job=job, panel=asked.panel, piece=asked.new.piece, set_out_at=now)
    row.cut, row.cover, row.material = asked.new.cut, asked.new.cover, asked.new.material
    row.features, row.turned = list(asked.new.features), asked.new.turned
    row.roll, row.sheet = asked.roll, asked.sheet
    row.save()
    if not asked.old:
        Checklist.objects.bulk_create(Checklist(fitting=row, stage=stage, opened_at=now) for stage in Stage)
    _keep_edges(row, asked)
    _keep_people(row, asked)
    return row


def _keep_edges(row: Fitting, asked) -> None:
    here = {edge.code: edge for edge in row.edges.all()} if asked.old else {}
    bodily = {edge.code: edge for edge in asked.panel.edges.all()}
    made = []
    for position, edge in enumerate(asked.new.edges.values()):
        old = here.get(edge.code)
        if old is None:
            seat = bodily.get(edge.code) or _seam(asked.panel, edge)
            made.append(
                FittingEdge(
                    fitting=row,
                    code=edge.code,
                    kind=edge.kind,
                    edge=seat,
                    position=position,
                    finish=edge.finish,
                    return_mm=edge.return_mm,
                    primer=edge.primer,
                )
            )
        elif (old.finish, old.return_mm, old.primer) != (edge.finish, edge.return_mm, edge.primer):
            old.finish, old.return_mm, old.primer = edge.finish, edge.return_mm, edge.primer
            old.save(update_fields=["finish", "return_mm", "primer"])
    FittingEdge.objects.bulk_create(made)


def _seam(panel, edge: EdgeSet) -> Edge | None:
    """Seams are not in the body; they belong to the panel from the first set-out that has them."""
    if edge.kind != EdgeKind.SEAM:
        return None
    return Edge.objects.get_or_create(panel=panel, code=edge.code, defaults={"kind": edge.kind})[0]


def _keep_people(row: Fitting, asked) -> None:
    was = set(asked.was.people) if asked.was else set()
    gone = was - set(asked.new.people)
    if gone:
        row.people.filter(person_id__in=gone).delete()
    FittingPerson.objects.bulk_create(
        FittingPerson(fitting=row, person_id=pk) for pk in asked.new.people if pk not in was
    )


def take_off(rows, now) -> None:
    Fitting.objects.filter(pk__in=[row.pk for row in rows]).update(ended_at=now, ended_as="taken_off")


def work_began(row: Fitting) -> bool:
    """Whether anything of this piece itself is answered or proven; what was said of the whole car counts not."""
    whole_car = [line["key"] for line in row.job.plan.body["lines"] if line["scope"] == Scope.CAR]
    answers = OutcomeOn.objects.filter(checklist__fitting=row, late=False).exclude(key__in=whole_car)
    photos = OutcomePhoto.objects.filter(checklist__fitting=row, late=False).exclude(key__in=whole_car)
    return answers.exists() or photos.exists() or Defect.objects.filter(fitting=row).exists()


def told_piece(row: Fitting, asked) -> dict:
    """What the book says of one piece: whole when it is new, else each thing that changed from what to what."""
    now = told_set(asked.new, asked.roll, asked.sheet)
    said = {"place": row.place, "fitting": row.pk}
    if asked.before is None:
        return {**said, "set": now}
    was = asked.before
    edges = {
        code: {"from": was["edges"].get(code), "to": edge}
        for code, edge in now["edges"].items()
        if was["edges"].get(code) != edge
    }
    plain = {
        key: {"from": was[key], "to": now[key]} for key in now if key != "edges" and was[key] != now[key]
    }
    return {**said, "changed": plain, "edges": edges}


def told_set(piece: PieceSet, roll, sheet) -> dict:
    """One piece as it stands, as whole numbers, texts and lists."""
    return {
        "cut": piece.cut,
        "cover": piece.cover,
        "material": piece.material,
        "features": list(piece.features),
        "people": list(piece.people),
        "turned": piece.turned,
        "roll": {"id": roll.pk, "code": roll.code, "lot": roll.lot.code} if roll else None,
        "sheet": sheet.digest,
        "edges": {
            edge.code: {
                "kind": edge.kind,
                "finish": edge.finish,
                "return_mm": edge.return_mm,
                "primer": edge.primer,
            }
            for edge in piece.edges.values()
        },
    }
