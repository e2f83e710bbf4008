"""One entry of a tablet, done once and in order: one short transaction, the tablet's row locked throughout.

One transaction an entry and not one a message: a message cut in the middle is progress, and no two tablets
ever wait for each other with two jobs in hand.
"""

import logging
from datetime import UTC, datetime, timedelta
from typing import Any

from django.core.exceptions import ValidationError
from django.db import DataError, IntegrityError, transaction

from shop.intake.models import Job
from shop.offline import table, times
from shop.offline.message import Message, Sent
from shop.people.identity import Claimed
from shop.people.models import Person, Tablet
from shop.reasons import Reason, Refused
from shop.record.models import Entry, Receipt
from shop.refusals import as_dicts
from shop.work.actions import Conflict
from shop.work.models.proof import Outcome, OutcomeOn

log = logging.getLogger("shop")

APPLIED, SAME, CONFLICT, REFUSED = "applied", "same", "conflict", "refused"
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


class Gap(Exception):
    """The entry's number is not the next one; `expect` is. Nothing after it is looked at."""

    def __init__(self, expect: int) -> None:
        super().__init__(str(expect))
        self.expect = expect


class Revoked(Exception):
    """The tablet was revoked while its message was on the way."""


@transaction.atomic
def take(tablet_pk: int, sent: Sent, message: Message, *, now: datetime) -> dict[str, Any]:
    """The answer to one entry, kept under its key: the same entry again gets it again, and does nothing."""
    tablet = (
        Tablet.objects.select_for_update(of=("self",), no_key=True)
        .select_related("workshop")
        .get(pk=tablet_pk)
    )
    if tablet.revoked_at:
        raise Revoked
    kept = Receipt.objects.filter(key=sent.key).first()
    if kept is not None:
        return _again(kept, sent, tablet)
    if sent.seq <= tablet.last_seq:
        text = "This tablet has used that number before; it counts on from where the shop is."
        return _answer(sent, REFUSED, [Reason("seq_reused", text)])
    if sent.seq > tablet.last_seq + 1:
        raise Gap(tablet.last_seq + 1)
    press, behind = _pressed(tablet, sent, message, now)
    answer, entry = _act(tablet, sent, press, now)
    answer |= {"at": _ms(now)}
    Receipt.objects.create(
        key=sent.key,
        workshop=tablet.workshop,
        tablet=tablet,
        seq=sent.seq,
        body_digest=sent.digest,
        answer=answer | {"clock_behind_ms": behind},
        entry=entry,
        at=now,
    )
    Tablet.objects.filter(pk=tablet.pk).update(last_seq=sent.seq, last_happened_at=press.happened_at)
    return answer


def _again(kept: Receipt, sent: Sent, tablet: Tablet) -> dict[str, Any]:
    if kept.workshop_id != tablet.workshop_id or kept.body_digest != sent.digest:
        text = "This entry was sent before with other content. Enter it afresh."
        return _answer(sent, REFUSED, [Reason("key_reused", text)])
    answer = {name: value for name, value in kept.answer.items() if name != "clock_behind_ms"}
    return answer | {"again": True}


def _pressed(tablet: Tablet, sent: Sent, message: Message, now: datetime) -> tuple[times.Press, int]:
    before = Receipt.objects.filter(tablet=tablet, seq=tablet.last_seq).first()
    press = times.press(
        received_at=now,
        tablet_now_ms=message.now,
        at_ms=sent.at,
        previous=tablet.last_happened_at,
        behind_before_ms=before.answer.get("clock_behind_ms") if before else None,
        steady=sent.steady,
    )
    return press, times.behind(now, message.now)


