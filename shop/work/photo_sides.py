"""What one photo can show together: an edge with the corners beside it."""

from collections.abc import Sequence

from shop.work.checklist import EdgeSpec, Line
from shop.work.floor import Piece
from shop.work.kinds import EdgeKind


def sides(ring: Sequence[EdgeSpec]) -> list[tuple[str, ...]]:
    """Codes of edges in their order round the piece, each edge with the corners still free beside it."""
    taken: set[str] = set()
    found = []
    for at, edge in enumerate(ring):
        if edge.kind == EdgeKind.CORNER:
            continue
        beside = (ring[at - 1], edge, ring[(at + 1) % len(ring)])
        codes = [one.code for one in beside if one.code == edge.code or one.kind == EdgeKind.CORNER]
        fresh = tuple(code for code in dict.fromkeys(codes) if code not in taken)
        taken.update(fresh)
        found.append(fresh)
    return found + [(edge.code,) for edge in ring if edge.code not in taken]


def photo_sides(piece: Piece, line: Line, lacking: set[str]) -> list[dict[str, str]]:
    """The sides of which a photo lacks, as the page names them: `edges` (codes, spaced) and `name`."""
    ring = [edge for edge in piece.spec.edges if edge.code in line.edges]
    kinds = {edge.code: edge.kind for edge in ring}
    found = []
    for codes in sides(ring):
        first = next((code for code in codes if kinds[code] != EdgeKind.CORNER), codes[0])
        corners = len(codes) - 1
        name = piece.edge_names.get(first, first)
        if corners:
            name = f"{name} with its corner" + "s" * (corners > 1)
        if lacking & set(codes):
            found.append({"edges": " ".join(codes), "name": name})
    return found
