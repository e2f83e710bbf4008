"""The verbs of mails: the row and the entry are written here, the mail leaves after the commit (posting.post)."""

from django.db import transaction

from shop.documents.rights import must_be_allowed
from shop.intake.models import Ownership
from shop.intake.typed import Typed
from shop.people.identity import By
from shop.people.letterhead import problems
from shop.people.models import Workshop
from shop.record.actions import keep_private, told, write
from shop.record.models import Private
from shop.warranty.models import Certificate
from shop.warranty.posting import unready
from shop.warranty.sendings import Sending

LINE_MOST = 200


@transaction.atomic
def send_papers(*, certificate: Certificate, address: str = "", by: By, now) -> Sending:
    """Certificate, care sheet and calendar file for the owner; `address` where not to the one on record.

    Refused for a paper that was withdrawn or has no PDF, and where no mail can leave.
    """
    must_be_allowed(by, "send_papers", workshop=certificate.workshop)
    certificate = (
        Certificate.objects.with_revisions().select_related("workshop", "vehicle").get(pk=certificate.pk)
    )
    revision = certificate.current()
    typed = Typed()
    if revision.withdrawn_at:
        typed.wrong(f"Certificate {certificate.number} was withdrawn.", code="certificate_withdrawn")
    elif not revision.pdf_sha256:
        typed.wrong(
            f"Certificate {certificate.number} is not printed yet: print it first.", code="not_printed"
        )
    to = _address(typed, certificate.workshop, address, owner_address(certificate))
    _must_be_ready(typed, certificate.workshop)
    subject = f"Certificate and care of the film on your {certificate.vehicle.model}"
    about = f"papers {certificate.number} {revision.n}"
    return written(
        certificate.workshop,
        "send_papers",
        Sending.Kind.PAPERS,
        about,
        to,
        subject,
        by,
        now,
        certificate=certificate,
        revision=revision,
    )


@transaction.atomic
def send_test_mail(*, workshop: Workshop, address: str = "", by: By, now) -> Sending:
    """A mail that says nothing but that mails leave, to the workshop's own address or another."""
    must_be_allowed(by, "send_test_mail", workshop=workshop)
    typed = Typed()
    to = _address(typed, workshop, address or workshop.mail, None)
    _must_be_ready(typed, workshop)
    subject = f"Test mail of {workshop.name}"
    return written(workshop, "send_test_mail", Sending.Kind.TRIAL, "trial", to, subject, by, now)


@transaction.atomic
def send_again(*, sending: Sending, by: By, now) -> Sending:
    """The same once more, to the same address: a row that failed is tried again, one that left gets a new row."""
    must_be_allowed(by, "send_again", workshop=sending.workshop)
    row = (
        Sending.objects.select_for_update(of=("self",), no_key=True)
        .select_related("workshop", "address")
        .get(pk=sending.pk)
    )
    typed = Typed()
    if not row.address.value:
        typed.wrong("The address of this mail was erased.", code="already_erased")
    if row.revision and row.revision.withdrawn_at:
        typed.wrong("This certificate was withdrawn.", code="certificate_withdrawn")
    _must_be_ready(typed, row.workshop)
    if row.is_to_try():
        _told_to_book(row, "send_again", by, now)
        return row
    return written(
        row.workshop,
        "send_again",
        row.kind,
        row.about,
        row.address,
        row.subject,
        by,
        now,
        certificate=row.certificate,
        revision=row.revision,
    )


def owner_address(certificate: Certificate) -> Private | None:
    """The mail address of whoever owns the car now, as far as it is known."""
    found = owner_address_of(certificate.vehicle_id)
    if found is None and certificate.job_id and not certificate.vehicle.ownerships.exists():
        mail = certificate.job.customer.mail
        return mail if mail and mail.value else None
    return found


def owner_address_of(vehicle: int) -> Private | None:
    rows = Ownership.objects.filter(vehicle=vehicle, until__isnull=True)
    owner = rows.select_related("customer__mail").first()
    mail = owner.customer.mail if owner else None
    return mail if mail and mail.value else None


def mail_to(workshop, text: str, known: Private | None) -> Private:
    """The address to write to, kept apart where it is new. Refused for a wrong one, and where no mail can leave."""
    typed = Typed()
    to = _address(typed, workshop, text, known)
    _must_be_ready(typed, workshop)
    return to


def next_key(workshop, about: str) -> str:
    """`about` alone the first time, then with a count: every mail has a key of its own."""
    Workshop.objects.select_for_update(no_key=True).get(pk=workshop.pk)
    sent = sum(row.about == about for row in Sending.objects.filter(workshop=workshop, key__startswith=about))
    return f"{about} #{sent + 1}" if sent else about


def _address(typed: Typed, workshop, text: str, known: Private | None) -> Private:
    text = typed.line(text, name="The mail address", most=LINE_MOST, where="#address")
    if not text and known is None:
        typed.missing("There is no mail address on record: type one.", "#address")
    for reason in problems({"mail": text}):
        typed.wrong(reason.text, "#address")
    typed.stop()
    if known is not None and text in ("", known.value):
        return known
    return keep_private(workshop, text)


def _must_be_ready(typed: Typed, workshop) -> None:
    typed.reasons += unready(workshop)
    typed.stop()


def written(workshop, verb: str, kind: str, about: str, to: Private, subject: str, by, now, **of) -> Sending:
    """Inside a verb: the row and its entry."""
    row = Sending.objects.create(
        workshop=workshop,
        key=next_key(workshop, about),
        kind=kind,
        address=to,
        subject=subject[:200],
        made_at=now,
        person=by.person,
        **of,
    )
    _told_to_book(row, verb, by, now)
    return row


def _told_to_book(row: Sending, verb: str, by, now) -> None:
    body = {"mail": row.key, "kind": str(row.kind), "to": told(row.address)}
    if row.certificate:
        body |= {"certificate": row.certificate.number, "revision": row.revision.n if row.revision else 0}
    write(
        workshop=row.workshop,
        job=row.certificate.job if row.certificate else None,
        verb=verb,
        body=body,
        by=by,
        now=now,
    )
