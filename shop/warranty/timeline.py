"""The cover of one piece of film over time: which days one promised line covers, and why it stops.

A day is a date on the workshop's calendar. What happens to a car happens on a day, and each such day falls on
one side, as follows.

- Film taken off, panel replaced: that day is still covered, the next is not.
- Car sold and the cover does not pass on: the day of the sale is still covered, the next is not.
- Certificate withdrawn: that day is not covered any more, nor any later one.
- Filmed again: the day the car is given back belongs to the new film.

Days before something happened stay covered: a fault noticed then is judged by the cover of then.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from shop.warranty.coverage import days_last_day, last_day

REMAINING, AFRESH = "remaining", "afresh"
NEVER, ONCE, ALWAYS = "never", "once", "always"
DAY = timedelta(days=1)


@dataclass(frozen=True)
class Promised:
    """One line of one paper. `film` is the piece of film it was given for, None where only the panel is known.

    `again`, `transfer` and `notice_days` are the rules of the terms the paper was issued under.
    """

    line: int
    panel: str
    film: int | None
    kind: str
    first_day: date
    last_day: date
    months: int | None
    days: int | None
    counting: str
    again: str = REMAINING
    transfer: str = ALWAYS
    notice_days: int = 0
    withdrawn_on: date | None = None


@dataclass(frozen=True)
class Refit:
    """Film `new` took the place of film `old`; `on` is the day the car was given back with it."""

    old: int
    new: int
    on: date


@dataclass(frozen=True)
class Ending:
    """The film of a panel came to its end: `why` is removed or panel_replaced. `film` None: whatever was on it."""

    panel: str
    film: int | None
    on: date
    why: str


@dataclass(frozen=True)
class Sale:
    """The car got another owner on this day; `told_on` is the day we were told, None while nobody has."""

    on: date
    told_on: date | None = None


@dataclass(frozen=True)
class History:
    """All that happened to one car's film. `papered`: films with a line of their own, by (film, kind)."""

    refits: tuple[Refit, ...] = ()
    endings: tuple[Ending, ...] = ()
    sales: tuple[Sale, ...] = ()
    papered: frozenset[tuple[int, str]] = frozenset()


@dataclass(frozen=True)
class Stretch:
    """Days covered without a break, both ends included, under one line and on one film.

    `ends`: why it is not longer: ran_out, filmed_again, removed, panel_replaced, sold or withdrawn.
    """

    line: int
    kind: str
    panel: str
    film: int | None
    first_day: date
    last_day: date
    ends: str = "ran_out"


def stretches(promised: Promised, history: History, *, today: date) -> list[Stretch]:
    """What one line covers, in order of days, never two stretches over one day.

    `today` decides only whether a notice that nobody gave yet can still come in time.
    """
    found = [stretch for stretch in _on_films(promised, history) if stretch.first_day <= stretch.last_day]
    for last, why in _limits(promised, history.sales, today):
        found = _cut(found, last, why)
    return found


def covered_on(day: date, found: Iterable[Stretch]) -> list[Stretch]:
    """The stretches that cover this day."""
    return [stretch for stretch in found if stretch.first_day <= day <= stretch.last_day]


def last_sale_day(rule: str, notice_days: int, sales: Iterable[Sale], *, today: date) -> date | None:
    """The day of the sale that ended the cover; None when every sale so far passed it on.

    The window counts from the day after the sale; with a window of 0 days no notice is asked for. A sale nobody
    told us of ends nothing while its window is open.
    """
    for count, sale in enumerate(sorted(sales, key=lambda sale: sale.on), start=1):
        if rule == NEVER or (rule == ONCE and count > 1) or not _in_time(sale, notice_days, today):
            return sale.on
    return None


def _in_time(sale: Sale, notice_days: int, today: date) -> bool:
    if notice_days == 0:
        return True
    return (sale.told_on or today) <= sale.on + notice_days * DAY


def _limits(promised: Promised, sales: Sequence[Sale], today: date) -> list[tuple[date, str]]:
    limits = []
    later = [sale for sale in sales if sale.on >= promised.first_day]
    sold = last_sale_day(promised.transfer, promised.notice_days, later, today=today)
    if sold:
        limits.append((sold, "sold"))
    if promised.withdrawn_on:
        limits.append((promised.withdrawn_on - DAY, "withdrawn"))
    return limits


def _on_films(promised: Promised, history: History) -> list[Stretch]:
    """The line over the films that followed each other on its place, until the film is taken off for good."""
    here = Stretch(
        promised.line,
        promised.kind,
        promised.panel,
        promised.film,
        promised.first_day,
        promised.last_day,
    )
    found: list[Stretch] = []
    seen: set[int | None] = set()
    while here.film not in seen:
        seen.add(here.film)
        refit = _next_refit(history.refits, here.film)
        ending = _ending_of(history.endings, promised, here.film)
        if ending and not (refit and refit.on <= ending.on):
            return found + _cut([here], ending.on, ending.why)
        if refit is None:
            return [*found, here]
        found += _cut([here], refit.on - DAY, "filmed_again")
        if (refit.new, promised.kind) in history.papered:
            return found
        here = _laid_again(promised, here, refit)
    return found


def _laid_again(promised: Promised, before: Stretch, refit: Refit) -> Stretch:
    """The same promise on the film that took the place: what was left of it, or all of it once more."""
    first = max(before.first_day, refit.on)
    if promised.again != AFRESH or refit.on <= promised.first_day:
        return replace(before, film=refit.new, first_day=first)
    return replace(before, film=refit.new, first_day=first, last_day=_whole_term(promised, refit.on))


def _whole_term(promised: Promised, start: date) -> date:
    if promised.months:
        return last_day(start, promised.months, promised.counting)
    return days_last_day(start, promised.days or 0, promised.counting)


def _next_refit(refits: Iterable[Refit], film: int | None) -> Refit | None:
    return next((refit for refit in refits if refit.old == film), None)


def _ending_of(endings: Iterable[Ending], promised: Promised, film: int | None) -> Ending | None:
    """The first end of this film; where no film is known, the first of its panel since the cover began."""
    of_film = [
        ending
        for ending in endings
        if (film is not None and ending.film == film)
        or (film is None and ending.panel == promised.panel and ending.on >= promised.first_day)
    ]
    return min(of_film, key=lambda ending: ending.on, default=None)


def _cut(found: Sequence[Stretch], last: date, why: str) -> list[Stretch]:
    """Nothing after `last`; the stretch that reaches it says why it stops there."""
    if not any(stretch.last_day > last for stretch in found):
        return list(found)
    shortened = [
        replace(stretch, last_day=last, ends=why) if stretch.last_day >= last else stretch
        for stretch in found
    ]
    return [stretch for stretch in shortened if stretch.first_day <= stretch.last_day]
