"""The bay's page of one car: its signing links name the panels that lack just that."""

import re

import pytest
from django.test import Client

from shop import clock
from shop.people.tablets import cookie_of
from tests import make
from tests.kept import kept
from tests.work.day import Day

pytestmark = pytest.mark.django_db


@pytest.fixture
def day():
    return kept(two_mirrors)


def two_mirrors():
    day = Day()
    day.set_out("mirror-left", "mirror-right")
    day.cookie = cookie_of(make.tablet(day.shop))
    return day


def links(day) -> dict[str, set[str]]:
    client = Client()
    client.cookies["tablet"] = day.cookie
    with clock.held_at(day.now):
        text = client.get(f"/bay/{day.job.pk}/").text
    found = re.findall(rf'href="/bay/{day.job.pk}/sign/(\w+)/\??([^"]*)"', text)
    return {meaning: set(re.findall(r"panel=([a-z.\d-]+)", query)) for meaning, query in found}


LEFT, RIGHT = "mirror-left.1", "mirror-right.1"


def test_with_nothing_ready_all_that_lack_it_are_chosen(day):
    assert links(day) == {key: {LEFT, RIGHT} for key in ("ready", "laid", "released")}


def test_what_lacks_the_signature_alone_is_chosen_and_what_is_signed_is_not(day):
    day.finish("wash", "decontaminate", "degrease", "primer", only=LEFT)
    assert links(day)["ready"] == {LEFT}
    day.sign("ready", panels=[LEFT])
    assert links(day)["ready"] == {RIGHT}
