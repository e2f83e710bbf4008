"""Papers by mail: a row first and the mail second, each once, what failed said and tried again."""

import uuid
from datetime import date
from smtplib import SMTPException

import pytest
from django.core import mail
from django.core.exceptions import ImproperlyConfigured
from django.db import connection
from django.test.utils import CaptureQueriesContext
from icalendar import Calendar

from shop import clock, models, press
from shop.environment import MAIL_WAYS, mail_settings
from shop.people.identity import Claimed, Proven, SignedIn
from shop.reasons import Refused
from shop.record.actions import body_of, keep_private
from shop.warranty import actions, paper
from shop.warranty.posting import post
from tests.make_covered import noon, with_passwords

pytestmark = pytest.mark.django_db
TODAY = date(2026, 3, 4)
ANA = "ana@mail.example"


@pytest.fixture(autouse=True)
def quick_press(monkeypatch):
    monkeypatch.setattr(press, "run", lambda work, put, **rest: b"%PDF-1.7 " + put.mark.encode())
    with clock.held_at(noon(TODAY)):
        yield


@pytest.fixture
def covered():
    found = with_passwords(panels=(("hood", 1),))
    models.Workshop.objects.update(mail="desk@quay.example")
    customer = found.job.customer
    customer.mail = keep_private(found.shop, ANA)
    customer.save()
    paper.print_revision(found.revision)
    return found


@pytest.fixture
def desk(covered, client):
    client.force_login(covered.dora.user)
    return client


def key(**rest):
    return {"key": str(uuid.uuid4()), **rest}


def papers(covered, **rest):
    certificate = models.Certificate.objects.get()
    return actions.send_papers(certificate=certificate, **{"by": covered.desk, "now": noon(TODAY), **rest})


def breaks(monkeypatch, fault):
    def fails(*args, **kwargs):
        raise fault

    monkeypatch.setattr("django.core.mail.EmailMessage.send", fails)


def codes(refused) -> set[str]:
    return {reason.code for reason in refused.value.reasons}


# ------------------------------------------------------------------ papers


def test_the_row_stands_before_the_mail_leaves(covered):
    row = papers(covered)
    assert (row.state, mail.outbox) == ("waiting", [])
    post(row, now=noon(TODAY))
    (letter,) = mail.outbox
    assert (row.state, row.tries, letter.to) == ("sent", 1, [ANA])
    assert letter.from_email == "Quay Street Film Works <desk@quay.example>"
    names = [name for name, _, _ in letter.attachments]
    assert names == ["certificate-26-0001.pdf", "care-26-0001.pdf", "care-26-0001.ics"]
    assert [kind for _, _, kind in letter.attachments] == [
        "application/pdf",
        "application/pdf",
        "text/calendar",
    ]
    calendar = Calendar.from_ical(letter.attachments[2].content)
    assert len(calendar.walk("VEVENT")) >= 5
    assert "17 March 2026" in letter.body and covered.certificate.token in letter.body


def test_the_book_says_that_it_was_written_and_holds_no_address(covered):
    row = papers(covered)
    entry = models.Entry.objects.filter(verb="send_papers").get()
    body = body_of(entry)
    assert body["to"]["private"] == row.address_id and ANA not in entry.body
    assert (body["mail"], body["certificate"]) == ("papers 26-0001 1", "26-0001")


def test_to_another_address_it_is_kept_apart(covered):
    row = papers(covered, address="work@mail.example")
    assert row.address.value == "work@mail.example"
    assert row.address_id != covered.job.customer.mail_id
    assert papers(covered, address=ANA).address_id == covered.job.customer.mail_id


def test_the_new_owner_gets_them(covered):
    actions.transfer_cover(
        vehicle=covered.car,
        name="Cem Doğan",
        mail="cem@mail.example",
        sold_on=TODAY,
        by=covered.desk,
        now=noon(TODAY),
    )
    assert papers(covered).address.value == "cem@mail.example"


def test_one_row_leaves_once(covered):
    row = papers(covered)
    stale = models.Sending.objects.get()
    post(row, now=noon(TODAY))
    post(stale, now=noon(TODAY))
    post(row, now=noon(TODAY))
    assert len(mail.outbox) == 1 and models.Sending.objects.get().tries == 1


def test_what_failed_says_why_and_is_tried_again_in_the_same_row(covered, monkeypatch):
    with monkeypatch.context() as broken:
        breaks(broken, SMTPException("mailbox full"))
        row = post(papers(covered), now=noon(TODAY))
    assert (row.state, row.fault, row.tries) == ("failed", "mailbox full", 1)
    again = actions.send_again(sending=row, by=covered.desk, now=noon(TODAY))
    assert again.pk == row.pk
    assert post(again, now=noon(TODAY)).state == "sent"
    assert again.tries == 2 and len(mail.outbox) == 1


