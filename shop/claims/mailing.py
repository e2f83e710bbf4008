"""The letter of a decision by mail: the row first, as with every mail."""

from django.core.mail import EmailMessage
from django.db import transaction
from django.template.loader import render_to_string

from shop import store
from shop.claims.letter import read
from shop.claims.models import Claim, Decision
from shop.documents.rights import must_be_allowed
from shop.people.identity import By
from shop.reasons import Reason, Refused
from shop.warranty import mails
from shop.warranty.sending import mail_to, owner_address_of, written
from shop.warranty.sendings import Sending


@transaction.atomic
def send_letter(*, claim: Claim, address: str = "", by: By, now) -> Sending:
    """The letter of the decision that stands, to the owner of the car or to another address."""
    must_be_allowed(by, "send_letter", workshop=claim.workshop)
    claim = Claim.objects.for_page().get(pk=claim.pk)
    decision = claim.decision()
    if decision is None:
        raise Refused(Reason("not_decided", "Nothing is decided yet: there is no letter.", where="#address"))
    if not decision.pdf_sha256:
        raise Refused(
            Reason("not_printed", "The letter is not printed yet: print it first.", where="#address")
        )
    to = mail_to(claim.workshop, address, owner_address_of(claim.vehicle_id))
    return written(
        claim.workshop,
        "send_letter",
        Sending.Kind.CLAIM,
        about_of(claim, decision),
        to,
        f"Claim {claim.number}: what we decided",
        by,
        now,
        certificate=claim.line.revision.certificate if claim.line else None,
    )


def about_of(claim: Claim, decision: Decision) -> str:
    return f"claim {claim.number} {decision.n}"


def letter_mail(row: Sending) -> EmailMessage:
    _, number, n = row.about.split()
    decision = Decision.objects.filter(claim__workshop=row.workshop, claim__number=number, n=n).first()
    if decision is None or not decision.pdf_sha256:
        raise mails.NoMail("Its letter is gone.")
    context = {"workshop": row.workshop, "facts": read(decision)}
    mail = EmailMessage(row.subject, render_to_string("claims/letter_mail.txt", context))
    mail.attach(f"claim-{number}-{n}.pdf", store.open_pdf(decision.pdf_sha256), mails.PDF)
    return mail


mails.MAILS[Sending.Kind.CLAIM] = letter_mail
