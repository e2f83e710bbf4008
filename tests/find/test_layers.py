"""Layers of a car's sheet: what is drawn stands in the list, in the same order."""

import re

import pytest

from shop import models
from shop.find.layers import NAMES, layer_of
from tests import make
from tests.find.test_life import NOW, lived

pytestmark = pytest.mark.django_db
TODAY = NOW.date()


@pytest.fixture
def car():
    return lived(make.workshop()).job.vehicle


@pytest.mark.parametrize("code", NAMES)
def test_every_number_on_the_drawing_has_its_row(code, car):
    layer = layer_of(car, code, language="en", today=TODAY)
    drawn = [int(n) for n in re.findall(r'data-mark="(\d+)"', layer.svg)]
    assert drawn == [row.number for row in layer.rows if row.number]
    assert layer.legend and layer.code == code


def test_an_unknown_layer_is_the_cover(car):
    assert layer_of(car, "nonsense", language="en", today=TODAY).code == "cover"


def test_cover_is_solid_until_its_last_day_and_said_with_it(car):
    last = models.CoverLine.objects.filter(kind="material").latest("last_day").last_day
    there = layer_of(car, "cover", language="en", today=last)
    after = layer_of(car, "cover", language="en", today=last.replace(year=last.year + 1))
    assert "panel-signed" in there.svg and "until" in there.rows[0].what
    assert "panel-signed" not in after.svg and "ended" in after.rows[0].what


def test_finishes_are_told_edge_by_edge(car):
    rows = layer_of(car, "finish", language="en", today=TODAY).rows
    assert all("wrapped" in row.what or "flush" in row.what for row in rows)


def test_an_open_defect_holds_its_panel(car):
    before = layer_of(car, "defects", language="en", today=TODAY)
    assert "panel-held" not in before.svg and before.rows[0].what.endswith("settled")
    models.Defect.objects.update(closed_at=None, closed_by=None, disposition="")
    after = layer_of(car, "defects", language="en", today=TODAY)
    assert "panel-held" in after.svg and after.rows[0].what.endswith("open")


def test_damage_stands_where_it_was_put(car):
    layer = layer_of(car, "damage", language="en", today=TODAY)
    assert len(layer.rows) == models.Mark.objects.filter(job__vehicle=car).count() > 0


def test_a_car_that_was_never_here_has_no_sheet(car):
    models_without = make.vehicle(car.workshop, vin="ZZZ7UE6NX3X614999")
    assert layer_of(models_without, "cover", language="en", today=TODAY) is None
