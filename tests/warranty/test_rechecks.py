"""Rechecks: due by the terms, planned, done with findings edge by edge, and the owners' reminders."""

from datetime import date
from io import StringIO
from smtplib import SMTPException

import pytest
from django.core import mail
from django.core.management import call_command

from shop import clock, models
from shop.people.identity import Claimed, Proven, SignedIn
from shop.reasons import Refused
from shop.record.actions import body_of, keep_private
from shop.warranty import actions, reminding
from shop.warranty.due import rechecks_due, rechecks_of
from shop.warranty.posting import post
from tests import make
from tests.make_covered import FIRST_DAY, Covered, days, noon
from tests.make_finished import keep

pytestmark = pytest.mark.django_db
FIRST, YEAR = "first_recheck", "next_recheck"
FIRST_DUE, FIRST_OVER = date(2026, 3, 10), date(2026, 3, 17)
YEAR_DUE, YEAR_OVER = date(2027, 3, 3), date(2027, 5, 2)


@pytest.fixture
def covered():
    return Covered()


def codes(refusal) -> set[str]:
    return {reason.code for reason in refusal.value.reasons}


def listed(covered, today):
    return [(due.asked.key, due.state) for due in rechecks_due(covered.shop, today=today)]


def record(covered, on=FIRST_DUE, key=FIRST, **more):
    values = {"by": covered.desk, "now": noon(on), "certificate": covered.certificate}
    return actions.record_recheck(on=on, key=key, **(values | more))


def plan(covered, on=FIRST_DUE, key=FIRST, **more):
    values = {"by": covered.desk, "now": noon(FIRST_DAY), "certificate": covered.certificate}
    return actions.plan_recheck(on=on, key=key, **(values | more))


# ------------------------------------------------------------------ when they are due


@pytest.mark.parametrize(
    ("today", "expected"),
    [
        (FIRST_DAY, [(FIRST, "coming")]),
        (FIRST_DUE - days(1), [(FIRST, "coming")]),
        (FIRST_DUE, [(FIRST, "due")]),
        (FIRST_OVER, [(FIRST, "due")]),
        (FIRST_OVER + days(1), [(FIRST, "missed")]),
        (YEAR_DUE - days(31), [(FIRST, "missed"), (YEAR, "coming")]),
        (YEAR_DUE, [(FIRST, "missed"), (YEAR, "due")]),
        (YEAR_OVER, [(FIRST, "missed"), (YEAR, "due")]),
        (YEAR_OVER + days(1), [(FIRST, "missed"), (YEAR, "missed")]),
        (date(2031, 3, 4), []),
    ],
    ids=str,
)
def test_the_terms_say_when(covered, today, expected):
    assert listed(covered, today) == expected


def test_done_is_no_longer_due_and_a_withdrawn_paper_asks_for_nothing(covered):
    record(covered)
    assert listed(covered, FIRST_OVER) == []
    actions.withdraw(
        certificate=covered.certificate,
        why="wrong car",
        by=Proven(covered.petra, "pin"),
        now=noon(FIRST_OVER),
    )
    assert listed(covered, YEAR_DUE) == []


def test_another_workshop_sees_none_of_it(covered):
    assert rechecks_due(make.workshop(name="Elsewhere"), today=FIRST_DUE) == []


def test_the_list_asks_as_often_for_many_papers_as_for_one(covered, django_assert_max_num_queries):
    with django_assert_max_num_queries(4):
        rechecks_due(covered.shop, today=YEAR_DUE)


# ------------------------------------------------------------------ planned


def test_a_planned_day_is_kept_and_a_later_one_replaces_it(covered):
    row = plan(covered)
    again = plan(covered, FIRST_DUE + days(2))
    assert (again.pk, again.planned_on, again.due_until) == (row.pk, FIRST_DUE + days(2), FIRST_OVER)
    assert models.Entry.objects.filter(verb="plan_recheck").count() == 2


