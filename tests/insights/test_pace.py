"""Answers that came within a second are stored with their interval, and the owner sees the share."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from shop import models
from shop.people.identity import Claimed
from shop.work import actions
from tests import make
from tests.kept import kept
from tests.work.day import Day

pytestmark = pytest.mark.django_db
LINES = ["wash.bay_ready", "wash.washed"] * 2 + ["wash.bay_ready"]


@pytest.fixture
def day():
    return kept(one_mirror)


def one_mirror():
    day = Day()
    day.set_out("mirror-left")
    day.tablet = make.tablet(day.shop)
    return day


def press(day, line, after_ms, *, by=None, tablet=True, device=True):
    day.now += timedelta(milliseconds=after_ms)
    return actions.answer(
        job=day.job, key=line, panels=["mirror-left.1"], edges=[], answer="done",
        by=Claimed(by or day.ines, day.tablet if tablet else None), now=day.now, happened_at=day.now,
        device_at=day.now if device else None,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("after", "stored"), [(0, 0), (140, 140), (1000, 1000), (1001, None), (40_000, None)]
)
def test_the_interval_is_stored_up_to_a_second(day, after, stored):
    press(day, LINES[0], 5000)
    assert press(day, LINES[1], after).interval_ms == stored


def test_the_first_answer_another_person_and_a_desk_have_none(day):
    assert press(day, LINES[0], 0).interval_ms is None
    assert press(day, LINES[1], 100, by=day.jonas).interval_ms is None
    assert press(day, LINES[1], 100, tablet=False).interval_ms is None
    assert press(day, LINES[1], 100, device=False).interval_ms is None


def test_a_clock_that_went_back_is_no_interval(day):
    press(day, LINES[0], 5000)
    assert press(day, LINES[1], -400).interval_ms is None


def test_the_owner_sees_the_share(day, monkeypatch):
    from django.contrib.auth.models import User

    from shop import clock

    for line, after in zip(LINES, (0, 300, 5000, 200, 9000), strict=True):
        press(day, line, after)
    clock.set_to(day.now)
    day.petra.user = User.objects.create_user(username="petra", password="harbour-lamp-7")
    day.petra.save()
    client = Client()
    client.force_login(day.petra.user)
    words = " ".join(client.get(reverse("pace")).content.decode().split())
    assert models.Outcome.objects.filter(interval_ms__isnull=False).count() == 2
    row = words[words.index("Ines") :][:400]
    assert ">5<" in row and ">2<" in row and "40 %" in row
    clock.set_to(day.now + timedelta(days=31))
    assert "Nothing was answered" in client.get(reverse("pace")).content.decode()
