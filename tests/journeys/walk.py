"""Every address of the program in a browser: who goes there, with which cookies, and what was seen."""

from dataclasses import dataclass

from django.conf import settings
from django.test import Client
from django.urls import reverse

from shop import models
from shop.people import tablets
from tests.test_doors import ROUTES, examples, furnish


@dataclass(frozen=True)
class Stop:
    """One page, and the kind of person who opens it."""

    name: str
    url: str
    who: str


@dataclass(frozen=True)
class Walk:
    """What is fixed before the browser opens: Playwright's loop bars Django's database."""

    stops: list[Stop]
    cookies: dict[str, dict[str, str]]


def prepare() -> Walk:
    """Inside the opened folder: the shop furnished, sessions begun, an address for every route."""
    furnish()
    owner, desk = Client(), Client()
    owner.force_login(models.Person.objects.get(name="Petra Lindqvist").user)
    desk.force_login(models.Person.objects.get(name="Dora Kaya").user)
    tablet = models.Tablet.objects.get(name="Bay tablet")
    stops = [Stop(name, reverse(name, kwargs=kwargs), visitor(name)) for name, kwargs in examples().items()]
    return Walk(
        stops=stops,
        cookies={
            "stranger": {},
            "tablet": {settings.TABLET_COOKIE: tablets.cookie_of(tablet)},
            "owner": {settings.SESSION_COOKIE_NAME: owner.cookies[settings.SESSION_COOKIE_NAME].value},
        },
    )


def visitor(name: str) -> str:
    """Whoever the page is made for: strangers where all may go, the tablet in the bay, the owner else."""
    route = ROUTES[name]
    if route["answers"]["stranger"] == 200:
        return "stranger"
    in_bay = route["url"].startswith(("/bay/", "/sync/"))
    return "tablet" if in_bay and route["answers"]["tablet"] == 200 else "owner"
