"""The single obstacles: each function looks at one rule and says what stands in the way, in a sentence."""

from collections.abc import Iterable
from datetime import datetime, tzinfo

from shop.reasons import Reason
from shop.work import progress
from shop.work.cases import DefectFacts, FittingFacts, RolesDocument, StageFacts, Who
from shop.work.checklist import Line
from shop.work.kinds import STAGES_OF, Answer, Meaning, Stage, title


def at(fitting: FittingFacts, stage: str = "", line: str = "", edge: str = "") -> str:
    """`hood.1/degrease#degrease.wipe@front`"""
    where = f"{fitting.place}/{stage}" if stage else fitting.place
    where += f"#{line}" if line else ""
    return where + (f"@{edge}" if edge else "")


def stage_name(stage: str) -> str:
    return progress.lower(Stage(stage))


def role_obstacle(verb: str, by: Who, roles: RolesDocument) -> list[Reason]:
    allowed = roles["verbs"][verb]["roles"]
    if by.roles & set(allowed):
        return []
    names = progress.listed((roles["roles"][role]["title"]["en"].lower() for role in allowed), "or")
    return [Reason("not_allowed", f"{by.name} cannot do this; it is for: {names}.")]


def lacking(fitting: FittingFacts, stage: StageFacts, only: Iterable[Line] | None = None) -> list[Reason]:
    """What one stage lacks, its signature aside: one sentence for open lines, one for missing photos."""
    lines = list(stage.lines if only is None else only)
    return _open_lines(fitting, stage, lines) + _missing_photos(fitting, stage, lines)


def _open_lines(fitting: FittingFacts, stage: StageFacts, lines: list[Line]) -> list[Reason]:
    missing = [(line, places) for line in lines if (places := progress.open_places(stage, line))]
    if not missing:
        return []
    named = "; ".join(_state(stage, fitting, line, places) for line, places in missing)
    first, places = missing[0]
    return [
        Reason(
            "line_open",
            f"{fitting.name}, {stage_name(stage.stage)}: not settled yet: {named}.",
            where=at(fitting, stage.stage, first.key, places[0]),
        )
    ]


def _state(stage: StageFacts, fitting: FittingFacts, line: Line, places: tuple[str, ...]) -> str:
    answers = [progress.given_at(stage, line, place) for place in places]
    wrong = any(given is not None and given.answer == Answer.WRONG for given in answers)
    return progress.named_line(fitting, line, places) + (", found wrong" if wrong else "")


def _missing_photos(fitting: FittingFacts, stage: StageFacts, lines: list[Line]) -> list[Reason]:
    missing = [(line, places) for line in lines if (places := progress.photo_places(stage, line))]
    if not missing:
        return []
    named = "; ".join(progress.named_line(fitting, line, places) for line, places in missing)
    first, places = missing[0]
    return [
        Reason(
            "photo_missing",
            f"{fitting.name}, {stage_name(stage.stage)}: no photo yet for {named}.",
            where=at(fitting, stage.stage, first.key, places[0]),
        )
    ]


def unsigned(fitting: FittingFacts, meaning: Meaning) -> list[Reason]:
    """The signing is missing, or lines were added after it."""
    reasons = []
    missing = progress.unsigned_stages(fitting, meaning)
    if missing:
        stages = progress.listed(stage_name(stage) for stage in missing)
        reasons.append(
            Reason(
                "signature_missing",
                f"{fitting.name} is not signed as {progress.lower(meaning)}: {stages}.",
                where=at(fitting, missing[-1]),
            )
        )
    return reasons + changed(fitting, meaning)


def changed(fitting: FittingFacts, meaning: Meaning) -> list[Reason]:
    added = progress.new_keys(fitting, meaning)
    if not added:
        return []
    stage, key = added[0]
    lines = progress.listed(_key_in_words(fitting, stage, key) for stage, key in added)
    text = (
        f"{fitting.name}: the set-out changed after it was signed as {progress.lower(meaning)}. "
        f"Answer {lines} and sign again."
    )
    return [Reason("set_out_changed", text, where=f"{fitting.place}/{stage}#{key}")]


def _key_in_words(fitting: FittingFacts, stage: Stage, key: str) -> str:
    bare, _, edge = key.partition("@")
    for line in progress.stage_of(fitting, stage).lines:
        if line.key == bare:
            return progress.named_line(fitting, line, (edge,))
    return key


def closed(fitting: FittingFacts, stage: Stage) -> list[Reason]:
    """Stages open in order; tack and seal open together, cure only after the signing before it."""
    if stage is Stage.CURE:
        return unsigned(fitting, Meaning.LAID)
    # A signed stage lacks nothing but what the set-out added since, and that is said as such.
    lacking_stages = [
        name
        for name in _before(stage)
        if not progress.stage_signature(progress.stage_of(fitting, name))
        and not progress.lacks_nothing(progress.stage_of(fitting, name))
    ]
    reasons = []
    if lacking_stages:
        names = progress.listed(stage_name(name) for name in lacking_stages)
        text = f"{fitting.name}: {stage_name(stage)} opens when nothing is missing in {names}."
        reasons.append(Reason("stage_closed", text, where=at(fitting, lacking_stages[0])))
    if stage is Stage.STEAM:
        reasons += hold(fitting)
    return reasons


