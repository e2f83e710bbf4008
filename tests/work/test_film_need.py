"""Film a piece takes: nominal size, allowance a side, the way it runs; and what the shelf says at set-out.

Worked by hand from the sedan, whose hood is 1480 mm across and 1250 along. The sheet's allowance is 75 mm a side, on
bumpers 100.
"""

import pytest

from shop import models
from shop.film import actions as film
from shop.intake.names import body_of, panel_of
from shop.people.identity import Proven, SignedIn
from shop.reasons import Refused
from shop.work import leaving, setout
from shop.work.film_need import Wanted, film_needed, size_mm
from shop.work.floor import Floor
from shop.work.roll_use import uses_of
from tests import make
from tests.kept import kept
from tests.work.day import Day

pytestmark = pytest.mark.django_db


@pytest.fixture
def day():
    return kept(Day)


def need(day, code, *, pieces=1, cut="bulk", turned=False, directional=False, width=1520, returns=()):
    shape = panel_of(body_of(day.job.body), code)
    wanted = Wanted(shape, pieces, cut, turned, returns)
    return film_needed(
        wanted, roll_width_mm=width, directional=directional, sheet=day.sheet.body, plan=day.job.plan.body
    )


def test_a_hood_in_bulk_lies_the_way_that_takes_less(day):
    # along: 1250 + 2·75 = 1400; across 1480 + 150 = 1630 is trimmed to the roll, 20 mm a side are enough to hold
    found = need(day, "hood")
    assert (found.taken.length_mm, found.allowance_mm) == (1400, 75)


def test_a_pre_cut_hood_takes_its_returns_only(day):
    assert need(day, "hood", cut="pre_cut", returns=(8, 6)).taken.length_mm == 1250 + 2 * 8


def test_directional_film_turned_takes_the_other_side(day):
    straight = need(day, "hood", directional=True)
    turned = need(day, "hood", directional=True, turned=True)
    assert (straight.taken.length_mm, turned.taken.length_mm) == (1400, 1630)


def test_a_panel_wider_than_the_roll_says_so(day):
    found = need(day, "hood", directional=True, width=1400)
    assert "80 mm too narrow" in found.fault and "turned" in found.fault
    assert found.taken.length_mm == 1400


