"""Stock that is there and not to be used freely: lots in quarantine, film kept back for cars under cover."""

from django.db import transaction

from shop.documents.rights import must_be_allowed
from shop.film import questions
from shop.film.models import Lot, Material
from shop.people.identity import By
from shop.reasons import Reason, Refused
from shop.record.actions import book_of, write

MOST_RESERVE_MM = 200_000


@transaction.atomic
def quarantine_lot(*, lot: Lot, reason: str, by: By, now) -> Lot:
    """Hold a lot back: nothing is cut from it and nobody lays it until it is freed."""
    lot = _locked(lot, by)
    if lot.quarantined_at:
        raise Refused(Reason("lot_quarantined", f"Lot {lot.code} is in quarantine already."))
    lot.quarantined_at, lot.quarantine_reason = now, questions.why(reason)
    return _hold(lot, "quarantine_lot", by, now)


@transaction.atomic
def free_lot(*, lot: Lot, reason: str, by: By, now) -> Lot:
    """End a quarantine, with the reason why the lot is sound."""
    lot = _locked(lot, by)
    if not lot.quarantined_at:
        raise Refused(Reason("value_wrong", f"Lot {lot.code} is not in quarantine."))
    lot.quarantined_at, lot.quarantine_reason = None, ""
    return _hold(lot, "free_lot", by, now, questions.why(reason))


@transaction.atomic
def reserve_film(*, lot: Lot, length_mm: int, by: By, now) -> Lot:
    """Film of this lot kept back for cars under cover: a warning comes before it is cut into. 0 keeps none."""
    workshop = lot.material.workshop
    must_be_allowed(by, "reserve_film", workshop=workshop)
    book_of(workshop)
    lot = Lot.objects.of(workshop).get(pk=lot.pk)
    if lot.material.kind != Material.Kind.FILM:
        raise Refused(Reason("value_wrong", "Only film is kept back by the metre.", where="#length"))
    if not 0 <= length_mm <= MOST_RESERVE_MM:
        raise Refused(Reason("value_wrong", "Say how much is kept back: up to 200 m.", where="#length"))
    before, lot.reserve_mm = lot.reserve_mm, length_mm
    lot.save(update_fields=["reserve_mm"])
    body = {"lot": {"id": lot.pk, "code": lot.code}, "from_mm": before, "reserve_mm": length_mm}
    write(workshop=workshop, verb="reserve_film", body=body, by=by, now=now)
    return lot


def _locked(lot: Lot, by: By) -> Lot:
    must_be_allowed(by, "quarantine_lot", workshop=lot.material.workshop)
    Lot.objects.select_for_update(no_key=True).get(pk=lot.pk)
    return Lot.objects.select_related("material__workshop").get(pk=lot.pk)


def _hold(lot: Lot, verb: str, by: By, now, reason: str = "") -> Lot:
    lot.save(update_fields=["quarantined_at", "quarantine_reason"])
    body = {"lot": lot.pk, "reason": reason or lot.quarantine_reason}
    write(workshop=lot.material.workshop, verb=verb, body=body, by=by, now=now)
    return lot
