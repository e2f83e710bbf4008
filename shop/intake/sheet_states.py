"""What the body sheet can say about a panel, an edge and a place: states as values and as words."""

from dataclasses import dataclass
from enum import StrEnum


class PanelMark(StrEnum):
    NOT_IN_JOB = "not_in_job"
    NOT_STARTED = "not_started"
    WORKING = "working"
    READY = "ready"
    SIGNED = "signed"
    HELD = "held"


class EdgeMark(StrEnum):
    UNANSWERED = "unanswered"
    ASKED = "asked"
    ANSWERED = "answered"
    WRONG = "wrong"
    NOT_HERE = "not_here"
    OPEN = "open"


PANEL_WORDS = {
    PanelMark.NOT_IN_JOB: "not in this job",
    PanelMark.NOT_STARTED: "not started",
    PanelMark.WORKING: "being worked",
    PanelMark.READY: "ready to sign",
    PanelMark.SIGNED: "signed",
    PanelMark.HELD: "held",
}
EDGE_WORDS = {
    EdgeMark.UNANSWERED: "not answered",
    EdgeMark.ASKED: "asked now",
    EdgeMark.ANSWERED: "answered",
    EdgeMark.WRONG: "something is wrong",
    EdgeMark.NOT_HERE: "not here",
    EdgeMark.OPEN: "no break in the body",
}


@dataclass(frozen=True)
class PanelState:
    """State of a panel. `note` replaces the standard words under its name; `chosen` is for set-out only."""

    mark: PanelMark = PanelMark.NOT_STARTED
    note: str = ""
    chosen: bool | None = None

    @property
    def words(self) -> str:
        if self.note:
            return self.note
        if self.chosen is not None:
            return "chosen" if self.chosen else "not chosen"
        return PANEL_WORDS[self.mark]


@dataclass(frozen=True)
class EdgeState:
    """State of an edge or corner. `finish` and `note` are set along its lane: "wrapped 8 mm", "sealed"."""

    mark: EdgeMark = EdgeMark.UNANSWERED
    photo: bool = False
    primed: bool = False
    checked: bool = False
    finish: str = ""
    note: str = ""

    @property
    def words(self) -> str:
        said = [self.note or EDGE_WORDS[self.mark]]
        said += ["primed"] if self.primed else []
        said += ["photo kept"] if self.photo else []
        said += ["checked"] if self.checked else []
        return ", ".join(said)


@dataclass(frozen=True)
class Mark:
    """A numbered ink disc or a damage mark on the sheet.

    It stands at `x_th`, `y_th` (thousandths of the panel's box as drawn, 0 0 at top left), else at the
    middle of `edge`, else beside the panel's label. `href` makes it a link.
    """

    panel: str
    number: int
    title: str = ""
    kind: str = "number"  # or "damage"
    x_th: int | None = None
    y_th: int | None = None
    edge: str = ""
    href: str = ""
