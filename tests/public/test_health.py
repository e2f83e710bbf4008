"""What whoever watches the machine is told."""

import shutil
from collections import namedtuple

import pytest
from django.db import OperationalError

from shop import bucket, store

pytestmark = pytest.mark.django_db
Usage = namedtuple("Usage", "total used free")


def test_all_well_in_one_query_and_without_a_word_about_anybody(client, django_assert_max_num_queries):
    with django_assert_max_num_queries(1):
        answer = client.get("/health/")
    assert answer.json() == {"ok": True, "database": "ok", "store": "ok", "disk": "ok"}
    assert answer.status_code == 200 and "no-store" in answer["Cache-Control"]


def test_a_database_that_is_away_is_said(client, monkeypatch):
    def away():
        raise OperationalError("connection refused")

    monkeypatch.setattr("shop.public.health.connection.cursor", away)
    answer = client.get("/health/")
    assert (answer.status_code, answer.json()["database"], answer.json()["store"]) == (503, "away", "ok")


def test_a_store_that_is_away_is_said(client, monkeypatch, settings):
    def away():
        raise store.Unreachable("The bucket does not answer.")

    settings.SHOP_STORE = "shop"
    monkeypatch.setattr(bucket, "reach", away)
    answer = client.get("/health/")
    assert (answer.status_code, answer.json()["store"]) == (503, "away")


def test_a_full_disk_is_said(client, monkeypatch):
    monkeypatch.setattr(shutil, "disk_usage", lambda _: Usage(10**9, 10**9 - 10, 10))
    answer = client.get("/health/")
    assert (answer.status_code, answer.json()["disk"]) == (503, "full")
