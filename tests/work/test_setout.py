"""Set-out: defaults, corrections, and what it refuses."""

from datetime import date, timedelta

import pytest

from shop.intake.actions import accept_paint, note_paint, strike_paint, take_in
from shop.models import Checklist, Entry, Fitting, FittingEdge, Outcome, OutcomeOn, Roll
from shop.people.identity import Claimed, Proven, SignedIn
from shop.reasons import Refused
from shop.record.actions import body_of, write
from shop.work import told
from shop.work.actions import waive
from shop.work.floor import Floor
from shop.work.setout import mirror_set_out, set_out, set_out_many, take_off_set_out
from tests import make
from tests.make import NOW, VIN

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    shop = make.workshop()
    make.document(shop, "plan", "plans/builtin.toml")
    make.document(shop, "body", "bodies/sedan.toml")
    make.document(shop, "roles", "roles.toml")
    make.document(shop, "film", "films/defaults.toml")
    return shop


@pytest.fixture
def dora(shop):
    return SignedIn(make.person(shop, "Dora", "desk"))


@pytest.fixture
def ines(shop):
    return make.person(shop, "Ines", "installer")


@pytest.fixture
def job(shop, dora):
    return take_in(workshop=shop, name="Ana Berg", vin=VIN, model="Sedan", colour="grey", by=dora, now=NOW)


def codes(caught):
    return [reason.code for reason in caught.value.reasons]


def edge(fitting, code):
    return FittingEdge.objects.get(fitting=fitting, code=code)


def answer(job, fitting, key, by, code=""):
    entry = write(workshop=job.workshop, job=job, verb="answer", body={}, by=by, now=NOW)
    outcome = Outcome.objects.create(entry=entry, person=by.person, key=key, answer="done", at=NOW)
    checklist = fitting.checklists.get(stage=key.split(".")[0])
    OutcomeOn.objects.create(
        outcome=outcome, checklist=checklist, key=key, edge=edge(fitting, code) if code else None
    )


def test_a_panel_starts_from_body_document_and_film_sheet(job, dora):
    [hood] = set_out(job=job, panel="hood", pieces=[{}], by=dora, now=NOW)
    assert (hood.place, hood.cut, hood.cover, hood.material) == ("hood.1", "bulk", "full", "metal")
    assert "large" in hood.features
    assert hood.roll is None
    assert (edge(hood, "front").finish, edge(hood, "front").return_mm) == ("wrapped", 8)
    assert edge(hood, "cowl").finish == "flush"
    assert edge(hood, "front-left").primer
    assert edge(hood, "front-left").edge.code == "front-left"
    stages = list(Checklist.objects.filter(fitting=hood).values_list("stage", "round"))
    assert sorted(stages) == sorted(
        (stage, 1)
        for stage in ("wash", "decontaminate", "degrease", "primer", "tack", "seal", "steam", "cure")
    )


def test_primer_is_named_only_where_the_sheet_says(job, dora):
    [door] = set_out(job=job, panel="door-front-left", pieces=[{}], by=dora, now=NOW)
    assert not door.edges.filter(primer=True).exists()


def test_what_is_asked_stands_over_the_defaults(job, dora, ines, shop):
    roll = make.roll(shop)
    [hood] = set_out(
        job=job,
        panel="hood",
        pieces=[
            {
                "piece": 1,
                "roll": roll.pk,
                "cut": "pre_cut",
                "people": [ines.pk],
                "features": ["horizontal", "opens"],
                "edges": [
                    {"code": "cowl", "finish": "wrapped", "return_mm": 12},
                    {"code": "front", "finish": "short"},
                    {"code": "cowl-left", "primer": False},
                ],
            }
        ],
        by=dora,
        now=NOW,
    )
    assert (hood.roll, hood.cut) == (roll, "pre_cut")
    assert hood.features == ["opens", "horizontal"]
    assert [named.person for named in hood.people.all()] == [ines]
    assert (edge(hood, "cowl").finish, edge(hood, "cowl").return_mm) == ("wrapped", 12)
    assert (edge(hood, "front").finish, edge(hood, "front").return_mm) == ("short", None)
    assert not edge(hood, "cowl-left").primer
    assert edge(hood, "left").return_mm == 8


