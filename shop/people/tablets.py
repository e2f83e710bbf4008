"""A tablet's own credential: one cookie, revocable at once.

The secret is derived, so that the enrolment link may be opened again on the same day without locking out
the browser that opened it first; revoking ends both, since a revoked row is never matched.
"""

import hashlib
import hmac

from django.conf import settings
from django.core import signing

from shop import clock
from shop.people.models import Tablet

LINK_HOURS = 24


def secret_of(tablet: Tablet) -> str:
    return hmac.new(settings.SECRET_KEY.encode(), f"tablet {tablet.pk}".encode(), hashlib.sha256).hexdigest()


def secret_hash(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def cookie_of(tablet: Tablet) -> str:
    return f"{tablet.pk}.{secret_of(tablet)}"


def link_token(tablet: Tablet, *, now=None) -> str:
    """What the enrolment link ends in; good for a day by the program's own clock."""
    ends = int((now or clock.now()).timestamp()) + LINK_HOURS * 3600
    return signing.dumps([tablet.pk, ends], salt="enrol")


def by_link(token: str, *, now=None) -> Tablet | None:
    """The tablet of this link, unless the link is forged or over, or the tablet revoked."""
    try:
        pk, ends = signing.loads(token, salt="enrol")
    except (signing.BadSignature, ValueError, TypeError):
        return None
    if (now or clock.now()).timestamp() > ends:
        return None
    return Tablet.objects.select_related("workshop").filter(pk=pk, revoked_at__isnull=True).first()


def by_cookie(value: str) -> tuple[Tablet | None, bool]:
    """The tablet of this cookie, and whether it was revoked."""
    pk, _, secret = value.partition(".")
    if not pk.isdecimal() or len(pk) > 18:
        return None, False
    tablet = Tablet.objects.select_related("workshop").filter(pk=int(pk)).first()
    if tablet is None or not hmac.compare_digest(tablet.secret_hash, secret_hash(secret)):
        return None, False
    return (None, True) if tablet.revoked_at else (tablet, False)
