"""One piece of film as it is set out: what was asked for, over what stands already, over the defaults.

Defaults come from the body document (features, material, cut, cover, finishes) and the film sheet (return,
which panels get primer at their corners).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from shop.intake.shapes import Panel as PanelShape
from shop.intake.typed import Typed
from shop.work.kinds import Cover, Cut, EdgeKind, Feature, Finish, Material

MOST_PIECES = 6
DEEPEST_RETURN_MM = 150


@dataclass(frozen=True)
class EdgeSet:
    code: str
    kind: str
    finish: str
    return_mm: int | None
    primer: bool


@dataclass(frozen=True)
class PieceSet:
    """A piece as it shall stand. `edges` by code in drawing order; `people` are ids, in the order named."""

    piece: int
    cut: str
    cover: str
    material: str
    features: tuple[str, ...]
    edges: Mapping[str, EdgeSet]
    people: tuple[int, ...]
    turned: bool = False


def default_piece(shape: PanelShape, sheet: Mapping[str, Any], piece: int = 1) -> PieceSet:
    """The piece nobody has said anything about yet: the whole panel, its edges as they usually end."""
    return PieceSet(
        piece=piece,
        cut=shape.cut,
        cover=shape.cover,
        material=shape.material,
        features=tuple(shape.features),
        edges={edge.code: _default_edge(shape, edge, sheet) for edge in shape.edges},
        people=(),
    )


def pieces_of_edge(code: str, pieces: int) -> list[int]:
    """The pieces an edge lies on where nobody said so: left on the first, right on the last, others on all.

    >>> pieces_of_edge("lamp-left", 3), pieces_of_edge("arch-right", 3), pieces_of_edge("top", 3)
    ([1], [3], [1, 2, 3])
    """
    sides = code.split("-")
    if "left" in sides:
        return [1]
    return [pieces] if "right" in sides else list(range(1, pieces + 1))


def divided(whole: PieceSet, pieces: int) -> PieceSet:
    """One of several pieces of a panel so far thought of whole: its share of the edges, and its seams."""
    edges = {
        code: edge if whole.piece in pieces_of_edge(code, pieces) else _opened(edge)
        for code, edge in whole.edges.items()
        if edge.kind != EdgeKind.SEAM
    }
    for number in (whole.piece - 1, whole.piece):
        if 1 <= number < pieces and (seam := _seam(f"seam-{number}")):
            edges[seam.code] = seam
    return replace(whole, edges=edges)


def least_return_mm(sheet: Mapping[str, Any], plan: Mapping[str, Any]) -> int:
    """Under this depth a return is better cut flush; the film sheet overrides the plan, 0 where neither says."""
    for document in (sheet, plan):
        limit = document.get("limits", {}).get("return_mm", {})
        if "note_below" in limit:
            return int(limit["note_below"])
    return 0


def _default_edge(shape: PanelShape, edge: Any, sheet: Mapping[str, Any]) -> EdgeSet:
    named = sheet.get("primer", {}).get("corners_of")
    primer = edge.primer
    if named is not None:
        primer = edge.kind == EdgeKind.CORNER and (shape.code in named or shape.kind in named)
    depth = edge.return_mm
    if depth is None and edge.finish == Finish.WRAPPED and edge.kind == EdgeKind.EDGE:
        depth = least_return_mm(sheet, {}) or None
    primer = primer and edge.finish != Finish.OPEN
    return EdgeSet(edge.code, edge.kind, edge.finish, depth, primer)


def read_piece(
    typed: Typed, base: PieceSet, given: Mapping[str, Any], *, name: str, whole: bool, least_mm: int
) -> PieceSet:
    """`base` with what was asked for over it; what is wrong goes to `typed`.

    `whole`: the only piece of its panel, so edges nobody names stay as they are, and it has no seams. Of
    several pieces each has just the edges named for it; the rest do not belong to it and are open.
    """
    features = given.get("features", base.features)
    if not isinstance(features, Sequence) or isinstance(features, str):
        features = ()
    for feature in features:
        typed.one_of(feature, list(Feature), sentence=f"{name} cannot have the feature “{feature!s:.20}”.")
    order = list(Feature)
    piece = replace(
        base,
        cut=typed.one_of(given.get("cut", base.cut), list(Cut), sentence=f"{name}: choose bulk or pre-cut."),
        cover=typed.one_of(
            given.get("cover", base.cover), list(Cover), sentence=f"{name}: choose full, accent or stripe."
        ),
        material=typed.one_of(
            given.get("material", base.material),
            list(Material),
            sentence=f"{name}: say what the panel is made of.",
        ),
        features=tuple(str(f) for f in order if f in features),
        people=_people(typed, given.get("people", base.people), name),
        turned=_turned(typed, given.get("turned", base.turned), name),
    )
    if "edges" in given:
        piece = replace(piece, edges=_edges(typed, base, given["edges"], name, whole, least_mm))
    return piece


def _turned(typed: Typed, given: Any, name: str) -> bool:
    if not isinstance(given, bool):
        typed.wrong(f"{name}: the film is turned, or it is not.", "#turned")
        return False
    return given


def _people(typed: Typed, given: Any, name: str) -> tuple[int, ...]:
    if not isinstance(given, Sequence) or isinstance(given, str):
        typed.wrong(f"{name}: name the people as a list.")
        return ()
    ids: list[Any] = [getattr(person, "pk", person) for person in given]
    return tuple(dict.fromkeys(ids))


def _edges(
    typed: Typed, base: PieceSet, given: Any, name: str, whole: bool, least_mm: int
) -> dict[str, EdgeSet]:
    edges = dict(base.edges)
    if not isinstance(given, Sequence) or isinstance(given, str):
        typed.wrong(f"{name}: give the edges as a list.")
        return edges
    named: set[str] = set()
    for asked in given:
        if not isinstance(asked, Mapping) or not isinstance(asked.get("code"), str):
            typed.wrong(f"{name}: each edge is given with its code.")
            continue
        code = asked["code"]
        edge = edges.get(code) or _seam(code)
        if edge is None:
            typed.wrong(f"{name} has no edge or corner “{code:.20}”.", code="not_asked")
            continue
        named.add(code)
        edges[code] = _edge(typed, edge, asked, name, least_mm)
    return {
        code: edge if code in named or (whole and edge.kind != EdgeKind.SEAM) else _opened(edge)
        for code, edge in edges.items()
    }


def _opened(edge: EdgeSet) -> EdgeSet:
    return replace(edge, finish=str(Finish.OPEN), return_mm=None, primer=False)


def _seam(code: str) -> EdgeSet | None:
    head, _, number = code.partition("-")
    if head != EdgeKind.SEAM or not number.isascii() or not number.isdigit() or len(number) > 2:
        return None
    return EdgeSet(code, str(EdgeKind.SEAM), str(Finish.SEAM), None, False)


def _edge(typed: Typed, edge: EdgeSet, asked: Mapping[str, Any], name: str, least_mm: int) -> EdgeSet:
    words = f"{name}, {edge.code.replace('-', ' ')}"
    seam = edge.kind == EdgeKind.SEAM
    finishes = [Finish.SEAM, Finish.OPEN] if seam else [f for f in Finish if f != Finish.SEAM]
    finish = typed.one_of(
        asked.get("finish", edge.finish), finishes, sentence=f"{words}: choose how it ends."
    )
    primer = asked.get("primer", edge.primer)
    if not isinstance(primer, bool):
        typed.wrong(f"{words}: primer is yes or no.")
        primer = False
    depth = None
    if finish == Finish.WRAPPED:
        # A finish just turned to wrapped starts from the least that holds; corners need no depth of their own.
        usual = edge.return_mm or (least_mm or None if edge.kind == EdgeKind.EDGE else None)
        depth = typed.number(
            asked.get("return_mm", usual),
            least=1,
            most=DEEPEST_RETURN_MM,
            sentence=f"{words}: a return is 1 to {DEEPEST_RETURN_MM} mm deep.",
        )
        if depth is None and edge.kind == EdgeKind.EDGE:
            typed.missing(f"{words}: say how deep it is turned under, in mm.")
    return replace(edge, finish=finish, return_mm=depth, primer=primer and finish != Finish.OPEN)
