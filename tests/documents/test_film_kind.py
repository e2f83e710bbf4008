"""A film sheet's own words on the film: typed in a form, checked, and left out where nobody says anything."""

import copy

import pytest

from shop.documents import built_in, film_kind
from shop.documents.check import faults
from shop.documents.film_form import FilmSheetForm

BODY = built_in.film_defaults()


def sent(system="metric", body=BODY, **typed):
    empty = FilmSheetForm(body=body, system=system)
    data = {name: empty[name].value() for name in empty.fields}
    data = {name: value for name, value in data.items() if value not in (None, False)} | typed
    return FilmSheetForm(data, body=body, system=system)


def test_widths_finish_and_direction_go_into_the_sheet_and_come_back():
    form = sent(
        kind_widths="1220, 60 in", kind_finish="brushed", kind_directional="on", kind_source="paper of 2026"
    )
    assert form.is_valid(), form.errors
    body = form.new_body()
    assert body["film"] == {
        "widths_mm": [1524, 1220], "finish": "brushed", "directional": True, "source": "paper of 2026"
    }  # fmt: skip
    assert faults(body) == []
    again = FilmSheetForm(body=body, system="metric")
    assert again["kind_widths"].value() == "1524 mm, 1220 mm" and again["kind_directional"].value() is True


def test_a_sheet_that_says_nothing_of_it_stays_without():
    form = sent()
    assert form.is_valid(), form.errors
    assert "film" not in form.new_body()


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"kind_widths": "wide", "kind_source": "x"}, "kind_widths"),
        ({"kind_widths": "0 mm", "kind_source": "x"}, "kind_widths"),
        ({"kind_finish": "gloss"}, "kind_source"),
    ],
)
def test_what_is_wrong_is_said_at_its_field(typed, field):
    assert field in sent(**typed).errors


@pytest.mark.parametrize(
    "film",
    [
        {"finish": "gloss"},
        {"source": "x", "widths_mm": []},
        {"source": "x", "widths_mm": [-1]},
        {"source": "x", "turned": True},
    ],
)
def test_a_part_of_another_shape_is_a_fault(film):
    body = copy.deepcopy(BODY) | {"film": film}
    assert faults(body)


def test_widths_are_read_in_the_shops_own_unit():
    assert film_kind.read_widths("60, 48", "us") == [1524, 1219]
