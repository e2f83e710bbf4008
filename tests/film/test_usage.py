import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.film.usage import Mix, Taken, film_for, left_mm, mix_by_ratio, mix_by_strength, read_ratio

ROLL = 1520


@pytest.mark.parametrize(
    ("wide", "long", "allowance", "directional", "expected"),
    [
        # a hood wider than long: across the roll it takes less
        (1400, 1000, 60, False, Taken(1120, 1520, False)),
        (1000, 1400, 60, False, Taken(1120, 1520, True)),
        (1000, 1400, 60, True, Taken(1520, 1120, False)),
        # too wide for the roll one way
        (1500, 1000, 60, False, Taken(1620, 1120, True)),
        (300, 300, 0, False, Taken(300, 300, False)),
        (1520, 10, 0, True, Taken(10, 1520, False)),
    ],
)
def test_film_for_a_piece(wide, long, allowance, directional, expected):
    found = film_for(wide, long, allowance_mm=allowance, roll_width_mm=ROLL, directional=directional)
    assert found == expected


@pytest.mark.parametrize(
    ("wide", "long", "allowance", "directional", "says"),
    [
        (1500, 1500, 60, False, "100 mm too narrow"),
        (1500, 1000, 60, True, r"100 mm too narrow.*cannot be turned"),
        (0, 1000, 60, False, "have a size"),
        (1000, -1, 60, False, "have a size"),
        (1000, 1000, -1, False, "not negative"),
    ],
)
def test_film_that_does_not_fit_is_refused_with_a_sentence(wide, long, allowance, directional, says):
    with pytest.raises(ValueError, match=says):
        film_for(wide, long, allowance_mm=allowance, roll_width_mm=ROLL, directional=directional)


SIDE = st.integers(1, 1400)


@given(SIDE, SIDE, st.integers(0, 60))
def test_film_that_may_be_turned_never_takes_more(wide, long, allowance):
    free = film_for(wide, long, allowance_mm=allowance, roll_width_mm=ROLL, directional=False)
    bound = film_for(wide, long, allowance_mm=allowance, roll_width_mm=ROLL, directional=True)
    assert free.length_mm <= bound.length_mm
    assert free.length_mm * free.width_mm == bound.length_mm * bound.width_mm
    assert free.width_mm <= ROLL


def test_what_is_left_on_a_roll():
    assert left_mm(15_000, [1520, 1120]) == 12_360
    assert left_mm(1000, []) == 1000
    assert left_mm(1000, [800, 300]) == -100


@pytest.mark.parametrize(
    "text", ["", "10", "1:0", "0:10", "1:10:3", "a:b", "1.5:10", "-1:10", "1:1000000", "１:10"]
)
def test_an_unreadable_ratio_is_refused(text):
    with pytest.raises(ValueError, match="two whole numbers"):
        read_ratio(text)


def test_a_ratio_means_two_things_and_has_to_say_which():
    # 1:10 as one part in ten is 10 %, as one part plus ten is 9.0909 %
    assert mix_by_ratio(110_000, (1, 10), meant="in") == Mix(11_000, 110_000)
    assert mix_by_ratio(110_000, (1, 10), meant="plus") == Mix(10_000, 110_000)
    with pytest.raises(ValueError, match="how the ratio is meant"):
        mix_by_ratio(110_000, (1, 10), meant="")


@pytest.mark.parametrize(
    ("total", "ratio", "meant"),
    [(0, (1, 10), "in"), (1000, (3, 2), "in"), (1000, (0, 2), "plus"), (-5, (1, 1), "plus")],
)
def test_a_mix_that_cannot_be_is_refused(total, ratio, meant):
    with pytest.raises(ValueError, match=r"concentrate|how much"):
        mix_by_ratio(total, ratio, meant=meant)


def test_a_mix_by_strength():
    # C1·V1 = C2·V2: 1 l of 70 % from 99 % takes 707.07 ml, made up with water to 1 l
    assert mix_by_strength(10_000, stock_percent10=990, wanted_percent10=700) == Mix(7071, 10_000)
    assert mix_by_strength(5000, stock_percent10=700, wanted_percent10=700) == Mix(5000, 5000)
    for stock, wanted in ((700, 990), (1001, 700), (700, 0)):
        with pytest.raises(ValueError, match="never stronger"):
            mix_by_strength(10_000, stock_percent10=stock, wanted_percent10=wanted)
