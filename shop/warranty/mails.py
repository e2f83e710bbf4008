"""What stands in each kind of mail. Nothing of a mail is kept but its row: it is put together for each try."""

from collections.abc import Callable

from django.core.mail import EmailMessage
from django.template.loader import render_to_string

from shop import store
from shop.papers import base_of
from shop.warranty import care_sheet
from shop.warranty.address import check_url
from shop.warranty.due import rechecks_of
from shop.warranty.sendings import Sending

PDF, CALENDAR = "application/pdf", "text/calendar"


class NoMail(Exception):
    """There is nothing to send any more; the text says why."""


def mail_of(row: Sending) -> EmailMessage:
    """The mail of this row without sender and address. NoMail where what it is about is gone."""
    return MAILS[row.kind](row)


def papers(row: Sending) -> EmailMessage:
    """The certificate as it was printed, the care sheet, and its dates for a calendar."""
    revision = row.revision
    context = {
        "revision": revision,
        "sheet": care_sheet.sheet_of(revision),
        "address": check_url(base_of(row.workshop), row.certificate.token),
    }
    mail = _mail(row, "warranty/papers_mail.txt", context)
    number = row.certificate.number
    mail.attach(f"certificate-{number}.pdf", store.open_pdf(revision.pdf_sha256), PDF)
    mail.attach(care_sheet.file_name(revision, "pdf"), care_sheet.pdf_of(revision), PDF)
    mail.attach(care_sheet.file_name(revision, "ics"), care_sheet.calendar_of(revision), CALENDAR)
    return mail


def recheck(row: Sending) -> EmailMessage:
    certificate, key = row.certificate, row.key.split()[2]
    today = row.made_at.date()
    due = next((one for one in rechecks_of([certificate], today=today) if one.asked.key == key), None)
    if due is None:
        raise NoMail("Its paper asks for this recheck no more.")
    context = {
        "car": certificate.vehicle,
        "number": certificate.number,
        "asked": due.asked,
        "planned_on": due.planned_on,
        "address": check_url(base_of(row.workshop), certificate.token),
    }
    return _mail(row, "warranty/recheck_mail.txt", context)


def trial(row: Sending) -> EmailMessage:
    return _mail(row, "warranty/trial_mail.txt", {})


MAILS: dict[str, Callable[[Sending], EmailMessage]] = {
    Sending.Kind.PAPERS: papers,
    Sending.Kind.RECHECK: recheck,
    Sending.Kind.TRIAL: trial,
}
"""By kind. A later room whose papers are sent as well adds its own."""


def _mail(row: Sending, template: str, context: dict) -> EmailMessage:
    text = render_to_string(template, {"workshop": row.workshop, **context})
    return EmailMessage(row.subject, text)
