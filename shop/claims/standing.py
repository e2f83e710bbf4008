"""How a claim stands by the paper: in force on the day it was noticed, which promise answers, and why not.

Two days count for two things. Cover is judged by the day the fault was *noticed*; deadlines are judged by the day
we were *told*. A missed recheck is a third thing: it makes it harder to say how the fault began, and never moves
a date or takes a promise away.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from shop.warranty.timeline import Stretch, covered_on

PRESUMPTION, NO_EFFECT = "presumption", "none"
KINDS = ("touch_up", "workmanship", "material")
NAMES: Mapping[str, str] = {
    "touch_up": "the free touch-up",
    "workmanship": "the cover for our work",
    "material": "the cover for the film",
}
ENDED: Mapping[str, str] = {
    "ran_out": "ended on {day}.",
    "removed": "ended on {day}, when the film was taken off.",
    "panel_replaced": "ended on {day}, when the panel was replaced.",
    "sold": "ended on {day}, when the car was sold.",
    "withdrawn": "ended on {day}: the certificate was withdrawn the day after.",
    "filmed_again": "ended on {day}: the panel was filmed again the day after, with a paper of its own.",
}


@dataclass(frozen=True)
class Recheck:
    """A recheck the terms ask for: due on its first day, missed when not done by its last one."""

    due_from: date
    due_until: date | None
    done_on: date | None = None


@dataclass(frozen=True)
class Reported:
    """What a claim is judged from.

    `covers`: the promises that can answer for this symptom, in order; none when no promise is about it.
    `stretches`: all days covered at this place. `tell_within_days`: the terms' own deadline, None without one.
    """

    noticed_on: date
    told_on: date
    covers: Sequence[str]
    stretches: Sequence[Stretch]
    rechecks: Sequence[Recheck] = ()
    recheck_effect: str = PRESUMPTION
    tell_within_days: int | None = None


@dataclass(frozen=True)
class Standing:
    """`answers` is the kind of cover that answers, empty when none does; `line` the promise it stands in.

    `in_force`: some cover was in force at this place on the day noticed, whether or not it is about the symptom.
    `in_time`: told within the terms' deadline. `presumed`: taken for our work until something else is shown.
    `weakened`: a recheck was missed and the terms let that count. `why`: sentences, the heaviest first.
    """

    in_force: bool
    answers: str
    line: int | None
    in_time: bool
    presumed: bool
    weakened: bool
    missed: tuple[date, ...]
    why: tuple[str, ...]

    @property
    def stands(self) -> bool:
        return bool(self.answers) and self.in_time


def standing(reported: Reported) -> Standing:
    """How this claim stands; a judgement by dates alone, which a person still has to make their own."""
    there = covered_on(reported.noticed_on, reported.stretches)
    answering = _answering(reported.covers, there)
    missed = missed_before(reported.noticed_on, reported.rechecks)
    weakened = bool(missed) and reported.recheck_effect == PRESUMPTION
    in_time = _in_time(reported)
    why = [] if answering else _why_not(reported, there)
    return Standing(
        in_force=bool(there),
        answers=answering.kind if answering else "",
        line=answering.line if answering else None,
        in_time=in_time,
        presumed=answering is not None and answering.kind != "material" and not weakened,
        weakened=weakened,
        missed=missed,
        why=tuple(why + ([] if in_time else [_late(reported)])),
    )


def missed_before(day: date, rechecks: Sequence[Recheck]) -> tuple[date, ...]:
    """First days of the rechecks that were over and not done by then. One done late was not missed."""
    return tuple(
        recheck.due_from
        for recheck in sorted(rechecks, key=lambda recheck: recheck.due_from)
        if recheck.due_until is not None
        and recheck.due_until < day
        and (recheck.done_on is None or recheck.done_on > day)
    )


def age_in_words(since: date, day: date) -> str:
    """How long after hand-over something was noticed, in the largest units that fit.

    >>> age_in_words(date(2024, 3, 14), date(2026, 11, 16)), age_in_words(date(2026, 3, 3), date(2026, 3, 24))
    ('2 years 8 months', '21 days')
    >>> age_in_words(date(2026, 1, 31), date(2026, 2, 28)), age_in_words(date(2024, 2, 29), date(2025, 2, 28))
    ('28 days', '11 months')
    """
    months = (day.year - since.year) * 12 + day.month - since.month - (day.day < since.day)
    if months < 1:
        return _counted((day - since).days, "day")
    years, rest = divmod(months, 12)
    said = [_counted(years, "year")] if years else []
    return " ".join([*said, _counted(rest, "month")] if rest else said)


def _answering(covers: Sequence[str], there: Sequence[Stretch]) -> Stretch | None:
    for kind in covers:
        for stretch in there:
            if stretch.kind == kind:
                return stretch
    return None


def _in_time(reported: Reported) -> bool:
    """The deadline counts from the day after the fault was noticed."""
    if reported.tell_within_days is None:
        return True
    return reported.told_on <= reported.noticed_on + timedelta(days=reported.tell_within_days)


def _late(reported: Reported) -> str:
    days = (reported.told_on - reported.noticed_on).days
    return (
        f"Told {_counted(days, 'day')} after it was noticed; the terms ask for {reported.tell_within_days}."
    )


def _why_not(reported: Reported, there: Sequence[Stretch]) -> list[str]:
    if not reported.stretches:
        return ["Nothing was promised for this place."]
    if not reported.covers:
        return ["No promise on this paper is about that."]
    why = []
    for kind in reported.covers:
        of_kind = [stretch for stretch in reported.stretches if stretch.kind == kind]
        if of_kind:
            why.append(_not_then(kind, of_kind, reported.noticed_on))
    if there and not why:
        names = " and ".join(NAMES[kind] for kind in KINDS if kind in {s.kind for s in there})
        return [f"In force that day was only {names}, and that is not about this."]
    return why or ["No promise on this paper is about that."]


def _not_then(kind: str, stretches: Sequence[Stretch], day: date) -> str:
    """Why this kind of cover was not in force on the day: it had not begun, or it had ended."""
    name = NAMES[kind][:1].upper() + NAMES[kind][1:]
    before = [stretch for stretch in stretches if stretch.last_day < day]
    if not before:
        first = min(stretch.first_day for stretch in stretches)
        return f"{name} began on {_said(first)}, after it was noticed."
    last = max(before, key=lambda stretch: stretch.last_day)
    return f"{name} {ENDED[last.ends].format(day=_said(last.last_day))}"


def _counted(count: int, unit: str) -> str:
    return f"{count} {unit}" + ("" if count == 1 else "s")


def _said(day: date) -> str:
    return f"{day.day} {day:%B %Y}"
