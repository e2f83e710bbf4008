"""What a stage wants: which signing covers it, which answer settles a line. The words come from documents."""

from collections.abc import Mapping
from types import MappingProxyType

from shop.documents.words import (
    PRIMER_NAMED,
    Answer,
    Card,
    Cover,
    Cut,
    EdgeKind,
    Feature,
    Finish,
    LineKind,
    Material,
    Meaning,
    Scope,
    Stage,
    choices,
    title,
)

__all__ = [
    "PRIMER_NAMED",
    "SATISFIED_BY",
    "STAGES_OF",
    "Answer",
    "Card",
    "Cover",
    "Cut",
    "EdgeKind",
    "Feature",
    "Finish",
    "LineKind",
    "Material",
    "Meaning",
    "Scope",
    "Stage",
    "choices",
    "title",
]

STAGES_OF: Mapping[Meaning, tuple[Stage, ...]] = MappingProxyType(
    {
        Meaning.READY: (Stage.WASH, Stage.DECONTAMINATE, Stage.DEGREASE, Stage.PRIMER),
        Meaning.HIDDEN: (Stage.SEAL,),
        Meaning.LAID: (Stage.TACK, Stage.SEAL, Stage.STEAM),
        Meaning.RELEASED: (Stage.CURE,),
    }
)
"""Which stages a signing covers. Hidden signs a hold inside the seal stage, not the stage."""

SATISFIED_BY: Mapping[LineKind, frozenset[Answer]] = MappingProxyType(
    {
        LineKind.TICK: frozenset({Answer.DONE}),
        LineKind.PHOTO: frozenset({Answer.DONE}),
        LineKind.EVENT: frozenset({Answer.DONE}),
        LineKind.READING: frozenset({Answer.VALUE}),
        LineKind.LOT: frozenset({Answer.VALUE}),
        LineKind.CHOICE: frozenset({Answer.VALUE}),
        LineKind.TIMER: frozenset({Answer.START}),
    }
)
"""The answer that settles a line of each kind; `na` settles one too where the line allows it."""
