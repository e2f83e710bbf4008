"""Answering lines: ticks, readings, lots, starts, and what went wrong."""

from django.db import transaction

from shop.documents.rights import must_be_allowed, roles_of
from shop.film.models import Lot
from shop.intake.jobs import hold
from shop.people.identity import By
from shop.reasons import Reason, Refused, Weight, blocking
from shop.record.actions import write
from shop.work import conditions, gates, told
from shop.work.again import own_round
from shop.work.cases import AnswerFacts
from shop.work.checklist import Line
from shop.work.defects import open_for_wrong
from shop.work.film_cut import cuts_of, keep_cuts
from shop.work.floor import Floor, Piece, StageOnFloor, floor_of
from shop.work.floor_rows import stock
from shop.work.kinds import Answer, LineKind, Meaning, Scope
from shop.work.models.proof import Checklist, Outcome, OutcomeOn, SignOff
from shop.work.pace import interval_ms
from shop.work.readings import read_values

Target = tuple[Piece, StageOnFloor, Line, tuple[str, ...]]


class Conflict(Refused):
    """Somebody answered this place first, and the one who pressed had not seen it."""


@transaction.atomic
def answer(
    *,
    job,
    key: str,
    panels: list[str],
    edges: list[str],
    answer: str,
    by: By,
    now,
    happened_at=None,
    device_at=None,
    sure: bool = True,
    value: dict | None = None,
    typed: str = "",
    reason: str = "",
    lot: Lot | None = None,
    seen: int | None = None,
) -> Outcome:
    """One act of answering one line, on the places named (`hood.1`; none for a line of the whole car).

    `edges` are the codes touched where the line is asked by edge. `seen` is the outcome the person had on the
    screen for this place, 0 for none; where another one stands now, the act is a Conflict. An answer pressed
    before its stage was signed but arriving after is kept as a late note and alters nothing.
    """
    happened_at = happened_at or now
    must_be_allowed(by, "answer", workshop=job.workshop)
    hold(job)
    floor = floor_of(job, [(key, place) for place in panels])
    targets = targets_of(floor, key, panels, edges)
    value = read_values(targets[0][2], value, conditions.units_of(floor))
    floor.lots, floor.rolls = _with_named(floor, value)
    late = signed_meanwhile([stage for _, stage, _, _ in targets], happened_at, now)
    if not late:
        targets = _allowed(floor, targets, answer, by, happened_at, value, reason)
        _not_overtaken(floor, targets, answer, value, by, seen)
        for piece, stage, _, _ in targets:
            if stage.carried:
                own_round(piece, stage, now)
    body = {
        "line": key,
        "places": [[piece.place, list(spots)] for piece, _, _, spots in targets],
        "answer": answer,
        "value": value,
        "typed": typed[:200],
        "reason": reason[:300],
        "late": late,
    }
    cuts = [] if late else cuts_of(floor, targets, answer)
    if cuts:
        body["film"] = cuts
    times = {"now": now, "happened_at": happened_at, "device_at": device_at, "sure": sure}
    entry = write(workshop=job.workshop, job=job, verb="answer", body=body, by=by, **times)
    outcome = Outcome.objects.create(
        entry=entry,
        person=by.person,
        key=key,
        answer=answer,
        value=value,
        typed=body["typed"],
        reason=body["reason"],
        lot=lot,
        at=happened_at,
        sure=sure,
        late=late,
        interval_ms=interval_ms(job, by, device_at),
    )
    for target in targets:
        _lay(outcome, target, late)
    if not late:
        _follow(outcome, targets, now)
        keep_cuts(floor, cuts, happened_at)
    return outcome


def targets_of(floor: Floor, key: str, panels: list[str], edges: list[str]) -> list[Target]:
    """Where an answer falls: a car line on every piece, a panel line on all pieces of the panels named."""
    chosen = [_set_out(floor, place) for place in panels]
    sample = next((found[1] for piece in floor.pieces if (found := piece.find(key))), None)
    if sample is None:
        raise Refused(Reason("not_asked", "This line is not asked on this car."))
    if sample.scope == Scope.CAR:
        chosen = [piece for piece in floor.pieces if piece.find(key)]
    elif not chosen:
        raise Refused(Reason("not_asked", f"Say on which panel: {_words(sample)} is asked panel by panel."))
    elif sample.scope == Scope.PANEL:
        named = {piece.spec.panel for piece in chosen}
        chosen = [piece for piece in floor.pieces if piece.spec.panel in named]
    return [_target(piece, sample, edges) for piece in dict.fromkeys(chosen)]


def _set_out(floor: Floor, place: str) -> Piece:
    found = floor.piece(place)
    if found is None:
        raise Refused(Reason("superseded", f"{place} is not set out in this job, or was taken off it."))
    return found


def _target(piece: Piece, sample: Line, edges: list[str]) -> Target:
    found = piece.find(sample.key)
    if found is None:
        text = f"{piece.name} is not asked {_words(sample)}."
        raise Refused(Reason("not_asked", text, where=piece.place))
    stage, line = found
    if line.scope != Scope.EDGE:
        return piece, stage, line, ("",)
    strange = [edge for edge in edges if edge not in line.edges]
    if strange:
        named = ", ".join(piece.edge_names.get(edge, edge) for edge in strange)
        text = f"{piece.name}: {_words(line)} is not asked at {named}."
        raise Refused(Reason("not_asked", text, where=piece.place))
    return piece, stage, line, tuple(dict.fromkeys(edges))


