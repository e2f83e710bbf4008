"""The way in: home, first start, signing in and out, a tablet's enrolment."""

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login, logout
from django.db import transaction
from django.http import Http404
from django.shortcuts import redirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache

from shop import clock
from shop.pages import page
from shop.people import actions, passwords, tablets
from shop.people.doors import public
from shop.people.forms import ConfirmForm, FirstStartForm, SignInForm
from shop.people.models import Tablet, Workshop
from shop.reasons import Refused
from shop.record.models import Receipt
from shop.record.once import once

BACKEND = "django.contrib.auth.backends.ModelBackend"


@public(answers=302)
def home(request):
    if request.person or request.tablet:
        return redirect("/bay/")
    return redirect("sign-in" if Workshop.objects.exists() else "first-start")


@public(posts=True, answers=404)
@never_cache
def first_start(request):
    """Once. Sent twice it still happens once, and the second sending ends at the same place."""
    if Workshop.objects.exists():
        if _was_this_start(request):
            return redirect("people")
        raise Http404
    address = settings.SHOP_URL or f"{request.scheme}://{request.get_host()}"
    form = FirstStartForm(request.POST or None, initial={"public_url": address})
    if request.method == "POST":
        owner = _set_up(form)
        if owner:
            login(request, owner.user, backend=BACKEND)
            messages.success(
                request, f"{owner.workshop.name} is set up. Next come your people and the tablet in the bay."
            )
            return redirect("people")
    return page(request, "people/first_start.html", {"form": form}, status=form.status)


def _was_this_start(request) -> bool:
    key = request.POST.get("key", "")
    return bool(
        key and request.person and Receipt.objects.filter(key=key, workshop=request.workshop).exists()
    )


def _set_up(form):
    if not form.is_valid():
        form.status = 422
        return None
    told = dict(form.cleaned_data)
    key, now = str(told.pop("key")), clock.now()
    try:
        with transaction.atomic():
            owner = actions.set_up(**told, now=now)
            once(key=key, workshop=owner.workshop, body=form.said(), act=lambda: {"to": "/people/"}, now=now)
    except Refused as refused:
        form.refuse(refused.reasons)
        return None
    return owner


@public(posts=True)
@never_cache
def sign_in(request):
    if not Workshop.objects.exists():
        return redirect("first-start")
    form, reasons, status = SignInForm(request.POST or None), [], 200
    onward = _safe(request, request.POST.get("next") or request.GET.get("next") or "")
    if request.method == "POST":
        status = 422
        if form.is_valid():
            try:
                person = passwords.sign_in(**form.cleaned_data, now=clock.now())
            except Refused as refused:
                reasons, status = refused.reasons, 409
            else:
                login(request, person.user, backend=BACKEND)
                return redirect(onward or "/")
    context = {"form": form, "reasons": reasons, "next": onward}
    return page(request, "people/sign_in.html", context, status=status)


def _safe(request, address: str) -> str:
    sound = url_has_allowed_host_and_scheme(address, {request.get_host()}, require_https=request.is_secure())
    return address if sound else ""


@public(posts=True, answers={"stranger": 302, "tablet": 302})
@never_cache
def sign_out(request):
    if request.method == "POST" or request.person is None:
        logout(request)
        return redirect("sign-in")
    return page(request, "people/sign_out.html", {"form": ConfirmForm()})


@public(answers=302)
@never_cache
def enrol(request, token):
    """Put the tablet's cookie where this link was opened.

    A browser that comes from another site would not send the strict cookie along on a redirect, so there the way
    on is a link.
    """
    tablet = tablets.by_link(token)
    if tablet is None:
        return page(request, "people/enrol_over.html", status=410)
    Tablet.objects.filter(pk=tablet.pk).update(seen_at=clock.now())
    if request.headers.get("Sec-Fetch-Site") == "cross-site":
        response = page(request, "people/enrolled.html", {"enrolled": tablet})
    else:
        response = redirect("/bay/")
    response.set_cookie(
        settings.TABLET_COOKIE,
        tablets.cookie_of(tablet),
        max_age=settings.TABLET_COOKIE_AGE,
        httponly=True,
        samesite="Strict",
        secure=settings.TABLET_COOKIE_SECURE,
    )
    return response
