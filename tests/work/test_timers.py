from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from shop.work.timers import CureBands, Moment, cure, flash_off, freshness, said, still_good

START = datetime(2026, 3, 28, 16, 0, tzinfo=UTC)
BANDS = CureBands(fast_from_c100=1800, fast_s=24 * 3600, slow_s=48 * 3600, stop_below_c100=1000)


def after(minutes=0, *, hours=0, seconds=0):
    return START + timedelta(hours=hours, minutes=minutes, seconds=seconds)


def codes(timer):
    return [reason.code for reason in timer.reasons]


def unsure(first, last):
    return Moment(after(first), after(last))


# Primer ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("minutes", "band", "expected", "ends"),
    [
        (0, "early", ["primer_early"], 5),
        (4.99, "early", ["primer_early"], 5),
        (5, "open", [], 60),
        (60, "open", [], 60),
        (60.02, "late", ["primer_late"], None),
        (-3, "early", ["primer_early"], 5),
    ],
)
def test_primer_window(minutes, band, expected, ends):
    timer = flash_off(START, after(minutes), min_s=300, max_s=3600)
    assert (timer.band, codes(timer), timer.done) == (band, expected, not expected)
    assert timer.ends_at == (None if ends is None else after(ends))


def test_primer_without_a_longest_time_stays_open():
    timer = flash_off(START, after(hours=30), min_s=300, max_s=None)
    assert (timer.band, timer.ends_at, codes(timer)) == ("open", None, [])


@pytest.mark.parametrize(
    ("primed", "expected"),
    [
        (unsure(0, 20), ["clock_unsure"]),
        (unsure(0, 27), ["primer_early", "clock_unsure"]),
        (unsure(-31, 20), ["primer_late", "clock_unsure"]),
        (unsure(-40, 28), ["primer_early", "primer_late", "clock_unsure"]),
    ],
)
def test_an_unsure_primer_takes_both_worse_bounds(primed, expected):
    assert codes(flash_off(primed, after(30), min_s=300, max_s=3600)) == expected


def test_an_unsure_laying_takes_both_worse_bounds_too():
    assert codes(flash_off(START, unsure(2, 10), min_s=300, max_s=3600)) == ["primer_early", "clock_unsure"]
    assert codes(flash_off(START, unsure(50, 61), min_s=300, max_s=3600)) == ["primer_late", "clock_unsure"]


def test_a_window_that_closes_before_it_opens_is_refused():
    with pytest.raises(ValueError, match="shorter"):
        flash_off(START, START, min_s=60, max_s=59)


# Staleness ------------------------------------------------------------------------------------------------


def fresh(wipes, *, rewiped=None, flooded=None, now=30):
    return freshness(
        wipes,
        rewiped=None if rewiped is None else after(rewiped),
        flooded=None if flooded is None else after(flooded),
        now=after(now),
        limit_s=30 * 60,
    )


@pytest.mark.parametrize(
    ("wipes", "rewiped", "flooded", "now", "band", "edge"),
    [
        ({"front": 0, "left": 10}, None, None, 30, "fresh", "front"),
        ({"front": 0, "left": 10}, None, None, 30.02, "stale", "front"),
        ({"front": 10, "left": 0}, None, None, 31, "stale", "left"),
        # a re-wipe right before flooding starts the window afresh for every edge
        ({"front": 0, "left": 10}, 40, None, 70, "fresh", "front"),
        ({"front": 0, "left": 10}, 40, None, 71, "stale", "front"),
        # an edge wiped after the re-wipe counts from its own wipe
        ({"front": 0, "left": 50}, 40, None, 70, "fresh", "front"),
        # flooding ends the clock, however late it is now
        ({"front": 0}, None, 30, 5000, "ended", "front"),
        ({"front": 0}, None, 31, 5000, "stale", "front"),
        ({"front": 0}, 20, 31, 5000, "ended", "front"),
        # a wipe after the flooding cannot have been under the film
        ({"front": 0, "left": 32}, None, 30, 40, "stale", "left"),
        ({"front": 0}, 35, 31, 40, "stale", "front"),
        ({}, None, None, 0, "waiting", ""),
    ],
)
def test_the_oldest_edge_decides(wipes, rewiped, flooded, now, band, edge):
    timer = fresh(
        {name: after(minutes) for name, minutes in wipes.items()}, rewiped=rewiped, flooded=flooded, now=now
    )
    assert (timer.band, timer.edge) == (band, edge)
    assert timer.done == (band in ("fresh", "ended"))
    assert codes(timer) == (["stale"] if band == "stale" else [])