def test_one_besides_the_terms_gets_a_number_of_its_own(covered):
    first, second = (plan(covered, date(2026, 9, 1), key="") for _ in range(2))
    assert [first.key, second.key] == ["extra-1", "extra-2"]
    record(covered, date(2026, 9, 1), key="extra-1")
    assert [due.asked.key for due in rechecks_due(covered.shop, today=date(2026, 9, 2))] == [FIRST, "extra-2"]


@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({"key": "polish"}, "value_wrong"),
        ({"on": FIRST_DAY - days(1)}, "day_wrong"),
    ],
)
def test_a_plan_that_is_not_taken_down(covered, more, code):
    with pytest.raises(Refused) as refusal:
        plan(covered, **more)
    assert codes(refusal) == {code}
    assert not models.Recheck.objects.exists()


def test_what_is_done_is_not_planned_again(covered):
    record(covered)
    with pytest.raises(Refused) as refusal:
        plan(covered, FIRST_OVER, now=noon(FIRST_DUE))
    assert codes(refusal) == {"already_recorded"}


# ------------------------------------------------------------------ done

LIFT = {"panel": "hood.1", "edge": "front", "kind": "lifted_edge"}


def test_what_was_seen_stands_by_edge_with_its_photos(covered):
    near, after = keep(covered.done, "lift"), keep(covered.done, "pressed")
    row = record(
        covered,
        findings=[
            {"panel": "hood.1", "edge": "front", "kind": "lifted_edge", "photos": [near], "touched_up": True,
             "after": [after], "note": "2 cm"},
            {"panel": "fender-left.1", "edge": "arch", "kind": "sound"},
        ],
        odometer_km=51200,
    )  # fmt: skip
    lift, sound = row.findings.order_by("pk")
    assert (row.done_on, row.person, row.odometer_km) == (FIRST_DUE, covered.dora, 51200)
    assert (lift.edge.code, lift.kind, lift.touched_up, lift.note) == ("front", "lifted_edge", True, "2 cm")
    assert [(shown.photo, shown.after) for shown in lift.photos.order_by("pk")] == [
        (near, False),
        (after, True),
    ]
    assert (sound.panel, sound.kind) == ("fender-left", "sound")
    body = body_of(row.entry)
    assert body["findings"][0]["photos"] == [near.sha256, after.sha256]
    assert row.entry.book.job == covered.job


@pytest.mark.parametrize(("later", "free"), [(0, True), (1, False), (200, False)])
def test_what_is_touched_up_after_the_free_days_is_a_claim(covered, later, free):
    last = covered.revision.cover.filter(kind="touch_up", panel="hood").get().last_day
    on, after = last + days(later), keep(covered.done, "pressed")
    found = [{**LIFT, "touched_up": True, "after": [after]}]
    if free:
        assert record(covered, on=on, key="", findings=found, now=noon(on)).findings.get().touched_up
        return
    with pytest.raises(Refused) as refusal:
        record(covered, on=on, key="", findings=found, now=noon(on))
    assert "claim" in refusal.value.reasons[0].text and codes(refusal) == {"day_wrong"}
    assert not models.Finding.objects.exists()
    # Seen and not mended it is written down all the same.
    assert record(covered, on=on, key="", findings=[LIFT], now=noon(on)).findings.count() == 1


def test_nothing_found_is_a_recheck_too(covered):
    assert not record(covered).findings.exists()


