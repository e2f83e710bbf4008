"""Clocks of the work: primer flash-off, staleness of degreased edges, cure.

Each takes aware instants and whole numbers and answers with one `Timer`. An instant a tablet could not tell for
sure is a span; every clock then takes the bound that is worse for going on, and says so with a note.
Lengths and temperatures come from plan and film sheet.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from shop.reasons import Reason, Weight
from shop.units import METRIC, format_c100


@dataclass(frozen=True)
class Moment:
    """When something happened: two equal instants when sure, else the earliest and the latest it can have been."""

    earliest: datetime
    latest: datetime

    def __post_init__(self) -> None:
        if self.earliest.utcoffset() is None or self.latest.utcoffset() is None:
            raise ValueError("A clock needs instants with their offset.")
        if self.latest < self.earliest:
            raise ValueError("A moment cannot end before it begins.")

    @property
    def sure(self) -> bool:
        return self.earliest == self.latest

    def later_of(self, other: "Moment") -> "Moment":
        return Moment(max(self.earliest, other.earliest), max(self.latest, other.latest))


When = Moment | datetime


def as_moment(when: When) -> Moment:
    return when if isinstance(when, Moment) else Moment(when, when)


@dataclass(frozen=True, kw_only=True)
class Timer:
    """The state of one clock.

    `done`: this clock lets the work go on. `ends_at`: when that changes by itself, None if it will not.
    `elapsed`: the time that counts. `reasons`: what stands in the way, and the note of an unsure clock.
    `edge`: the edge that decides, where edges do.
    """

    done: bool
    ends_at: datetime | None
    elapsed: timedelta
    band: str
    sentence: str
    sure: bool
    reasons: tuple[Reason, ...] = ()
    edge: str = ""


_UNSURE = Reason(
    "clock_unsure",
    "A tablet's clock jumped, so the time is not certain; the less favourable bound is used.",
    Weight.NOTE,
)


def flash_off(primed: When, until: When, *, min_s: int, max_s: int | None) -> Timer:
    """The primer's window: film may be laid from `min_s` to `max_s` after priming, both ends included.

    `until` is now, or the moment the film was laid. Bands `early`, `open`, `late`; an unsure clock can give both
    `primer_early` and `primer_late`. ValueError if the window would close before it opens.
    """
    if min_s < 0 or (max_s is not None and max_s < min_s):
        raise ValueError("The primer's longest time must not be shorter than its shortest.")
    start, end = as_moment(primed), as_moment(until)
    shortest, longest = _spans(start, end)
    opens, closes = timedelta(seconds=min_s), None if max_s is None else timedelta(seconds=max_s)
    found = []
    if shortest < opens:
        text = f"The primer still flashes off: {said(opens - shortest)} to go."
        found.append(Reason("primer_early", text))
    if closes is not None and longest > closes:
        text = f"The primer has stood {said(longest)}, longer than {said(closes)}. Prime again."
        found.append(Reason("primer_late", text))
    sure = start.sure and end.sure
    if not found:
        text = "The primer has flashed off."
        if closes is not None:
            text += f" Lay the film within {said(closes - longest, up=False)}."
        ends_at = None if closes is None else start.earliest + closes
        return _timer(True, ends_at, shortest, "open", text, sure, [])
    last = found[-1]
    if last.code == "primer_late":
        return _timer(False, None, longest, "late", last.text, sure, found)
    return _timer(False, start.latest + opens, shortest, "early", last.text, sure, found)


def freshness(
    wipes: Mapping[str, When | None],
    *,
    rewiped: When | None,
    flooded: When | None,
    now: When,
    limit_s: int,
) -> Timer:
    """Whether the degreased edges of a piece are still clean enough to be flooded.

    The oldest edge decides, each counted from the later of its own wipe and the panel's re-wipe, until flooding
    starts. A wipe or re-wipe surely after the flooding does not count: it cannot have been under the film.
    Bands `waiting` (an edge not wiped yet), `fresh`, `stale`, `ended` (flooded in time).
    """
    until = as_moment(flooded if flooded is not None else now)
    counted = {edge: _last_wipe(wipe, rewiped, until) for edge, wipe in wipes.items()}
    if not counted or any(wipe is None for wipe in wipes.values()):
        return _timer(False, None, timedelta(0), "waiting", "Not every edge is wiped yet.", True, [])
    limit = timedelta(seconds=limit_s)
    missed = next((edge for edge, moment in counted.items() if moment is None), None)
    if missed is not None:
        text = "An edge was wiped only after flooding had begun. Wipe the edges again in a new round."
        return _timer(
            False, None, timedelta(0), "stale", text, until.sure, [Reason("stale", text)], edge=missed
        )
    known = {edge: moment for edge, moment in counted.items() if moment is not None}
    edge = min(known, key=lambda name: known[name].earliest)
    age = _spans(known[edge], until)[1]
    sure = until.sure and all(moment.sure for moment in known.values())
    if age > limit:
        text = (
            f"The oldest wiped edge has stood {said(age)}; the limit is {said(limit)}. Wipe the edges again."
        )
        return _timer(False, None, age, "stale", text, sure, [Reason("stale", text)], edge=edge)
    if flooded is not None:
        return _timer(True, None, age, "ended", f"Flooded {said(age)} after the wipe.", sure, [], edge=edge)
    text = f"The wiped edges stay good for another {said(limit - age, up=False)}."
    return _timer(True, known[edge].earliest + limit, age, "fresh", text, sure, [], edge=edge)


def _last_wipe(wipe: When | None, rewiped: When | None, until: Moment) -> Moment | None:
    if wipe is None:
        return None
    moments = [
        moment
        for moment in (as_moment(each) for each in (wipe, rewiped) if each is not None)
        if moment.earliest <= until.latest
    ]
    if not moments:
        return None
    return moments[0] if len(moments) == 1 else moments[0].later_of(moments[1])


@dataclass(frozen=True, kw_only=True)
class CureBands:
    """Cure of a film sheet: `fast_s` when every reading is at or above `fast_from_c100`, else `slow_s`;
    below `stop_below_c100` the clock stands still."""

    fast_from_c100: int
    fast_s: int
    slow_s: int
    stop_below_c100: int


def cure(
    laid: When, until: When, readings: Iterable[tuple[When, int]], bands: CureBands, *, units: str = METRIC
) -> Timer:
    """The cure from *laid and sealed* to `until` (now, or the edge round), by the lowest reading between them.

    A reading below the stop holds the clock until the next one at or above it, and leaves the slow band behind.
    Without a reading the slow band counts. Bands `fast`, `slow`, `stopped`; `ends_at` is when the cure was or
    will be over at this rate, None while it stands still. Reason `cure_running`.
    """
    start, end = as_moment(laid), as_moment(until)
    known = [(as_moment(when), c100) for when, c100 in readings]
    # A doubtful reading may lengthen the cure but not shorten it.
    possible = [
        (when, c100) for when, c100 in known if when.latest >= start.earliest and when.earliest <= end.latest
    ]
    certain = any(when.earliest >= start.latest and when.latest <= end.earliest for when, _ in possible)
    lowest = min((c100 for _, c100 in possible), default=None)
    fast = certain and lowest is not None and lowest >= bands.fast_from_c100
    needed = timedelta(seconds=bands.fast_s if fast else bands.slow_s)
    pauses, stopped = _pauses(possible, start.latest, end.earliest, bands.stop_below_c100)
    elapsed = max(timedelta(0), end.earliest - start.latest) - sum(
        (stop - begin for begin, stop in pauses), timedelta(0)
    )
    done = elapsed >= needed
    sure = start.sure and end.sure and all(when.sure for when, _ in possible)
    band = "fast" if fast else "stopped" if stopped and not done else "slow"
    ends_at = None if band == "stopped" else _reached(start.latest, pauses, needed)
    text = _cure_sentence(band, needed - elapsed, lowest, bands, units)
    return _timer(done, ends_at, elapsed, band, text, sure, [] if done else [Reason("cure_running", text)])


def _pauses(
    readings: list[tuple[Moment, int]], start: datetime, end: datetime, stop_below: int
) -> tuple[list[tuple[datetime, datetime]], bool]:
    """Spans in which the clock stood, in order and apart, and whether it stands still at the end."""
    warm = [when for when, c100 in readings if c100 >= stop_below]
    spans, stopped = [], False
    for when, c100 in readings:
        if c100 >= stop_below:
            continue
        over = min((other.latest for other in warm if other.earliest > when.latest), default=None)
        stopped = stopped or over is None
        spans.append((max(when.earliest, start), end if over is None else min(over, end)))
    apart: list[tuple[datetime, datetime]] = []
    for begin, stop in sorted(spans):
        begin = max(begin, apart[-1][1]) if apart else begin
        if begin < stop:
            apart.append((begin, stop))
    return apart, stopped


def _reached(start: datetime, pauses: list[tuple[datetime, datetime]], needed: timedelta) -> datetime:
    at = start
    for begin, stop in pauses:
        if begin - at >= needed:
            break
        needed -= begin - at
        at = stop
    return at + needed


def _cure_sentence(band: str, left: timedelta, lowest: int | None, bands: CureBands, units: str) -> str:
    if left <= timedelta(0):
        return "The cure is over."
    stop = format_c100(bands.stop_below_c100, units)
    if band == "stopped":
        return f"The cure stands still: below {stop} it does not count. Read again once it is warmer."
    if lowest is None:
        return f"The cure runs: {said(left)} to go. No temperature was read, so the longer time counts."
    why = f"the lowest reading is {format_c100(lowest, units)}"
    return f"The cure runs: {said(left)} to go, as {why}."


def still_good(read: When, now: When, *, good_for_s: int) -> bool:
    """A reading counts for `good_for_s` after it was taken."""
    return _spans(as_moment(read), as_moment(now))[1] <= timedelta(seconds=good_for_s)


def _spans(start: Moment, end: Moment) -> tuple[timedelta, timedelta]:
    """The least and the most time that can have passed."""
    nothing = timedelta(0)
    return max(nothing, end.earliest - start.latest), max(nothing, end.latest - start.earliest)


def _timer(
    done: bool,
    ends_at: datetime | None,
    elapsed: timedelta,
    band: str,
    sentence: str,
    sure: bool,
    found: list[Reason],
    edge: str = "",
) -> Timer:
    reasons = tuple(found) if sure else (*found, _UNSURE)
    return Timer(
        done=done,
        ends_at=ends_at,
        elapsed=elapsed,
        band=band,
        sentence=sentence,
        sure=sure,
        reasons=reasons,
        edge=edge,
    )


def said(span: timedelta, *, up: bool = True) -> str:
    """A span as people say it. Time still to wait is rounded up, time still left is rounded down.

    >>> said(timedelta(seconds=40)), said(timedelta(minutes=12, seconds=1)), said(timedelta(hours=5))
    ('40 s', '13 min', '5 h')
    >>> said(timedelta(minutes=12, seconds=59), up=False)
    '12 min'
    """
    second = timedelta(seconds=1)
    seconds = -(-span // second) if up else span // second
    if seconds < 60:
        return f"{seconds} s"
    hours, minutes = divmod(-(-seconds // 60) if up else seconds // 60, 60)
    return " ".join(
        part for part in (f"{hours} h" if hours else "", f"{minutes} min" if minutes else "") if part
    )
