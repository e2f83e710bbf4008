"""Where the work goes on from a stage that lacks nothing: pieces worked together, the next stage, the signature.

The page goes there by itself, so that a wet hand does not look for the way; nothing is answered by going.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from shop.work import obstacles, progress
from shop.work.cases import FittingFacts, StageFacts
from shop.work.kinds import STAGES_OF, Meaning, Scope, Stage


@dataclass(frozen=True)
class Onward:
    """Either a stage of a piece (`place`, `stage`), or a signature over pieces (`meaning`, `places`)."""

    place: str = ""
    stage: str = ""
    meaning: str = ""
    places: tuple[str, ...] = ()


def onward(
    pieces: Sequence[FittingFacts], here: FittingFacts, stage: Stage, meaning: Meaning
) -> Onward | None:
    """From `stage` of `here`, among all `pieces` of the car in their order; `meaning` is what signs the stage.

    None while something lacks here, and where this stage is signed already.
    """
    if not progress.lacks_nothing(progress.stage_of(here, stage)) or progress.is_signed(here, meaning):
        return None
    stages = STAGES_OF[meaning]
    group = [piece for piece in pieces if piece.place == here.place or _in_hand(piece, stages, meaning)]
    lacking = _lacking(group, [stage])
    if lacking:
        return lacking
    if stage == Stage.SEAL and (waiting := tuple(piece.place for piece in group if obstacles.hold(piece))):
        return Onward(meaning=Meaning.HIDDEN, places=waiting)
    at = stages.index(stage)
    return _lacking(group, [*stages[at + 1 :], *stages[:at]]) or Onward(
        meaning=meaning, places=tuple(piece.place for piece in group)
    )


def next_to_lay(pieces: Sequence[FittingFacts], here: FittingFacts) -> FittingFacts | None:
    """With several pieces in hand film goes down on one after another; what is asked after comes for all at once."""
    if not progress.is_flooded(here) or progress.is_signed(here, Meaning.LAID):
        return None
    return next(
        (
            piece
            for piece in pieces
            if not progress.is_flooded(piece) and _own_answers(progress.stage_of(piece, Stage.TACK))
        ),
        None,
    )


def _lacking(group: Sequence[FittingFacts], stages: Sequence[Stage]) -> Onward | None:
    for stage in stages:
        for piece in group:
            if not progress.lacks_nothing(progress.stage_of(piece, stage)):
                return Onward(place=piece.place, stage=stage)
    return None


def _in_hand(piece: FittingFacts, stages: Sequence[Stage], meaning: Meaning) -> bool:
    """Not signed, and answered for itself: a line of the whole car says nothing of which pieces are in hand.

    The round of the next day goes along every edge that was laid, so there each laid piece is.
    """
    if progress.is_signed(piece, meaning):
        return False
    if meaning == Meaning.RELEASED:
        return progress.is_signed(piece, Meaning.LAID)
    return any(_own_answers(progress.stage_of(piece, stage)) for stage in stages)


def _own_answers(stage: StageFacts) -> bool:
    asked = {line.key for line in stage.lines if line.scope != Scope.CAR}
    return any(given.line in asked for given in stage.given)