def _words(line: Line) -> str:
    return f"“{line.text.get('en', line.key)}”"


def _with_named(floor: Floor, value: dict | None):
    texts = {given for given in (value or {}).values() if isinstance(given, str)}
    lots, rolls = stock([floor.job.workshop_id], texts, texts)
    return floor.lots | lots, floor.rolls | rolls


def signed_meanwhile(stages: list[StageOnFloor], happened_at, now) -> bool:
    """Pressed before the signature and arrived after it, at every place."""
    if happened_at >= now or not stages:
        return False
    for stage in stages:
        signed = [s.signing.at for meaning, s in stage.signoffs.items() if meaning != Meaning.HIDDEN]
        if not signed or happened_at >= min(signed):
            return False
    return True


def _allowed(floor, targets, answer, by, happened_at, value, reason) -> list[Target]:
    """The places this answer may fall on; Refused with every reason when it may not.

    A line of the whole car falls on the checklists open at that press; a piece that starts later is asked again.
    """
    allowed, closed, refused = [], [], []
    for target in targets:
        stops = _stops(floor, target, answer, by, happened_at, value, reason)
        if not stops:
            allowed.append(target)
        elif target[2].scope == Scope.CAR and all(
            r.code in ("stage_closed", "already_signed") for r in stops
        ):
            closed += stops
        else:
            refused += stops
    if refused or not allowed:
        raise Refused(list(dict.fromkeys(refused or closed)))
    return allowed


def _stops(floor, target: Target, answer, by, at, value, reason) -> list[Reason]:
    piece, _stage, line, spots = target
    facts = AnswerFacts(
        fitting=told.fitting_facts(
            floor, piece, tuple(conditions.for_answer(floor, piece, line, answer, at))
        ),
        line=line.key,
        answer=answer,
        by=told.who(by),
        now=at,
        zone=told.zone(floor),
        edges=tuple(spot for spot in spots if spot),
        lots=told.lots_named(floor, value),
        why=reason,
        fields=frozenset(value or ()),
        self_release=floor.job.workshop.self_release,
    )
    return blocking(gates.answer_reasons(facts, roles_of(floor.job.workshop)), floor.waived(piece))


def _not_overtaken(floor, targets, answer, value, by, seen) -> None:
    if seen is None:
        return
    for piece, stage, line, spots in targets:
        for spot in spots:
            on = stage.answers.get((line.key, spot))
            if on is None or on.outcome_id == seen or on.outcome.person_id == by.person.pk:
                continue
            if on.outcome.answer == answer and on.outcome.value == value:
                continue
            at = on.outcome.at.astimezone(told.zone(floor))
            where = f", {piece.edge_names.get(spot, spot)}" if spot else ""
            text = (
                f"{piece.name}{where}: {on.outcome.person.name} answered “{Answer(on.outcome.answer).value}” "
                f"at {at:%H:%M}, before yours arrived. Look, and answer again if it is wrong."
            )
            raise Conflict(Reason("answered_first", text, Weight.STOP, piece.place))


def _lay(outcome: Outcome, target: Target, late: bool) -> None:
    piece, stage, line, spots = target
    edges = {edge.code: edge for edge in piece.row.edges.all()}
    before = [stage.answers[(line.key, spot)].pk for spot in spots if (line.key, spot) in stage.answers]
    if before and not late:
        OutcomeOn.objects.filter(pk__in=before).update(replaced_by=outcome)
    OutcomeOn.objects.bulk_create(
        OutcomeOn(outcome=outcome, checklist=stage.checklist, edge=edges.get(spot), key=line.key, late=late)
        for spot in spots
    )


def _follow(outcome: Outcome, targets: list[Target], now) -> None:
    """What an answer sets off by itself: "wrong" opens a defect, a spoiling event ends the round."""
    for piece, stage, line, spots in targets:
        if outcome.answer == Answer.WRONG:
            open_for_wrong(piece=piece, stage=stage, line=line, edges=spots, outcome=outcome)
        elif line.kind == LineKind.EVENT and outcome.answer == Answer.DONE:
            _start_again(outcome, piece, stage, now)


def _start_again(outcome: Outcome, piece: Piece, stage: StageOnFloor, now) -> None:
    """The stage is done again in a new round; the first stays on record.

    Lines of the whole car carry over: one touched edge did not change the air.
    """
    old = stage.checklist
    Checklist.objects.filter(pk=old.pk).update(redone_at=now, redone_why=outcome.reason or "spoiled")
    new = Checklist.objects.create(fitting=piece.row, stage=stage.stage, round=old.round + 1, opened_at=now)
    SignOff.objects.filter(pk__in=[s.pk for s in stage.signoffs.values()]).update(replaced_by=outcome.entry)
    keep = {line.key for line in stage.lines if line.scope == Scope.CAR}
    OutcomeOn.objects.bulk_create(
        OutcomeOn(outcome=on.outcome, checklist=new, key=key)
        for (key, _edge), on in stage.answers.items()
        if key in keep
    )
