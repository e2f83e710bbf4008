"""Who is there: a person with a session, a tablet with its cookie, or a stranger."""

from django.conf import settings
from django.contrib.auth import logout
from django.http import HttpResponse
from django.shortcuts import resolve_url

from shop.people.models import Person
from shop.people.tablets import by_cookie


def _person(request):
    if not request.user.is_authenticated:
        return None
    person = (
        Person.objects.select_related("workshop").prefetch_related("roles").filter(user=request.user).first()
    )
    if person is None or person.left_at:
        logout(request)
        return None
    return person


def who_is_there(get_response):
    def middleware(request):
        request.person = request.tablet = request.workshop = None
        request.tablet_revoked = False
        if settings.SESSION_COOKIE_NAME in request.COOKIES:
            request.person = _person(request)
        if settings.TABLET_COOKIE in request.COOKIES:
            request.tablet, request.tablet_revoked = by_cookie(request.COOKIES[settings.TABLET_COOKIE])
        if request.person:
            request.workshop = request.person.workshop
        elif request.tablet:
            request.workshop = request.tablet.workshop
        if request.tablet and request.workshop.pk != request.tablet.workshop_id:
            request.tablet = None
        return get_response(request)

    return middleware


def login_page_stays_whole(get_response):
    """htmx follows redirects quietly; the sign-in page must not land inside a part of another page."""
    login = resolve_url(settings.LOGIN_URL)

    def middleware(request):
        response = get_response(request)
        target = response.headers.get("Location", "")
        if request.headers.get("HX-Request") and target.startswith(login):
            return HttpResponse(headers={"HX-Redirect": target})
        return response

    return middleware
