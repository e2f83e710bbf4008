"""Find a car while the caller talks; open it to its whole life."""

from zoneinfo import ZoneInfo

from django.shortcuts import get_object_or_404, redirect

from shop import clock
from shop.documents.rights import may, roles_of
from shop.find import layers
from shop.find.last_time import STAGES, last_time
from shop.find.life import life_of
from shop.find.search import search
from shop.intake.models import Job, Vehicle
from shop.pages import page
from shop.people import doors
from shop.work.kinds import Stage, title


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


@doors.bay
def last_time_page(request, job):
    """How the last car of this model was done; `?panel=` puts one piece first, `?stage=` keeps its photos alone."""
    row = get_object_or_404(Job.objects.for_page(), pk=job, workshop=request.workshop)
    stage = request.GET.get("stage", "")
    stage = stage if stage in STAGES else ""
    panel = request.GET.get("panel", "")[:40]
    context = {
        "job": row,
        "last": last_time(row, stage=stage, panel=panel),
        "stage": title(Stage(stage))["en"] if stage else "",
        "back_url": f"/bay/{row.pk}/{panel}/{stage}/" if stage and panel else f"/bay/{row.pk}/",
        "panel": panel,
        "person": request.person,
    }
    return page(request, "find/last_time.html", context)
