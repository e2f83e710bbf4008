"""Facts of a claim are read from the record, each with the entries it stands on; none is typed."""

from datetime import date, timedelta

import pytest

from shop import models
from shop.claims.account import account_of
from shop.claims.facts import film_facts
from shop.claims.judging import judge
from shop.claims.record import FilmRecord
from shop.people.identity import SignedIn
from shop.record.actions import body_of
from shop.warranty import actions as warranty
from shop.work import actions as floor_acts
from tests import make
from tests.claims.test_claims import TOLD, page, photo, report
from tests.kept import kept
from tests.make_covered import Covered, noon
from tests.work.day import Day

pytestmark = pytest.mark.django_db


def account(claim, now=None):
    claim = page(claim)
    return account_of(claim, judge(claim, now=now or noon(TOLD)))


def by_key(facts):
    return {fact.key: fact for fact in facts}


def filmed():
    """A mirror cap filmed whole, from the wash to the release."""
    day = kept(Day)
    day.set_out("mirror-left")
    day.finish("wash", "decontaminate", "degrease", "primer")
    day.sign("ready")
    day.lay("mirror-left.1")
    day.pass_time(hours=1)
    day.finish("cure", but="cure.edge_round")
    day.pass_time(hours=25)
    day.finish("cure")
    day.sign("released")
    return day


@pytest.fixture
def day():
    return kept(filmed)


def facts(day, edge="foot"):
    return by_key(film_facts(FilmRecord(models.Fitting.objects.latest("pk"), edge)))


def outcome(key, edge="foot"):
    on = models.OutcomeOn.objects.filter(key=key, edge__code=edge, replaced_by__isnull=True)
    return on.select_related("outcome__entry", "outcome__person").get().outcome


def said(moment):
    there = moment + timedelta(hours=1)  # Madrid in March
    return f"{there.day} {there:%B %Y}, {there:%H:%M}"


def test_who_wiped_this_edge_and_when_with_the_entry(day):
    wiped, wipe = facts(day)["Wiped"], outcome("degrease.wipe")
    assert wiped.value == f"Ines, {said(wipe.at)}."
    (source,) = wiped.sources
    assert (source.job, source.number, source.verb) == ("26-0001", wipe.entry.number, "answer")
    assert body_of(wipe.entry)["line"] == "degrease.wipe"


def test_wipe_to_water_is_the_time_from_the_last_wipe_of_the_panel(day):
    flooding = models.Outcome.objects.get(key="tack.flooding")
    last_wipe = models.Outcome.objects.get(key="tack.last_wipe")
    between = int((flooding.at - last_wipe.at).total_seconds())
    fact = facts(day)["Wipe to water"]
    assert fact.value == f"{between} s; the limit is 30 min." and not fact.odd
    assert fact.sources[0].number == flooding.entry.number


def test_air_is_said_with_its_margin_and_judged_by_the_limits(day):
    reading = models.Outcome.objects.get(key="degrease.climate")
    assert reading.value == {"air_c100": 2140, "humidity_rh10": 500, "panel_c100": 2000}
    fact = facts(day)["Air"]
    # Dew point of 21.4 °C at 50 % is 10.5 °C (Magnus), so the panel at 20.0 °C stands 9.5 °C above it.
    assert fact.value.startswith("air 21.4 °C, humidity 50 %, panel 20 °C, 9.5 °C above dew point; Ines,")
    assert not fact.odd


def test_cold_air_is_odd():
    day = kept(Day)
    day.set_out("mirror-left")
    day.finish("wash", "decontaminate")
    day.finish("degrease", air_c100=900, panel_c100=1200)
    fact = facts(day)["Air"]
    assert "air 9 °C" in fact.value and fact.odd


def test_who_looked_it_over_and_whether_that_was_a_second_person(day):
    fact = facts(day)["Looked over"]
    assert fact.value == f"Marek, {said(outcome('cure.edge_round').at)}, a second person." and not fact.odd
    models.FittingPerson.objects.create(fitting=models.Fitting.objects.get(), person=day.marek)
    fact = facts(day)["Looked over"]
    assert fact.value.endswith("who worked on it too.") and fact.odd


def test_film_lots_and_signatures_are_named(day):
    found = facts(day)
    assert found["Film"].value.startswith("Harbour teal, lot L-2209, roll R-1; received 10 January 2026")
    assert found["Slip and tack"].value.startswith("slip lot S-1, tack lot T-1; Ines,")
    signed = models.Signing.objects.get(meaning="released")
    assert found["Released"].value == f"Marek, {said(signed.at)}."
    assert found["Released"].sources[0].number == signed.entry.number
    assert {"Ready for film", "Laid and sealed"} <= set(found)


def test_an_expired_roll_is_odd(day):
    models.Roll.objects.update(expires_on=date(2026, 1, 31))
    assert facts(day)["Film"].odd


