"""The label on the sprayer counts as the lot it was made up from, for its day."""

from datetime import timedelta

import pytest

from shop import models
from shop.film.actions import quarantine_lot
from shop.film.mixing import make_mix
from shop.people.identity import SignedIn
from shop.reasons import Refused
from tests.kept import kept
from tests.work.day import Day

pytestmark = pytest.mark.django_db
MIRROR = "mirror-left.1"


@pytest.fixture
def day():
    return kept(ready)


def ready():
    day = Day()
    day.set_out("mirror-left")
    day.finish("wash", "decontaminate", "degrease", "primer")
    day.sign("ready")
    for kind in ("slip", "tack"):
        lot = models.Lot.objects.get(material__kind=kind)
        made = {"ratio": "1:10", "meant": "in", "total_ml10": 10_000}
        mix = make_mix(workshop=day.shop, lot=lot, by=SignedIn(day.petra), now=day.now, **made)
        setattr(day, f"{kind}_label", mix.label)
    return day


def mixed(day, **changed):
    labels = {"slip_lot": day.slip_label, "tack_lot": day.tack_label}
    return day.read("tack.mix", **(labels | changed))


def codes(act) -> set[str]:
    with pytest.raises(Refused) as refusal:
        act()
    return {reason.code for reason in refusal.value.reasons}


def test_both_labels_of_today_are_known(day):
    assert mixed(day).value == {"slip_lot": day.slip_label, "tack_lot": day.tack_label}


def test_a_label_and_a_lot_go_together(day):
    assert mixed(day, tack_lot="T-1").value["tack_lot"] == "T-1"


def test_yesterdays_mix_is_over(day):
    day.now += timedelta(days=1)
    assert "roll_expired" in codes(lambda: mixed(day))


def test_a_mix_of_a_lot_held_back_is_held_back(day):
    lot = models.Lot.objects.get(material__kind="slip")
    quarantine_lot(lot=lot, reason="cloudy", by=SignedIn(day.petra), now=day.now)
    assert "lot_quarantined" in codes(lambda: mixed(day))


def test_slip_is_no_tack_and_an_unknown_label_is_unknown(day):
    assert "lot_missing" in codes(lambda: mixed(day, tack_lot=day.slip_label))
    assert "lot_missing" in codes(lambda: mixed(day, slip_lot="S990101-1"))
