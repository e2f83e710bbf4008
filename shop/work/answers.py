"""What stands in the way of one answer: the line, the stage, the person, the lots, the moment."""

from shop.reasons import Reason
from shop.work import lots, obstacles, progress
from shop.work.cases import AnswerFacts, LotFacts, StageFacts
from shop.work.checklist import Line
from shop.work.kinds import SATISFIED_BY, Answer, Card, LineKind, Meaning, Scope, Stage


def answer_obstacles(facts: AnswerFacts) -> list[Reason]:
    """Every obstacle but the role's."""
    ended = obstacles.ended(facts.fitting)
    asked = progress.find_line(facts.fitting, facts.line)
    if asked is None:
        text = f"{facts.fitting.name} is not asked this line ({facts.line}); look at the plan again."
        return [*ended, Reason("not_asked", text, where=facts.fitting.place)]
    stage, line = asked
    return [
        *ended,
        *_places(facts, stage, line),
        *_form(facts, stage, line),
        *_signed(facts, stage, line),
        *_opening(facts, stage, line),
        *_lots(facts, stage, line),
        *_second(facts, stage, line),
        *_flooding(facts, line),
        *facts.fitting.found,
    ]


def _where(facts: AnswerFacts, stage: StageFacts, line: Line) -> str:
    return obstacles.at(facts.fitting, stage.stage, line.key, facts.edges[0] if facts.edges else "")


def _places(facts: AnswerFacts, stage: StageFacts, line: Line) -> list[Reason]:
    where = _where(facts, stage, line)
    name = progress.named_line(facts.fitting, line, ())
    if line.scope == Scope.EDGE and not facts.edges:
        return [
            Reason("not_asked", f"{facts.fitting.name}: touch the edges that {name} is for.", where=where)
        ]
    unknown = [edge for edge in facts.edges if edge not in line.edges]
    if not unknown:
        return []
    edges = progress.listed(progress.edge_name(facts.fitting, edge) for edge in unknown)
    return [Reason("not_asked", f"{facts.fitting.name}: {name} is not asked at {edges}.", where=where)]


def _form(facts: AnswerFacts, stage: StageFacts, line: Line) -> list[Reason]:
    """The answer is one this line takes, and says what it has to say."""
    where = _where(facts, stage, line)
    name = progress.named_line(facts.fitting, line, ())
    if facts.answer == Answer.WRONG:
        return []
    if facts.answer == Answer.NA:
        if not line.na:
            text = f"{facts.fitting.name}: {name} cannot be left out. If the edge is not there, correct the set-out."
            return [Reason("answer_unfit", text, where=where)]
        if not facts.why.strip():
            return [
                Reason("reason_missing", f"{facts.fitting.name}: say why {name} is not here.", where=where)
            ]
        return []
    if facts.answer not in SATISFIED_BY[LineKind(line.kind)]:
        return [Reason("answer_unfit", f"{facts.fitting.name}: {name} wants {_wanted(line)}.", where=where)]
    missing = [field for field in line.fields if field.required and field.name not in facts.fields]
    if not missing:
        return []
    labels = progress.listed(field.label["en"].lower() for field in missing)
    return [Reason("reading_missing", f"{facts.fitting.name}: {name} still wants {labels}.", where=where)]


def _wanted(line: Line) -> str:
    return {
        LineKind.READING: "a reading",
        LineKind.LOT: "a lot",
        LineKind.CHOICE: "a choice",
        LineKind.TIMER: "a start",
    }.get(LineKind(line.kind), "a plain answer")


def _signed(facts: AnswerFacts, stage: StageFacts, line: Line) -> list[Reason]:
    """What was signed is not written over. Only a line that says something happened may still come."""
    if line.kind == LineKind.EVENT:
        return _too_late(facts, stage, line)
    signature = progress.stage_signature(stage)
    if signature is None and line.hold == Meaning.HIDDEN:
        signature = progress.signature_on(stage, Meaning.HIDDEN)
    if signature is None:
        return []
    places = facts.edges if line.scope == Scope.EDGE else ("",)
    if not any(progress.place_key(line, place) in signature.keys for place in places):
        return []
    text = (
        f"{facts.fitting.name}, {obstacles.stage_name(stage.stage)} was signed by {signature.person_name}. "
        "To change it, do the stage again."
    )
    return [Reason("already_signed", text, where=_where(facts, stage, line))]


def _too_late(facts: AnswerFacts, stage: StageFacts, line: Line) -> list[Reason]:
    if not progress.is_flooded(facts.fitting):
        return []
    text = f"{facts.fitting.name} is flooded already; if dirt is under the film, raise a defect."
    return [Reason("stage_closed", text, where=_where(facts, stage, line))]


def _opening(facts: AnswerFacts, stage: StageFacts, line: Line) -> list[Reason]:
    if facts.answer == Answer.WRONG or line.kind == LineKind.EVENT:
        return []
    reasons = obstacles.closed(facts.fitting, Stage(stage.stage))
    if line.card == Card.AFTER and not progress.is_flooded(facts.fitting):
        text = f"{facts.fitting.name}: this card comes after the wet work; start the flooding first."
        reasons.append(Reason("stage_closed", text, where=_where(facts, stage, line)))
    return reasons


def _lots(facts: AnswerFacts, stage: StageFacts, line: Line) -> list[Reason]:
    if line.kind != LineKind.LOT or facts.answer != Answer.VALUE:
        return []
    where = _where(facts, stage, line)
    today = facts.now.astimezone(facts.zone).date()
    reasons: list[Reason] = []
    wanted = sum(1 for field in line.fields if field.unit == "lot" and field.required)
    if len(facts.lots) < wanted:
        name = progress.named_line(facts.fitting, line, ())
        reasons.append(Reason("lot_missing", f"{facts.fitting.name}: {name} names no lot yet.", where=where))
    for named in facts.lots:
        reasons += lots.lot(named, today, where, facts.fitting.name)
    if _names_film(facts.lots) and facts.fitting.film is None:
        reasons += lots.set_out_film(facts.fitting, today)
    return reasons + lots.wrong_lot(facts.fitting, facts.lots, where)


def _names_film(lots: tuple[LotFacts, ...]) -> bool:
    return any(named.kind == "film" for named in lots)


def _second(facts: AnswerFacts, stage: StageFacts, line: Line) -> list[Reason]:
    if not line.second:
        return []
    return obstacles.own_work(
        facts.fitting,
        facts.by,
        facts.now,
        facts.zone,
        self_release=facts.self_release,
        overnight=True,
        where=_where(facts, stage, line),
    )


def _flooding(facts: AnswerFacts, line: Line) -> list[Reason]:
    """The last press with dry hands: from here on nothing can be put right without taking film off."""
    if line.starts != "flooding" or facts.answer != Answer.START:
        return []
    fitting = facts.fitting
    stage = progress.stage_of(fitting, Stage.TACK)
    return [
        *obstacles.unsigned(fitting, Meaning.READY),
        *obstacles.lacking(fitting, stage, progress.dry_card(stage)),
        *lots.set_out_film(fitting, facts.now.astimezone(facts.zone).date()),
        *lots.card_lot(fitting),
        *obstacles.people(fitting),
        *obstacles.paint(fitting),
        *obstacles.defects(fitting.place, fitting.name, fitting.defects),
    ]
