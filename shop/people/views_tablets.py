"""The tablets of the workshop: enrolled by a link opened on them, revoked at once."""

import segno
from django.contrib import messages
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.cache import never_cache

from shop import clock
from shop.pages import page
from shop.people import actions, tablets
from shop.people.desk import settle
from shop.people.doors import OWNER, staff
from shop.people.forms import ConfirmForm, TabletForm
from shop.people.models import Tablet

HERE = {"here": "shop"}
LOCAL = ("localhost", "127.", "[::1]")


@staff(*OWNER, posts=True)
def tablet_list(request):
    form = TabletForm(request.POST or None)

    def act(told, by):
        row = actions.enrol_tablet(workshop=request.workshop, name=told["name"], by=by, now=clock.now())
        return reverse("tablet", args=[row.pk])

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    rows = list(Tablet.objects.of(request.workshop))
    context = {
        "form": form,
        "enrolled": [row for row in rows if not row.revoked_at],
        "revoked": [row for row in rows if row.revoked_at],
    }
    return page(request, "people/tablets.html", HERE | context, status=form.status)


@staff(*OWNER)
@never_cache
def tablet_page(request, tablet):
    row = get_object_or_404(Tablet.objects.of(request.workshop), pk=tablet)
    context = {"row": row}
    if not row.revoked_at:
        link = request.build_absolute_uri(reverse("enrol", args=[tablets.link_token(row)]))
        context |= {
            "link": link,
            "qr": qr(link, f"QR code of the link for {row.name}"),
            "only_here": request.get_host().startswith(LOCAL),
            "hours": tablets.LINK_HOURS,
        }
    return page(request, "people/tablet.html", HERE | context)


@staff(*OWNER, posts=True)
def revoke(request, tablet):
    row = get_object_or_404(Tablet.objects.of(request.workshop), pk=tablet)
    form = ConfirmForm(request.POST or None)

    def act(told, by):
        actions.revoke_tablet(tablet=row, by=by, now=clock.now())
        messages.success(request, f"{row.name} is revoked: its next request is refused.")
        return reverse("tablets")

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    return page(request, "people/revoke.html", HERE | {"row": row, "form": form}, status=form.status)


def qr(text: str, title: str) -> str:
    """The code as inline SVG, dark on light in both themes: scanners do not read it the other way round."""
    code = segno.make(text, error="m", micro=False)
    return code.svg_inline(
        dark="#14202B", light="#FFFFFF", border=4, omitsize=True, title=title, svgclass="qr"
    )
