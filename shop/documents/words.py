"""The words documents and set-outs are written in: stages, finishes, cuts, covers, and what a panel can have."""

from collections.abc import Mapping
from enum import StrEnum


class Stage(StrEnum):
    WASH = "wash"
    DECONTAMINATE = "decontaminate"
    DEGREASE = "degrease"
    PRIMER = "primer"
    TACK = "tack"
    SEAL = "seal"
    STEAM = "steam"
    CURE = "cure"


class Answer(StrEnum):
    DONE = "done"
    NA = "na"
    VALUE = "value"
    START = "start"
    WRONG = "wrong"


class Meaning(StrEnum):
    READY = "ready"
    HIDDEN = "hidden"
    LAID = "laid"
    RELEASED = "released"


class EdgeKind(StrEnum):
    EDGE = "edge"
    CORNER = "corner"
    SEAM = "seam"


class Finish(StrEnum):
    WRAPPED = "wrapped"
    TUCKED = "tucked"
    FLUSH = "flush"
    SHORT = "short"
    SEAM = "seam"
    OPEN = "open"


class Cut(StrEnum):
    BULK = "bulk"
    PRE_CUT = "pre_cut"


class Cover(StrEnum):
    FULL = "full"
    ACCENT = "accent"
    STRIPE = "stripe"


class Material(StrEnum):
    METAL = "metal"
    PLASTIC = "plastic"
    GLASS_FIBRE = "glass-fibre"
    CARBON = "carbon"


class Feature(StrEnum):
    CORNERS = "corners"
    WIDE_HOLLOW = "wide_hollow"
    DEEP_HOLLOW = "deep_hollow"
    RUBBER_TRIM = "rubber_trim"
    OPEN_GAP = "open_gap"
    HARDWARE = "hardware"
    OPENS = "opens"
    SHARP_LIP = "sharp_lip"
    LARGE = "large"
    TIGHT_CURVE = "tight_curve"
    SENSOR = "sensor"
    HORIZONTAL = "horizontal"


class Scope(StrEnum):
    CAR = "car"
    PANEL = "panel"
    PIECE = "piece"
    EDGE = "edge"


class LineKind(StrEnum):
    """What answers a line: a tick, a measured value, a lot, a start, a choice; an event once it happened."""

    TICK = "tick"
    READING = "reading"
    LOT = "lot"
    TIMER = "timer"
    PHOTO = "photo"
    CHOICE = "choice"
    EVENT = "event"


class Card(StrEnum):
    """The dry card a line stands on: answered before wet hands, after them, or with no card at all."""

    NONE = ""
    BEFORE = "before"
    AFTER = "after"


PRIMER_NAMED = "primer"
"""The condition word for an edge on which primer was named at set-out."""

_TITLES: Mapping[type[StrEnum], Mapping[str, str]] = {
    Stage: {
        "wash": "Wash",
        "decontaminate": "Decontaminate",
        "degrease": "Degrease edges",
        "primer": "Primer at corners",
        "tack": "Slip and tack",
        "seal": "Edge seal",
        "steam": "Steam finish",
        "cure": "Cure",
    },
    Answer: {"done": "Done", "na": "Not here", "value": "Value", "start": "Started", "wrong": "Wrong"},
    Meaning: {
        "ready": "Ready for film",
        "hidden": "Hidden edges",
        "laid": "Laid and sealed",
        "released": "Released",
    },
    EdgeKind: {"edge": "Edge", "corner": "Corner", "seam": "Seam"},
    Finish: {
        "wrapped": "Wrapped",
        "tucked": "Tucked",
        "flush": "Flush",
        "short": "Short",
        "seam": "Seam",
        "open": "Open",
    },
    Cut: {"bulk": "Bulk", "pre_cut": "Pre-cut"},
    Cover: {"full": "Full", "accent": "Accent", "stripe": "Stripe"},
    Material: {"metal": "Metal", "plastic": "Plastic", "glass-fibre": "Glass-fibre", "carbon": "Carbon"},
    Feature: {
        "corners": "Corners",
        "wide_hollow": "Wide hollow",
        "deep_hollow": "Deep hollow",
        "rubber_trim": "Rubber trim",
        "open_gap": "Open gap",
        "hardware": "Hardware",
        "opens": "Opens",
        "sharp_lip": "Sharp lip",
        "large": "Large, two people",
        "tight_curve": "Tight curve",
        "sensor": "Sensor",
        "horizontal": "Lies flat",
    },
    Scope: {"car": "Whole car", "panel": "Panel", "piece": "Piece", "edge": "Edge"},
}


def title(word: StrEnum) -> dict[str, str]:
    """The word as a reader sees it, as a language map; falls back to the code itself."""
    return {"en": _TITLES.get(type(word), {}).get(word.value, word.value)}


def choices(words: type[StrEnum], language: str = "en") -> list[tuple[str, str]]:
    """(code, title) pairs in the order of the trade, for forms and model fields."""
    return [(word.value, title(word).get(language) or title(word)["en"]) for word in words]