def _before(stage: Stage) -> list[Stage]:
    order = list(Stage)
    return order[: order.index(Stage.TACK if stage is Stage.SEAL else stage)]


def hold(fitting: FittingFacts) -> list[Reason]:
    """Edges about to be hidden are looked at by somebody else first."""
    lines = progress.hidden_lines(fitting)
    seal = progress.stage_of(fitting, Stage.SEAL)
    signature = progress.signature_on(seal, Meaning.HIDDEN)
    seen = signature.keys if signature else frozenset()
    waiting = [line for line in lines if not set(line.place_keys()) <= seen]
    if not waiting:
        return []
    named = progress.listed(progress.named_line(fitting, line, _unseen(line, seen)) for line in waiting)
    return [
        Reason(
            "hold_unsigned",
            f"{fitting.name}: an inspector has not signed the hidden edges yet: {named}.",
            where=at(fitting, Stage.SEAL, waiting[0].key),
        )
    ]


def _unseen(line: Line, seen: frozenset[str]) -> tuple[str, ...]:
    return tuple(place for place in line.places() if progress.place_key(line, place) not in seen)


def own_work(
    fitting: FittingFacts,
    by: Who,
    when: datetime,
    zone: tzinfo,
    *,
    self_release: bool,
    overnight: bool,
    where: str,
) -> list[Reason]:
    """Nobody checks their own work; where the owner allows it, the edge round still waits for the next day."""
    tie = progress.tie_to(fitting, by.id)
    if not tie:
        return []
    if not self_release:
        text = f"{fitting.name}: {by.name} {tie}, so somebody else has to check it."
        return [Reason("same_person", text, where=where)]
    laid = progress.laid_on(fitting, zone)
    if overnight and laid is not None and when.astimezone(zone).date() <= laid:
        text = (
            f"{fitting.name} was laid on {laid:%d %B}; {by.name} {tie} and may check it from the next day on."
        )
        return [Reason("next_day_rule", text, where=where)]
    return []


def rounds(fitting: FittingFacts, zone: tzinfo, self_release: bool) -> list[Reason]:
    """Answers on lines for a second person that were given by somebody tied to the work."""
    reasons: list[Reason] = []
    for stage in fitting.stages.values():
        asked = {line.key for line in stage.lines if line.second}
        people = {given.person: given for given in stage.given if given.line in asked}
        for given in people.values():
            by = Who(given.person, given.person_name)
            where = at(fitting, stage.stage, given.line)
            reasons += own_work(
                fitting, by, given.at, zone, self_release=self_release, overnight=True, where=where
            )
    return reasons


def defects(fitting_place: str, name: str, found: Iterable[DefectFacts]) -> list[Reason]:
    return [
        Reason(
            "defect_open",
            f"{name}: {defect.title.lower()} is open; put it right or decide on it first.",
            where=f"{fitting_place}@{defect.edge}" if defect.edge else fitting_place,
        )
        for defect in found
        if defect.open
    ]


def cuts_in_paint(place: str, name: str, found: Iterable[DefectFacts]) -> list[Reason]:
    return [
        Reason(
            "paint_cut_not_agreed",
            f"{name}: paint was cut, and the customer has not agreed in writing to how it is settled.",
            where=place,
        )
        for defect in found
        if defect.paint_cut and not defect.agreed
    ]


def paint(fitting: FittingFacts) -> list[Reason]:
    if not fitting.paint_concern:
        return []
    text = (
        f"{fitting.name}: {fitting.paint_concern}. Film can lift it: "
        "the customer accepts that in writing first, or no film goes on."
    )
    return [Reason("paint_not_accepted", text, where=fitting.place)]


def people(fitting: FittingFacts) -> list[Reason]:
    named = len(fitting.installers)
    if named >= fitting.people_needed:
        return []
    text = f"{fitting.name} is large: it needs {fitting.people_needed} people by name, {named} named so far."
    return [Reason("two_people_missing", text, where=fitting.place)]


def ended(fitting: FittingFacts) -> list[Reason]:
    if not fitting.ended:
        return []
    text = f"{fitting.name}: this piece of film was taken off or replaced; open the live one."
    return [Reason("superseded", text, where=fitting.place)]


def already_signed(fitting: FittingFacts, meaning: Meaning) -> list[Reason]:
    for stage in reversed(STAGES_OF[meaning]):
        signature = progress.signature_on(progress.stage_of(fitting, stage), meaning)
        if signature:
            text = (
                f"{fitting.name} is already signed as {title(meaning)['en'].lower()}, "
                f"by {signature.person_name}."
            )
            return [Reason("already_signed", text, where=at(fitting, stage))]
    return []
