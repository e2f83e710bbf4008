"""What is kept of each customer, for the owner: to be looked at, given out, or erased."""

import tempfile
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import FileResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.cache import never_cache

from shop import clock
from shop.intake.models import Customer
from shop.keep import actions, giving
from shop.keep.belongings import all_photos, belongings_of
from shop.keep.erased import erasures
from shop.keep.forms import EraseForm, RetentionForm
from shop.keep.retention import due, years_kept
from shop.pages import page
from shop.people import doors
from shop.people import pin as pins
from shop.people.desk import settle
from shop.people.forms import ConfirmForm
from shop.reasons import blocking

HERE = {"here": "shop"}
A_PAGE = 40
ASKED_MOST = 80


@doors.staff(*doors.OWNER, posts=True)
@never_cache
def customers(request):
    """Everybody, the latest first; whose time is over; and how long data stay."""
    shop = request.workshop
    form = RetentionForm(request.POST or None, initial={"years": years_kept(shop)})

    def act(told, by):
        actions.set_retention(workshop=shop, years=told["years"], by=by, now=clock.now())
        messages.success(request, "The new time counts from now on. Nothing was erased by it.")
        return reverse("customers")

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    asked = request.GET.get("q", "")[:ASKED_MOST].strip()
    rows = Customer.objects.filter(workshop=shop).select_related("name").order_by("-pk")
    if asked:
        rows = rows.filter(name__value__icontains=asked.replace("\0", ""))
    context = {
        "form": form,
        "asked": asked,
        "found": Paginator(rows.prefetch_related("jobs"), A_PAGE).get_page(request.GET.get("page")),
        "due": due(shop, clock.now()),
        "years": years_kept(shop),
    }
    return page(request, "keep/customers.html", HERE | context, status=form.status)


@doors.staff(*doors.OWNER)
@never_cache
def customer(request, customer):
    row = _theirs(request, customer)
    return page(request, "keep/customer.html", HERE | _kept(row) | {"form": ConfirmForm()})


@doors.staff(*doors.OWNER, posts=True)
@never_cache
def erase(request, customer):
    """What would go, and what stands in the way; erased with the owner's PIN."""
    row = _theirs(request, customer)
    form = EraseForm(request.POST or None)

    def prove(told):
        return pins.prove(request.person, told["pin"], now=clock.now(), tablet=request.tablet)

    def act(told, by):
        actions.erase_customer(customer=row, why="request", by=by, now=clock.now())
        messages.success(request, "What was known of this customer is erased.")
        return reverse("customer", args=[row.pk])

    if request.method == "POST" and (done := settle(request, form, act, prove=prove)):
        return done
    return page(request, "keep/erase.html", HERE | _kept(row) | {"form": form}, status=form.status)


@doors.staff(*doors.OWNER, posts=True, answers=dict.fromkeys(doors.OWNER, 302))
@never_cache
def data(request, customer):
    """The copy to be given to the customer. Made when it is asked for, and noted in the book once a form."""
    row = _theirs(request, customer)
    if request.method != "POST":
        return redirect("customer", customer=row.pk)
    form = ConfirmForm(request.POST)
    out = tempfile.TemporaryFile(dir=settings.FILE_UPLOAD_TEMP_DIR)  # noqa: SIM115 - closed with the answer
    photos, papers = giving.write_zip(belongings_of(row), out, now=clock.now())

    def act(told, by):
        actions.give_data(customer=row, photos=photos, papers=papers, by=by, now=clock.now())
        return reverse("customer", args=[row.pk])

    if not settle(request, form, act):
        return page(request, "keep/customer.html", HERE | _kept(row) | {"form": form}, status=form.status)
    out.seek(0)
    return FileResponse(out, as_attachment=True, filename=f"customer-{row.pk}.zip")


def _theirs(request, pk: int) -> Customer:
    rows = Customer.objects.select_related("workshop", "name", "phone", "mail", "address")
    return get_object_or_404(rows, pk=pk, workshop=request.workshop)


def _kept(row: Customer) -> dict:
    found = belongings_of(row)
    reasons = actions.reasons_to_keep(found, clock.now().astimezone(ZoneInfo(row.workshop.zone)).date())
    stops = blocking(reasons)
    done = [one for one in erasures(row.workshop) if one.body["customer"] == row.pk]
    return {
        "customer": row,
        "kept": found,
        "values": len(found.standing_values()),
        "photos": len(all_photos(found)),
        "papers": len(found.papers | found.letters),
        "stops": [{"code": one.code, "text": one.text, "where_url": one.where} for one in stops],
        "notes": [one.text for one in reasons if one not in stops],
        "erased": done[-1] if done else None,
    }
