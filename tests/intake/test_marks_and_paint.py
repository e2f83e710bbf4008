"""Damage, doubtful paint, and what the customer signs."""

from datetime import date, timedelta

import pytest

from shop.intake.actions import (
    accept_paint,
    agree_intake,
    cancel_job,
    mark_damage,
    move_mark,
    note_paint,
    strike_mark,
    strike_paint,
    take_in,
)
from shop.intake.agreement import intake_text
from shop.intake.strokes import read_strokes, strokes_path, strokes_svg, strokes_text
from shop.models import Consent, Entry, Mark, PaintNote, Private
from shop.people.identity import SignedIn
from shop.reasons import Refused
from shop.record.actions import body_of
from tests import make
from tests.make import NOW, VIN

pytestmark = pytest.mark.django_db
SIGNED = [[[100, 500], [300, 200], [500, 700]], [[600, 400], [800, 420]]]


@pytest.fixture
def shop():
    shop = make.workshop()
    make.document(shop, "plan", "plans/builtin.toml")
    make.document(shop, "body", "bodies/sedan.toml")
    make.document(shop, "roles", "roles.toml")
    return shop


@pytest.fixture
def dora(shop):
    return SignedIn(make.person(shop, "Dora", "desk"))


@pytest.fixture
def job(shop, dora):
    return take_in(workshop=shop, name="Ana Berg", vin=VIN, model="Sedan", colour="grey", by=dora, now=NOW)


def codes(caught):
    return [reason.code for reason in caught.value.reasons]


def mark(job, by, **rest):
    given = {"panel": "hood", "kind": "scratch", "x_mil": 250, "y_mil": 700}
    return mark_damage(job=job, by=by, now=NOW, **(given | rest))


def test_a_mark_is_placed_moved_and_struck_and_the_book_has_all_three(job, dora):
    row = mark(job, dora, note="4 cm, down to the primer")
    move_mark(mark=row, x_mil=300, y_mil=710, by=dora, now=NOW)
    strike_mark(mark=row, why="a shadow", by=dora, now=NOW)
    assert not Mark.objects.standing(job).exists()
    verbs = list(Entry.objects.filter(book__job=job).order_by("number").values_list("verb", flat=True))
    assert verbs == ["take_in", "mark_damage", "move_mark", "strike_mark"]
    moved = body_of(Entry.objects.get(verb="move_mark"))
    assert (moved["from"], moved["to"]) == ([250, 700], [300, 710])
    with pytest.raises(Refused) as caught:
        move_mark(mark=row, x_mil=1, y_mil=1, by=dora, now=NOW)
    assert codes(caught) == ["superseded"]


@pytest.mark.parametrize("place", [(-1, 5), (5, 1001), (None, 5), ("5", 5), (True, 5), (2.5, 5)])
def test_a_mark_lies_inside_its_panel(job, dora, place):
    with pytest.raises(Refused) as caught:
        mark(job, dora, x_mil=place[0], y_mil=place[1])
    assert codes(caught) == ["value_wrong"]
    row = mark(job, dora)
    with pytest.raises(Refused):
        move_mark(mark=row, x_mil=place[0], y_mil=place[1], by=dora, now=NOW)
    assert Mark.objects.count() == 1


def test_a_mark_needs_a_panel_this_car_has_and_a_kind(job, dora):
    with pytest.raises(Refused) as caught:
        mark(job, dora, panel="tailgate")
    assert codes(caught) == ["not_asked"]
    with pytest.raises(Refused) as caught:
        mark(job, dora, kind="ghost")
    assert codes(caught) == ["value_wrong"]


def test_doubtful_paint_waits_for_the_customer(job, dora):
    note_paint(
        job=job,
        panel="bumper-front",
        kind="fresh",
        dried="air",
        painted_on=date(2026, 2, 20),
        by=dora,
        now=NOW,
    )
    assert [note.panel.code for note in PaintNote.objects.unaccepted(job)] == ["bumper-front"]
    consent = accept_paint(job=job, panel="bumper-front", strokes=SIGNED, by=dora, now=NOW)
    assert not PaintNote.objects.unaccepted(job).exists()
    assert "Front bumper: fresh paint, air-dried, painted on 20 February 2026." in consent.text
    later = NOW + timedelta(hours=1)
    note_paint(job=job, panel="bumper-front", kind="suspect", by=dora, now=later)
    assert PaintNote.objects.unaccepted(job).count() == 1


def test_acceptance_of_one_panel_is_not_that_of_another(job, dora):
    note_paint(job=job, panel="hood", kind="repainted", by=dora, now=NOW)
    note_paint(job=job, panel="roof", kind="repainted", by=dora, now=NOW)
    accept_paint(job=job, panel="hood", strokes=SIGNED, by=dora, now=NOW)
    assert [note.panel.code for note in PaintNote.objects.unaccepted(job)] == ["roof"]
    with pytest.raises(Refused) as caught:
        accept_paint(job=job, panel="hood", strokes=SIGNED, by=dora, now=NOW)
    assert codes(caught) == ["not_asked"]