def test_an_edge_not_wiped_yet_starts_no_clock():
    timer = fresh({"front": after(0), "left": None}, now=500)
    assert (timer.band, timer.done, codes(timer)) == ("waiting", False, [])


def test_a_fresh_edge_says_until_when():
    timer = fresh({"front": after(4), "left": after(9)}, now=20)
    assert timer.ends_at == after(34)
    assert timer.elapsed == timedelta(minutes=16)
    assert timer.sentence == "The wiped edges stay good for another 14 min."


def test_an_unsure_wipe_counts_from_its_earliest():
    assert fresh({"front": unsure(-1, 29)}).band == "stale"
    sound = fresh({"front": unsure(1, 29)})
    assert (sound.band, codes(sound), sound.sure) == ("fresh", ["clock_unsure"], False)


# Cure -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("hours", "readings", "band", "done", "elapsed", "ends"),
    [
        # (hours since laid, °C × 100); limits 18 °C 24 h, 10–18 °C 48 h
        (23.99, [(0, 2100)], "fast", False, 23.99, 24),
        (24, [(0, 2100)], "fast", True, 24, 24),
        (24, [(0, 1800), (23, 1801)], "fast", True, 24, 24),
        (24, [(0, 2100), (12, 1799)], "slow", False, 24, 48),
        (48, [(0, 2100), (12, 1000)], "slow", True, 48, 48),
        (24, [], "slow", False, 24, 48),
        (48, [], "slow", True, 48, 48),
        # below 10 °C the clock stands until the next reading at or above
        (20, [(2, 999)], "stopped", False, 2, None),
        (20, [(2, 999), (8, 400)], "stopped", False, 2, None),
        (20, [(2, 999), (8, 1000)], "slow", False, 14, 54),
        (54, [(2, 999), (8, 2500)], "slow", True, 48, 54),
        (53.9, [(2, 999), (8, 2500)], "slow", False, 47.9, 54),
        # two cold spells
        (60, [(1, 500), (3, 1200), (10, 900), (14, 2000)], "slow", True, 54, 54),
        # cold again once it is over changes nothing
        (60, [(5, 1500), (49, 200)], "slow", True, 49, 48),
        # cold from the start
        (30, [(0, 500)], "stopped", False, 0, None),
        # a warm reading at the same instant as a cold one does not lift the pause
        (30, [(3, 500), (3, 2000)], "stopped", False, 3, None),
        # readings before laying and after the round are not of this cure
        (24, [(-1, 2100)], "slow", False, 24, 48),
        (24, [(-1, 300), (2, 2100), (25, 300)], "fast", True, 24, 24),
        (24, [(24, 1900)], "fast", True, 24, 24),
        (-1, [], "slow", False, 0, 48),
    ],
)
def test_cure_by_the_lowest_reading(hours, readings, band, done, elapsed, ends):
    timer = cure(START, after(hours=hours), [(after(hours=at), c100) for at, c100 in readings], BANDS)
    assert (timer.band, timer.done) == (band, done)
    assert timer.elapsed == timedelta(hours=elapsed)
    assert timer.ends_at == (None if ends is None else after(hours=ends))
    assert codes(timer) == ([] if done else ["cure_running"])


def test_cure_runs_by_the_sun_and_not_by_the_wall_clock():
    # In the night to 29 March 2026 clocks go forward in much of Europe: 16:00 +01:00 to 16:00 +02:00 is 23 h.
    laid = datetime(2026, 3, 28, 16, 0, tzinfo=timezone(timedelta(hours=1)))
    until = datetime(2026, 3, 29, 16, 0, tzinfo=timezone(timedelta(hours=2)))
    timer = cure(laid, until, [(laid, 2100)], BANDS)
    assert (timer.done, timer.elapsed) == (False, timedelta(hours=23))


def test_cure_sentences_say_why():
    def sentence(hours, readings, units="metric"):
        return cure(START, after(hours=hours), readings, BANDS, units=units).sentence

    assert sentence(20, [(after(0), 2100)]) == "The cure runs: 4 h to go, as the lowest reading is 21 °C."
    assert (
        sentence(20, []) == "The cure runs: 28 h to go. No temperature was read, so the longer time counts."
    )
    assert "below 50 °F it does not count" in sentence(20, [(after(0), 500)], "us")
    assert sentence(48, []) == "The cure is over."


