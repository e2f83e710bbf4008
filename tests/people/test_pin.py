"""PINs lock after five misses, for longer each time, and a miss stays counted whatever becomes of the act."""

from datetime import timedelta

import pytest
from django.db import transaction

from shop.people import actions, pin
from shop.people.identity import SignedIn
from shop.people.models import Person, Tablet
from shop.reasons import Refused
from tests import make

pytestmark = pytest.mark.django_db
NOW = make.NOW
RIGHT, WRONG = make.PIN, "730416"


@pytest.fixture
def shop():
    return make.workshop()


@pytest.fixture
def ines(shop):
    return make.person(shop, "Ines", "installer")


def attempt(person, digits, now=NOW, tablet=None):
    """The code of the refusal, or the way it was proven."""
    try:
        return pin.prove(person, digits, now=now, tablet=tablet).how
    except Refused as refused:
        return refused.reasons[0].code


def test_the_sixth_of_twenty_tries_is_locked_even_with_the_right_pin(ines):
    answers = [attempt(ines, WRONG) for _ in range(19)] + [attempt(ines, RIGHT)]
    assert answers == ["pin_wrong"] * 5 + ["pin_locked"] * 15
    assert Person.objects.get(pk=ines.pk).misses == 5


def test_the_lock_doubles_and_ends(ines):
    now = NOW
    for _ in range(5):
        attempt(ines, WRONG, now)
    for minutes in (1, 2, 4, 8):
        assert attempt(ines, RIGHT, now + timedelta(minutes=minutes, seconds=-1)) == "pin_locked"
        now += timedelta(minutes=minutes, seconds=1)
        assert attempt(ines, WRONG, now) == "pin_wrong"
    now += timedelta(minutes=17)
    assert attempt(ines, RIGHT, now) == "pin"
    assert Person.objects.get(pk=ines.pk).misses == 0


def test_a_lock_never_outgrows_a_day():
    assert pin.lock_after(400) == timedelta(hours=24)


def test_a_right_pin_forgets_earlier_misses(ines):
    for _ in range(4):
        attempt(ines, WRONG)
    assert attempt(ines, RIGHT) == "pin"
    assert [attempt(ines, WRONG) for _ in range(5)] == ["pin_wrong"] * 5


def test_misses_over_many_names_lock_the_tablet_they_came_from(shop, ines):
    tablet = make.tablet(shop)
    others = [make.person(shop, f"Other {n}", "installer") for n in range(5)]
    assert [attempt(other, WRONG, tablet=tablet) for other in others] == ["pin_wrong"] * 5
    assert attempt(ines, RIGHT, tablet=tablet) == "pin_locked"
    assert attempt(ines, RIGHT, tablet=make.tablet(shop)) == "pin"
    assert Tablet.objects.get(pk=tablet.pk).misses == 5


def test_a_miss_outlives_the_refused_act(ines):
    with pytest.raises(Refused), transaction.atomic():
        by = pin.prove(ines, RIGHT, now=NOW)
        actions.set_pin(person=ines, pin="111111", by=by, now=NOW)
    with pytest.raises(Refused):
        by = pin.prove(ines, WRONG, now=NOW)
        with transaction.atomic():
            actions.set_pin(person=ines, pin="730417", by=by, now=NOW)
    assert Person.objects.get(pk=ines.pk).misses == 1


def test_the_owners_reset_ends_the_lock(shop, ines):
    petra = SignedIn(make.person(shop, "Petra", "owner"))
    for _ in range(6):
        attempt(ines, WRONG)
    actions.set_pin(person=ines, pin="730417", by=petra, now=NOW)
    assert attempt(ines, "730417") == "pin"


def test_whoever_has_no_pin_cannot_prove_one(shop):
    nobody = make.person(shop, "Nils", "installer", pin_hash="")
    assert attempt(nobody, "") == "pin_wrong"


def test_a_stolen_table_is_worth_nothing_without_the_key(settings, ines):
    row = Person.objects.get(pk=ines.pk)
    from django.contrib.auth.hashers import check_password

    assert check_password(pin.keyed(RIGHT), row.pin_hash)
    assert not check_password(RIGHT, row.pin_hash)
    settings.PIN_KEY = "another key"
    assert not check_password(pin.keyed(RIGHT), row.pin_hash)