def _act(
    tablet: Tablet, sent: Sent, press: times.Press, now: datetime
) -> tuple[dict[str, Any], Entry | None]:
    """Call the verb. A refusal rolls back what it wrote and is kept as the answer."""
    try:
        with transaction.atomic():
            ready = _ready(tablet, sent, press, now)
            return _done(sent, table.TABLE[ready.kind](ready))
    except Conflict as conflict:
        return _answer(sent, CONFLICT, conflict.reasons), None
    except Refused as refused:
        return _answer(sent, REFUSED, refused.reasons), None
    except (ValueError, TypeError, LookupError, AttributeError, ArithmeticError, ValidationError, DataError,
            IntegrityError):  # fmt: skip
        # A fault of ours must not stop every later entry of this tablet; the person is told to enter it again.
        log.exception("entry %s of tablet %s failed", sent.key, tablet.pk)
        text = "The program failed on this entry and did not take it. Enter it again, and tell the owner."
        return _answer(sent, REFUSED, [Reason("entry_failed", text)]), None


def _ready(tablet: Tablet, sent: Sent, press: times.Press, now: datetime) -> table.Entry:
    if sent.fault:
        raise table.unclear(sent.fault)
    if sent.kind not in table.TABLE:
        raise table.unclear(f"Nothing here is called {sent.kind[:30]}.")
    job = None
    if sent.kind not in table.WITHOUT_A_CAR:
        job = Job.objects.for_page().filter(pk=sent.job, workshop=tablet.workshop).first()
        if job is None:
            raise Refused(Reason("other_workshop", "This car is not in this shop."))
    return table.Entry(
        kind=sent.kind,
        body=sent.body,
        job=job,
        by=Claimed(_person(tablet, sent, press), tablet),
        now=now,
        happened_at=press.happened_at,
        device_at=_device_time(sent.at),
        sure=press.sure,
    )


def _person(tablet: Tablet, sent: Sent, press: times.Press) -> Person:
    """Whoever was picked. Work done before leaving counts, whenever it arrives."""
    people = Person.objects.with_roles().filter(workshop=tablet.workshop, pk=sent.who)
    person = people.first()
    if person is None:
        raise Refused(
            Reason("not_allowed", "Nobody here goes by that name. Pick who you are and enter it again.")
        )
    if person.left_at and person.left_at <= press.happened_at:
        raise Refused(Reason("not_allowed", f"{person.name} does not work here any more."))
    # As of the press: whoever has left since was still here. The row is only read from here on.
    person.left_at = None
    return person


def _done(sent: Sent, done: Any) -> tuple[dict[str, Any], Entry | None]:
    # A photo of a defect alone proves no line, so there is no row to speak for it.
    first = next(iter(done), None) if isinstance(done, list) else done
    entry = first if isinstance(first, Entry) else getattr(first, "entry", None)
    if getattr(first, "late", False):
        text = "Its stage was signed before this arrived. It is kept as a late note and changes nothing."
        return _answer(sent, CONFLICT, [Reason("already_signed", text)]), entry
    answer = _answer(sent, APPLIED, [])
    if isinstance(first, Outcome):
        answer["outcome_id"] = first.pk
        witness = _as_before(first)
        if witness:
            answer |= {"outcome": SAME, "detail": f"{witness.person.name} had answered the same before."}
    return answer, entry


def _as_before(outcome: Outcome) -> Outcome | None:
    """The answer of somebody else that says the very same at every place this one fell on."""
    before = [
        on.outcome for on in OutcomeOn.objects.filter(replaced_by=outcome).select_related("outcome__person")
    ]
    if len(before) != outcome.on.count():
        return None
    same = all(
        (was.answer, was.value, was.reason) == (outcome.answer, outcome.value, outcome.reason)
        and was.person_id != outcome.person_id
        for was in before
    )
    return before[0] if before and same else None


def _answer(sent: Sent, outcome: str, reasons: list[Reason]) -> dict[str, Any]:
    return {
        "key": sent.key,
        "outcome": outcome,
        "reasons": as_dicts(reasons),
        "detail": " ".join(reason.text for reason in reasons),
    }


def _device_time(at_ms: int) -> datetime | None:
    try:
        return EPOCH + timedelta(milliseconds=at_ms)
    except OverflowError:
        return None


def _ms(moment: datetime) -> int:
    return round(moment.timestamp() * 1000)
