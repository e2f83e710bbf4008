"""Cover of one piece of film day by day: around every boundary by table, and against a slow walk through the days."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.warranty.coverage import EVENT_DAY_EXCLUDED, FIRST_DAY_COUNTED, days_last_day, last_day
from shop.warranty.timeline import (
    Ending,
    History,
    Promised,
    Refit,
    Sale,
    covered_on,
    last_sale_day,
    stretches,
)

DAY = timedelta(days=1)
START = date(2026, 3, 3)
END = date(2031, 3, 3)
FILM = Promised(1, "hood", 10, "material", START, END, 60, None, EVENT_DAY_EXCLUDED)
WORK = replace(FILM, line=2, kind="workmanship", last_day=date(2027, 3, 3), months=12)
TODAY = date(2033, 1, 1)


def films_on(promised, history, *days, today=TODAY):
    """The film covered on each day, None where nothing is."""
    found = stretches(promised, history, today=today)
    there = [covered_on(day, found) for day in days]
    assert all(len(here) <= 1 for here in there), "two stretches over one day"
    return [here[0].film if here else None for here in there]


def ends(promised, history, today=TODAY):
    return [(s.last_day, s.ends) for s in stretches(promised, history, today=today)]


def test_first_and_last_day_are_covered_and_no_other():
    assert films_on(FILM, History(), START - DAY, START, END, END + DAY) == [None, 10, 10, None]
    assert ends(FILM, History()) == [(END, "ran_out")]


@pytest.mark.parametrize("why", ["removed", "panel_replaced"])
def test_the_day_film_comes_off_is_the_last(why):
    on = date(2028, 6, 15)
    history = History(endings=(Ending("hood", 10, on, why),))
    assert films_on(FILM, history, on - DAY, on, on + DAY, END) == [10, 10, None, None]
    assert ends(FILM, history) == [(on, why)]


def test_film_that_came_off_another_panel_ends_nothing_here():
    history = History(endings=(Ending("roof", 11, date(2028, 6, 15), "removed"),))
    assert ends(FILM, history) == [(END, "ran_out")]


def test_film_that_came_off_after_the_last_day_changes_nothing():
    history = History(endings=(Ending("hood", 10, END + DAY, "removed"),))
    assert ends(FILM, history) == [(END, "ran_out")]


def test_film_taken_off_before_hand_over_was_never_covered():
    history = History(endings=(Ending("hood", 10, START - DAY, "removed"),))
    assert stretches(FILM, history, today=TODAY) == []


@pytest.mark.parametrize(
    ("on", "covered"), [(START - DAY, True), (START, False), (date(2028, 1, 1), False)], ids=str
)
def test_where_no_film_is_known_the_panel_counts_from_the_first_day_on(on, covered):
    imported = replace(FILM, film=None)
    history = History(endings=(Ending("hood", None, on, "removed"),))
    assert bool(covered_on(END, stretches(imported, history, today=TODAY))) is covered


def test_withdrawn_is_not_covered_from_that_day_on():
    on = date(2026, 9, 9)
    withdrawn = replace(FILM, withdrawn_on=on)
    assert films_on(withdrawn, History(), START, on - DAY, on, END) == [10, 10, None, None]
    assert ends(withdrawn, History()) == [(on - DAY, "withdrawn")]


def test_withdrawn_on_the_first_day_covers_nothing():
    assert stretches(replace(FILM, withdrawn_on=START), History(), today=TODAY) == []


REFIT = Refit(10, 20, date(2028, 9, 1))


def test_filmed_again_keeps_what_was_left():
    history = History(refits=(REFIT,))
    days = (REFIT.on - DAY, REFIT.on, END, END + DAY)
    assert films_on(FILM, history, *days) == [10, 20, 20, None]
    assert ends(FILM, history) == [(REFIT.on - DAY, "filmed_again"), (END, "ran_out")]


def test_filmed_again_after_the_work_cover_ran_out_gives_none_back():
    assert ends(WORK, History(refits=(REFIT,))) == [(date(2027, 3, 3), "ran_out")]


def test_filmed_again_afresh_is_the_whole_term_once_more():
    afresh, history = replace(FILM, again="afresh"), History(refits=(REFIT,))
    new_end = date(2033, 9, 1)
    days = (REFIT.on - DAY, REFIT.on, END, END + DAY, new_end, new_end + DAY)
    assert films_on(afresh, history, *days) == [10, 20, 20, 20, 20, None]


def test_afresh_leaves_the_gap_where_nothing_was_covered():
    afresh, history = replace(WORK, again="afresh"), History(refits=(REFIT,))
    days = (date(2027, 3, 3), date(2027, 3, 4), REFIT.on - DAY, REFIT.on, date(2029, 9, 1), date(2029, 9, 2))
    assert films_on(afresh, history, *days) == [10, None, None, 20, 20, None]


def test_a_touch_up_in_days_afresh_counts_as_the_terms_count():
    touch_up = replace(
        FILM,
        kind="touch_up",
        last_day=date(2026, 4, 1),
        months=None,
        days=30,
        counting=FIRST_DAY_COUNTED,
        again="afresh",
    )
    history = History(refits=(REFIT,))
    assert films_on(touch_up, history, date(2028, 9, 30), date(2028, 10, 1)) == [20, None]


def test_filmed_again_before_hand_over_starts_no_new_term():
    early = History(refits=(Refit(10, 20, START),))
    assert ends(replace(FILM, again="afresh"), early) == [(END, "ran_out")]
    assert films_on(FILM, early, START) == [20]


def test_a_film_with_a_paper_of_its_own_is_left_to_that_paper():
    history = History(refits=(REFIT,), papered=frozenset({(20, "material")}))
    assert ends(FILM, history) == [(REFIT.on - DAY, "filmed_again")]


def test_taken_off_after_it_was_filmed_again():
    on = date(2029, 1, 10)
    history = History(refits=(REFIT,), endings=(Ending("hood", 20, on, "removed"),))
    assert ends(FILM, history) == [(REFIT.on - DAY, "filmed_again"), (on, "removed")]


def test_twice_filmed_again():
    again = Refit(20, 30, date(2030, 2, 1))
    history = History(refits=(again, REFIT))
    days = (again.on - DAY, again.on, END, END + DAY)
    assert films_on(FILM, history, *days) == [20, 30, 30, None]


SOLD = date(2027, 5, 20)
LATER = date(2028, 5, 20)


@pytest.mark.parametrize(
    ("rule", "notice_days", "sales", "last"),
    [
        ("never", 0, [Sale(SOLD)], SOLD),
        ("never", 30, [Sale(SOLD, SOLD)], SOLD),
        ("always", 0, [Sale(SOLD), Sale(LATER)], END),
        ("once", 0, [Sale(SOLD)], END),
        ("once", 0, [Sale(SOLD), Sale(LATER)], LATER),
        ("once", 0, [Sale(LATER), Sale(SOLD)], LATER),
        ("always", 30, [Sale(SOLD, SOLD)], END),
        ("always", 30, [Sale(SOLD, SOLD + 30 * DAY)], END),
        ("always", 30, [Sale(SOLD, SOLD + 31 * DAY)], SOLD),
        ("always", 30, [Sale(SOLD, None)], SOLD),
        ("always", 30, [Sale(SOLD, SOLD), Sale(LATER, None)], LATER),
        ("once", 30, [Sale(SOLD, SOLD), Sale(LATER, LATER)], LATER),
    ],
    ids=str,
)
def test_a_sale_passes_the_cover_on_as_the_terms_say(rule, notice_days, sales, last):
    promised = replace(FILM, transfer=rule, notice_days=notice_days)
    history = History(sales=tuple(sales))
    assert films_on(promised, history, last, last + DAY) == [10, None]
    assert ends(promised, history) == [(last, "ran_out" if last == END else "sold")]


@pytest.mark.parametrize(("today", "covered"), [(SOLD + 30 * DAY, True), (SOLD + 31 * DAY, False)], ids=str)
def test_a_sale_nobody_told_us_of_ends_nothing_while_the_window_is_open(today, covered):
    promised = replace(FILM, notice_days=30)
    history = History(sales=(Sale(SOLD),))
    assert bool(covered_on(SOLD + DAY, stretches(promised, history, today=today))) is covered


def test_a_sale_before_the_cover_began_counts_for_nothing():
    promised = replace(FILM, transfer="never")
    assert ends(promised, History(sales=(Sale(START - DAY),))) == [(END, "ran_out")]
    assert ends(promised, History(sales=(Sale(START),))) == [(START, "sold")]


def test_sold_away_before_it_was_filmed_again_gives_no_new_term():
    afresh = replace(FILM, again="afresh", transfer="never")
    history = History(refits=(REFIT,), sales=(Sale(SOLD),))
    assert ends(afresh, history) == [(SOLD, "sold")]


def test_sold_on_the_eve_of_the_refit_says_so():
    history = History(refits=(REFIT,), sales=(Sale(REFIT.on - DAY),))
    assert ends(replace(FILM, transfer="never"), history) == [(REFIT.on - DAY, "sold")]


def test_no_sale_no_last_day():
    assert last_sale_day("never", 0, [], today=TODAY) is None


# ------------------------------------------------------------------ the slow walk


def walk(promised, history, today):
    """The same told once more, one day after the other, with nothing but what is true on that day."""
    covered, film, end = {}, promised.film, promised.last_day
    over, owners, left_to_paper, first = False, 0, False, promised.first_day
    refits = {refit.old: refit for refit in history.refits}
    horizon = max([end, *(r.on for r in history.refits)]) + timedelta(days=130)
    day = min([first, *(r.on for r in history.refits), *(e.on for e in history.endings)])
    gone = set()
    while day <= horizon:
        while film in refits and refits[film].on == day and film not in gone:
            film = refits[film].new
            left_to_paper = left_to_paper or (film, promised.kind) in history.papered
            if promised.again == "afresh" and day > first:
                end = (
                    last_day(day, promised.months, promised.counting)
                    if promised.months
                    else days_last_day(day, promised.days, promised.counting)
                )
        if promised.withdrawn_on and day >= promised.withdrawn_on:
            over = True
        if first <= day <= end and not over and not left_to_paper and film not in gone:
            covered[day] = film
        for ending in history.endings:
            if ending.on == day:
                gone.add(ending.film)
        for sale in sorted(history.sales, key=lambda sale: sale.on):
            if sale.on == day and day >= first:
                owners += 1
                told = sale.told_on or today
                late = promised.notice_days and (told - sale.on).days > promised.notice_days
                allowed = {"never": 0, "once": 1, "always": owners}[promised.transfer]
                over = over or owners > allowed or bool(late)
        day += DAY
    return covered


near = st.integers(-20, 130).map(lambda n: START + n * DAY)


@st.composite
def stories(draw):
    counting = draw(st.sampled_from([EVENT_DAY_EXCLUDED, FIRST_DAY_COUNTED]))
    months = draw(st.one_of(st.none(), st.integers(1, 3)))
    days = None if months else draw(st.integers(1, 40))
    end = last_day(START, months, counting) if months else days_last_day(START, days, counting)
    promised = Promised(
        1,
        "hood",
        10,
        "material",
        START,
        end,
        months,
        days,
        counting,
        again=draw(st.sampled_from(["remaining", "afresh"])),
        transfer=draw(st.sampled_from(["never", "once", "always"])),
        notice_days=draw(st.sampled_from([0, 5, 14])),
        withdrawn_on=draw(st.one_of(st.none(), near)),
    )
    refit_days = sorted(draw(st.lists(near, max_size=3, unique=True)))
    refits = tuple(Refit(10 + n, 11 + n, day) for n, day in enumerate(refit_days))
    # Film that took another's place comes off on a later day than it came on.
    last = 10 + len(refits)
    endings = ()
    if draw(st.booleans()):
        on = draw(near)
        if not refits or on > refits[-1].on:
            endings = (Ending("hood", last, on, "removed"),)
    sales = tuple(
        Sale(on, draw(st.one_of(st.none(), st.integers(0, 20).map(lambda n, on=on: on + n * DAY))))
        for on in draw(st.lists(near, max_size=3, unique=True))
    )
    papered = draw(st.sets(st.sampled_from([(11, "material"), (12, "material")]), max_size=1))
    return promised, History(refits, endings, sales, frozenset(papered))


@given(stories(), near)
def test_the_stretches_are_the_days_of_the_slow_walk(story, today):
    promised, history = story
    found = stretches(promised, history, today=today)
    expected = walk(promised, history, today)
    told = {}
    for stretch in found:
        assert stretch.first_day <= stretch.last_day
        day = stretch.first_day
        while day <= stretch.last_day:
            assert day not in told, "two stretches over one day"
            told[day] = stretch.film
            day += DAY
    assert told == expected
