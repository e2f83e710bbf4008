"""Find a car while the caller talks; open it to its whole life."""

from zoneinfo import ZoneInfo

from django.shortcuts import get_object_or_404, redirect

from shop import clock
from shop.documents.rights import may, roles_of
from shop.find import layers
from shop.find.life import life_of
from shop.find.search import search
from shop.intake.models import Vehicle
from shop.pages import page
from shop.people import doors


@doors.staff()
def find(request):
    """Results as you type by `?part=results`; the whole page goes straight to the car where there is one."""
    typed = request.GET.get("q", "")[:200]
    found = search(request.workshop, typed)
    if len(found.hits) == 1 and "part" not in request.GET:
        return redirect("life", vehicle=found.hits[0].vehicle.pk)
    context = {"here": "find", "query": typed, "found": found}
    return page(request, "find/find.html", context, parts={"results"})


@doors.staff()
def life(request, vehicle):
    row = get_object_or_404(Vehicle.objects.for_page(), pk=vehicle, workshop=request.workshop)
    context = {"here": "find", "life": life_of(row, language=request.workshop.language)}
    context |= {
        "layers": layers.NAMES.items(),
        "layer": layers.layer_of(
            row,
            request.GET.get("layer", ""),
            language=request.workshop.language,
            today=clock.now().astimezone(ZoneInfo(request.workshop.zone)).date(),
        ),
    }
    context["may_send"] = may(request.person, "send_papers", roles=roles_of(request.workshop))
    return page(request, "find/life.html", context)
