"""One panel zoomed as SVG text: a lane for every edge, a disc for every corner."""

from collections.abc import Mapping

from shop.intake.shapes import Body
from shop.intake.sheet_states import EdgeState


def draw_panel(
    body: Body,
    panel: str,
    piece: int = 1,
    *,
    edges: Mapping[str, EdgeState],
    focus: str = "",
    width: int = 780,
    height: int = 660,
    ids: str = "panel",
    facts: str = "",
    language: str = "en",
) -> str:
    """One panel zoomed, a lane for every edge and a disc for every corner that can be touched.

    `edges`: by edge code; one that is missing is unanswered. `focus`: code of the edge asked now. `facts`:
    line under the panel's name ("metal · opens"). Each lane and disc carries data-edge and data-panel.
    """
    raise NotImplementedError
