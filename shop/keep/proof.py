"""Proving the shop and remembering what came of it, so that the owner's page can say when and how it went."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from shop.keep import heads, state
from shop.keep.checks import Tell, silent
from shop.keep.prove import prove

MOST_SAID = 20


def prove_and_note(*, now: datetime, tell: Tell = silent, more: Iterable[heads.Head] = ()) -> dict[str, Any]:
    """What `prove` says of the shop and of every head known, here and from `more`; kept for the owner's page."""
    known, damaged = _known()
    told = prove(tell=tell, heads=[*known, *more])
    if damaged:
        told["ok"] = False
        told["checks"].append({"name": "noted heads", "checked": 1, "wrong": [damaged], "said": []})
    wrong = [one["text"] for check in told["checks"] for one in check["wrong"]]
    checked = {check["name"]: check["checked"] for check in told["checks"]}
    state.note(state.PROOF, at=now, ok=told["ok"], checked=checked, wrong=len(wrong), first=wrong[:MOST_SAID])
    return told


def _known() -> tuple[list[heads.Head], dict[str, Any] | None]:
    try:
        return heads.known(), None
    except ValueError as fault:
        return [], {"what": "file", "id": heads.FILE, "text": str(fault)}
