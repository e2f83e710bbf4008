"""What the owner sees of how the work goes."""

from datetime import timedelta

from django.views.decorators.cache import never_cache

from shop import clock
from shop.insights.pace import shares
from shop.pages import page
from shop.people.doors import OWNER, staff
from shop.people.models import Person

OVER = timedelta(days=30)


@staff(*OWNER)
@never_cache
def pace(request):
    """By person: answers in the last thirty days, and how many came within a second of the one before."""
    people = list(Person.objects.who_work(request.workshop))
    counted = shares(people, clock.now() - OVER)
    rows = [
        {
            "name": person.name,
            "answers": (found := counted.get(person.pk, (0, 0)))[0],
            "quick": found[1],
            "share": round(100 * found[1] / found[0]) if found[0] else 0,
        }
        for person in people
    ]
    context = {"here": "shop", "rows": rows, "days": OVER.days, "all": sum(row["answers"] for row in rows)}
    return page(request, "insights/pace.html", context)