def test_an_unsure_start_counts_from_its_latest():
    timer = cure(Moment(START, after(hours=2)), after(hours=25), [(after(hours=5), 2100)], BANDS)
    assert (timer.done, timer.elapsed, timer.sure) == (False, timedelta(hours=23), False)
    assert codes(timer) == ["cure_running", "clock_unsure"]


def test_a_warm_reading_that_may_be_older_does_not_shorten_the_cure():
    doubtful = Moment(after(hours=-1), after(hours=1))
    assert cure(START, after(hours=24), [(doubtful, 2100)], BANDS).band == "slow"


def test_a_cold_reading_that_may_be_of_this_cure_counts():
    doubtful = Moment(after(hours=-1), after(hours=1))
    assert cure(START, after(hours=24), [(doubtful, 300)], BANDS).band == "stopped"


def test_instants_need_their_offset():
    with pytest.raises(ValueError, match="offset"):
        flash_off(datetime(2026, 1, 1), START, min_s=0, max_s=None)  # noqa: DTZ001 - the case itself
    with pytest.raises(ValueError, match="begins"):
        Moment(after(1), after(0))


def test_a_reading_is_good_for_its_time():
    assert still_good(after(0), after(240), good_for_s=4 * 3600)
    assert not still_good(after(0), after(240, seconds=1), good_for_s=4 * 3600)


@pytest.mark.parametrize(
    ("span", "text"),
    [
        (0, "0 s"),
        (59, "59 s"),
        (60, "1 min"),
        (61, "2 min"),
        (3600, "1 h"),
        (19200, "5 h 20 min"),
        (7199, "2 h"),
    ],
)
def test_spans_in_words(span, text):
    assert said(timedelta(seconds=span)) == text


READINGS = st.lists(st.tuples(st.integers(0, 4000), st.integers(-500, 3500)), max_size=8)


def timed(readings):
    return [(after(minutes), c100) for minutes, c100 in readings]


@given(READINGS, st.integers(0, 5000))
def test_cure_never_counts_more_than_has_passed(readings, minutes):
    timer = cure(START, after(minutes), timed(readings), BANDS)
    assert timedelta(0) <= timer.elapsed <= timedelta(minutes=minutes)
    assert timer.done == (codes(timer) == [])


WARM = st.lists(st.tuples(st.integers(0, 4000), st.integers(1800, 3500)), max_size=8)


@given(WARM, st.integers(0, 5000), st.integers(0, 4000), st.integers(-500, 1799))
def test_another_reading_below_the_fast_band_never_ends_a_fast_cure(readings, minutes, at, c100):
    before = cure(START, after(minutes), timed(readings), BANDS)
    with_it = cure(START, after(minutes), timed([*readings, (at, c100)]), BANDS)
    assert before.done or not with_it.done


@given(READINGS, st.integers(0, 5000))
def test_a_cure_that_runs_is_over_when_it_says(readings, minutes):
    readings = [(at, c100) for at, c100 in timed(readings) if at <= after(minutes)]
    timer = cure(START, after(minutes), readings, BANDS)
    assume(not timer.done and timer.ends_at is not None)
    assert cure(START, timer.ends_at, readings, BANDS).done
    assert not cure(START, timer.ends_at - timedelta(seconds=1), readings, BANDS).done


@given(READINGS, st.integers(0, 5000), st.integers(0, 600), st.integers(0, 600), st.booleans())
def test_doubt_never_helps(readings, minutes, before, behind, doubt_readings):
    def blurred(at):
        return Moment(at - timedelta(minutes=before), at + timedelta(minutes=behind))

    sure = cure(START, after(minutes), timed(readings), BANDS)
    doubtful = cure(
        blurred(START),
        after(minutes),
        [(blurred(at) if doubt_readings else at, c100) for at, c100 in timed(readings)],
        BANDS,
    )
    assert sure.done or not doubtful.done

    wiped = freshness({"front": START}, rewiped=None, flooded=None, now=after(minutes), limit_s=1800)
    maybe = freshness({"front": blurred(START)}, rewiped=None, flooded=None, now=after(minutes), limit_s=1800)
    assert wiped.done or not maybe.done

    primed = flash_off(START, after(minutes), min_s=600, max_s=3600)
    perhaps = flash_off(blurred(START), after(minutes), min_s=600, max_s=3600)
    assert primed.done or not perhaps.done