def test_the_return_measured_stands_before_the_one_set_out():
    day = kept(Day)
    day.set_out("mirror-left")
    day.correct("mirror-left", edges=[{"code": "foot", "finish": "wrapped", "return_mm": 8}])
    day.finish("wash", "decontaminate", "degrease", "primer")
    day.sign("ready")
    assert facts(day)["Edge"].value == "wrapped, return 8 mm as set out; least asked is 6 mm."
    day.finish("tack", card="before")
    day.finish("tack", card="after")
    measured = day.read("seal.return_depth", "mirror-left.1", edges=["foot"], return_mm=5)
    fact = facts(day)["Edge"]
    assert fact.value == "wrapped, return 5 mm measured; least asked is 6 mm." and fact.odd
    assert fact.sources[0].number == measured.entry.number


def test_a_shallow_return_is_odd():
    covered = Covered()
    models.FittingEdge.objects.filter(code="arch").update(return_mm=4)
    fact = by_key(account(report(covered)).work)["Edge"]
    assert fact.value == "wrapped, return 4 mm as set out; least asked is 6 mm." and fact.odd


def test_where_primer_was_named_its_lot_and_hand_are_said():
    covered = Covered()
    corner = models.FittingEdge.objects.filter(fitting=covered.film(), primer=True).first()
    claim = report(covered, panel="hood.1", edge=corner.code, symptom="lifted_corner")
    found = by_key(account(claim).work)
    assert found["Primed"].value.startswith("Ines Vidal, 2 March 2026")
    plain = by_key(account(report(covered, panel="hood.1", edge="front")).work)
    assert plain["Primer"].value == "none named on this edge."


def test_defects_of_then_at_this_edge_are_told(day):
    defect = models.Defect.objects.create(
        fitting=models.Fitting.objects.get(),
        edge=models.FittingEdge.objects.get(code="foot"),
        kind="lifted_edge",
        found_at="steam",
        raised_by=day.jonas,
        raised_at=make.NOW,
    )
    assert facts(day)["Found then"].value == "lifted edge, 2 March 2026, Jonas; open."
    other = models.FittingEdge.objects.exclude(code="foot").first()
    assert "Found then" not in facts(day, other.code)
    models.Defect.objects.filter(pk=defect.pk).update(
        closed_at=day.now, closed_by=day.jonas, disposition="put_right"
    )
    assert facts(day)["Found then"].value.endswith("settled.")


def test_film_that_is_off_the_car_is_read_like_film_that_is_on(day):
    old = models.Fitting.objects.get()
    before = film_facts(FilmRecord(old, "foot"))
    floor_acts.film_again(
        job=day.job, panel="mirror-left.1", from_stage="seal", by=SignedIn(day.petra), now=day.tick_clock()
    )
    assert film_facts(FilmRecord(old, "foot")) == before


def test_a_whole_panel_tells_of_all_its_edges(day):
    found = facts(day, "")
    wipes = models.OutcomeOn.objects.filter(key="degrease.wipe").values_list(
        "outcome__entry__number", flat=True
    )
    assert {source.number for source in found["Wiped"].sources} == set(wipes)
    assert "Edge" not in found and found["Primer"].value == "none named on this panel."


def test_every_source_is_an_entry_of_that_jobs_book():
    covered = Covered(with_photos=True)
    found = account(report(covered))
    sources = [source for fact in found.work for source in fact.sources]
    assert len(sources) > 8
    for source in sources:
        entry = models.Entry.objects.get(book__job__number=source.job, number=source.number)
        assert (entry.verb, entry.happened_at) == (source.verb, source.at)


def test_photos_then_are_those_of_this_edge():
    covered = Covered(with_photos=True)
    shown = account(report(covered)).then
    proven = models.OutcomePhoto.objects.filter(
        checklist__fitting=covered.film("fender-left.1"), edge__code="arch"
    )
    assert {one.photo for one in shown} == {proof.photo for proof in proven} and shown
    assert {one.what for one in shown} == {"cure"} and {one.who for one in shown} == {"Marek Dudek"}


# ------------------------------------------------------------------ around it


def test_noticed_and_told_are_two_rows_with_the_entry_of_the_report():
    claim = report(Covered())
    found = by_key(account(claim).reported)
    assert found["Noticed"].value == "16 November 2026, 8 months after hand-over."
    assert found["Told"].value == "18 November 2026, by phone, taken down by Dora Lind."
    assert found["Noticed"].sources[0].number == claim.entry.number


def test_cover_says_for_each_promise_whether_it_was_in_force():
    found = by_key(account(report(Covered())).reported)
    assert found["Free touch-up"].value == "not in force; its last day is 2 April 2026."
    assert found["Cover for our work"].value == "in force to 3 March 2027. It answers for this."
    assert found["Cover for the film"].value == "in force to 3 March 2031."


