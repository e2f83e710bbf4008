"""A rehearsal as it is written: one act a line, each at its time, later ones naming what earlier ones made."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from shop.demo.shapes import shaped
from shop.demo.verbs import VERBS

WORDS = {"at", "by", "pin", "tablet", "verb", "args", "as"}


class Unfit(Exception):
    """The file cannot be rehearsed; the text is a sentence that names the line."""


@dataclass(frozen=True)
class Act:
    """One line. `args` are under the verb's own names, references in them still unresolved."""

    n: int
    at: datetime
    verb: str
    args: dict[str, Any]
    by: Any = None
    pin: Any = None
    tablet: Any = None
    called: str = ""


def read_script(lines: Iterable[str]) -> list[Act]:
    """Every act of the file, or Unfit: nothing is done of a file that cannot be done whole."""
    acts: list[Act] = []
    called: set[str] = set()
    for n, line in enumerate(lines, 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        act = _act(n, line)
        if acts and act.at < acts[-1].at:
            raise Unfit(f"Line {n}: time goes back, from {acts[-1].at.isoformat()} to {act.at.isoformat()}.")
        unknown = sorted(_named([act.args, act.by, act.pin, act.tablet]) - called)
        if unknown:
            raise Unfit(f"Line {n}: no earlier line is called {unknown[0]}.")
        called |= {act.called} - {""}
        acts.append(act)
    return acts


def resolved(value: Any, made: dict[str, dict[str, Any]]) -> Any:
    """The value with `$j1.number` replaced by what that line made. KeyError where it made nothing of that name."""
    if isinstance(value, dict):
        return {name: resolved(inner, made) for name, inner in value.items()}
    if isinstance(value, list):
        return [resolved(inner, made) for inner in value]
    if not _is_reference(value):
        return value
    name, _, part = value[1:].partition(".")
    return made[name][part or "id"]


def _act(n: int, line: str) -> Act:
    try:
        told = json.loads(line)
    except (ValueError, RecursionError) as fault:
        raise Unfit(f"Line {n} is not JSON: {fault}.") from None
    if not isinstance(told, dict):
        raise Unfit(f"Line {n} is not a table with at, by, verb and args.")
    strange = sorted(set(told) - WORDS)
    if strange:
        raise Unfit(
            f"Line {n}: {strange[0]} is not a part of a line. The parts are {', '.join(sorted(WORDS))}."
        )
    verb = VERBS.get(told["verb"]) if isinstance(told.get("verb"), str) else None
    if verb is None:
        raise Unfit(f"Line {n}: there is no verb {told.get('verb')!r}. See rehearse --verbs.")
    args = told.get("args") or {}
    if not isinstance(args, dict):
        raise Unfit(f"Line {n}: args is not a table.")
    args = shaped(verb, args)
    takes = [arg.name for arg in verb.args()]
    strange = sorted(set(args) - set(takes))
    if strange:
        raise Unfit(
            f"Line {n}: {verb.name} does not take {strange[0]}. It takes {', '.join(takes) or 'nothing'}."
        )
    if not isinstance(told.get("as", ""), str):
        raise Unfit(f"Line {n}: as is not a name.")
    return Act(
        n=n,
        at=_at(n, told.get("at")),
        verb=verb.name,
        args=args,
        by=told.get("by"),
        pin=told.get("pin"),
        tablet=told.get("tablet"),
        called=told.get("as", "").lstrip("$"),
    )


def _at(n: int, text: Any) -> datetime:
    try:
        moment = datetime.fromisoformat(text)
    except (ValueError, TypeError):
        raise Unfit(f"Line {n}: at is not a time as 2026-05-04T09:30:00+02:00.") from None
    if moment.tzinfo is None:
        raise Unfit(f"Line {n}: at needs its offset, as 2026-05-04T09:30:00+02:00.")
    return moment


def _is_reference(value: Any) -> bool:
    return isinstance(value, str) and value[:1] == "$" and value[1:2].isalpha()


def _named(value: Any) -> set[str]:
    if isinstance(value, dict):
        return {name for inner in value.values() for name in _named(inner)}
    if isinstance(value, list):
        return {name for inner in value for name in _named(inner)}
    return {value[1:].partition(".")[0]} if _is_reference(value) else set()
