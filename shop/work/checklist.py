"""Which lines a piece of film is asked, worked out from the plan and the set-out; nothing is stored."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from shop.work.kinds import PRIMER_NAMED, Card, Finish, Scope, Stage

LanguageMap = Mapping[str, str]
Condition = str | Mapping[str, Any]


@dataclass(frozen=True)
class EdgeSpec:
    """One edge, corner or seam of a piece as set out. `return_mm` only where the finish is wrapped."""

    code: str
    kind: str
    finish: str
    return_mm: int | None = None
    primer: bool = False


@dataclass(frozen=True)
class PieceSpec:
    """One piece of film on one panel as set out. `panel` is the code (`door-front-left`), `panel_kind` its
    kind (`door`); `people` is how many installers are named."""

    panel: str
    piece: int
    panel_kind: str
    material: str
    features: frozenset[str]
    cut: str
    cover: str
    edges: tuple[EdgeSpec, ...]
    people: int = 1


@dataclass(frozen=True)
class Field:
    """One value of a reading, lot or choice line. `name` carries the unit (`panel_c100`); `unit` is how the
    plan names it (`0.01 °C`, `0.1 %`, `mm`, `lot`, `roll`, `date`, `choice`); `limits` is a key under
    `limits` in the film sheet, or empty; `choices` maps code to language map."""

    name: str
    unit: str
    label: LanguageMap
    limits: str = ""
    required: bool = True
    choices: Mapping[str, LanguageMap] = field(default_factory=dict)


@dataclass(frozen=True)
class Line:
    """One line as asked of one piece.

    `edges` are the codes it is asked on (empty unless scope is edge). `card` is before, after or empty.
    `hold` names the signing that must follow before work goes on (hidden, released) or is empty.
    `photo`: each place needs a kept photo unless answered "not here". `second`: only a person who may check
    this fitting answers it. `required` False: answered when it happened, never missing. `na`: "not here" is a
    possible answer. `starts` names the clock a start begins (flash_off, flooding, cure) or is empty.
    """

    key: str
    stage: str
    scope: str
    kind: str
    text: LanguageMap
    why: LanguageMap
    caution: LanguageMap = field(default_factory=dict)
    edges: tuple[str, ...] = ()
    card: str = ""
    hold: str = ""
    photo: bool = False
    second: bool = False
    required: bool = True
    na: bool = True
    fields: tuple[Field, ...] = ()
    starts: str = ""
    source: str = ""

    def places(self) -> tuple[str, ...]:
        """Each place it is answered at: the edge codes, or one empty string for the whole."""
        return self.edges if self.scope == Scope.EDGE else ("",)

    def place_keys(self) -> tuple[str, ...]:
        """`degrease.wipe@front`, one for each place; the bare key where it is not asked by edge."""
        return tuple(f"{self.key}@{place}" if place else self.key for place in self.places())


@dataclass(frozen=True)
class Instruction:
    """One sentence of the card to work by: read with wet hands, never answered."""

    key: str
    stage: str
    text: LanguageMap
    caution: LanguageMap = field(default_factory=dict)
    source: str = ""


def stage_lines(plan: Mapping[str, Any], piece: PieceSpec, stage: str) -> list[Line]:
    """The lines of one stage for one piece, in the plan's order. An edge with finish open is never asked.

    Car lines are in the list of every piece (answered once for all), panel lines in that of every piece of
    the panel. A stage without lines (no primer named) lacks nothing.
    """
    asked = (_line(entry, piece) for entry in plan["lines"] if entry["stage"] == stage)
    return [line for line in asked if line is not None]


def all_lines(plan: Mapping[str, Any], piece: PieceSpec) -> dict[Stage, list[Line]]:
    """Every stage with its lines, in working order; a stage with nothing to ask has an empty list."""
    return {stage: stage_lines(plan, piece, stage) for stage in Stage}


def line_keys(lines: Iterable[Line]) -> list[str]:
    """The stable keys of these lines, one for each place: `["degrease.wipe@front", "degrease.climate"]`."""
    return [key for line in lines for key in line.place_keys()]


def work_to(plan: Mapping[str, Any], piece: PieceSpec, stage: str = Stage.TACK) -> list[Instruction]:
    """The card to work by for one piece: what applies to it, in order, to be read and not ticked."""
    words = piece_words(piece)
    return [
        Instruction(
            key=entry["key"],
            stage=entry["stage"],
            text=entry["text"],
            caution=entry.get("caution", {}),
            source=entry.get("source", ""),
        )
        for entry in plan["work_to"]
        if entry["stage"] == stage and applies(entry.get("when"), words)
    ]


def applies(condition: Condition | None, words: frozenset[str]) -> bool:
    """Whether a `when` holds: one word, or `{all = […]}`, `{any = […]}`, `{not = …}` of such.

    >>> applies({"all": ["large", {"not": "bulk"}]}, frozenset({"large", "pre_cut"}))
    True
    """
    if condition is None:
        return True
    if isinstance(condition, str):
        return condition in words
    if "all" in condition:
        return all(applies(part, words) for part in condition["all"])
    if "any" in condition:
        return any(applies(part, words) for part in condition["any"])
    return not applies(condition["not"], words)


def asked_edges(piece: PieceSpec) -> tuple[EdgeSpec, ...]:
    """The edges work is done on; there is nothing to do where the body has no break."""
    return tuple(edge for edge in piece.edges if edge.finish != Finish.OPEN)


def piece_words(piece: PieceSpec) -> frozenset[str]:
    """Every word a condition on the whole piece may match; an edge word holds when any asked edge has it.

    The panel's kind is the word `panel:bumper`, so that it cannot be taken for a cover or a finish.
    """
    words = _whole_words(piece)
    for edge in asked_edges(piece):
        words |= _edge_words(edge)
    return frozenset(words)


def _whole_words(piece: PieceSpec) -> set[str]:
    return {*piece.features, piece.material, piece.cut, piece.cover, f"panel:{piece.panel_kind}"}


def _edge_words(edge: EdgeSpec) -> set[str]:
    return {edge.kind, edge.finish} | ({PRIMER_NAMED} if edge.primer else set())


def _edges_asked_on(entry: Mapping[str, Any], piece: PieceSpec) -> tuple[str, ...]:
    # A condition on an edge line speaks of that edge, and of the panel it belongs to.
    whole = _whole_words(piece)
    return tuple(
        edge.code
        for edge in asked_edges(piece)
        if applies(entry.get("when"), frozenset(whole | _edge_words(edge)))
    )


def _line(entry: Mapping[str, Any], piece: PieceSpec) -> Line | None:
    edges: tuple[str, ...] = ()
    if entry["scope"] == Scope.EDGE:
        edges = _edges_asked_on(entry, piece)
        if not edges:
            return None
    elif not applies(entry.get("when"), piece_words(piece)):
        return None
    return Line(
        key=entry["key"],
        stage=entry["stage"],
        scope=entry["scope"],
        kind=entry["kind"],
        text=entry["text"],
        why=entry["why"],
        caution=entry.get("caution", {}),
        edges=edges,
        card=entry.get("card", Card.NONE.value),
        hold=entry.get("hold", ""),
        photo=entry.get("photo", False),
        second=entry.get("second", False),
        required=entry.get("required", True),
        na=entry.get("na", True),
        fields=tuple(_field(part) for part in entry.get("fields", ())),
        starts=entry.get("starts", ""),
        source=entry.get("source", ""),
    )


def _field(part: Mapping[str, Any]) -> Field:
    return Field(
        name=part["name"],
        unit=part["unit"],
        label=part["label"],
        limits=part.get("limits", ""),
        required=part.get("required", True),
        choices=part.get("choices", {}),
    )