@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({"on": FIRST_DUE, "now": noon(FIRST_DUE - days(1))}, "day_wrong"),
        ({"on": FIRST_DAY - days(1), "now": noon(FIRST_DUE)}, "day_wrong"),
        ({"key": "polish"}, "value_wrong"),
        ({"odometer_km": -1}, "value_wrong"),
        ({"findings": [{**LIFT, "touched_up": True}]}, "photo_missing"),
        ({"findings": [{**LIFT, "edge": "mast"}]}, "value_wrong"),
        ({"findings": [{**LIFT, "panel": "roof.1"}]}, "no_film"),
        ({"findings": [{**LIFT, "kind": "glue_left"}]}, "value_wrong"),
    ],
    ids=str,
)
def test_a_recheck_that_is_not_taken_down(covered, more, code):
    with pytest.raises(Refused) as refusal:
        record(covered, **more)
    assert codes(refusal) == {code}
    assert not models.Recheck.objects.exists() and not models.Finding.objects.exists()


def test_what_is_sound_needs_no_touch_up(covered):
    photo = keep(covered.done, "sound")
    with pytest.raises(Refused) as refusal:
        record(covered, findings=[{**LIFT, "kind": "sound", "touched_up": True, "after": [photo]}])
    assert codes(refusal) == {"value_wrong"}


def test_twice_is_once(covered):
    record(covered)
    with pytest.raises(Refused) as refusal:
        record(covered)
    assert codes(refusal) == {"already_recorded"}
    assert models.Entry.objects.filter(verb="record_recheck").count() == 1


def test_nothing_is_rechecked_under_a_withdrawn_paper(covered):
    by = Proven(covered.petra, "pin")
    actions.withdraw(certificate=covered.certificate, why="wrong car", by=by, now=noon(FIRST_DAY))
    for act in (record, plan):
        with pytest.raises(Refused) as refusal:
            act(covered)
        assert "certificate_withdrawn" in codes(refusal)


@pytest.mark.parametrize(("act", "who"), [(plan, "ines"), (record, "guest")])
def test_who_may(covered, act, who):
    person = covered.ines if who == "ines" else make.person(covered.shop, "Guest")
    for by, code in (
        (SignedIn(person), "not_allowed"),
        (Claimed(covered.dora), "not_allowed"),
        (covered.stranger(), "other_workshop"),
    ):
        with pytest.raises(Refused) as refusal:
            act(covered, by=by)
        assert codes(refusal) == {code}


def test_an_installer_may_look_a_car_over(covered):
    assert record(covered, by=SignedIn(covered.ines)).person == covered.ines


def test_all_rechecks_of_a_paper_done_ones_among_them(covered):
    record(covered)
    plan(covered, date(2026, 9, 1), key="")
    found = rechecks_of([covered.certificate], today=date(2026, 4, 1))
    assert [(due.asked.key, due.state) for due in found] == [
        (FIRST, "done"),
        ("extra-1", "coming"),
        (YEAR, "coming"),
    ]


# ------------------------------------------------------------------ reminders


@pytest.fixture
def reachable(covered):
    customer = covered.job.customer
    customer.mail = keep_private(covered.shop, "ana@mail.example")
    customer.save()
    models.Workshop.objects.filter(pk=covered.shop.pk).update(mail="desk@quay.example")
    return covered


def remind(on, *args):
    out = StringIO()
    with clock.held_at(noon(on)):
        call_command("reminders", *args, stdout=out)
    return out.getvalue()


def test_a_mail_leaves_once_however_often_it_is_run(reachable):
    number = reachable.certificate.number
    assert "nothing is due" in remind(FIRST_DUE - days(8))
    assert f"1 sent ({number})" in remind(FIRST_DUE - days(7))
    assert "nothing is due" in remind(FIRST_DUE - days(7))
    assert "nothing is due" in remind(FIRST_DUE)
    (letter,) = mail.outbox
    assert letter.to == ["ana@mail.example"]
    assert "10 March 2026 to 17 March 2026" in letter.body
    assert "A missed recheck never ends your cover." in letter.body
    assert reachable.certificate.token in letter.body and "Ana" not in letter.body
    assert models.Sending.objects.get().sent_at


def test_the_next_recheck_is_a_mail_of_its_own(reachable):
    remind(FIRST_DUE)
    remind(YEAR_DUE)
    assert len(mail.outbox) == 2


