"""One gate for every act: told the facts, it names everything that stands in the way.

Page, verb, tablet, certificate and rehearsal ask these same functions. Each takes the facts of one act and
the roles document, and returns every reason at once, weighed by that document. Nobody checks a piece they
are named on, answered a panel, piece or edge line of before cure on, or signed as ready or laid.
"""

from collections.abc import Iterable
from dataclasses import replace

from shop.reasons import Reason, Weight
from shop.work import lots, obstacles, progress
from shop.work.answers import answer_obstacles
from shop.work.cases import (
    AnswerFacts,
    FittingFacts,
    HandOverFacts,
    IssueFacts,
    PutRightFacts,
    ReleaseFacts,
    RolesDocument,
    SignFacts,
    Who,
)
from shop.work.kinds import STAGES_OF, Meaning, Stage


def weigh(reasons: Iterable[Reason], roles: RolesDocument) -> list[Reason]:
    """The same reasons, each once, with the weights of the roles document; KeyError for a code it does not
    list. What a rule itself only notes stays a note."""
    weighed: dict[Reason, None] = {}
    for reason in reasons:
        weight = Weight(roles["reasons"][reason.code]["weight"])
        weighed[reason if reason.weight is Weight.NOTE else replace(reason, weight=weight)] = None
    return list(weighed)


def verb_reasons(verb: str, by: Who, roles: RolesDocument) -> list[Reason]:
    """`not_allowed` when none of the person's roles may do this verb; KeyError for an unknown verb."""
    return weigh(obstacles.role_obstacle(verb, by, roles), roles)


def answer_reasons(facts: AnswerFacts, roles: RolesDocument) -> list[Reason]:
    """Why this answer cannot be taken now. A missing photo is no reason here: it comes after the tick."""
    found = obstacles.role_obstacle("answer", facts.by, roles)
    return weigh([*found, *answer_obstacles(facts)], roles)


def sign_reasons(facts: SignFacts, roles: RolesDocument) -> list[Reason]:
    """Why this cannot be signed now; any reason that stops refuses the signing whole."""
    meaning = Meaning(facts.meaning)
    reasons = obstacles.role_obstacle(f"sign_{meaning}", facts.by, roles)
    if not facts.fittings:
        reasons.append(Reason("nothing_to_sign", "Pick at least one panel to sign."))
    if facts.unsent:
        text = f"This tablet still holds {facts.unsent} unsent entries of this car; wait until they are in."
        reasons.append(Reason("unsent_here", text))
    if facts.screen_seen != facts.screen_now:
        reasons.append(
            Reason(
                "screen_changed", "Something changed since you opened this page; read it again, then sign."
            )
        )
    for fitting in facts.fittings:
        reasons += _signing_of(fitting, meaning, facts, roles)
    return weigh(reasons, roles)


def _signing_of(
    fitting: FittingFacts, meaning: Meaning, facts: SignFacts, roles: RolesDocument
) -> list[Reason]:
    reasons = obstacles.ended(fitting) + _signer(fitting, meaning, facts, roles)
    if meaning is Meaning.HIDDEN:
        reasons += _hidden(fitting)
    else:
        reasons += _stages_to_sign(fitting, meaning)
    reasons += _order(fitting, meaning)
    reasons += obstacles.defects(fitting.place, fitting.name, fitting.defects)
    if meaning in (Meaning.READY, Meaning.RELEASED):
        reasons += obstacles.paint(fitting)
    if meaning is Meaning.LAID:
        reasons += obstacles.people(fitting)
        reasons += lots.card_lot(fitting)
    if meaning is Meaning.RELEASED:
        reasons += obstacles.rounds(fitting, facts.zone, facts.self_release)
        reasons += obstacles.cuts_in_paint(fitting.place, fitting.name, fitting.defects)
    return reasons + list(fitting.found)


def _signer(fitting: FittingFacts, meaning: Meaning, facts: SignFacts, roles: RolesDocument) -> list[Reason]:
    rule = roles["verbs"][f"sign_{meaning}"]
    where = obstacles.at(fitting, STAGES_OF[meaning][-1])
    if rule.get("named") and facts.by.id not in fitting.installers:
        names = progress.listed(fitting.installers.values(), "or") or "nobody yet"
        text = f"{fitting.name} is signed by an installer named on it: {names}."
        return [Reason("not_allowed", text, where=where)]
    if not rule.get("second"):
        return []
    return obstacles.own_work(
        fitting,
        facts.by,
        facts.now,
        facts.zone,
        self_release=facts.self_release,
        overnight=meaning is Meaning.RELEASED,
        where=where,
    )


def _hidden(fitting: FittingFacts) -> list[Reason]:
    lines = progress.hidden_lines(fitting)
    if not lines:
        text = f"{fitting.name} has no edge that is about to be hidden."
        return [Reason("nothing_to_sign", text, where=obstacles.at(fitting, Stage.SEAL))]
    if not obstacles.hold(fitting):
        return obstacles.already_signed(fitting, Meaning.HIDDEN)
    return obstacles.lacking(fitting, progress.stage_of(fitting, Stage.SEAL), lines)


def _stages_to_sign(fitting: FittingFacts, meaning: Meaning) -> list[Reason]:
    if progress.is_signed(fitting, meaning):
        return obstacles.already_signed(fitting, meaning)
    return [
        reason
        for stage in STAGES_OF[meaning]
        for reason in obstacles.lacking(fitting, progress.stage_of(fitting, stage))
    ]


def _order(fitting: FittingFacts, meaning: Meaning) -> list[Reason]:
    """The signings that come before this one."""
    if meaning is Meaning.READY:
        return []
    reasons = obstacles.unsigned(fitting, Meaning.READY)
    if meaning is Meaning.RELEASED:
        reasons += obstacles.unsigned(fitting, Meaning.LAID)
    if meaning in (Meaning.LAID, Meaning.RELEASED):
        reasons += obstacles.hold(fitting)
    return reasons


