"""How mails leave: whom they come from, whether they can leave at all, and one try with its outcome kept.

The row of a mail stands, committed, before its first try. A try is claimed in the row before the mail goes, so
that two who try at once send once; what went wrong stays in the row until the next try.
"""

import logging
from email.utils import formataddr
from smtplib import SMTPException

from django.conf import settings
from django.core.mail import EmailMessage
from django.db.models import F, Q

from shop import press
from shop.environment import MAIL_WAYS
from shop.printing import NotPrinted
from shop.reasons import Reason
from shop.store import Missing
from shop.warranty.mails import NoMail, mail_of
from shop.warranty.sendings import Sending

log = logging.getLogger("shop")
FAULT_MOST = 300
FAULTS = (SMTPException, OSError, ValueError, Missing, NoMail, NotPrinted, press.PressFailed)


def is_console() -> bool:
    """Whether mails are only written to where the program runs."""
    return MAIL_WAYS["console"] == settings.EMAIL_BACKEND


def sender_of(workshop) -> str:
    """The bare address mails come from, empty where there is none."""
    return settings.DEFAULT_FROM_EMAIL or workshop.mail


def unready(workshop) -> list[Reason]:
    """Why no mail can leave, one sentence each."""
    found = []
    if not sender_of(workshop):
        found.append(
            "Mails have no sender: give the workshop a mail address in the settings, or set SHOP_MAIL_FROM."
        )
    if MAIL_WAYS["smtp"] == settings.EMAIL_BACKEND and not settings.EMAIL_HOST:
        found.append("No mail server is named: set SHOP_MAIL_HOST and start the program again.")
    return [Reason("mail_unready", text, where="/shop/mail/") for text in found]


def post(row: Sending, *, now) -> Sending:
    """Try once to send what this row tells of. Does nothing where it left already, or may have left.

    Whatever goes wrong is kept in the row in words and in the log. Call it after the commit.
    """
    mine = Sending.objects.filter(Q(tries=0) | ~Q(fault=""), pk=row.pk, tries=row.tries, sent_at=None)
    if not mine.update(tries=F("tries") + 1, fault=""):
        row.refresh_from_db()
        return row
    row.refresh_from_db()
    try:
        _addressed(row).send()
    except FAULTS as fault:
        log.warning("mail %s did not leave", row.key)
        row.fault = (str(fault) or type(fault).__name__)[:FAULT_MOST]
        row.save(update_fields=["fault"])
        return row
    row.sent_at = now
    row.save(update_fields=["sent_at"])
    return row


def _addressed(row: Sending) -> EmailMessage:
    workshop, address = row.workshop, row.address.value
    if not address:
        raise NoMail("Its address was erased.")
    mail = mail_of(row)
    sender = sender_of(workshop)
    mail.from_email, mail.to = formataddr((workshop.name, sender)), [address]
    if workshop.mail and workshop.mail != sender:
        mail.reply_to = [workshop.mail]
    return mail