def test_what_left_is_sent_again_in_a_row_of_its_own(covered):
    first = post(papers(covered), now=noon(TODAY))
    second = actions.send_again(sending=first, by=covered.desk, now=noon(TODAY))
    third = actions.send_again(sending=second, by=covered.desk, now=noon(TODAY))
    assert third.pk == second.pk
    post(second, now=noon(TODAY))
    assert [row.key for row in models.Sending.objects.order_by("pk")] == [
        "papers 26-0001 1",
        "papers 26-0001 1 #2",
    ]
    assert len(mail.outbox) == 2


def test_what_may_have_left_never_leaves_by_itself(covered, monkeypatch):
    with monkeypatch.context() as broken:
        breaks(broken, KeyboardInterrupt())
        with pytest.raises(KeyboardInterrupt):
            post(papers(covered), now=noon(TODAY))
    row = models.Sending.objects.get()
    assert row.state == "unclear"
    post(row, now=noon(TODAY))
    assert mail.outbox == []
    again = actions.send_again(sending=row, by=covered.desk, now=noon(TODAY))
    assert again.pk != row.pk


@pytest.mark.parametrize(
    "fault", [OSError("no route to host"), press.PressFailed("stopped halfway")], ids=["net", "press"]
)
def test_whatever_goes_wrong_outside_stays_in_the_row(covered, monkeypatch, fault):
    breaks(monkeypatch, fault)
    assert post(papers(covered), now=noon(TODAY)).fault == str(fault)


def test_an_address_erased_in_between_is_no_mail(covered):
    row = papers(covered)
    models.Private.objects.filter(pk=row.address_id).update(value="")
    assert post(models.Sending.objects.get(), now=noon(TODAY)).fault == "Its address was erased."
    with pytest.raises(Refused) as refused:
        actions.send_again(sending=row, by=covered.desk, now=noon(TODAY))
    assert codes(refused) == {"already_erased"}


# ------------------------------------------------------------------ refusals


def test_a_paper_that_is_not_printed_is_not_sent(covered):
    models.Revision.objects.update(pdf_sha256="")
    with pytest.raises(Refused) as refused:
        papers(covered)
    assert codes(refused) == {"not_printed"}


def test_a_paper_that_was_withdrawn_is_not_sent(covered):
    row = papers(covered)
    actions.withdraw(
        certificate=models.Certificate.objects.get(),
        why="Wrong car.",
        by=Proven(covered.petra, "pin"),
        now=noon(TODAY),
    )
    for act in (
        lambda: papers(covered),
        lambda: actions.send_again(sending=row, by=covered.desk, now=noon(TODAY)),
    ):
        with pytest.raises(Refused) as refused:
            act()
        assert codes(refused) == {"certificate_withdrawn"}


@pytest.mark.parametrize(
    "address", ["nobody", "a@b", "two words@mail.example", "x" * 201, "a@mail.example\nBcc: b@c.example"]
)
def test_no_address_is_refused_with_a_sentence(covered, address):
    with pytest.raises(Refused) as refused:
        papers(covered, address=address)
    assert {reason.where for reason in refused.value.reasons} == {"#address"}
    assert not models.Sending.objects.exists()


def test_without_any_address_one_is_asked_for(covered):
    customer = models.Customer.objects.get()
    customer.mail = None
    customer.save()
    with pytest.raises(Refused) as refused:
        papers(covered)
    assert codes(refused) == {"field_missing"}


def test_where_no_mail_can_leave_nothing_is_written(covered, settings):
    settings.EMAIL_BACKEND, settings.EMAIL_HOST = MAIL_WAYS["smtp"], ""
    models.Workshop.objects.update(mail="")
    for act in (
        lambda: papers(covered),
        lambda: actions.send_test_mail(
            workshop=models.Workshop.objects.get(), address=ANA, by=SignedIn(covered.petra), now=noon(TODAY)
        ),
    ):
        with pytest.raises(Refused) as refused:
            act()
        assert codes(refused) == {"mail_unready"} and len(refused.value.reasons) == 2
    assert not models.Sending.objects.exists()


def test_only_desk_and_owner_send_and_only_the_owner_tries(covered):
    row = papers(covered)
    shop = models.Workshop.objects.get()
    acts = [
        lambda by: papers(covered, by=by),
        lambda by: actions.send_again(sending=row, by=by, now=noon(TODAY)),
        lambda by: actions.send_test_mail(workshop=shop, by=by, now=noon(TODAY)),
    ]
    for act in acts:
        for by in (SignedIn(covered.ines), Claimed(covered.petra), covered.stranger()):
            with pytest.raises(Refused) as refused:
                act(by)
            assert codes(refused) & {"not_allowed", "other_workshop"}
            models.Workshop.objects.filter(name="Elsewhere").update(name="Elsewhere before")
    with pytest.raises(Refused):
        acts[2](covered.desk)


# ------------------------------------------------------------------ pages


def test_the_desk_sends_them_from_the_certificate(covered, desk):
    assert "Send to the customer" in desk.get(f"/cars/{covered.job.pk}/certificate/").text
    assert "Send to the customer" in desk.get(f"/life/{covered.car.pk}/").text
    here = f"/cars/{covered.job.pk}/send/"
    assert f'value="{ANA}"' in desk.get(here).text
    form = key(address=ANA)
    for _ in range(2):
        assert desk.post(here, form).status_code == 302
    assert len(mail.outbox) == 1
    assert f"to {ANA}" in desk.get(f"/cars/{covered.job.pk}/certificate/").text


