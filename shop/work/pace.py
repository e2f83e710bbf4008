"""How quickly lines were answered one after another. A second is too short to look; the share is told, never judged."""

from datetime import datetime, timedelta

from shop.people.identity import By
from shop.work.models.proof import Outcome

AT_ONCE = timedelta(seconds=1)


def interval_ms(job, by: By, device_at: datetime | None) -> int | None:
    """Milliseconds since this person's answer before, by the tablet's own clock; None where more than a second."""
    if device_at is None or by.tablet is None:
        return None
    before = (
        Outcome.objects.filter(entry__book__job=job, entry__tablet=by.tablet, person=by.person)
        .order_by("-pk")
        .values_list("entry__device_at", flat=True)
        .first()
    )
    if before is None or not timedelta(0) <= device_at - before <= AT_ONCE:
        return None
    return round((device_at - before) / timedelta(milliseconds=1))
