"""The body sheet and the zoomed panel as SVG text: classes for the screen, presentation attributes for paper."""

from collections.abc import Callable, Mapping, Sequence

from shop.intake.sheet import Body
from shop.intake.sheet_states import EdgeState, Mark, PanelState

Links = Mapping[str, str] | Callable[[str], str]


def draw_sheet(
    body: Body,
    *,
    panels: Mapping[str, PanelState],
    edges: Mapping[str, EdgeState] | None = None,
    marks: Sequence[Mark] = (),
    size: str = "large",
    width: int | None = None,
    links: Links | None = None,
    selectable: bool = False,
    labels: bool = False,
    here: str = "",
    ids: str = "sheet",
    title: str = "",
    language: str = "en",
) -> str:
    """The whole car.

    `panels`: by panel code; a panel that is missing counts as not in the job. `edges`: by "hood.1.front" or
    "hood.front". `size`: "large" (600 px and more), "medium", "small" (under 300 px), "print" (for papers);
    `width` in CSS px, so that strokes and hatches keep their measure. `links`: panel code to address ("" for
    none). `selectable`: panels are check boxes (set-out). `here`: panel code filled with tape (locator).
    `ids`: prefix of every id, one per drawing on a page.
    """
    raise NotImplementedError


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
