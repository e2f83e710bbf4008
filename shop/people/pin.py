"""PINs: made, checked, and locked after misses.

Four to eight digits are few guesses, so the hash is not the defence: the PIN is first keyed with a secret kept
outside the database, and misses lock the person, and the tablet they came from, for twice as long each time.
"""

import hashlib
import hmac
import secrets
from datetime import timedelta

from django.conf import settings
from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction
from django.db.models import F

from shop.people.identity import Proven
from shop.people.models import Person, Tablet
from shop.reasons import Reason, Refused

FREE_TRIES = 5
FIRST_LOCK = timedelta(minutes=1)
LONGEST_LOCK = timedelta(hours=24)
EASY = {"012345", "123456", "654321", "111111", "000000", "123123", "121212", "112233"}


def keyed(pin: str) -> str:
    return hmac.new(settings.PIN_KEY.encode(), pin.encode(), hashlib.sha256).hexdigest()


def hashed(pin: str) -> str:
    return make_password(keyed(pin))


def problems(pin: str, length: int) -> list[Reason]:
    """What is wrong with a new PIN, as sentences."""
    if not (pin.isascii() and pin.isdigit()) or len(pin) != length:
        return [Reason("pin_shape", f"A PIN here has {length} digits.", where="#pin")]
    if pin in EASY or len(set(pin)) == 1 or pin in "01234567890" or pin in "09876543210":
        return [Reason("pin_easy", "That PIN is the first one people try; take another.", where="#pin")]
    return []


def lock_after(misses: int) -> timedelta | None:
    """How long the next try has to wait after this many misses in a row.

    >>> lock_after(4) is None
    True
    >>> lock_after(5), lock_after(7)
    (datetime.timedelta(seconds=60), datetime.timedelta(seconds=240))
    """
    if misses < FREE_TRIES:
        return None
    return min(FIRST_LOCK * 2 ** min(misses - FREE_TRIES, 20), LONGEST_LOCK)


def prove(person: Person, pin: str, *, now, tablet: Tablet | None = None) -> Proven:
    """The person, proven by PIN. Refused otherwise, and then the miss is already committed.

    Call it before the act's own transaction: inside, a refusal would roll the miss back with everything else.
    """
    fault = _try(person.pk, pin, now=now, tablet_pk=tablet.pk if tablet else None)
    if fault:
        raise Refused(fault)
    return Proven(person, "pin", tablet)


@transaction.atomic
def _try(person_pk: int, pin: str, *, now, tablet_pk: int | None) -> Reason | None:
    person = Person.objects.select_for_update(no_key=True).get(pk=person_pk)
    tablet = Tablet.objects.select_for_update(no_key=True).get(pk=tablet_pk) if tablet_pk else None
    if person.left_at:
        return Reason("not_allowed", f"{person.name} does not work here any more.")
    for holder in filter(None, (person, tablet)):
        if holder.locked_until and holder.locked_until > now:
            minutes = -(-int((holder.locked_until - now).total_seconds()) // 60)
            whose = "this tablet" if holder is tablet else f"{person.name}'s PIN"
            return Reason("pin_locked", f"Too many wrong PINs: {whose} is locked for {minutes} more min.")
    if person.pin_hash and check_password(keyed(pin or ""), person.pin_hash):
        for holder in filter(None, (person, tablet)):
            if holder.misses:
                type(holder).objects.filter(pk=holder.pk).update(misses=0, locked_until=None)
        return None
    for holder in filter(None, (person, tablet)):
        wait = lock_after(holder.misses + 1)
        type(holder).objects.filter(pk=holder.pk).update(
            misses=F("misses") + 1, locked_until=now + wait if wait else None
        )
    if not person.pin_hash:
        return Reason("pin_wrong", f"{person.name} has no PIN yet; the owner sets one under People.")
    return Reason("pin_wrong", f"That is not {person.name}'s PIN.")


def fresh(length: int) -> str:
    """A random PIN that nobody tries first."""
    while problems(pin := "".join(str(secrets.randbelow(10)) for _ in range(length)), length):
        pass
    return pin
