"""Sent twice is done once: the key is made when the person presses, the first answer is kept."""

import json
from collections.abc import Callable

from django.db import IntegrityError, transaction

from shop.reasons import Reason, Refused
from shop.record import chain
from shop.record.models import Receipt


def once(*, key: str, workshop, body: dict, act: Callable[[], dict], now, tablet=None, seq=None) -> dict:
    """The answer of `act`, or of its first run under this key. Refused if the key came with another body."""
    digest = chain.digest(json.loads(json.dumps(body, default=str)))
    kept = _kept(key, workshop, digest)
    if kept is not None:
        return kept
    try:
        with transaction.atomic():
            answer = act()
            Receipt.objects.create(
                key=key, workshop=workshop, body_digest=digest, answer=answer, tablet=tablet, seq=seq, at=now
            )
    except IntegrityError:
        kept = _kept(key, workshop, digest)
        if kept is None:
            raise
        return kept
    return answer


def _kept(key, workshop, digest):
    receipt = Receipt.objects.filter(key=key).first()
    if receipt is None:
        return None
    if receipt.workshop_id != workshop.pk or receipt.body_digest != digest:
        raise Refused(Reason("key_reused", "This form was already sent with other content. Open it afresh."))
    return {**receipt.answer, "again": True}