def test_the_address_reaches_no_receipt_and_a_wrong_one_stays_typed(covered, desk):
    answer = desk.post(f"/cars/{covered.job.pk}/send/", key(address="nobody"))
    assert answer.status_code == 409 and 'value="nobody"' in answer.text and "no mail address" in answer.text


def test_the_log_names_what_failed_and_sends_it_again(covered, desk, monkeypatch):
    with monkeypatch.context() as broken:
        breaks(broken, SMTPException("mailbox full"))
        answer = desk.post(f"/cars/{covered.job.pk}/send/", key(address=ANA), follow=True)
    assert "did not leave: mailbox full" in answer.text
    page = desk.get("/shop/mail/").text
    assert 'data-mail="failed"' in page and "mailbox full" in page and ANA in page
    row = models.Sending.objects.get()
    assert desk.post(f"/shop/mail/{row.pk}/", key()).status_code == 302
    assert 'data-mail="sent"' in desk.get("/shop/mail/").text and len(mail.outbox) == 1


def test_the_owner_sees_how_mails_leave_and_tries_it(covered, desk, client, settings):
    client.force_login(covered.petra.user)
    settings.EMAIL_HOST, settings.EMAIL_PORT, settings.EMAIL_HOST_PASSWORD = (
        "post.example",
        587,
        "very secret",
    )
    page = client.get("/shop/mail/").text
    assert "post.example, port 587" in page and "very secret" not in page
    assert client.post("/shop/mail/test/", key(address="me@mail.example")).status_code == 302
    assert mail.outbox[0].to == ["me@mail.example"] and "Test mail" in mail.outbox[0].subject


def test_installers_and_other_workshops_see_no_mail(covered, client):
    row = papers(covered)
    client.force_login(covered.ines.user)
    assert client.get("/shop/mail/").status_code == 403
    assert client.get(f"/cars/{covered.job.pk}/send/").status_code == 403
    client.force_login(covered.dora.user)
    models.Sending.objects.update(workshop=covered.stranger().person.workshop)
    assert client.get(f"/shop/mail/{row.pk}/").status_code == 404


def test_the_log_takes_as_many_questions_for_ten_mails_as_for_one(covered, desk):
    papers(covered)
    with CaptureQueriesContext(
        connection,
    ) as few:
        desk.get("/shop/mail/")
    for _ in range(9):
        papers(covered)
    with CaptureQueriesContext(connection) as many:
        desk.get("/shop/mail/")
    assert len(many) == len(few)


# ------------------------------------------------------------------ the environment


NAMES = ("SHOP_MAIL", "SHOP_MAIL_HOST", "SHOP_MAIL_PORT", "SHOP_MAIL_USER", "SHOP_MAIL_PASSWORD", "SHOP_MAIL_TLS",
         "SHOP_MAIL_FROM")  # fmt: skip


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ({}, (MAIL_WAYS["console"], "", 25, False, False)),
        ({"SHOP_MAIL_HOST": "post.example"}, (MAIL_WAYS["smtp"], "post.example", 587, True, False)),
        (
            {"SHOP_MAIL_HOST": "post.example", "SHOP_MAIL_TLS": "tls"},
            (MAIL_WAYS["smtp"], "post.example", 465, False, True),
        ),
        (
            {"SHOP_MAIL_HOST": "localhost", "SHOP_MAIL_TLS": "no", "SHOP_MAIL_PORT": "2525"},
            (MAIL_WAYS["smtp"], "localhost", 2525, False, False),
        ),
        ({"SHOP_MAIL": "console", "SHOP_MAIL_HOST": "x"}, (MAIL_WAYS["console"], "x", 587, True, False)),
        ({"SHOP_MAIL": "shop.somewhere.Backend"}, ("shop.somewhere.Backend", "", 25, False, False)),
    ],
)  # fmt: skip
def test_the_environment_says_how_mails_leave(monkeypatch, given, expected):
    for name in NAMES:
        monkeypatch.delenv(name, raising=False)
    for name, value in given.items():
        monkeypatch.setenv(name, value)
    found = mail_settings()
    assert (
        tuple(found[f"EMAIL_{name}"] for name in ("BACKEND", "HOST", "PORT", "USE_TLS", "USE_SSL"))
        == expected
    )


@pytest.mark.parametrize(
    ("name", "value"),
    [("SHOP_MAIL", "pigeon"), ("SHOP_MAIL_TLS", "maybe"), ("SHOP_MAIL_PORT", "0"), ("SHOP_MAIL_PORT", "smtp"),
     ("SHOP_MAIL_PORT", "70000")],
)  # fmt: skip
def test_nonsense_is_refused_by_name(monkeypatch, name, value):
    monkeypatch.setenv(name, value)
    with pytest.raises(ImproperlyConfigured, match=name):
        mail_settings()