def release_reasons(facts: ReleaseFacts, roles: RolesDocument) -> list[Reason]:
    """Everything between the car and its release, whoever acts next; empty when every piece is released."""
    if not facts.fittings:
        return weigh([Reason("nothing_to_sign", "No panel is set out on this car yet.")], roles)
    reasons = []
    for fitting in facts.fittings:
        reasons += _way_out(fitting, facts)
    return weigh(reasons, roles)


def _way_out(fitting: FittingFacts, facts: ReleaseFacts) -> list[Reason]:
    reasons: list[Reason] = []
    for meaning in (Meaning.READY, Meaning.LAID, Meaning.RELEASED):
        for stage in progress.unsigned_stages(fitting, meaning):
            reasons += obstacles.lacking(fitting, progress.stage_of(fitting, stage))
        if meaning is Meaning.LAID:
            reasons += obstacles.hold(fitting)
        reasons += obstacles.unsigned(fitting, meaning)
    reasons += obstacles.defects(fitting.place, fitting.name, fitting.defects)
    reasons += obstacles.cuts_in_paint(fitting.place, fitting.name, fitting.defects)
    reasons += obstacles.paint(fitting) + obstacles.people(fitting)
    reasons += obstacles.rounds(fitting, facts.zone, facts.self_release)
    return reasons + list(fitting.found)


def hand_over_reasons(facts: HandOverFacts, roles: RolesDocument) -> list[Reason]:
    """Why the car cannot go back to its owner on this day."""
    reasons = obstacles.role_obstacle("hand_over", facts.by, roles)
    if facts.handed_over_on:
        text = f"This car was handed over on {facts.handed_over_on:%d %B %Y} already."
        reasons.append(Reason("already_handed_over", text))
    if facts.released_on is None:
        reasons.append(Reason("not_released", "The car is not released; see what stands in its way."))
    elif facts.on < facts.released_on:
        text = f"The day is before the release on {facts.released_on:%d %B %Y}; correct it."
        reasons.append(Reason("day_wrong", text))
    if facts.on > facts.today:
        reasons.append(Reason("day_wrong", "The day lies in the future; cover starts on the day itself."))
    if not facts.customer_signed:
        reasons.append(Reason("customer_unsigned", "The customer has not signed for the car yet."))
    reasons += obstacles.defects("", "The car", facts.defects)
    reasons += obstacles.cuts_in_paint("", "The car", facts.defects)
    return weigh(reasons, roles)


def issue_reasons(facts: IssueFacts, roles: RolesDocument) -> list[Reason]:
    """Why no certificate, or no corrected one, can be issued now."""
    verb = "correct_certificate" if facts.correcting else "issue"
    reasons = obstacles.role_obstacle(verb, facts.by, roles)
    if facts.pieces == 0 or facts.released < facts.pieces:
        text = f"Only {facts.released} of {facts.pieces} pieces are released; a certificate waits for all."
        reasons.append(Reason("not_released", text))
    if facts.handed_over_on is None:
        reasons.append(Reason("not_handed_over", "Cover starts on hand-over; hand the car over first."))
    if facts.number and not facts.correcting:
        text = f"Certificate {facts.number} exists; correct it with a new revision instead."
        reasons.append(Reason("already_issued", text))
    if facts.withdrawn:
        reasons.append(Reason("certificate_withdrawn", f"Certificate {facts.number} was withdrawn."))
    reasons += obstacles.defects("", "The car", facts.defects)
    reasons += obstacles.cuts_in_paint("", "The car", facts.defects)
    return weigh([*reasons, *facts.found], roles)


def put_right_reasons(facts: PutRightFacts, roles: RolesDocument) -> list[Reason]:
    """Why this defect cannot be closed in this way."""
    reasons = obstacles.role_obstacle("put_right", facts.by, roles)
    name, title = facts.name, facts.defect.title.lower()
    if not facts.defect.open:
        reasons.append(Reason("superseded", f"{name}: {title} is closed already.", where=facts.place))
    if not facts.known:
        text = f"{name}: say how {title} was settled: put right, filmed again, or accepted by the customer."
        reasons.append(Reason("answer_unfit", text, where=facts.place))
    if facts.needs_agreement and not facts.defect.agreed:
        text = f"{name}: {title} can only stay as it is when the customer agrees in writing."
        reasons.append(Reason("agreement_missing", text, where=facts.place))
    if facts.needs_proof and not facts.proof:
        text = f"{name}: take a photo of {title} as it is now."
        reasons.append(Reason("photo_missing", text, where=facts.place))
    reasons += obstacles.cuts_in_paint(facts.place, name, [facts.defect])
    return weigh(reasons, roles)


def waive_reasons(code: str, by: Who, why: str, roles: RolesDocument) -> list[Reason]:
    """Why this person cannot waive this reason. Only what the roles document calls waivable can be."""
    rule = roles["reasons"].get(code, {})
    if rule.get("weight") != Weight.WAIVABLE or rule.get("never"):
        return weigh([Reason("cannot_waive", "This cannot be waived by anybody; put it right.")], roles)
    reasons = []
    if not by.roles & set(rule["waive"]):
        names = progress.listed((roles["roles"][role]["title"]["en"].lower() for role in rule["waive"]), "or")
        reasons.append(Reason("not_allowed", f"{by.name} cannot waive this; it is for: {names}."))
    if not why.strip():
        reasons.append(Reason("reason_missing", "Say why it is waived; it stays on the record."))
    return weigh(reasons, roles)
