"""A tablet's own credential: one cookie, revocable at once.

The secret is derived, so that the enrolment link may be opened again on the same day without locking out
the browser that opened it first; revoking ends both, since a revoked row is never matched.
"""

import hashlib
import hmac

from django.conf import settings
from django.core import signing

from shop.people.models import Tablet

LINK_HOURS = 24


def secret_of(tablet: Tablet) -> str:
    return hmac.new(settings.SECRET_KEY.encode(), f"tablet {tablet.pk}".encode(), hashlib.sha256).hexdigest()


def secret_hash(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def cookie_of(tablet: Tablet) -> str:
    return f"{tablet.pk}.{secret_of(tablet)}"


def link_token(tablet: Tablet) -> str:
    return signing.dumps(tablet.pk, salt="enrol")


def by_link(token: str) -> Tablet | None:
    try:
        pk = signing.loads(token, salt="enrol", max_age=LINK_HOURS * 3600)
    except signing.BadSignature:
        return None
    return Tablet.objects.filter(pk=pk, revoked_at__isnull=True).first()


def by_cookie(value: str) -> tuple[Tablet | None, bool]:
    """The tablet of this cookie, and whether it was revoked."""
    pk, _, secret = value.partition(".")
    if not pk.isdecimal() or len(pk) > 18:
        return None, False
    tablet = Tablet.objects.select_related("workshop").filter(pk=int(pk)).first()
    if tablet is None or not hmac.compare_digest(tablet.secret_hash, secret_hash(secret)):
        return None, False
    return (None, True) if tablet.revoked_at else (tablet, False)
