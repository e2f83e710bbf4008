"""What commands of this room share: who answers for an act that is done at the machine itself."""

from django.core.management.base import CommandError

from shop.people.identity import Proven
from shop.people.models import Person, Workshop

WRONG, MISUSED = 1, 2


def owner_of(workshop: Workshop, pk: int | None) -> Proven:
    """The owner named, or the only one. Whoever may run this has the machine in hand, and the book says so."""
    rows = Person.objects.here(workshop).filter(roles__role="owner")
    found = list(rows.filter(pk=pk) if pk else rows)
    if len(found) != 1:
        names = ", ".join(f"{row.pk} {row.name}" for row in rows)
        raise CommandError(f"Say which owner answers for it with --by: {names}.", returncode=MISUSED)
    return Proven(found[0], "command")
