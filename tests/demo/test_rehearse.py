"""A rehearsal does what its lines say, through the same verbs as the screens."""

import base64
import inspect

import pytest

from shop import clock, models
from shop.demo.given import rows_of
from shop.demo.script import Unfit, read_script
from shop.demo.verbs import VERBS
from shop.documents import built_in
from tests import make
from tests.demo.practice import DAY, car_lines, line, rehearse, shop_of_people

pytestmark = pytest.mark.django_db


@pytest.fixture
def here():
    return shop_of_people()


def codes(answers):
    return [answer["reasons"] for answer in answers]


# ------------------------------------------------------------------ the list of verbs


def test_the_verbs_of_every_room_are_there():
    for name in ("set_up", "receive_roll", "take_in", "set_out", "answer", "film_again", "sign_released", "issue",
                 "correct_certificate", "withdraw"):  # fmt: skip
        assert VERBS[name].act.__name__ in (name, "correct")
    assert not {"sign", "write", "promise_photo", "note_gap", "once"} & set(VERBS)


def test_each_verb_has_a_rule_in_the_roles_document():
    rules = built_in.roles()["verbs"]
    assert [verb.name for verb in VERBS.values() if verb.rule not in rules] == []


def test_every_kind_of_row_can_be_found():
    kinds = {kind for verb in VERBS.values() for arg in verb.args() for kind in (arg.type, arg.of) if kind}
    plain = {"int", "str", "bool", "date", "moment", "list", "table", "strokes", "photo"}
    assert [kind for kind in kinds - plain if rows_of(kind) is None] == []


def test_arguments_are_those_of_the_function():
    for verb in VERBS.values():
        takes = inspect.signature(verb.act).parameters
        for arg in verb.args():
            assert arg.name in takes or "same" in takes, f"{verb.name}: {arg.name}"
            if arg.required:
                assert takes[arg.name].default is inspect.Parameter.empty


def test_types_are_named_for_whoever_writes_a_rehearsal():
    args = {(verb.name, arg.name): (arg.type, arg.of) for verb in VERBS.values() for arg in verb.args()}
    assert args["take_in", "odometer_km"] == ("int", "")
    assert args["take_in", "promised_at"] == ("moment", "")
    assert args["receive_roll", "received_on"] == ("date", "")
    assert args["receive_roll", "directional"] == ("bool", "")
    assert args["answer", "job"] == ("job", "")
    assert args["answer", "lot"] == ("lot", "")
    assert args["put_right", "photos"] == ("list", "photo")
    assert args["set_out_many", "people"] == ("list", "person")
    assert args["strike_paint", "paint_note"] == ("paint_note", "")


def test_identity_is_what_the_roles_say():
    asked = {verb.name: verb.identity() for verb in VERBS.values()}
    assert (asked["set_up"], asked["answer"], asked["take_in"], asked["issue"]) == (
        "none", "claimed", "signed_in", "proven",
    )  # fmt: skip


# ------------------------------------------------------------------ what a file may say


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("{", "Line 1 is not JSON"),
        ("[]", "Line 1 is not a table"),
        (line("fly"), "Line 1: there is no verb 'fly'"),
        ('{"verb": ["a"], "at": "2026-03-02T09:00:00Z"}', "Line 1: there is no verb"),
        (line("answer", 1, at="2026-03-02T09:00:00"), "Line 1: at needs its offset"),
        (line("answer", 1, at="someT time"), "Line 1: at is not a time"),
        (line("answer", 1, colour="red"), "Line 1: answer does not take colour. It takes job, key"),
        (line("answer", 1, job="$j1.id"), "Line 1: no earlier line is called j1"),
        ('{"at": "2026-03-02T09:00:00Z", "verb": "answer", "who": 1}', "Line 1: who is not a part of a line"),
        ('{"at": "2026-03-02T09:00:00Z", "verb": "answer", "args": 3}', "Line 1: args is not a table"),
    ],
)
def test_a_file_that_cannot_be_read_says_which_line(text, sentence):
    with pytest.raises(Unfit) as fault:
        read_script([text])
    assert str(fault.value).startswith(sentence)


def test_time_never_goes_back():
    with pytest.raises(Unfit, match="Line 3: time goes back"):
        read_script([line("answer", 1, at="09:00:00"), "", line("answer", 1, at="08:59:59")])
    read_script([line("answer", 1, at="09:00:00"), line("answer", 1, at=f"{DAY}T08:30:00+00:00")])


# ------------------------------------------------------------------ acts


