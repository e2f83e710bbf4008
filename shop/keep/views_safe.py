"""Is it safe? One page for the owner."""

from django.views.decorators.cache import never_cache

from shop import clock
from shop.keep import safety
from shop.pages import page
from shop.people import doors


@doors.staff(*doors.OWNER)
@never_cache
def safe(request):
    found = safety.lines(request.workshop, clock.now())
    order = list(reversed(safety.State))
    context = {
        "lines": sorted(found, key=lambda line: order.index(line.state)),
        "verdict": safety.verdict(found),
        "here": "shop",
    }
    return page(request, "keep/safe.html", context)
