"""The log: one object a line, no person in it, slow queries by their text without values."""

import json
import logging
import sys

import pytest
from django.db import IntegrityError, OperationalError

from shop import lines
from tests import make


def told(said="entry %s failed", *args, error=None, **extra):
    record = logging.LogRecord("shop", logging.WARNING, "x.py", 1, said, args, None)
    record.__dict__ |= extra
    if error:
        try:
            raise error
        except type(error):
            record.exc_info = sys.exc_info()
    line = lines.Lines().format(record)
    assert "\n" not in line
    return json.loads(line)


def test_a_line_is_one_object_with_its_moment_and_status():
    found = told("Not Found: %s", "/cars/9/\nforged line", status_code=404)
    assert found["said"] == "Not Found: /cars/9/\nforged line" and found["status"] == 404
    assert found["at"].endswith("+00:00") and (found["level"], found["from"]) == ("warning", "shop")


@pytest.mark.parametrize(
    "error",
    [ValueError("Anna Brook"), KeyError("Anna Brook"),
     IntegrityError("duplicate key\nDETAIL: Key (name)=(Anna Brook) already exists.")],
)  # fmt: skip
def test_what_somebody_typed_is_never_told_by_a_fault(error):
    found = told("failed", error=error)
    assert "Anna" not in json.dumps(found)
    assert found["fault"] == type(error).__name__ and "test_lines.py" in found["where"][-1]


def test_what_the_machine_said_is_told_but_no_second_line():
    found = told("failed", error=OperationalError("disk is full\nDETAIL: Anna Brook"))
    assert found["fault_said"] == "disk is full"
    assert told("failed", error=OSError(28, "No space left", "/data/Anna"))["fault_said"] == "No space left"


@pytest.mark.django_db
def test_a_slow_query_is_named_with_its_page_and_without_values(client, monkeypatch, caplog):
    monkeypatch.setattr(lines, "SLOW_MS", 0)
    shop = make.workshop()
    client.force_login(make.person(shop, "Petra", "owner", password="harbour-lamp-7").user)
    with caplog.at_level(logging.WARNING, "shop"):
        client.get("/shop/customers/?q=Anna+Brook")
    found = [
        json.loads(lines.Lines().format(record)) for record in caplog.records if record.msg == "slow query"
    ]
    assert any(one["page"] == "customers" and one["query"].startswith("SELECT") for one in found)
    assert all(isinstance(one["ms"], int) for one in found)
    assert "Brook" not in json.dumps(found)


@pytest.mark.django_db
def test_quick_queries_are_not_told(client, caplog):
    with caplog.at_level(logging.WARNING, "shop"):
        client.get("/health/")
    assert [record for record in caplog.records if record.msg == "slow query"] == []