def test_an_act_is_done_at_its_time(here):
    (answer,) = rehearse(*car_lines(here["dora"]))
    job = models.Job.objects.get()
    assert answer == {
        "n": 1,
        "ok": True,
        "reasons": [],
        "ids": {
            "id": job.pk,
            "job": job.pk,
            "number": "26-0001",
            "vehicle": job.vehicle_id,
            "customer": job.customer_id,
        },
        "texts": [],
    }
    assert job.arrived_at.isoformat() == "2026-03-02T08:00:00+00:00"
    assert clock._fixed is None


def test_later_lines_name_what_earlier_ones_made(here):
    answers = rehearse(
        *car_lines(here["dora"]),
        line("receive_roll", here["dora"], name="Teal", finish="gloss", lot="L-1", roll="R-1", width_mm="1520",
             length_mm=15000, expires_on="2027-01-01", as_="roll"),
        line("set_out", here["dora"], job="$car.number", panel="hood", roll="$roll.code", people=["$ines", "$jonas.id"])
        .replace("$ines", "Ines").replace("$jonas.id", "Jonas"),
        line("set_out_many", here["dora"], job="$car", panels=["roof"], roll="$roll.id", people=[here["ines"].pk]),
        line("set_out", here["dora"], job="$car.id", panel="trunk-lid", pieces=[{"piece": 1, "roll": "$roll.id"}],
             as_="lid"),
    )  # fmt: skip
    assert codes(answers) == [[]] * 5
    hood = models.Fitting.objects.get(panel__code="hood")
    assert hood.roll.code == "R-1" and hood.people.count() == 2
    assert answers[4]["ids"]["place"] == "trunk-lid.1"


def test_what_a_refused_line_would_have_made_is_missed_by_later_ones(here):
    answers = rehearse(
        line("take_in", here["dora"], vin="ZZZ", as_="car"),
        line("set_out", here["dora"], job="$car.id", panel="hood"),
        *car_lines(here["dora"]),
    )
    assert set(answers[0]["reasons"]) == {"field_missing", "vin_length"}
    assert codes(answers)[1:] == [["field_missing"], []]


def test_a_refusal_writes_nothing_and_the_next_line_goes_on(here):
    answers = rehearse(
        *car_lines(here["dora"]),
        line("mark_damage", here["ines"], job="$car.id", panel="hood", kind="scratch", x_mil=1, y_mil=1),
        line("mark_damage", here["dora"], job="$car.id", panel="hood", kind="scratch", x_mil=1, y_mil=1),
    )
    assert codes(answers) == [[], ["not_allowed"], []]
    assert models.Mark.objects.count() == 1


# ------------------------------------------------------------------ who acts


def test_a_pin_proves(here):
    late = {"job": "$car.id", "code": "lots_mixed", "why": "the customer chose it"}
    answers = rehearse(
        *car_lines(here["dora"]),
        line("waive", here["petra"], **late),
        line("waive", here["petra"], pin="111222", **late),
        line("waive", here["petra"], pin=make.PIN, **late),
    )
    assert codes(answers) == [[], ["not_allowed"], ["pin_wrong"], []]
    assert models.Entry.objects.get(verb="waive").proven == "pin"


def test_misses_count_and_lock(here):
    wrong = [
        line("waive", here["petra"], pin="111222", at=f"09:00:0{n}", job="$car", code="x")
        for n in range(1, 6)
    ]
    answers = rehearse(
        *car_lines(here["dora"]),
        *wrong,
        line("waive", here["petra"], pin=make.PIN, at="09:00:09", job="$car", code="x"),
    )
    assert codes(answers)[1:] == [["pin_wrong"]] * 5 + [["pin_locked"]]
    assert models.Person.objects.get(pk=here["petra"].pk).misses == 5


def test_a_tablet_claims_and_a_desk_is_signed_in(here):
    tablet = models.Tablet.objects.get()
    answers = rehearse(
        *car_lines(here["dora"]),
        line("note", here["ines"], tablet=tablet.pk, job="$car", text="rain"),
        line(
            "mark_damage",
            here["dora"],
            tablet=tablet.pk,
            job="$car",
            panel="hood",
            kind="dent",
            x_mil=1,
            y_mil=1,
        ),
    )
    assert codes(answers) == [[], [], ["not_allowed"]]
    assert list(models.Entry.objects.filter(book__job__isnull=False).values_list("proven", "tablet")) == [
        ("signed_in", None),
        ("claimed", tablet.pk),
    ]