def test_a_bumper_in_pieces_is_divided_along_its_longer_side(day):
    shape = panel_of(body_of(day.job.body), "bumper-front")
    width, height = shape.nominal_mm
    assert width > height
    assert size_mm(shape, 3) == (-(-width // 3), height)
    assert need(day, "bumper-front", pieces=3, directional=True).taken.length_mm == height + 200


def codes(day, *panels, **same):
    try:
        setout.set_out_many(
            job=day.job,
            panels=panels,
            roll=same.pop("roll", day.roll),
            by=SignedIn(day.petra),
            now=day.now,
            **same,
        )
    except Refused as refused:
        return {reason.code for reason in refused.reasons}
    return set()


def test_what_is_set_out_is_spoken_for_until_it_is_cut(day):
    day.set_out("hood")
    use = uses_of([day.roll])[day.roll.pk]
    assert (use.left_mm, use.planned_mm, use.free_mm) == (15_000, 1400, 13_600)
    film.cut_film(
        job=day.job, panel="hood.1", roll=day.roll, length_mm=1390, by=SignedIn(day.petra), now=day.now
    )
    use = uses_of([day.roll])[day.roll.pk]
    assert (use.left_mm, use.planned_mm) == (13_610, 0)


def test_a_roll_that_does_not_reach_waits_for_somebody_to_let_it_pass(day):
    models.Roll.objects.filter(pk=day.roll.pk).update(length_mm=1399)
    assert codes(day, "hood") == {"roll_short"}
    assert not models.Fitting.objects.exists()
    leaving.waive(
        job=day.job, code="roll_short", why="the label is wrong", by=Proven(day.petra, "pin"), now=day.now
    )
    assert codes(day, "hood") == set()


def test_two_panels_together_do_not_reach_where_each_alone_would(day):
    models.Roll.objects.filter(pk=day.roll.pk).update(length_mm=2000)
    assert codes(day, "hood") == set()
    assert codes(day, "trunk-lid") == {"roll_short"}


def test_a_correction_of_something_else_is_not_asked_again(day):
    day.set_out("hood")
    models.Roll.objects.filter(pk=day.roll.pk).update(length_mm=500)
    assert codes(day, "hood", people=[day.ines.pk]) == set()


def test_directional_film_turned_on_one_panel_of_the_car(day):
    models.Material.objects.update(directional=True)
    assert codes(day, "hood") == set()
    assert codes(day, "trunk-lid", turned=True) == {"direction_mixed"}
    by = Proven(day.petra, "pin")
    leaving.waive(job=day.job, code="direction_mixed", why="hidden under the wing", by=by, now=day.now)
    assert codes(day, "trunk-lid", turned=True) == set()
    assert codes(day, "trunk-lid", turned="yes") == {"value_wrong"}


def test_laying_a_piece_writes_its_cut_down_once(day):
    day.set_out("hood")
    day.finish("wash", "decontaminate", "degrease", "primer")
    day.sign("ready")
    day.finish("tack", card="before")
    cut = models.Cut.objects.get()
    # the allowance read on the card is 70, not 75: 1250 + 2·70
    assert (cut.roll, cut.length_mm, cut.kind) == (day.roll, 1390, "laid")


def test_two_lots_are_asked_for_and_each_lot_by_itself_is_not(day):
    other = make.roll(day.shop, lot="L-2", code="R-2")
    assert codes(day, "hood") == set()
    assert codes(day, "roof", roll=other) == {"lots_mixed"}


def test_a_bumper_in_three_pieces_shares_its_edges_out_and_has_seams(day):
    pieces = [{"piece": number, "roll": day.roll} for number in (1, 2, 3)]
    rows = setout.set_out(
        job=day.job, panel="bumper-front", pieces=pieces, by=SignedIn(day.petra), now=day.now
    )
    ends = [{edge.code for edge in row.edges.all() if edge.finish != "open"} for row in rows]
    assert [sorted(code for code in each if code.startswith("seam")) for each in ends] == [
        ["seam-1"], ["seam-1", "seam-2"], ["seam-2"]
    ]  # fmt: skip
    assert ["arch-left" in each for each in ends] == [True, False, False]
    assert ["lamp-right" in each for each in ends] == [False, False, True]
    assert all("top" in each for each in ends)


def test_a_bumper_set_out_whole_is_divided_later_and_keeps_its_first_piece(day):
    day.set_out("bumper-front")
    first = models.Fitting.objects.get()
    rows = setout.set_out(
        job=day.job,
        panel="bumper-front",
        pieces=[{"piece": 1}, {"piece": 2, "roll": day.roll}],
        by=SignedIn(day.petra),
        now=day.now,
    )
    assert rows[0].pk == first.pk
    ends = {edge.code: edge.finish for edge in rows[0].edges.all()}
    assert (ends["seam-1"], ends["arch-right"], ends["arch-left"]) == ("seam", "open", "wrapped")


def test_a_stripe_over_film_is_a_film_of_its_own(day):
    day.set_out("hood")
    day.set_out("stripe-1")
    row = models.Fitting.objects.get(panel__code="stripe-1")
    assert (row.cover, row.cut, row.place) == ("stripe", "pre_cut", "stripe-1.1")
    assert {edge.code: edge.finish for edge in row.edges.all()} == {
        "top": "short", "end": "tucked", "bottom": "short", "start": "tucked"
    }  # fmt: skip
    assert "tack.datum" in {line.key for line in Floor(day.job).piece("stripe-1.1").stages["tack"].lines}
    # what it takes is not known before it is measured
    assert uses_of([day.roll])[day.roll.pk].planned_mm == 1400
    film.cut_film(
        job=day.job, panel="stripe-1", roll=day.roll, length_mm=2100, by=SignedIn(day.petra), now=day.now
    )
    assert uses_of([day.roll])[day.roll.pk].left_mm == 12_900
    assert codes(day, "stripe-0") == {"not_asked"}


def test_a_stripe_goes_through_the_floor_to_laid(day):
    day.set_out("stripe-2")
    day.finish("wash", "decontaminate", "degrease", "primer")
    day.sign("ready")
    day.lay("stripe-2.1")
    assert not models.Cut.objects.exists()


def test_a_refused_stripe_leaves_no_panel_behind(day):
    models.Lot.objects.update(quarantined_at=day.now, quarantine_reason="specks")
    assert codes(day, "stripe-1") == {"lot_quarantined"}
    assert not models.Panel.objects.filter(kind="stripe").exists()
