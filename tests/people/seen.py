"""What a test sees from outside: a client signed in, a form's key, and whether any row changed."""

import re

from django.apps import apps
from django.test import Client

from shop.documents.models import Document
from shop.people.models import Person, Workshop

MAY_CHANGE = {"Receipt", "Throttle", "Session"}


def signed_in(name, password="harbour lights 7"):
    client = Client()
    assert client.post("/sign-in/", {"name": name, "password": password}).status_code == 302
    return client


def key_of(page) -> str:
    return re.search(r'name="key" value="([^"]+)"', page.text)[1]


def rows() -> dict[str, int]:
    """How many rows each table holds, and what the rows of people and workshop say."""
    counts = {
        model.__name__: model.objects.count()
        for model in apps.get_models()
        if model.__name__ not in MAY_CHANGE
    }
    said = list(Person.objects.values("name", "pin_hash", "user__password", "left_at", "roles__role"))
    return counts | {
        "said": said,
        "shop": list(Workshop.objects.values()),
        "documents": Document.objects.count(),
    }