def test_a_correction_tells_what_changed_from_what_to_what(job, dora, shop):
    first = make.roll(shop)
    second = make.roll(shop, code="R-2")
    [hood] = set_out(job=job, panel="hood", pieces=[{"roll": first.pk}], by=dora, now=NOW)
    piece = {"roll": second.pk, "edges": [{"code": "cowl", "finish": "wrapped", "return_mm": 9}]}
    [again] = set_out(job=job, panel="hood", pieces=[piece], by=dora, now=NOW)
    assert again.pk == hood.pk
    assert Fitting.objects.count() == 1
    [said] = body_of(Entry.objects.filter(verb="set_out").latest("pk"))["pieces"]
    assert said["changed"]["roll"]["from"]["code"] == "R-1"
    assert said["changed"]["roll"]["to"]["code"] == "R-2"
    assert set(said["changed"]) == {"roll"}
    assert said["edges"] == {
        "cowl": {
            "from": {"kind": "edge", "finish": "flush", "return_mm": None, "primer": False},
            "to": {"kind": "edge", "finish": "wrapped", "return_mm": 9, "primer": False},
        }
    }


def test_an_edge_that_is_asked_no_more_is_open_not_gone(job, dora, ines):
    whole = [{"piece": 1}]
    [bumper] = set_out(job=job, panel="bumper-front", pieces=whole, by=dora, now=NOW)
    first = bumper.edges.first()
    answer(job, bumper, "degrease.wipe", Claimed(ines), first.code)
    others = [row.code for row in bumper.edges.all() if row.code != first.code]
    two = [
        {"piece": 1, "edges": [{"code": code} for code in others] + [{"code": "seam-1"}]},
        {"piece": 2, "edges": [{"code": first.code, "finish": "flush"}, {"code": "seam-1"}]},
    ]
    one, other = set_out(job=job, panel="bumper-front", pieces=two, by=dora, now=NOW)
    assert one.pk == bumper.pk
    assert edge(one, first.code).finish == "open"
    assert OutcomeOn.objects.filter(edge=edge(one, first.code)).exists()
    assert (edge(one, "seam-1").kind, edge(one, "seam-1").finish) == ("seam", "seam")
    assert edge(one, "seam-1").edge == edge(other, "seam-1").edge
    assert [row.code for row in other.edges.exclude(finish="open")] == [first.code, "seam-1"]


def test_everything_wrong_is_said_at_once_and_nothing_is_written(job, dora, shop):
    old = make.roll(shop, code="OLD", expires_on=date(2026, 3, 1))
    piece = {
        "roll": old.pk,
        "cut": "torn",
        "people": [999_999],
        "edges": [{"code": "front", "finish": "glued"}, {"code": "nowhere"}],
    }
    with pytest.raises(Refused) as caught:
        set_out(job=job, panel="hood", pieces=[piece], by=dora, now=NOW)
    assert sorted(codes(caught)) == ["not_asked", "roll_expired", *["value_wrong"] * 3]
    assert not Fitting.objects.exists()
    assert not Entry.objects.filter(verb="set_out").exists()


def test_the_last_good_day_of_a_roll_is_good(job, dora, shop):
    roll = make.roll(shop, expires_on=NOW.date())
    [hood] = set_out(job=job, panel="hood", pieces=[{"roll": roll.pk}], by=dora, now=NOW)
    assert hood.roll == roll