def test_strangers_leavers_and_revoked_tablets_are_refused_in_sentences(here):
    tablet = models.Tablet.objects.get()
    otto = make.person(make.workshop(name="Elsewhere"), "Otto", "owner", "installer", "desk")
    models.Person.objects.filter(pk=here["jonas"].pk).update(left_at=make.NOW)
    models.Tablet.objects.filter(pk=tablet.pk).update(revoked_at=make.NOW)
    answers = rehearse(
        *car_lines(here["dora"]),
        line("note", otto, job="$car", text="mine now"),
        line("note", 999_999, job="$car", text="who?"),
        line("note", None, job="$car", text="nobody"),
        line("note", here["jonas"], job="$car", text="I have left"),
        line("note", here["ines"], tablet=tablet.pk, job="$car", text="from the lost tablet"),
        line("note", otto, tablet=tablet.pk, job="$car", text="from the lost tablet"),
        line("note", here["ines"], job=999_999, text="no such car"),
        line("set_out", here["dora"], job="$car", panel="hood", roll="R-77"),
        line("put_right", here["ines"], job="$car", defect=5, disposition="put_right"),
        line("revoke_tablet", here["petra"], tablet=77),
        line("correct_certificate", here["dora"], certificate="26-0001", reason="x", pin=make.PIN),
    )
    assert codes(answers)[1:] == [
        ["other_workshop"], ["not_allowed"], ["not_allowed"], ["not_allowed"], ["tablet_revoked"], ["other_workshop"],
        ["other_workshop"], ["lot_missing"], ["superseded"], ["tablet_revoked"], ["other_workshop"],
    ]  # fmt: skip
    assert all(text.endswith(".") for answer in answers for text in answer["texts"])


# ------------------------------------------------------------------ shapes


@pytest.mark.parametrize(
    ("args", "expected"),
    [
        ({"odometer_km": "many"}, "value_wrong"),
        ({"odometer_km": 1.5}, "value_wrong"),
        ({"odometer_km": True}, "value_wrong"),
        ({"promised_at": "tomorrow"}, "value_wrong"),
        ({"plate": ["a"]}, "value_wrong"),
        ({"plate": "A" * 5000}, "value_wrong"),
        ({"odometer_km": 10**400}, "value_wrong"),
        ({"promised_at": "9999-12-31T23:59:59"}, "value_wrong"),
    ],
)
def test_values_of_the_wrong_kind_are_refused_in_a_sentence(here, args, expected):
    (answer,) = rehearse(
        line("take_in", here["dora"], name="Ana", vin=make.VIN, model="sedan", colour="grey", **args)
    )
    assert answer["reasons"] == [expected]
    assert not models.Job.objects.exists()


def test_short_forms_are_taken(here):
    answers = rehearse(
        *car_lines(here["dora"]),
        line("set_out", here["dora"], job="$car", panel="hood", people=[here["ines"].pk, "Jonas"],
             edges={"front": "tucked", "cowl": {"finish": "flush"}}),
        line("answer", here["ines"], job="$car", line="wash.bay_ready", answer="done"),
        line("answer", here["ines"], job="$car", line="wash.washed", answer="done", panel="hood"),
    )  # fmt: skip
    assert codes(answers) == [[], [], [], []], answers
    finishes = {edge.code: edge.finish for edge in models.FittingEdge.objects.all()}
    assert (finishes["front"], finishes["cowl"]) == ("tucked", "flush")


def photo_line(here, photo, **more):
    return line(
        "keep_photo", here["ines"], job="$car", line="wash.hardware_off", panel="hood", photo=photo, **more
    )


@pytest.fixture
def set_out(here):
    return [
        *car_lines(here["dora"]),
        line("set_out", here["dora"], job="$car", panel="hood", people=["Ines"]),
    ]


def test_photos_are_drawn_read_or_decoded(here, set_out, tmp_path):
    from shop.demo.photos import edge_photo

    (tmp_path / "edge.jpg").write_bytes(edge_photo("a file", "a file"))
    (tmp_path / "note.txt").write_text("not a picture at all, only words and words" * 20)
    told = base64.b64encode(edge_photo("told", "told")).decode()
    answers = rehearse(
        *set_out,
        photo_line(here, {"drawn": "hood, before"}, as_="drawn"),
        photo_line(here, "edge.jpg"),
        photo_line(here, {"path": "edge.jpg"}),
        photo_line(here, {"base64": told}),
        photo_line(here, told),
        photo_line(here, "$drawn.id"),
        photo_line(here, {"sha256": "$drawn.sha256"}),
        photo_line(here, {"path": "note.txt"}),
        photo_line(here, "note.txt"),
        photo_line(here, "nowhere.jpg"),
        photo_line(here, 999_999),
        photo_line(here, {"drawn": "who"}).replace('"wash.hardware_off"', '"no.line"'),
        folder=tmp_path,
    )
    assert codes(answers)[2:] == [[]] * 7 + [
        ["photo_unreadable"], ["photo_unreadable"], ["value_wrong"], ["photo_missing"], ["not_asked"],
    ]  # fmt: skip
    assert models.Photo.objects.count() == 3
