"""How a claim stands: cover by the day noticed, deadlines by the day told, rechecks never ending anything."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.claims.standing import KINDS, Recheck, Reported, age_in_words, missed_before, standing
from shop.warranty.timeline import Stretch

DAY = timedelta(days=1)
START = date(2026, 3, 3)
TOUCH_UP = Stretch(3, "touch_up", "hood", 10, START, date(2026, 4, 2))
WORK = Stretch(2, "workmanship", "hood", 10, START, date(2027, 3, 3))
FILM = Stretch(1, "material", "hood", 10, START, date(2031, 3, 3))
LIFT = ("touch_up", "workmanship", "material")


def reported(noticed, covers=LIFT, **rest):
    values = {"told_on": noticed, "stretches": (FILM, WORK, TOUCH_UP)}
    return Reported(noticed_on=noticed, covers=covers, **(values | rest))


@pytest.mark.parametrize(
    ("noticed", "answers"),
    [
        (START - DAY, ""),
        (START, "touch_up"),
        (TOUCH_UP.last_day, "touch_up"),
        (TOUCH_UP.last_day + DAY, "workmanship"),
        (WORK.last_day, "workmanship"),
        (WORK.last_day + DAY, "material"),
        (FILM.last_day, "material"),
        (FILM.last_day + DAY, ""),
    ],
    ids=str,
)
def test_the_first_promise_in_force_on_the_day_noticed_answers(noticed, answers):
    found = standing(reported(noticed))
    assert (found.answers, found.in_force, found.stands) == (answers, bool(answers), bool(answers))
    lines = {"touch_up": 3, "workmanship": 2, "material": 1, "": None}
    assert found.line == lines[answers]
    assert bool(found.why) is not bool(answers)


def test_told_after_the_cover_ended_but_noticed_before_is_covered():
    found = standing(reported(FILM.last_day, told_on=FILM.last_day + 300 * DAY))
    assert found.stands and found.in_time and found.why == ()


@pytest.mark.parametrize(
    ("covers", "noticed", "why"),
    [
        (("material",), START - DAY, ["The cover for the film began on 3 March 2026, after it was noticed."]),
        (
            ("touch_up", "workmanship"),
            date(2028, 1, 1),
            ["The free touch-up ended on 2 April 2026.", "The cover for our work ended on 3 March 2027."],
        ),
        ((), date(2026, 6, 1), ["No promise on this paper is about that."]),
    ],
)
def test_why_not_is_said(covers, noticed, why):
    found = standing(reported(noticed, covers))
    assert not found.stands and list(found.why) == why


@pytest.mark.parametrize(
    ("ends", "said"),
    [
        ("removed", "when the film was taken off"),
        ("panel_replaced", "when the panel was replaced"),
        ("sold", "when the car was sold"),
        ("withdrawn", "the certificate was withdrawn"),
        ("filmed_again", "with a paper of its own"),
        ("ran_out", "ended on 1 May 2028."),
    ],
)
def test_every_way_of_ending_has_its_words(ends, said):
    cut = replace(FILM, last_day=date(2028, 5, 1), ends=ends)
    found = standing(reported(date(2028, 5, 2), ("material",), stretches=(cut,)))
    assert said in found.why[0] and "1 May 2028" in found.why[0]


def test_the_day_before_it_ended_is_covered_however_it_ended():
    cut = replace(FILM, last_day=date(2028, 5, 1), ends="removed")
    assert standing(reported(date(2028, 5, 1), ("material",), stretches=(cut,))).stands


def test_in_force_but_about_something_else_says_what_was():
    found = standing(reported(date(2026, 6, 1), ("touch_up",), stretches=(FILM, WORK)))
    assert found.in_force and not found.answers
    assert found.why == (
        "In force that day was only the cover for our work and the cover for the film, "
        "and that is not about this.",
    )


def test_a_place_without_a_promise():
    assert standing(reported(START, stretches=())).why == ("Nothing was promised for this place.",)


@pytest.mark.parametrize(("days", "in_time"), [(0, True), (14, True), (15, False)])
def test_the_terms_own_deadline_is_judged_by_the_day_told(days, in_time):
    noticed = date(2026, 6, 1)
    found = standing(reported(noticed, told_on=noticed + days * DAY, tell_within_days=14))
    assert (found.in_time, found.stands, found.answers) == (in_time, in_time, "workmanship")
    assert found.why == (() if in_time else ("Told 15 days after it was noticed; the terms ask for 14.",))


MISSED = Recheck(date(2027, 3, 3), date(2027, 5, 2))


def test_a_missed_recheck_weakens_the_presumption_and_nothing_else():
    noticed = date(2027, 6, 1)
    longer = replace(WORK, last_day=date(2028, 3, 3))
    plain = reported(noticed, stretches=(FILM, longer))
    kept, missed = standing(plain), standing(replace(plain, rechecks=(MISSED,)))
    assert kept.presumed and not missed.presumed and missed.weakened
    assert missed.missed == (MISSED.due_from,)
    assert replace(missed, presumed=True, weakened=False, missed=()) == kept


def test_where_the_terms_give_it_no_effect_it_has_none():
    plain = reported(date(2026, 12, 1), rechecks=(Recheck(date(2026, 3, 10), date(2026, 3, 17)),))
    found = standing(replace(plain, recheck_effect="none"))
    assert found.presumed and not found.weakened and found.missed


def test_film_faults_are_not_presumed_to_be_our_work():
    assert not standing(reported(date(2029, 1, 1))).presumed


@pytest.mark.parametrize(
    ("day", "done_on", "missed"),
    [
        (date(2027, 5, 2), None, False),
        (date(2027, 5, 3), None, True),
        (date(2027, 5, 3), date(2027, 5, 1), False),
        (date(2027, 8, 1), date(2027, 8, 1), False),
        (date(2027, 8, 1), date(2027, 8, 2), True),
    ],
)
def test_a_recheck_is_missed_when_its_last_day_is_over(day, done_on, missed):
    assert bool(missed_before(day, [replace(MISSED, done_on=done_on)])) is missed


def test_a_recheck_without_a_last_day_is_never_missed():
    assert missed_before(date(2040, 1, 1), [Recheck(date(2027, 3, 3), None)]) == ()


days = st.integers(-60, 2200).map(lambda n: START + n * DAY)
rechecks = st.lists(
    st.builds(Recheck, days, st.one_of(st.none(), days), st.one_of(st.none(), days)), max_size=4
)
spans = st.lists(
    st.builds(
        lambda kind, first, length, line: Stretch(line, kind, "hood", 10, first, first + length * DAY),
        st.sampled_from(KINDS),
        days,
        st.integers(0, 900),
        st.integers(1, 9),
    ),
    max_size=5,
)
symptoms = st.lists(st.sampled_from(KINDS), unique=True, max_size=3)


@given(days, st.integers(0, 400), symptoms, spans, rechecks, st.sampled_from(["presumption", "none"]))
def test_no_recheck_ever_moves_a_date_or_takes_a_promise_away(noticed, later, covers, found, due, effect):
    told = noticed + later * DAY
    plain = Reported(noticed, told, tuple(covers), tuple(found), tell_within_days=30)
    one, other = standing(plain), standing(replace(plain, rechecks=tuple(due), recheck_effect=effect))
    assert (one.answers, one.line, one.in_force, one.in_time, one.why) == (
        other.answers,
        other.line,
        other.in_force,
        other.in_time,
        other.why,
    )
    assert one.presumed or not other.presumed


@given(days, symptoms, spans)
def test_the_day_told_changes_no_cover_and_what_answers_was_in_force(noticed, covers, found):
    early = standing(Reported(noticed, noticed, tuple(covers), tuple(found)))
    late = standing(Reported(noticed, noticed + 500 * DAY, tuple(covers), tuple(found)))
    assert early == late
    there = {s.kind for s in found if s.first_day <= noticed <= s.last_day}
    wanted = [kind for kind in covers if kind in there]
    assert early.answers == (wanted[0] if wanted else "")
    assert early.in_force is bool(there)
    assert bool(early.why) is not bool(early.answers)


@pytest.mark.parametrize(
    ("since", "day", "words"),
    [
        (START, START, "0 days"),
        (START, START + DAY, "1 day"),
        (START, date(2026, 4, 3), "1 month"),
        (START, date(2027, 3, 2), "11 months"),
        (START, date(2027, 3, 3), "1 year"),
        (START, date(2028, 4, 3), "2 years 1 month"),
    ],
)
def test_age_is_said_in_the_largest_units_that_fit(since, day, words):
    assert age_in_words(since, day) == words
