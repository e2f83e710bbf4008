"""The shop at a glance: letterhead, documents in force, keys, database; and its settings."""

from django.contrib import messages
from django.db.models import Count, Q
from django.urls import reverse

from shop import clock
from shop.documents import condition
from shop.documents.models import Document
from shop.pages import page
from shop.people import actions, places
from shop.people.desk import settle
from shop.people.doors import OWNER, staff
from shop.people.forms import SettingsForm
from shop.people.models import Workshop

HERE = {"here": "shop"}
SETTINGS = (
    "name", "address", "phone", "mail", "country", "zone", "unit_system", "public_url", "self_release", "pin_length"
)  # fmt: skip


@staff()
def shop(request):
    """Letterhead, people, tablets and documents for everybody here; the state of the machine for the owner."""
    owner = request.person.has("owner")
    context = {
        "owner": owner,
        "desk": request.person.has("desk", "owner"),
        "country": places.countries().get(request.workshop.country, request.workshop.country),
        "counts": _counts(request.workshop),
        "documents": Document.objects.for_list(request.workshop).filter(
            published_at__isnull=False, retired_at__isnull=True
        ),
        "drafts": Document.objects.for_list(request.workshop).filter(published_at__isnull=True).count(),
        "machine": condition.of_the_machine() if owner else None,
    }
    return page(request, "documents/shop.html", HERE | context)


def _counts(workshop) -> dict[str, int]:
    return Workshop.objects.filter(pk=workshop.pk).aggregate(
        people=Count("people", Q(people__left_at=None), distinct=True),
        tablets=Count("tablets", Q(tablets__revoked_at=None), distinct=True),
    )


@staff(*OWNER, posts=True)
def settings_page(request):
    workshop = request.workshop
    form = SettingsForm(request.POST or None, initial={name: getattr(workshop, name) for name in SETTINGS})

    def act(told, by):
        values = {name: told[name] for name in SETTINGS}
        actions.change_settings(workshop=workshop, **values, by=by, now=clock.now())
        messages.success(request, "The settings are changed. Papers already issued keep what they say.")
        return reverse("shop")

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    return page(request, "documents/settings.html", HERE | {"form": form}, status=form.status)
