"""Every car this workshop has or had, and what each one here waits for."""

from django.core.paginator import Paginator

from shop import clock
from shop.intake.models import Job
from shop.pages import page
from shop.people.doors import staff
from shop.work.floor import floors
from shop.work.waits import waits_for

A_PAGE = 40


@staff()
def cars(request):
    now = clock.now()
    jobs = list(Job.objects.in_the_shop(request.workshop).for_page())
    here = [{"job": floor.job, "wait": waits_for(floor, now)} for floor in floors(jobs).values()]
    gone = Paginator(Job.objects.gone(request.workshop).for_page(), A_PAGE).get_page(request.GET.get("page"))
    desk = request.person.has("desk", "owner")
    return page(request, "work/cars.html", {"here": "cars", "cars": here, "gone": gone, "desk": desk})