def test_a_note_made_by_mistake_is_struck_with_a_reason(job, dora):
    note = note_paint(job=job, panel="hood", kind="suspect", by=dora, now=NOW)
    with pytest.raises(Refused) as caught:
        strike_paint(paint_note=note, why="", by=dora, now=NOW)
    assert codes(caught) == ["reason_missing"]
    strike_paint(paint_note=note, why="Wrong side of the car", by=dora, now=NOW)
    assert not PaintNote.objects.standing(job).exists()


@pytest.mark.parametrize(
    "wrong", [{"kind": "shiny"}, {"dried": "sun"}, {"painted_on": date(2026, 3, 3)}, {"note": "n" * 301}]
)
def test_paint_notes_that_cannot_be_are_refused(job, dora, wrong):
    with pytest.raises(Refused) as caught:
        note_paint(job=job, panel="hood", by=dora, now=NOW, **({"kind": "fresh"} | wrong))
    assert codes(caught) == ["value_wrong"]


def test_the_customer_signs_what_was_found(job, dora):
    mark(job, dora, note="4 cm")
    note_paint(job=job, panel="roof", kind="repainted", dried="baked", by=dora, now=NOW)
    consent = agree_intake(job=job, strokes=SIGNED, said=["registration"], by=dora, now=NOW)
    assert "Hood: scratch (4 cm)" in consent.text
    assert "Roof: repainted, baked." in consent.text
    assert "registration offices" in consent.text
    assert "door jambs" not in consent.text
    entry = Entry.objects.get(verb="agree_intake")
    assert body_of(entry)["said"] == ["registration"]
    assert body_of(entry)["strokes"] == {"private": consent.strokes_id, "commit": consent.strokes.commit}
    assert "[100,500]" in consent.strokes.value


def test_a_signature_is_given_for_what_was_read(job, dora):
    seen = intake_text(job)
    mark(job, dora)
    with pytest.raises(Refused) as caught:
        agree_intake(job=job, strokes=SIGNED, text_seen=seen, by=dora, now=NOW)
    assert codes(caught) == ["screen_changed"]
    assert not Consent.objects.exists()


@pytest.mark.parametrize(
    "strokes",
    [
        None,
        "",
        "[]",
        "[[]]",
        "nonsense",
        "{}",
        [[[1, 1]]],
        [[[1, 1], [2, 2]]],
        [[[0, 0], [1001, 5]]],
        [[[0, 0], [-1, 500]]],
        [[[0, 0], [0.5, 500]]],
        [[[0, 0], ["9", 500]]],
        [[[0, 0, 0], [500, 500, 500]]],
        [[[0, 0], [500, 500]]] * 201,
        [[[0, 0], [500, 500]] * 3001],
        "[" * 100_000,
    ],
)
def test_what_is_no_signature_is_refused_and_nothing_is_kept(job, dora, strokes):
    before = Private.objects.count()
    with pytest.raises(Refused) as caught:
        agree_intake(job=job, strokes=strokes, by=dora, now=NOW)
    assert codes(caught) == ["customer_unsigned"]
    assert Private.objects.count() == before


def test_strokes_are_drawn_to_the_scale_of_the_pad():
    strokes = read_strokes("[[[0,0],[1000,1000]],[[500,500],[501,500]]]")
    assert strokes_path(strokes) == "M0 0L1000 320 M500 160L501 160"
    assert strokes_text(strokes) == "[[[0,0],[1000,1000]],[[500,500],[501,500]]]"
    assert 'viewBox="0 0 1000 320"' in strokes_svg(strokes)


def test_nothing_is_found_on_a_car_that_has_gone(job, dora):
    row = mark(job, dora)
    cancel_job(job=job, why="came on the wrong day", by=dora, now=NOW)
    acts = [
        lambda: mark(job, dora),
        lambda: move_mark(mark=row, x_mil=1, y_mil=1, by=dora, now=NOW),
        lambda: strike_mark(mark=row, by=dora, now=NOW),
        lambda: note_paint(job=job, panel="hood", kind="fresh", by=dora, now=NOW),
        lambda: agree_intake(job=job, strokes=SIGNED, by=dora, now=NOW),
    ]
    for act in acts:
        with pytest.raises(Refused) as caught:
            act()
        assert codes(caught) == ["job_closed"]


def test_a_desk_of_another_workshop_is_a_stranger(job):
    otto = SignedIn(make.person(make.workshop(name="Mill Lane Films"), "Otto", "desk"))
    for act in (
        lambda: mark(job, otto),
        lambda: note_paint(job=job, panel="hood", kind="fresh", by=otto, now=NOW),
        lambda: agree_intake(job=job, strokes=SIGNED, by=otto, now=NOW),
    ):
        with pytest.raises(Refused) as caught:
            act()
        assert codes(caught) == ["other_workshop"]


def test_a_photo_of_another_workshop_proves_nothing_here(job, dora):
    other = make.workshop(name="Mill Lane Films")
    photo = other.photos.create(sha256="0" * 64, size=1, type="jpeg", w=1, h=1, kept_at=NOW)
    with pytest.raises(Refused) as caught:
        mark(job, dora, photos=[photo])
    assert codes(caught) == ["other_workshop"]