def test_a_day_agreed_on_is_named(reachable):
    plan(reachable, FIRST_DUE + days(1))
    remind(FIRST_DUE)
    assert "on 11 March 2026." in mail.outbox[0].body


def test_what_is_done_or_over_reminds_nobody(reachable):
    record(reachable)
    remind(FIRST_DUE)
    remind(YEAR_OVER + days(1))
    assert mail.outbox == []


def test_an_owner_without_an_address_is_named_and_gets_no_row(covered):
    assert "1 have no mail address" in remind(FIRST_DUE)
    assert not models.Sending.objects.exists()


def test_the_new_owner_is_written_to(reachable):
    actions.transfer_cover(
        vehicle=reachable.car,
        name="Cem Doğan",
        mail="cem@mail.example",
        sold_on=date(2026, 8, 1),
        by=reachable.desk,
        now=noon(date(2026, 8, 1)),
    )
    remind(YEAR_DUE)
    assert mail.outbox[0].to == ["cem@mail.example"]


def test_a_dry_run_sends_nothing(reachable):
    assert "1 would be sent" in remind(FIRST_DUE, "--dry-run")
    assert mail.outbox == [] and not models.Sending.objects.exists()


def test_a_mail_that_failed_is_tried_again(reachable, monkeypatch):
    def fails(*args, **kwargs):
        raise SMTPException("mailbox full")

    with monkeypatch.context() as broken:
        broken.setattr("django.core.mail.EmailMessage.send", fails)
        with pytest.raises(SystemExit):
            remind(FIRST_DUE)
    assert models.Sending.objects.get().fault == "mailbox full"
    assert "1 sent" in remind(FIRST_DUE)
    assert models.Sending.objects.get().sent_at and len(mail.outbox) == 1


def test_a_run_stopped_between_row_and_mail_sends_nothing_by_itself(reachable, monkeypatch):
    def dies(*args, **kwargs):
        raise KeyboardInterrupt

    with monkeypatch.context() as broken:
        broken.setattr("django.core.mail.EmailMessage.send", dies)
        with pytest.raises(KeyboardInterrupt):
            remind(FIRST_DUE)
    assert "1 may have left" in remind(FIRST_DUE)
    assert mail.outbox == []


def test_a_row_that_was_never_tried_leaves_with_the_next_run(reachable):
    """The program was stopped after the row and before the try: certain that nothing left."""
    (due,) = [one for one in rechecks_due(reachable.shop, today=FIRST_DUE) if one.asked.key == FIRST]
    reminding._written(due, reachable.job.customer.mail, noon(FIRST_DUE), None)
    assert models.Sending.objects.get().state == "waiting"
    assert "1 sent" in remind(FIRST_DUE)
    assert models.Sending.objects.get().tries == 1 and len(mail.outbox) == 1


def test_two_runs_at_once_write_one_row_and_send_one_mail(reachable):
    (due,) = [one for one in rechecks_due(reachable.shop, today=FIRST_DUE) if one.asked.key == FIRST]
    address = reachable.job.customer.mail
    row = reminding._written(due, address, noon(FIRST_DUE), None)
    assert reminding._written(due, address, noon(FIRST_DUE), None) is None
    stale = models.Sending.objects.get()
    assert post(row, now=noon(FIRST_DUE)).sent_at
    assert len(mail.outbox) == 1
    post(stale, now=noon(FIRST_DUE))
    assert len(mail.outbox) == 1


def test_where_no_mail_can_leave_the_run_says_why_and_keeps_no_row(reachable):
    models.Workshop.objects.update(mail="")
    err = StringIO()
    with clock.held_at(noon(FIRST_DUE)), pytest.raises(SystemExit):
        call_command("reminders", stdout=StringIO(), stderr=err)
    assert "Mails have no sender" in err.getvalue()
    assert not models.Sending.objects.exists() and mail.outbox == []
