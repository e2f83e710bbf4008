"""What a tablet's own troubles leave in the workshop's book."""

from django.db import transaction

from shop.people.identity import By
from shop.people.models import Tablet
from shop.record.actions import write
from shop.record.models import Entry


@transaction.atomic
def note_gap(*, tablet: Tablet, by: By, now, happened_at=None, device_at=None, sure: bool = True) -> Entry:
    """An entry was numbered on this tablet and is not there any more. Later work goes on, but somebody has to ask."""
    return write(
        workshop=tablet.workshop,
        verb="entry_lost",
        body={"tablet": tablet.pk, "number": tablet.last_seq + 1},
        by=by,
        now=now,
        happened_at=happened_at,
        device_at=device_at,
        sure=sure,
    )
