"""What a car waits for, in one answer: a person, a clock, or the next thing to do."""

from dataclasses import dataclass
from datetime import datetime

from shop.work import bay, conditions, obstacles, progress, states, told
from shop.work.floor import Floor, Piece
from shop.work.kinds import Meaning, Stage, title
from shop.work.timers import said


@dataclass(frozen=True)
class Wait:
    """`rank` orders cars by who is needed first; `act` and `url` are the one thing to press.

    `group` is where the car stands in the day: in the bay, curing, or ready to go.
    """

    rank: int
    text: str
    why: str
    act: str
    url: str
    stage: str = ""
    ends: datetime | None = None
    group: str = "bay"


def waits_for(floor: Floor, now) -> Wait:
    """The first answer that holds, in the order of who is needed soonest."""
    job = floor.job
    if not floor.pieces:
        return Wait(2, "The set-out", "No panel is set out yet.", "Set out", f"/cars/{job.pk}/set-out/")
    facts = states.facts_of(floor)
    for find in (_held, _hidden, _to_sign, _to_check, _to_do, _curing):
        wait = find(floor, facts, now)
        if wait:
            return wait
    return Wait(
        1,
        "Hand-over",
        "Every panel is released.",
        "Hand over",
        f"/cars/{job.pk}/hand-over/",
        "cure",
        group="ready",
    )


def _bay(floor: Floor, piece: Piece, stage) -> str:
    return f"/bay/{floor.job.pk}/{piece.place}/{stage}/"


def _held(floor, facts, now):
    for piece in floor.pieces:
        concern = told.paint_concern(piece)
        if concern:
            why = f"{piece.name}: {concern}. Film can lift it."
            url = f"/cars/{floor.job.pk}/intake/paint/{piece.spec.panel}/"
            return Wait(0, "The customer’s yes", why, "Open the acceptance", url)
    return None


def _hidden(floor, facts, now):
    for piece in floor.pieces:
        here = facts[piece.place]
        seal = progress.stage_of(here, Stage.SEAL)
        lines = progress.hidden_lines(here)
        if lines and obstacles.hold(here) and not obstacles.lacking(here, seal, lines):
            why = f"{piece.name}: edges are about to be hidden. Somebody who did not film it looks first."
            url = f"/bay/{floor.job.pk}/sign/hidden/?panel={piece.place}"
            return Wait(0, "A second person", why, "Look and sign", url, "seal")
    return None


def _to_sign(floor, facts, now):
    for meaning in (Meaning.READY, Meaning.LAID):
        ready = [p for p in floor.pieces if _ready_for(facts[p.place], meaning)]
        if ready:
            names = progress.listed(p.name for p in ready)
            people = sorted({f.person.name for p in ready for f in p.row.people.all()})
            by = progress.listed(people, "or") or "a named installer"
            panels = "&".join(f"panel={p.place}" for p in ready)
            url = f"/bay/{floor.job.pk}/sign/{meaning}/?{panels}"
            why = f"{names}: nothing lacks but the signature of {by}."
            stage = "primer" if meaning is Meaning.READY else "steam"
            return Wait(0, f"A signature: {title(meaning)['en'].lower()}", why, "Sign", url, stage)
    return None


def _ready_for(facts, meaning) -> bool:
    if progress.is_signed(facts, meaning) or bay.missing_words(facts, meaning):
        return False
    return meaning is Meaning.READY or progress.is_signed(facts, Meaning.READY)


def _to_check(floor, facts, now):
    """The edge round: cure is over, and a second person has not been round yet."""
    for piece in floor.pieces:
        here = facts[piece.place]
        if not progress.is_signed(here, Meaning.LAID) or progress.is_signed(here, Meaning.RELEASED):
            continue
        timer = conditions.cure(floor, piece, now)
        if timer and timer.done:
            url, act = _bay(floor, piece, Stage.CURE), "Start the edge round"
            if not bay.missing_words(here, Meaning.RELEASED):
                url, act = f"/bay/{floor.job.pk}/sign/released/?panel={piece.place}", "Look and sign"
            why = f"{piece.name} has cured. Somebody who did not film it goes round every edge."
            return Wait(0, "The edge round", why, act, url, "cure")
    return None


def _to_do(floor, facts, now):
    for piece in floor.pieces:
        here = facts[piece.place]
        stage = states.current_stage(piece, here)
        if stage is Stage.CURE:
            continue
        words = bay.missing_words(here, states.meaning_of(stage))
        why = progress.listed(words[:2]) if words else "Go on where it stands."
        rest = len(words) - 2
        why = f"Open: {why}" + (f" and {rest} more." if rest > 0 else ".")
        text = f"{piece.name}: {title(stage)['en'].lower()}"
        return Wait(1, text, why, f"Go to {piece.name.lower()}", _bay(floor, piece, stage), str(stage))
    return None


def _curing(floor, facts, now):
    running = []
    for piece in floor.pieces:
        timer = conditions.cure(floor, piece, now)
        if timer and not timer.done:
            running.append((timer.ends_at is None, timer.ends_at, piece, timer))
    if not running:
        return None
    running.sort(key=lambda row: (row[0], row[1] or now))
    _, ends, piece, timer = running[-1]
    left = said(ends - now) if ends else "standing still"
    url = _bay(floor, piece, Stage.CURE)
    return Wait(3, f"The film: {left}", timer.sentence, "Add a reading", url, "cure", ends, "cure")
