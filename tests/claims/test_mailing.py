"""The letter of a decision by mail: a row first, the letter with it, sent again like every mail."""

import uuid

import pytest
from django.core import mail
from django.test import Client

from shop import clock, models, press
from shop.claims import actions, letter
from shop.keep.belongings import belongings_of
from shop.people.identity import SignedIn
from shop.reasons import Refused
from shop.record.actions import body_of, keep_private
from shop.warranty import actions as warranty
from shop.warranty.posting import post
from tests import make
from tests.claims.test_claims import TOLD, decide, report
from tests.make_covered import noon, with_passwords

pytestmark = pytest.mark.django_db
ANA = "ana@mail.example"


@pytest.fixture(autouse=True)
def at_the_desk(monkeypatch):
    monkeypatch.setattr(press, "run", lambda work, put, **rest: b"%PDF-1.7 " + put.mark.encode())
    with clock.held_at(noon(TOLD)):
        yield


@pytest.fixture
def covered():
    found = with_passwords()
    models.Workshop.objects.update(mail="desk@quay.example")
    found.job.customer.mail = keep_private(found.shop, ANA)
    found.job.customer.save()
    return found


@pytest.fixture
def claim(covered):
    row = report(covered)
    letter.print_letter(decide(covered, row))
    return models.Claim.objects.for_page().get(pk=row.pk)


def send(covered, claim, **rest):
    return actions.send_letter(claim=claim, **({"by": covered.desk, "now": noon(TOLD)} | rest))


def test_the_letter_goes_along_and_says_nothing_of_the_outcome_in_the_mail(covered, claim):
    row = send(covered, claim)
    assert (row.state, mail.outbox) == ("waiting", [])
    post(row, now=noon(TOLD))
    (sent,) = mail.outbox
    (name, data, kind) = sent.attachments[0]
    assert (sent.to, name, kind) == ([ANA], f"claim-{claim.number}-1.pdf", "application/pdf")
    assert data.startswith(b"%PDF") and "accepted" not in sent.body.lower()
    entry = models.Entry.objects.get(verb="send_letter")
    assert ANA not in entry.body and body_of(entry)["mail"] == f"claim {claim.number} 1"


def test_it_is_sent_again_like_every_mail_and_a_new_decision_has_a_mail_of_its_own(covered, claim):
    first = post(send(covered, claim), now=noon(TOLD))
    post(warranty.send_again(sending=first, by=covered.desk, now=noon(TOLD)), now=noon(TOLD))
    letter.print_letter(decide(covered, claim, "refuse"))
    post(send(covered, claim), now=noon(TOLD))
    names = [sent.attachments[0][0] for sent in mail.outbox]
    assert names == [f"claim-{claim.number}-{n}.pdf" for n in (1, 1, 2)]


def test_what_is_not_decided_or_not_printed_is_not_sent(covered):
    row = report(covered)
    for code in ("not_decided", "not_printed"):
        with pytest.raises(Refused) as refused:
            send(covered, row)
        assert {reason.code for reason in refused.value.reasons} == {code}
        decide(covered, row)
    assert not models.Sending.objects.exists()


def test_an_installer_sends_no_letter(covered, claim):
    with pytest.raises(Refused):
        send(covered, claim, by=SignedIn(covered.ines))


def test_the_page_sends_it_once(covered, claim):
    client = Client()
    client.force_login(covered.dora.user)
    here = f"/claims/{claim.pk}/send/"
    assert here in client.get(f"/claims/{claim.pk}/").text
    assert f'value="{ANA}"' in client.get(here).text
    form = {"key": str(uuid.uuid4()), "address": ANA}
    for _ in range(2):
        assert client.post(here, form).status_code == 302
    assert len(mail.outbox) == 1 and "Sent before" in client.get(here).text


def test_an_address_typed_for_a_letter_is_erased_with_the_customer(covered, claim):
    other = "someone-else@mail.example"
    sent = send(covered, claim, address=other)
    assert sent.address.value == other
    # As of a claim about a car without a paper of ours.
    models.Sending.objects.update(certificate=None)
    assert sent.address_id in belongings_of(covered.job.customer).values
    stranger = models.Customer.objects.exclude(pk=covered.job.customer_id).first() or make.customer(
        covered.shop
    )
    assert sent.address_id not in belongings_of(stranger).values