def test_a_lot_in_quarantine_is_refused_but_a_correction_beside_it_is_not(job, dora, shop):
    roll = make.roll(shop)
    set_out(job=job, panel="hood", pieces=[{"roll": roll.pk}], by=dora, now=NOW)
    roll.lot.quarantined_at = NOW
    roll.lot.save()
    [hood] = set_out(job=job, panel="hood", pieces=[{"cut": "pre_cut"}], by=dora, now=NOW)
    assert hood.roll == roll
    with pytest.raises(Refused) as caught:
        set_out(job=job, panel="roof", pieces=[{"roll": roll.pk}], by=dora, now=NOW)
    assert codes(caught) == ["lot_quarantined"]


def test_one_car_stays_with_one_lot_unless_the_owner_lets_it_pass(job, dora, shop):
    first, second = make.roll(shop), make.roll(shop, lot="L-3001", code="R-9")
    set_out(job=job, panel="hood", pieces=[{"roll": first.pk}], by=dora, now=NOW)
    with pytest.raises(Refused) as caught:
        set_out(job=job, panel="roof", pieces=[{"roll": second.pk}], by=dora, now=NOW)
    assert codes(caught) == ["lots_mixed"]
    assert "L-2209, L-3001" in caught.value.reasons[0].text
    petra = make.person(shop, "Petra", "owner")
    waive(job=job, code="lots_mixed", why="Shown side by side, same shade", by=Proven(petra, "pin"), now=NOW)
    [roof] = set_out(job=job, panel="roof", pieces=[{"roll": second.pk}], by=dora, now=NOW)
    assert roof.roll == second


def test_changing_every_piece_of_a_lot_at_once_mixes_nothing(job, dora, shop):
    first, second = make.roll(shop), make.roll(shop, lot="L-3001", code="R-9")
    panels = ["hood", "roof"]
    set_out_many(job=job, panels=panels, roll=first.pk, by=dora, now=NOW)
    rows = set_out_many(job=job, panels=panels, roll=second.pk, by=dora, now=NOW)
    assert {row.roll for row in rows} == {second}


def test_the_same_for_several_panels_keeps_what_each_has_of_its_own(job, dora, ines):
    set_out(
        job=job,
        panel="hood",
        pieces=[{"edges": [{"code": "cowl", "finish": "short"}]}],
        by=dora,
        now=NOW,
    )
    rows = set_out_many(
        job=job, panels=["hood", "roof", "mirror-left"], people=[ines.pk], cover="accent", by=dora, now=NOW
    )
    assert [row.cover for row in rows] == ["accent"] * 3
    hood = next(row for row in rows if row.panel.code == "hood")
    assert edge(hood, "cowl").finish == "short"
    assert Entry.objects.filter(verb="set_out").count() == 2


def test_left_is_mirrored_to_the_right(job, dora):
    piece = {"cut": "pre_cut", "edges": [{"code": "bottom", "finish": "wrapped", "return_mm": 11}]}
    set_out(job=job, panel="door-front-left", pieces=[piece], by=dora, now=NOW)
    [right] = mirror_set_out(job=job, panel="door-front-left", by=dora, now=NOW)
    assert right.panel.code == "door-front-right"
    assert right.cut == "pre_cut"
    assert edge(right, "bottom").return_mm == 11
    with pytest.raises(Refused) as caught:
        mirror_set_out(job=job, panel="roof", by=dora, now=NOW)
    assert codes(caught) == ["not_asked"]


def test_a_panel_comes_off_only_while_nothing_of_it_is_answered(job, dora, ines):
    [hood] = set_out(job=job, panel="hood", pieces=[{}], by=dora, now=NOW)
    answer(job, hood, "wash.bay_ready", Claimed(ines))
    take_off_set_out(job=job, panel="hood", by=dora, now=NOW)
    assert not Fitting.objects.live().exists()
    [hood] = set_out(job=job, panel="hood", pieces=[{}], by=dora, now=NOW)
    answer(job, hood, "degrease.wipe", Claimed(ines), "front")
    with pytest.raises(Refused) as caught:
        take_off_set_out(job=job, panel="hood", by=dora, now=NOW)
    assert codes(caught) == ["work_began"]


