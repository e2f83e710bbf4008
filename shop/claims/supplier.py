"""The supplier is asked before the film comes off: until the answer is in, it stays on."""

from django.db import transaction

from shop.claims.models import Claim, SupplierWait
from shop.claims.reporting import held, note_on
from shop.documents.rights import must_be_allowed
from shop.intake.typed import Typed
from shop.people.identity import By
from shop.reasons import Reason, Refused

NOTE_MOST = 300
LEAVE_IT = "The supplier was asked and has not answered: leave the film on."


@transaction.atomic
def wait_for_supplier(*, claim: Claim, asked: str = "", by: By, now) -> SupplierWait:
    """The supplier wants to see or to agree first: from now on nothing of this film may come off."""
    must_be_allowed(by, "wait_for_supplier", workshop=claim.workshop)
    claim = held(claim)
    typed = Typed()
    asked = typed.line(asked, name="What was asked", most=NOTE_MOST, where="#asked")
    if claim.waits:
        typed.wrong("This claim waits for the supplier already.", code="already_recorded")
    elif claim.repaired:
        typed.wrong("It is put right: there is nothing left to wait for.", code="superseded")
    elif claim.fitting and claim.fitting.ended_at:
        typed.wrong("That film is off the car already.", code="superseded")
    typed.stop()
    body = {"claim": claim.number, "asked": asked}
    entry = note_on(claim, "wait_for_supplier", body, by=by, now=now)
    return SupplierWait.objects.create(claim=claim, entry=entry, asked=asked, person=by.person, at=now)


@transaction.atomic
def supplier_answered(*, claim: Claim, answer: str, note: str = "", by: By, now) -> SupplierWait:
    """The supplier agreed or refused, or we go on without: `answer` agreed, refused, none."""
    must_be_allowed(by, "supplier_answered", workshop=claim.workshop)
    claim = held(claim)
    typed = Typed()
    typed.one_of(
        answer, SupplierWait.Answer.values, sentence="Say what the supplier answered.", where="#answer"
    )
    note = typed.line(note, name="The note", most=NOTE_MOST, where="#note")
    wait = claim.supplier_waits.filter(answered_at__isnull=True).first()
    if wait is None:
        typed.wrong("This claim does not wait for a supplier.", code="superseded")
    typed.stop()
    body = {"claim": claim.number, "answer": answer, "note": note}
    note_on(claim, "supplier_answered", body, by=by, now=now)
    wait.answer, wait.answer_note, wait.answered_at = answer, note, now
    wait.save(update_fields=["answer", "answer_note", "answered_at"])
    return wait


def must_not_wait(claim: Claim) -> None:
    if claim.waits:
        raise Refused(Reason("waiting_for_supplier", LEAVE_IT, where=f"/claims/{claim.pk}/"))