def lift_elsewhere(covered, **more):
    """Another car of the same lot, with a lift of its own."""
    other = make.vehicle(covered.shop, vin="ZZZPP41L7TR041721", plate="QS 77 XY")
    job = make.job(covered.shop, car=other, number="26-0002", plan=covered.job.plan, body=covered.job.body)
    panel = models.Panel.objects.create(vehicle=other, code="hood", kind="hood", material="metal")
    film = covered.film()
    values = {name: getattr(film, name) for name in ("cut", "cover", "sheet", "features", "material")}
    models.Fitting.objects.create(
        job=job, panel=panel, roll=film.roll, set_out_at=make.NOW, **(values | more)
    )
    return report(covered, vehicle=other, panel="hood.1", edge="")


def test_the_lots_other_cars_are_counted_and_those_with_faults_named_first():
    covered = Covered()
    claim = report(covered)
    assert by_key(account(claim).around)["Lot"].value == "L-2209: one car, two panels, one fault on one car."
    lift_elsewhere(covered)
    found = account(claim)
    lot = by_key(found.around)["Lot"]
    assert lot.value == "L-2209: two cars, three panels, two faults on two cars." and lot.odd
    assert [(car.name, car.wrong) for car in found.cars] == [
        ("QS 12 ABC", ("Left fender, wheel arch: edge lifts",)),
        ("QS 77 XY", ("Hood: edge lifts",)),
    ]


def test_film_that_was_never_laid_is_no_car_of_the_lot():
    covered = Covered()
    other = lift_elsewhere(covered)
    models.Claim.objects.filter(pk=other.pk).update(fitting=None)
    models.Fitting.objects.filter(job__number="26-0002").update(ended_at=noon(TOLD), ended_as="called_off")
    assert by_key(account(report(covered)).around)["Lot"].value.startswith("L-2209: one car")


def test_what_a_recheck_found_counts_as_a_fault_of_the_lot():
    covered = Covered()
    warranty.record_recheck(
        certificate=covered.certificate,
        key="first_recheck",
        on=date(2026, 3, 12),
        findings=[{"panel": "hood.1", "edge": "front", "kind": "lifted_edge"}],
        by=covered.desk,
        now=noon(TOLD),
    )
    found = account(report(covered))
    assert by_key(found.around)["Lot"].value == "L-2209: one car, two panels, two faults on one car."
    assert "Hood, front edge: edge lifts" in found.cars[0].wrong


PAIR = (("fender-left", 1), ("fender-right", 1))


def look_at_right(covered, kind):
    warranty.record_recheck(
        certificate=covered.certificate,
        key="first_recheck",
        on=date(2026, 3, 12),
        findings=[{"panel": "fender-right.1", "edge": "arch", "kind": kind}],
        by=covered.desk,
        now=noon(TOLD),
    )


def test_the_other_side_is_told_when_somebody_looked_at_it():
    covered = Covered(panels=PAIR)
    claim = report(covered)
    assert by_key(account(claim).around)["Pattern"].value == (
        "one spot; nothing else is reported on this car."
    )
    look_at_right(covered, "sound")
    pattern = by_key(account(claim).around)["Pattern"]
    assert pattern.value == "one spot; right fender was sound when last looked at." and not pattern.odd


def test_both_sides_alike_is_odd():
    covered = Covered(panels=PAIR)
    claim = report(covered)
    look_at_right(covered, "lifted_edge")
    pattern = by_key(account(claim).around)["Pattern"]
    assert pattern.value == "one spot; right fender is wrong too: edge lifts." and pattern.odd
    report(covered, panel="fender-right.1")
    assert "both sides alike" in by_key(account(claim).around)["Pattern"].value


def test_several_places_on_one_car_are_named():
    covered = Covered()
    claim = report(covered)
    report(covered, panel="hood.1", edge="front", symptom="shrink_back")
    pattern = by_key(account(claim).around)["Pattern"]
    assert pattern.value == "one other place reported. Hood, front edge: film has crept back." and pattern.odd


def test_a_paper_without_film_tells_what_it_can():
    covered = Covered()
    claim = report(covered)
    models.Claim.objects.filter(pk=claim.pk).update(fitting=None, edge=None)
    found = account(claim)
    assert found.work == [] and found.then == [] and found.cars == []
    assert {"Noticed", "Told", "Cover for our work"} <= set(by_key(found.reported))


def test_the_account_asks_no_more_for_many_photos_and_cars(django_assert_max_num_queries):
    covered = Covered(with_photos=True)
    claim = page(report(covered, photos=[photo(covered)]))
    lift_elsewhere(covered)
    judged = judge(claim, now=noon(TOLD))
    with django_assert_max_num_queries(45):
        account_of(claim, judged)