def test_a_wrapped_edge_needs_a_depth(job, dora):
    piece = {"edges": [{"code": "front", "finish": "wrapped", "return_mm": None}]}
    with pytest.raises(Refused) as caught:
        set_out(job=job, panel="hood", pieces=[piece], by=dora, now=NOW)
    assert codes(caught) == ["field_missing"]


def test_film_of_an_earlier_job_is_not_filmed_over(job, dora, shop):
    set_out(job=job, panel="hood", pieces=[{}], by=dora, now=NOW)
    later = make.job(
        shop, car=job.vehicle, number="26-0002", plan=job.plan, body=job.body, customer=job.customer
    )
    with pytest.raises(Refused) as caught:
        set_out(job=later, panel="hood", pieces=[{}], by=dora, now=NOW + timedelta(days=400))
    assert codes(caught) == ["film_there"]


def test_rolls_people_and_desks_of_another_workshop_are_strangers(job, dora):
    other = make.workshop(name="Mill Lane Films")
    roll = make.roll(other)
    otto = make.person(other, "Otto", "installer", "desk")
    with pytest.raises(Refused) as caught:
        set_out(job=job, panel="hood", pieces=[{"roll": roll.pk, "people": [otto.pk]}], by=dora, now=NOW)
    assert codes(caught) == ["lot_missing", "value_wrong"]
    with pytest.raises(Refused) as caught:
        set_out(job=job, panel="hood", pieces=[{}], by=SignedIn(otto), now=NOW)
    assert codes(caught) == ["other_workshop"]
    assert Roll.objects.get(pk=roll.pk) == roll


def test_a_name_picked_on_a_tablet_is_not_enough(job, shop):
    petra = make.person(shop, "Petra", "owner")
    with pytest.raises(Refused) as caught:
        set_out(job=job, panel="hood", pieces=[{}], by=Claimed(petra), now=NOW)
    assert codes(caught) == ["not_allowed"]


@pytest.mark.parametrize(
    "pieces",
    [
        [],
        [{"piece": 0}],
        [{"piece": 7}],
        [{"piece": "1"}],
        [{"piece": True}],
        [{"piece": 1}, {"piece": 1}],
        [{"edges": "front"}],
        [{"edges": [{"finish": "flush"}]}],
        [{"people": "Ines"}],
        [{"people": ["Ines"]}],
        [{"features": ["wings"]}],
        [{"sheet": "defaults"}],
        [{"edges": [{"code": "front", "finish": "wrapped", "return_mm": 8000}]}],
        [{"edges": [{"code": "front", "finish": "seam"}]}],
        [{"edges": [{"code": "seam-1", "finish": "flush"}]}],
    ],
)
def test_nonsense_is_a_sentence_and_writes_nothing(job, dora, pieces):
    with pytest.raises(Refused) as caught:
        set_out(job=job, panel="hood", pieces=pieces, by=dora, now=NOW)
    assert all(reason.text.endswith(".") for reason in caught.value.reasons)
    assert not Fitting.objects.exists()


def test_doubtful_paint_holds_the_piece_until_it_is_accepted_or_was_a_mistake(job, dora):
    set_out(job=job, panel="hood", pieces=[{}], by=dora, now=NOW)

    def concern():
        return told.paint_concern(Floor(job).piece("hood.1"))

    assert concern() == ""
    note = note_paint(job=job, panel="hood", kind="suspect", by=dora, now=NOW)
    assert "suspect paint" in concern()
    strike_paint(paint_note=note, why="Wrong panel", by=dora, now=NOW)
    assert concern() == ""
    note_paint(job=job, panel="hood", kind="fresh", by=dora, now=NOW)
    assert "fresh paint" in concern()
    accept_paint(job=job, panel="hood", strokes=[[[0, 0], [500, 500]]], by=dora, now=NOW)
    assert concern() == ""
    note_paint(job=job, panel="hood", kind="fresh", by=dora, now=NOW + timedelta(minutes=1))
    assert "fresh paint" in concern()
