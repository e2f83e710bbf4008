"""How far a piece has come: what is settled, what is signed, and who is tied to the work."""

from collections.abc import Iterable, Sequence
from datetime import date, tzinfo

from shop.work.cases import FittingFacts, Given, Signature, StageFacts
from shop.work.checklist import Line
from shop.work.kinds import (
    SATISFIED_BY,
    STAGES_OF,
    Answer,
    Card,
    LineKind,
    Meaning,
    Scope,
    Stage,
    title,
)

# Up to so many open places are told by name; a line open all round the panel is told by their number.
TOLD_BY_NAME = 3
BEFORE_CURE = tuple(stage for stage in Stage if stage is not Stage.CURE)


def stage_of(fitting: FittingFacts, stage: str) -> StageFacts:
    return fitting.stages.get(stage) or StageFacts(stage=stage)


def find_line(fitting: FittingFacts, key: str) -> tuple[StageFacts, Line] | None:
    for stage in fitting.stages.values():
        for line in stage.lines:
            if line.key == key:
                return stage, line
    return None


def given_at(stage: StageFacts, line: Line, place: str) -> Given | None:
    for given in stage.given:
        if given.line == line.key and given.edge == place:
            return given
    return None


def is_settled(line: Line, given: Given | None) -> bool:
    """A line that was answered "wrong" is open until a later answer replaces it."""
    if given is None:
        return False
    if given.answer == Answer.NA:
        return line.na
    return given.answer in SATISFIED_BY[LineKind(line.kind)]


def place_key(line: Line, place: str) -> str:
    return f"{line.key}@{place}" if place else line.key


def open_places(stage: StageFacts, line: Line) -> tuple[str, ...]:
    """Where an answer is still missing; nowhere on a line that is only answered when something happened."""
    if not line.required:
        return ()
    return tuple(place for place in line.places() if not is_settled(line, given_at(stage, line, place)))


def photo_places(stage: StageFacts, line: Line) -> tuple[str, ...]:
    """Where a photo is missing. "Not here" needs none; an unanswered place needs one already."""
    if not (line.required and (line.photo or line.kind == LineKind.PHOTO)):
        return ()
    missing = []
    for place in line.places():
        given = given_at(stage, line, place)
        excused = given is not None and given.answer == Answer.NA and line.na
        if not excused and place_key(line, place) not in stage.photos:
            missing.append(place)
    return tuple(missing)


def lacks_nothing(stage: StageFacts) -> bool:
    return not any(open_places(stage, line) or photo_places(stage, line) for line in stage.lines)


def signature_on(stage: StageFacts, meaning: str) -> Signature | None:
    for signature in stage.signatures:
        if signature.meaning == meaning:
            return signature
    return None


def stage_signature(stage: StageFacts) -> Signature | None:
    """The signature over the stage itself; the hidden hold inside it is another matter."""
    for signature in stage.signatures:
        if signature.meaning != Meaning.HIDDEN:
            return signature
    return None


def current_keys(stage: StageFacts, meaning: str) -> frozenset[str]:
    """The keys that a signature of this meaning must have shown, as set out now."""
    return frozenset(
        key
        for line in stage.lines
        if meaning != Meaning.HIDDEN or line.hold == Meaning.HIDDEN
        for key in line.place_keys()
    )


def unsigned_stages(fitting: FittingFacts, meaning: Meaning) -> list[Stage]:
    """Stages with lines and without this signature. A stage that asks nothing needs none."""
    return [
        stage
        for stage in STAGES_OF[meaning]
        if current_keys(stage_of(fitting, stage), meaning)
        and signature_on(stage_of(fitting, stage), meaning) is None
    ]


def new_keys(fitting: FittingFacts, meaning: Meaning) -> list[tuple[Stage, str]]:
    """Keys asked now that were not there when this meaning was signed, because the set-out changed."""
    added = []
    for stage in STAGES_OF[meaning]:
        facts = stage_of(fitting, stage)
        signature = signature_on(facts, meaning)
        if signature:
            added += [(stage, key) for key in sorted(current_keys(facts, meaning) - signature.keys)]
    return added


def is_signed(fitting: FittingFacts, meaning: Meaning) -> bool:
    """Signed whole, and nothing new is asked since."""
    return not unsigned_stages(fitting, meaning) and not new_keys(fitting, meaning)


def hidden_lines(fitting: FittingFacts) -> list[Line]:
    return [line for line in stage_of(fitting, Stage.SEAL).lines if line.hold == Meaning.HIDDEN]


def flooding_line(stage: StageFacts) -> Line | None:
    for line in stage.lines:
        if line.starts == "flooding":
            return line
    return None


def is_flooded(fitting: FittingFacts) -> bool:
    stage = stage_of(fitting, Stage.TACK)
    line = flooding_line(stage)
    return line is not None and is_settled(line, given_at(stage, line, ""))


def dry_card(stage: StageFacts) -> list[Line]:
    """What is answered before wet hands, all but the press that starts the flooding."""
    return [line for line in stage.lines if line.card == Card.BEFORE and line.starts != "flooding"]


def laid_on(fitting: FittingFacts, zone: tzinfo) -> date | None:
    """The local day of the last signature as laid and sealed."""
    days = [
        signature.at.astimezone(zone).date()
        for stage in STAGES_OF[Meaning.LAID]
        if (signature := signature_on(stage_of(fitting, stage), Meaning.LAID))
    ]
    return max(days, default=None)


def tie_to(fitting: FittingFacts, person: int) -> str:
    """Why this person may not check the piece, as the end of a sentence; empty when nothing ties them.

    Car lines tie nobody: whoever swept the bay has not touched an edge.
    """
    if person in fitting.installers:
        return "is named as its installer"
    for stage in BEFORE_CURE:
        facts = stage_of(fitting, stage)
        scopes = {line.key: line.scope for line in facts.lines}
        for given in facts.given:
            scope = given.scope or scopes.get(given.line, Scope.PIECE)
            if given.person == person and scope != Scope.CAR:
                return f"answered lines of {lower(stage)} on it"
        for signature in facts.signatures:
            if signature.person == person and signature.meaning != Meaning.HIDDEN:
                return f"signed it as {lower(Meaning(signature.meaning))}"
    return "worked on it earlier" if person in fitting.hands else ""


def lower(word: Stage | Meaning) -> str:
    return title(word)["en"].lower()


def edge_name(fitting: FittingFacts, code: str) -> str:
    return fitting.edge_names.get(code) or code.replace("-", " ")


def listed(words: Iterable[str], last: str = "and") -> str:
    """`front, left and rear`"""
    every = list(words)
    if len(every) < 2:
        return "".join(every)
    return f"{', '.join(every[:-1])} {last} {every[-1]}"


def named_line(fitting: FittingFacts, line: Line, places: Sequence[str]) -> str:
    """`“Measure the return” (front, left)`; a line open all round a panel is not told edge by edge."""
    named = [place for place in places if place]
    if len(named) > TOLD_BY_NAME and set(named) == set(line.edges):
        return f"“{line.text['en']}” (all {len(named)} edges and corners)"
    where = ", ".join(edge_name(fitting, place) for place in named)
    return f"“{line.text['en']}”" + (f" ({where})" if where else "")
