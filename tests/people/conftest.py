"""A shop set up by its own first start, so that tests walk what a newcomer walks."""

from datetime import UTC, datetime

import pytest

from shop.people import actions
from shop.people.identity import SignedIn
from shop.people.models import Person

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
OWNER = {"owner_name": "Petra Lund", "password": "tide over stones", "pin": "482915"}
SHOP = {
    "name": "Quay Street Film Works",
    "address": "4 Quay Street\nHarbourton",
    "zone": "Europe/Madrid",
    "country": "ES",
    "public_url": "https://bay.example.com",
}


@pytest.fixture
def petra(db) -> Person:
    return actions.set_up(**SHOP, **OWNER, now=NOW)


@pytest.fixture
def shop(petra):
    return petra.workshop


@pytest.fixture
def by_petra(petra):
    return SignedIn(petra)
