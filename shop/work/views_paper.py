"""The job card at the desk and in the bay."""

from django.views.decorators.cache import never_cache

from shop import clock
from shop.people import doors
from shop.pressed import pressed
from shop.work.floor import Floor
from shop.work.job_card import card
from shop.work.views_bay import job_for


@doors.bay
@never_cache
def job_card(request, job):
    row = job_for(request, job)
    return pressed(card(Floor(row), now=clock.now()), name=f"job-card-{row.number}")
