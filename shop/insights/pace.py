"""The owner's look at how quickly lines were answered: shares, never a judgement."""

from collections.abc import Iterable
from datetime import datetime

from django.db.models import Count, Q

from shop.people.models import Person
from shop.work.models.proof import Outcome


def shares(people: Iterable[Person], since: datetime) -> dict[int, tuple[int, int]]:
    """By person: how many answers since then, and how many of them within a second of the one before."""
    counted = (
        Outcome.objects.filter(person__in=people, at__gte=since)
        .values("person")
        .annotate(all=Count("pk"), quick=Count("pk", filter=Q(interval_ms__isnull=False)))
    )
    return {row["person"]: (row["all"], row["quick"]) for row in counted}
