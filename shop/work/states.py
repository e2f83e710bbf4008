"""How far a piece and its stages are, in the few states that drawings and cells can show."""

from shop.intake.sheet_states import EdgeMark, EdgeState, Mark, PanelMark, PanelState
from shop.work import progress, told
from shop.work.cases import FittingFacts
from shop.work.floor import Floor, Piece
from shop.work.kinds import STAGES_OF, Answer, Meaning, Scope, Stage, title

WORDS = {
    "open": "open",
    "worked": "being worked",
    "ready": "ready to sign",
    "signed": "signed",
    "held": "held",
    "wrong": "something is wrong",
    "none": "none needed",
}


def facts_of(floor: Floor) -> dict[str, FittingFacts]:
    return {piece.place: told.fitting_facts(floor, piece) for piece in floor.pieces}


def held(piece: Piece) -> bool:
    return bool(told.paint_concern(piece)) or any(defect.closed_at is None for defect in piece.defects)


def meaning_of(stage: str) -> Meaning:
    return next(m for m in (Meaning.READY, Meaning.LAID, Meaning.RELEASED) if stage in STAGES_OF[m])


def stage_state(piece: Piece, facts: FittingFacts, stage: str) -> str:
    """One of WORDS for one stage of one piece."""
    here = progress.stage_of(facts, stage)
    if not here.lines:
        return "none"
    if any(given.answer == Answer.WRONG for given in here.given):
        return "wrong"
    meaning = meaning_of(stage)
    signature = progress.signature_on(here, meaning)
    if signature and not progress.current_keys(here, meaning) - signature.keys:
        return "signed"
    if progress.lacks_nothing(here):
        return "ready"
    return "worked" if here.given or here.photos else "open"


def panel_state(piece: Piece, facts: FittingFacts) -> PanelState:
    states = [stage_state(piece, facts, stage) for stage in Stage]
    if held(piece):
        return PanelState(PanelMark.HELD, note=_why_held(piece))
    if all(state in ("signed", "none") for state in states):
        return PanelState(PanelMark.SIGNED, note="released")
    now = current_stage(piece, facts)
    if all(state in ("open", "none") for state in states):
        return PanelState(PanelMark.NOT_STARTED)
    if all(state not in ("open", "worked", "wrong") for state in _group(states, now)):
        return PanelState(PanelMark.READY, note=f"ready: {title(meaning_of(now))['en'].lower()}")
    return PanelState(PanelMark.WORKING, note=title(now)["en"].lower())


def _group(states: list[str], stage: Stage) -> list[str]:
    stages = STAGES_OF[meaning_of(stage)]
    return [state for name, state in zip(Stage, states, strict=True) if name in stages]


def _why_held(piece: Piece) -> str:
    return "held: paint" if told.paint_concern(piece) else "held: something is wrong"


def current_stage(piece: Piece, facts: FittingFacts) -> Stage:
    """The first stage that still lacks something, or whose group still lacks its signature."""
    for stage in Stage:
        if not progress.lacks_nothing(progress.stage_of(facts, stage)):
            return stage
        if stage is STAGES_OF[meaning_of(stage)][-1] and not progress.is_signed(facts, meaning_of(stage)):
            return stage
    return Stage.CURE


def sheet_states(floor: Floor, facts: dict[str, FittingFacts]) -> dict[str, PanelState]:
    """State by panel code; several pieces show the one that is furthest behind."""
    order = [PanelMark.HELD, PanelMark.WORKING, PanelMark.NOT_STARTED, PanelMark.READY, PanelMark.SIGNED]
    states: dict[str, PanelState] = {}
    for piece in floor.pieces:
        state = panel_state(piece, facts[piece.place])
        before = states.get(piece.spec.panel)
        if before is None or order.index(state.mark) < order.index(before.mark):
            states[piece.spec.panel] = state
    return states


def defect_marks(piece: Piece) -> list[Mark]:
    """Open defects that were given a place on the panel, numbered in the order they were found."""
    found = [d for d in piece.defects if d.closed_at is None and d.x_mil is not None]
    return [
        Mark(piece.spec.panel, number, "Something is wrong here", "damage", defect.x_mil, defect.y_mil)
        for number, defect in enumerate(found, 1)
    ]


def edge_states(piece: Piece, stage: str, key: str = "") -> dict[str, EdgeState]:
    """State of every edge on one stage: of one line, or of all its edge lines together."""
    here = piece.stages[stage]
    lines = [line for line in here.lines if line.scope == Scope.EDGE and key in ("", line.key)]
    return {edge.code: _edge_state(piece, here, lines, edge) for edge in piece.spec.edges}


def _edge_state(piece, here, lines, edge) -> EdgeState:
    finish = f"{edge.finish} {edge.return_mm} mm" if edge.return_mm else edge.finish
    primed = ("primer.thin", edge.code) in piece.stages[Stage.PRIMER].answers
    asked = [line for line in lines if edge.code in line.edges]
    photo = any(here.has_photo(line.key, edge.code) for line in asked)
    if edge.finish == "open":
        return EdgeState(EdgeMark.OPEN)
    if not lines:
        return EdgeState(finish=finish, primed=primed)
    if not asked:
        return EdgeState(EdgeMark.NOT_HERE, finish=finish, primed=primed, note="not asked")
    given = [on.outcome.answer for line in asked if (on := here.answers.get((line.key, edge.code)))]
    wrong = any(d.closed_at is None and d.edge and d.edge.code == edge.code for d in piece.defects)
    if wrong or Answer.WRONG in given:
        mark = EdgeMark.WRONG
    elif len(given) < len([line for line in asked if line.required]):
        mark = EdgeMark.UNANSWERED
    elif given and all(answer == Answer.NA for answer in given):
        mark = EdgeMark.NOT_HERE
    else:
        mark = EdgeMark.ANSWERED
    return EdgeState(mark, photo=photo, primed=primed, finish=finish)


def pieces_on(floor: Floor, panel: str) -> int:
    """How many pieces of film the panel takes: the highest number, as the drawing counts them."""
    return max((piece.spec.piece for piece in floor.pieces if piece.spec.panel == panel), default=1)
