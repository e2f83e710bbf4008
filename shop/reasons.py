"""A refusal is a value: what, how heavy, in which words, and where to put it right."""

from dataclasses import dataclass
from enum import StrEnum


class Weight(StrEnum):
    STOP = "stop"
    WAIVABLE = "waivable"
    NOTE = "note"


@dataclass(frozen=True)
class Reason:
    """One obstacle. `where` names its place as `panel.piece/stage#line@edge`, or an address path, or nothing."""

    code: str
    text: str
    weight: Weight = Weight.STOP
    where: str = ""


class Refused(Exception):
    """An act was refused; carries every reason at once, so that nobody meets them one by one."""

    def __init__(self, reasons: "list[Reason] | Reason") -> None:
        self.reasons: list[Reason] = [reasons] if isinstance(reasons, Reason) else list(reasons)
        super().__init__("; ".join(reason.text for reason in self.reasons))


def is_open(reasons: list[Reason], waived: frozenset[str] = frozenset()) -> bool:
    """True when only notes and waived reasons are left."""
    return not blocking(reasons, waived)


def blocking(reasons: list[Reason], waived: frozenset[str] = frozenset()) -> list[Reason]:
    return [
        reason
        for reason in reasons
        if reason.weight is Weight.STOP or (reason.weight is Weight.WAIVABLE and reason.code not in waived)
    ]
