"""Filming again: a new piece of film takes the place of an old one, and begins at the right stage.

The old film ends and keeps its record. Stages before the one where work begins again are carried by reference:
they are read from the film before, until something in them has to be answered anew.
"""

from collections.abc import Iterable
from datetime import date

from django.db import transaction

from shop.documents.rights import must_be_allowed
from shop.film.models import Roll
from shop.intake.jobs import held
from shop.intake.names import body_of, piece_name
from shop.intake.panels import panel_row
from shop.people.identity import By
from shop.reasons import Reason, Refused, blocking
from shop.record.actions import write
from shop.work import film_choice, obstacles, progress, told
from shop.work.floor import Floor, Piece, StageOnFloor, film_floor
from shop.work.kinds import Meaning, Stage
from shop.work.models.fitting import Fitting, FittingEdge, FittingPerson
from shop.work.models.outcome import Defect, Waiver
from shop.work.models.proof import Checklist, OutcomeOn, OutcomePhoto

AGAIN = "filmed_again"
WITH_IT = "Went with the film that was filmed again."
NEW_FILM = (Stage.WASH, Stage.DECONTAMINATE, Stage.DEGREASE, Stage.PRIMER, Stage.TACK)
SAME_FILM = (Stage.SEAL,)
"""Beginning again at the edges leaves the film where it is; before that, new film goes on."""


@transaction.atomic
def film_again(*, job, panel: str, from_stage: str, roll: Roll | None = None, by: By, now) -> Fitting:
    """A new fitting at `hood.1` in this job, in place of the film that is there, whatever job laid it.

    `roll`: what it is cut from; left out, it stays on the roll of before inside the same job, and is chosen at
    set-out in another one. Refused where a stage to be carried was never signed, or nothing is there to replace.
    """
    must_be_allowed(by, "film_again", workshop=job.workshop)
    job = held(job)
    row = renewed(job=job, panel=panel, from_stage=from_stage, roll=roll, by=by, now=now)
    write(workshop=job.workshop, job=job, verb="film_again", body=said(row), by=by, now=now)
    return row


def said(row: Fitting) -> dict:
    """What the book says of film that took the place of other film."""
    return {
        "place": row.place,
        "fitting": row.pk,
        "replaces": row.replaces_id,
        "from_stage": row.from_stage,
        "roll": {"id": row.roll.pk, "code": row.roll.code, "lot": row.roll.lot.code} if row.roll else None,
    }


def renewed(*, job, panel: str, from_stage: str, roll: Roll | None, by: By, now, closing=None) -> Fitting:
    """The rows of filming again, without an entry; `closing` is a defect the caller has just closed."""
    old = _there(job, panel)
    roll = _roll_for(job, old, from_stage, roll)
    reasons = _reasons(job, film_floor(old), from_stage, roll, now)
    if blocking(reasons):
        raise Refused(reasons)
    _end(old, by, now, closing)
    return _lay(job, old, from_stage, roll, now)


def latest_stage(piece: Piece) -> Stage:
    """Where filming this piece again in the same job begins unless told otherwise.

    Edges are wiped again, because the old film left its glue; what was not signed by then is done again as well.
    """
    for stage in (Stage.WASH, Stage.DECONTAMINATE):
        if not _signed(piece.stages[stage]):
            return stage
    return Stage.DEGREASE


def own_round(piece: Piece, stage: StageOnFloor, now) -> None:
    """Make a carried stage this film's own, with every answer so far, so that the old film's record stands.

    The signature stays with the old film: the stage is signed again, by whoever answers for it now.
    """
    edges = {edge.code: edge for edge in piece.row.edges.all()}
    own = Checklist.objects.create(fitting=piece.row, stage=stage.stage, opened_at=now)
    answers = {
        spot: OutcomeOn(outcome=on.outcome, checklist=own, key=on.key, edge=edges.get(spot[1]))
        for spot, on in stage.answers.items()
        if not spot[1] or spot[1] in edges
    }
    OutcomeOn.objects.bulk_create(answers.values())
    OutcomePhoto.objects.bulk_create(
        OutcomePhoto(
            entry=proof.entry,
            person=proof.person,
            checklist=own,
            edge=edges.get(edge),
            key=key,
            photo=proof.photo,
            upload=proof.upload,
            at=proof.at,
            set_aside=proof.set_aside,
        )
        for (key, edge), proofs in stage.photos.items()
        for proof in proofs
        if not edge or edge in edges
    )
    stage.checklist, stage.answers, stage.signoffs, stage.carried = own, answers, {}, False


def _there(job, place: str) -> Fitting:
    """The live film at `hood.1` on this job's car. Refused when there is none."""
    code, _, number = place.partition(".")
    row = panel_row(job, code)
    piece = int(number) if number.isascii() and number.isdigit() else 1
    film = Fitting.objects.live().filter(panel=row, piece=piece).for_work().first()
    if film is None:
        name = piece_name(body_of(job.body), code, piece, 1, job.workshop.language)
        raise Refused(Reason("no_film", f"{name} carries no film: set it out instead.", where=place))
    return film


