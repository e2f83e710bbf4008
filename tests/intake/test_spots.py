import pytest

from shop.intake.spots import spot_um10, standing_out

CAR = {"hood": [1100, 1130], "roof": [1080], "door-front-left": [1150], "door-front-right": [1120]}


@pytest.mark.parametrize(
    ("readings", "mean"), [([1100, 1110, 1120], 1110), ([1, 1, 2], 1), ([1, 2, 2], 2), ([0, 0, 1, 1], 1)]
)
def test_a_spot_is_the_mean_of_its_readings(readings, mean):
    assert spot_um10(readings, "metal") == mean


@pytest.mark.parametrize(
    ("readings", "material", "says"),
    [
        ([1100, 1110], "metal", "2 are too few"),
        ([], "metal", "0 are too few"),
        ([1100, 1110, 1120], "plastic", "metal only"),
        ([1100, 1110, 1120], "carbon", "metal only"),
        ([1100, 1110, -1], "metal", "below nought"),
    ],
)
def test_a_spot_that_cannot_be_is_refused(readings, material, says):
    with pytest.raises(ValueError, match=says):
        spot_um10(readings, material)


def test_an_even_car_has_no_panel_that_stands_out():
    assert standing_out(CAR, differs_um10=400) == []


def test_a_panel_that_stands_out_is_named_with_its_side():
    found = standing_out({**CAR, "fender-left": [1100, 2300], "quarter-left": [500]}, differs_um10=400)
    assert [(one.panel, one.thickness_um10) for one in found] == [
        ("fender-left", 2300),
        ("quarter-left", 500),
    ]
    assert found[0].difference_um10 == 2300 - found[0].median_um10
    assert "thicker" in found[0].text
    assert "thinner" in found[1].text


def test_the_bound_itself_does_not_stand_out():
    car = {"hood": [1000], "roof": [1000], "trunk-lid": [1400]}
    assert standing_out(car, differs_um10=400) == []
    assert [one.panel for one in standing_out(car, differs_um10=399)] == ["trunk-lid"]


def test_two_panels_are_no_car_to_compare_with():
    assert standing_out({"hood": [1000], "roof": [3000]}, differs_um10=400) == []
    assert standing_out({"hood": [1000], "roof": [3000], "trunk-lid": []}, differs_um10=400) == []


def test_sentences_speak_the_shops_units():
    car = {"hood": [1016], "roof": [1016], "trunk-lid": [2540]}
    (found,) = standing_out(car, differs_um10=400, units="us")
    assert "Paint of 10 mil where this car usually has 4 mil" in found.text
