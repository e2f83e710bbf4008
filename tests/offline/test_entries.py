"""What a tablet posts is done once, in order, and answered the same however often it is sent."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop import clock
from shop.models import Defect, Entry, Lot, Outcome, OutcomeOn, Photo, Receipt, Tablet, Upload
from shop.people.identity import Proven
from tests import make
from tests.offline.conftest import job_for
from tests.photos import pictures

pytestmark = pytest.mark.urls("tests.offline.addresses")
CLIMATE = {"air_c100": 2140, "humidity_rh10": 520, "panel_c100": 1980}


def codes(result):
    return [reason["code"] for reason in result["reasons"]]


def first_defect(talk):
    return talk.job.plan.body["defects"][0]["code"]


def prepare(talk):
    """Wash and decontaminate answered, so that edges may be degreased."""
    from shop.work.floor import Floor

    for stage in ("wash", "decontaminate"):
        for piece in Floor(talk.job).pieces:
            for line in piece.stages[stage].lines:
                panels = [] if line.scope == "car" else [piece.place]
                kind = "na" if line.photo else "tick"
                (result,) = talk.send(
                    talk.entry(kind, line=line.key, panels=panels, reason="Not on this car.")
                )
                assert result["outcome"] in ("applied", "same"), result


def test_a_tick_lands_where_it_was_pressed(talk):
    (result,) = talk.send(talk.entry(line="wash.gaps_rinsed", panels=["hood.1"]))
    outcome = Outcome.objects.get()
    assert result["outcome"] == "applied" and result["outcome_id"] == outcome.pk and result["reasons"] == []
    assert (outcome.key, outcome.answer, outcome.person, outcome.at) == (
        "wash.gaps_rinsed", "done", talk.who, clock.now(),
    )  # fmt: skip
    assert [on.checklist.fitting.place for on in outcome.on.all()] == ["hood.1"]
    entry = outcome.entry
    assert (entry.proven, entry.tablet, entry.verb) == ("claimed", talk.row, "answer")
    assert Receipt.objects.get().entry == entry


def test_every_kind_reaches_its_verb(talk):
    prepare(talk)
    edges, defect = ["front", "left"], first_defect(talk)
    results = talk.send(
        talk.entry("tick", line="degrease.wipe", panels=["hood.1"], edges=edges),
        talk.entry("na", line="degrease.flange", panels=["hood.1"], answer="na", reason="No flange here."),
        talk.entry("reading", line="degrease.climate", answer="value", value=CLIMATE, typed="21.4 52 19.8"),
        talk.entry("note", panels=["hood.1"], typed="Old wax at the rear edge."),
        talk.entry("tick", line="wash.gaps_rinsed", panels=["hood.1"], answer="wrong"),
        talk.entry(
            "defect", panel="hood.1", edge="front", x_mil=500, y_mil=20, kind=defect, found_at="degrease",
            cause="", severity="minor", note="Chip.",
        ),
        talk.promise(pictures.jpeg())[0],
    )  # fmt: skip
    assert [result["outcome"] for result in results] == ["applied"] * 7, results
    wipe = Outcome.objects.get(key="degrease.wipe")
    assert {on.edge.code for on in wipe.on.all()} == set(edges)
    climate = Outcome.objects.get(key="degrease.climate")
    assert climate.value == CLIMATE and climate.typed == "21.4 52 19.8"
    assert Entry.objects.filter(verb="note").count() == 1 and Upload.objects.count() == 1
    assert Defect.objects.filter(edge__code="front").count() == 1


def test_the_same_key_twice_is_done_once_and_answered_the_same(talk):
    entry = talk.entry()
    (first,) = talk.send(entry)
    (again,) = talk.send(entry)
    assert again == first | {"again": True} and "clock_behind_ms" not in again
    assert Outcome.objects.count() == 1 and Receipt.objects.count() == 1


def test_a_refusal_is_kept_and_told_again(talk):
    entry = talk.entry(line="wash.nothing")
    (first,) = talk.send(entry)
    (again,) = talk.send(entry)
    assert first["outcome"] == "refused" and codes(first) == ["not_asked"] and first["detail"]
    assert again == first | {"again": True}
    (after,) = talk.send(talk.entry())
    assert after["outcome"] == "applied"


def test_other_content_under_a_known_key_is_refused_and_changes_nothing(talk):
    entry = talk.entry(line="wash.gaps_rinsed", panels=["hood.1"])
    talk.send(entry)
    for change in (
        {"body": entry["body"] | {"panels": ["fender-left.1"]}},
        {"who": talk.who.pk + 1},
        {"job": talk.job.pk + 1},
        {"at": entry["at"] - 1},
        {"kind": "na"},
    ):
        (result,) = talk.send(entry | change)
        assert result["outcome"] == "refused" and codes(result) == ["key_reused"]
    (again,) = talk.send(entry)
    assert again["outcome"] == "applied" and again["again"] and Outcome.objects.count() == 1


def test_the_number_is_not_part_of_what_was_said(talk):
    entry = talk.entry()
    talk.send(entry)
    (again,) = talk.send(entry | {"seq": 99})
    assert again["again"] and again["outcome"] == "applied"


def test_another_tablets_key_is_nobodys_to_use(scene, talk):
    entry = talk.entry()
    talk.send(entry)
    stranger = make.workshop()
    make.document(stranger, "roles", "roles.toml")
    make.document(stranger, "film", "films/defaults.toml")
    otto = make.person(stranger, "Otto", "installer")
    theirs = scene.tablet()
    theirs.row = make.tablet(stranger)
    theirs.__post_init__()
    (result,) = theirs.send(entry | {"who": otto.pk, "seq": 1})
    assert codes(result) == ["key_reused"]


def test_a_number_used_before_is_refused_and_the_next_one_told(talk):
    talk.send(talk.entry(), talk.entry())
    answer = talk.post(talk.entry() | {"seq": 2}).json()
    assert codes(answer["results"][0]) == ["seq_reused"] and answer["expect"] == 3
    assert Receipt.objects.count() == 2
    key = answer["results"][0]["key"]
    (result,) = talk.send(talk.entry() | {"key": key, "seq": 3})
    assert result["outcome"] == "applied"


def test_nothing_behind_a_gap_is_looked_at(talk):
    first, second, third = talk.entry(), talk.entry(), talk.entry()
    answer = talk.post(first, third).json()
    assert [r["key"] for r in answer["results"]] == [first["key"]] and answer["expect"] == 2
    assert [r["outcome"] for r in talk.send(second, third)] == ["applied", "applied"]
    talk.row.refresh_from_db()
    assert talk.row.last_seq == 3 and Outcome.objects.count() == 3


def test_after_a_restore_the_kept_copies_are_taken_again(talk):
    entries = [talk.entry(), talk.entry(), talk.entry()]
    talk.send(*entries)
    Receipt.objects.filter(seq__gt=1).delete()
    Tablet.objects.filter(pk=talk.row.pk).update(last_seq=1)
    answer = talk.post(talk.entry()).json()
    assert (answer["results"], answer["expect"]) == ([], 2)
    assert [r["outcome"] for r in talk.send(*entries[1:])] == ["applied", "applied"]


def test_a_wiped_tablet_asks_where_to_go_on(talk):
    talk.send(talk.entry(), talk.entry())
    told = {"bay": 1, "tablet": talk.row.pk, "results": [], "expect": 3}
    assert talk.post().json() == talk.client.get("/sync/entries").json() == told


def test_a_lost_entry_is_written_down_and_work_goes_on(talk):
    talk.send(talk.entry())
    (result,) = talk.send(talk.entry("hole", job=0))
    assert result["outcome"] == "applied"
    entry = Entry.objects.get(verb="entry_lost")
    assert entry.book.job is None and '"number":2' in entry.body
    assert talk.send(talk.entry())[0]["outcome"] == "applied"


def test_two_tablets_on_one_line(scene, talk):
    other = scene.tablet()
    other.who = scene.marek
    (first,) = talk.send(talk.entry(line="wash.gaps_rinsed", panels=["hood.1"], seen=0))
    (same,) = other.send(other.entry(line="wash.gaps_rinsed", panels=["hood.1"], seen=0))
    assert (first["outcome"], same["outcome"]) == ("applied", "same") and "Ines" in same["detail"]
    (against,) = talk.send(
        talk.entry("na", line="wash.gaps_rinsed", panels=["hood.1"], reason="Done.", seen=first["outcome_id"])
    )
    assert (
        against["outcome"] == "conflict"
        and codes(against) == ["answered_first"]
        and "Marek" in against["detail"]
    )
    (seen,) = talk.send(
        talk.entry("na", line="wash.gaps_rinsed", panels=["hood.1"], reason="Done.", seen=same["outcome_id"])
    )
    assert seen["outcome"] == "applied"
    assert OutcomeOn.objects.live().get(key="wash.gaps_rinsed").outcome.answer == "na"


def test_an_answer_to_an_unsent_one_of_the_same_tablet_is_no_conflict(scene, talk):
    first = talk.entry(line="wash.gaps_rinsed", panels=["hood.1"], seen=0)
    second = talk.entry("na", line="wash.gaps_rinsed", panels=["hood.1"], reason="Not here.", seen=0)
    second |= {"who": scene.marek.pk}
    second["body"]["after"] = first["key"]
    assert [r["outcome"] for r in talk.send(first, second)] == ["applied", "applied"]


def test_what_was_pressed_before_a_signature_and_came_after_is_a_late_note(scene, talk):
    from shop.record.actions import write
    from shop.work.models.proof import Checklist, Signing, SignOff

    pressed = talk.entry("na", line="wash.gaps_rinsed", panels=["hood.1"], reason="Not here.")
    with clock.held_at(make.NOW + timedelta(minutes=5)):
        by = Proven(scene.ines, "pin")
        entry = write(
            workshop=scene.shop, job=scene.job, verb="sign", body={}, by=by, now=clock.now(),
        )  # fmt: skip
        signing = Signing.objects.create(
            entry=entry, person=scene.ines, meaning="ready", language="en", sentence="s", lines=[], digest="d",
            at=clock.now(),
        )  # fmt: skip
        for checklist in Checklist.objects.filter(stage="wash", fitting__panel__code="hood"):
            SignOff.objects.create(signing=signing, checklist=checklist, meaning="ready")
    with clock.held_at(make.NOW + timedelta(minutes=9)):
        (result,) = talk.send(pressed | {"at": talk.ms(timedelta(minutes=9))})
    assert result["outcome"] == "conflict" and codes(result) == ["already_signed"]
    assert "late note" in result["detail"] and Outcome.objects.get().late
    assert not OutcomeOn.objects.live().exists()


@pytest.mark.parametrize("field", ["job", "who"])
def test_what_belongs_to_another_shop_is_not_here(talk, field):
    other = make.workshop()
    make.document(other, "roles", "roles.toml")
    make.document(other, "film", "films/defaults.toml")
    otto, olga = make.person(other, "Otto", "installer"), make.person(other, "Olga", "desk")
    foreign = {"job": job_for(other, olga, otto).pk, "who": otto.pk}[field]
    (result,) = talk.send(talk.entry() | {field: foreign})
    (unknown,) = talk.send(talk.entry() | {field: 10**9})
    assert result["outcome"] == "refused" and result["reasons"] == unknown["reasons"]
    assert Outcome.objects.count() == 0


def test_somebody_who_left_may_still_have_pressed_before(scene, talk):
    scene.ines.left_at = make.NOW - timedelta(minutes=10)
    scene.ines.save()
    early, late = talk.entry(ago=timedelta(minutes=20)), talk.entry()
    assert [r["outcome"] for r in talk.send(early, late)] == ["applied", "refused"]


def test_a_role_that_may_not_answer_is_refused(scene, talk):
    talk.who = scene.dora
    (result,) = talk.send(talk.entry())
    assert codes(result) == ["not_allowed"]


def test_a_lot_is_looked_up_on_the_own_shelf(scene, talk):
    other = make.roll(make.workshop()).lot
    (result,) = talk.send(talk.entry(lot=other.pk))
    assert codes(result) == ["lot_missing"]
    own = Lot.objects.get(material__workshop=scene.shop)
    assert talk.send(talk.entry(lot=own.pk))[0]["outcome"] == "applied"
    assert Outcome.objects.get().lot == own


def test_the_tablet_tells_what_it_still_holds(talk):
    talk.send(talk.entry(), talk.entry(), unsent=7)
    talk.row.refresh_from_db()
    assert (talk.row.unsent, talk.row.seen_at) == (5, clock.now())
    first, second = talk.entry(), talk.entry()
    talk.post(second)
    talk.row.refresh_from_db()
    assert talk.row.unsent == 1
    talk.send(first, second)
    talk.row.refresh_from_db()
    assert talk.row.unsent == 0


def test_a_fault_in_a_verb_stops_nobody(talk, monkeypatch):
    from shop.offline import table

    def broken(entry):
        Defect.objects.count()
        raise KeyError("plan")

    monkeypatch.setitem(table.TABLE, "note", broken)
    results = talk.send(talk.entry("note", typed="Hello."), talk.entry())
    assert [r["outcome"] for r in results] == ["refused", "applied"] and codes(results[0]) == ["entry_failed"]
    assert "KeyError" not in results[0]["detail"]


def test_a_busy_database_is_a_matter_of_trying_again(talk, monkeypatch):
    from django.db import OperationalError

    from shop.offline import table

    def locked(entry):
        raise OperationalError("database is locked")

    with monkeypatch.context() as patch:
        patch.setitem(table.TABLE, "tick", locked)
        entry = talk.entry()
        answer = talk.post(entry)
    assert answer.status_code == 503 and answer["Retry-After"] and answer.json()["bay"] == 1
    assert talk.send(entry)[0]["outcome"] == "applied"


def test_the_answer_to_a_message_costs_the_same_for_every_entry(talk):
    talk.send(talk.entry())
    with CaptureQueriesContext(connection) as few:
        talk.send(talk.entry())
    with CaptureQueriesContext(connection) as many:
        talk.send(*(talk.entry() for _ in range(5)))
    assert len(many) <= 5 * len(few)


def test_nothing_of_a_refused_entry_stays(talk):
    """The promise is refused after its upload row was written; the row goes with it."""
    entry, _ = talk.promise(pictures.jpeg(), places=[{"line": "wash.nothing", "panel": "hood.1", "edge": ""}])
    (result,) = talk.send(entry)
    assert result["outcome"] == "refused" and Upload.objects.count() == 0 and Photo.objects.count() == 0


def test_one_upload_has_one_promise(talk):
    first, upload = talk.promise(pictures.jpeg())
    second, _ = talk.promise(pictures.jpeg(), upload=upload)
    assert [codes(r) for r in talk.send(first, second)] == [[], ["key_reused"]]


def test_a_defect_may_promise_its_photo(talk):
    data = pictures.jpeg()
    entry, upload = talk.promise(data)
    told = {name: entry["body"][name] for name in ("upload", "sha256", "size")}
    entry |= {
        "kind": "defect",
        "body": {
            "panel": "hood.1",
            "edge": "",
            "kind": first_defect(talk),
            "found_at": "wash",
            "photo": told,
        },
    }
    assert talk.send(entry)[0]["outcome"] == "applied"
    assert talk.upload_all(upload, data).json()["done"]
    assert Defect.objects.get().photos.get().photo == Photo.objects.get()


def test_the_same_for_all_falls_where_the_line_is_asked(talk):
    """Hardware comes off the hood alone; the wing has none and is left out instead of refusing the whole."""
    panels = ["hood.1", "fender-left.1", "roof.1"]
    (result,) = talk.send(
        talk.entry("na", line="wash.hardware_off", panels=panels, reason="Not on this car.", same=True)
    )
    assert result["outcome"] == "applied"
    asked = {on.checklist.fitting.place for on in OutcomeOn.objects.all()}
    assert asked == {"hood.1"}
    (nowhere,) = talk.send(talk.entry(line="wash.nothing", panels=panels, same=True))
    assert codes(nowhere) == ["not_asked"]


def test_a_photo_of_a_defect_alone_is_promised(talk):
    (raised,) = talk.send(
        talk.entry("defect", panel="hood.1", edge="", kind=first_defect(talk), found_at="wash", note="")
    )
    assert raised["outcome"] == "applied"
    defect, data = Defect.objects.get(), pictures.jpeg()
    entry, upload = talk.promise(data, places=[{"defect": defect.pk, "after": True}])
    assert talk.send(entry)[0]["outcome"] == "applied"
    assert talk.upload_all(upload, data).json()["done"]
    shown = defect.photos.get()
    assert shown.after and shown.photo == Photo.objects.get()


def test_a_clock_that_was_set_makes_a_press_unsure_unless_its_page_timed_it(talk):
    talk.send(talk.entry())
    talk.ahead = timedelta(hours=3)
    timed, untimed = talk.entry() | {"steady": True}, talk.entry()
    talk.send(timed)
    assert Outcome.objects.latest("pk").sure
    talk.ahead = timedelta(hours=-3)
    talk.send(untimed | {"at": talk.ms()})
    assert not Outcome.objects.latest("pk").sure
    (again,) = talk.send(timed | {"steady": False})
    assert again["again"]