def _roll_for(job, old: Fitting, from_stage: str, roll: Roll | None) -> Roll | None:
    if roll is not None:
        return roll
    return old.roll if from_stage in SAME_FILM or old.job_id == job.pk else None


def _reasons(job, floor: Floor, from_stage: str, roll: Roll | None, now) -> list[Reason]:
    piece = floor.pieces[0]
    old, name = piece.row, piece.name
    where = f"{piece.place}/{from_stage}"
    if from_stage not in (*NEW_FILM, *SAME_FILM):
        text = f"{name}: filming again begins with one of {_listed((*NEW_FILM, *SAME_FILM))}."
        return [Reason("answer_unfit", text, where=piece.place)]
    reasons = obstacles.cuts_in_paint(piece.place, name, told.defect_facts(floor, piece))
    if old.job_id != job.pk and from_stage in NEW_FILM[1:]:
        text = (
            f"{name}: what was done for the film of job {old.job.number} is long gone. Begin with the wash."
        )
        reasons.append(Reason("stage_not_done", text, where=where))
    elif undone := _undone(piece, from_stage):
        text = f"{name}: {_listed(undone)} was never signed, so it cannot be carried over. Begin there."
        reasons.append(Reason("stage_not_done", text, where=where))
    if from_stage in SAME_FILM and roll != old.roll:
        text = f"{name}: beginning at the edges leaves the film on. For another roll, begin earlier."
        reasons.append(Reason("lot_wrong", text, where=where))
    if roll is not None and from_stage in NEW_FILM:
        reasons += _roll_reasons(job, old, roll, name, now.astimezone(told.zone(floor)).date())
    return reasons


def _undone(piece: Piece, from_stage: str) -> list[Stage]:
    order = list(Stage)
    return [stage for stage in order[: order.index(Stage(from_stage))] if not _signed(piece.stages[stage])]


def _signed(stage: StageOnFloor) -> bool:
    """Signed as a stage; one that asks nothing needs no signature."""
    return not stage.lines or any(meaning != Meaning.HIDDEN for meaning in stage.signoffs)


def _roll_reasons(job, old: Fitting, roll: Roll, name: str, today: date) -> list[Reason]:
    found = film_choice.find_roll(job.workshop, roll)
    if found is None:
        return [Reason("lot_missing", f"{name}: there is no such roll on the shelf.", where="#roll")]
    reasons = film_choice.roll_reasons(found, name, today)
    rest = Fitting.objects.live().of_job(job).exclude(pk=old.pk).filter(roll__isnull=False)
    others = [row.roll for row in rest.select_related("roll__lot__material")]
    mixed = film_choice.mixed_lots([*others, found])
    if mixed and not Waiver.objects.filter(job=job, code="lots_mixed", fitting__isnull=True).exists():
        reasons += mixed
    return reasons


def _end(old: Fitting, by: By, now, closing: Defect | None) -> None:
    """The old film ends; what was still wrong with it went with it."""
    left = Defect.objects.open().filter(fitting=old).exclude(pk=closing.pk if closing else None)
    left.update(disposition="film_again", closing_note=WITH_IT, closed_by=by.person, closed_at=now)
    old.ended_at, old.ended_as = now, AGAIN
    old.save(update_fields=["ended_at", "ended_as"])


def _lay(job, old: Fitting, from_stage: str, roll: Roll | None, now) -> Fitting:
    sheet = roll.lot.material.sheet if roll and roll != old.roll else None
    row = Fitting.objects.create(
        job=job,
        panel=old.panel,
        piece=old.piece,
        replaces=old,
        from_stage=from_stage,
        cut=old.cut,
        cover=old.cover,
        roll=roll,
        sheet=sheet or old.sheet,
        features=old.features,
        material=old.material,
        turned=old.turned,
        set_out_at=now,
    )
    stages = list(Stage)
    Checklist.objects.bulk_create(
        Checklist(fitting=row, stage=stage, opened_at=now)
        for stage in stages[stages.index(Stage(from_stage)) :]
    )
    FittingEdge.objects.bulk_create(
        FittingEdge(
            fitting=row,
            code=edge.code,
            kind=edge.kind,
            edge_id=edge.edge_id,
            finish=edge.finish,
            return_mm=edge.return_mm,
            primer=edge.primer,
            position=edge.position,
        )
        for edge in old.edges.all()
    )
    FittingPerson.objects.bulk_create(
        FittingPerson(fitting=row, person=named.person)
        for named in old.people.all()
        # Who does a repair years later is for the set-out to say.
        if old.job_id == job.pk and named.person.left_at is None
    )
    return row


def _listed(stages: Iterable[Stage]) -> str:
    return progress.listed(progress.lower(stage) for stage in stages)
