"""Slip and tack made up for the day: by ratio and by strength, labelled, and refused where they cannot be."""

from datetime import date, timedelta

import pytest

from shop.film import actions
from shop.film.models import Lot, Mix
from shop.people.identity import Claimed, SignedIn
from shop.reasons import Refused
from shop.record.models import Entry
from shop.record.telling import Names
from shop.record.words import tell
from tests import make

pytestmark = pytest.mark.django_db
NOW = make.NOW


@pytest.fixture
def shop():
    return make.workshop()


@pytest.fixture
def ines(shop):
    return Claimed(make.person(shop, "Ines", "installer"))


def lot(shop, kind="slip", **rest):
    material, _ = shop.materials.get_or_create(kind=kind, name=f"Harbour {kind}")
    return Lot.objects.create(material=material, code=f"{kind}-1", received_on=date(2026, 1, 10), **rest)


def mix(shop, by, row, now=NOW, **given):
    given = {"total_ml10": 10_000, "ratio": "1:10", "meant": "in"} | given
    return actions.make_mix(workshop=shop, lot=row, by=by, now=now, **given)


def codes(act, *args, **given) -> set[str]:
    with pytest.raises(Refused) as refused:
        act(*args, **given)
    return {reason.code for reason in refused.value.reasons}


# Dilution C1·V1 = C2·V2 with the total as the measured volume: one part in ten is 10 %, one part and ten 9.0909 %;
# 1 l of 70 % from 99 % takes 707.07 ml.
@pytest.mark.parametrize(
    ("given", "stock"),
    [
        ({}, 1000),
        ({"meant": "plus"}, 909),
        ({"ratio": "", "meant": "", "stock_percent10": 990, "wanted_percent10": 700}, 7071),
    ],
    ids=["in", "plus", "strength"],
)
def test_how_much_of_the_concentrate(shop, ines, given, stock):
    row = mix(shop, ines, lot(shop), **given)
    assert (row.stock_ml10, row.total_ml10) == (stock, 10_000)


def test_each_sprayer_has_a_label_of_its_own_day_by_day(shop, ines):
    slip, tack = lot(shop), lot(shop, "tack")
    labels = [mix(shop, ines, row).label for row in (slip, slip, tack)]
    labels.append(mix(shop, ines, slip, now=NOW + timedelta(days=1)).label)
    assert labels == ["S260302-1", "S260302-2", "T260302-1", "S260303-1"]
    assert Mix.objects.made_on(shop, date(2026, 3, 2)).count() == 3
    entry = Entry.objects.filter(verb="make_mix").first()
    assert tell(entry.verb, entry.body, Names()).sentence == (
        "Slip S260302-1 was mixed from lot slip-1: 100 ml made up to 1000 ml, 1:10, one part in the whole."
    )


@pytest.mark.parametrize(
    "given",
    [
        {"meant": ""},
        {"ratio": "ten"},
        {"ratio": "3:2"},
        {"total_ml10": 0},
        {"total_ml10": 3_000_000},
        {"total_ml10": 10, "ratio": "1:99999"},
        {"stock_percent10": 990},
        {"stock_percent10": 500, "wanted_percent10": 700},
    ],
    ids=str,
)
def test_a_mix_that_cannot_be_is_refused_and_not_written(shop, ines, given):
    row = lot(shop)
    assert codes(mix, shop, ines, row, **given) == {"value_wrong"}
    assert not Mix.objects.exists() and not Entry.objects.exists()


def test_what_it_is_made_from_is_slip_or_tack_sound_in_date_and_ours(shop, ines):
    assert codes(mix, shop, ines, lot(shop, "primer")) == {"value_wrong"}
    old = lot(shop, "tack", expires_on=date(2026, 3, 1))
    assert codes(mix, shop, ines, old) == {"roll_expired"}
    held = lot(shop, quarantined_at=NOW, quarantine_reason="smells odd")
    assert codes(mix, shop, ines, held) == {"lot_quarantined"}
    assert codes(mix, shop, ines, lot(make.workshop(name="Far"))) == {"other_workshop"}
    nobody = SignedIn(make.person(make.workshop(name="Other"), "Otto", "installer"))
    assert codes(mix, shop, nobody, held) == {"other_workshop"}
