"""What may come in at all: from our own page, from an enrolled tablet, in our own shape; the rest gets a sentence."""

import json

import pytest
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shop import clock
from shop.models import Entry, Outcome, Receipt, Upload
from tests.offline.conftest import ORIGIN, PIECE

pytestmark = [pytest.mark.django_db, pytest.mark.urls("tests.offline.addresses")]


def sentence(answer):
    """The one reason of a fault, in our JSON and in words."""
    told = answer.json()
    assert told["bay"] == 1 and answer["Content-Type"] == "application/json"
    (reason,) = told["reasons"]
    assert reason["text"][0].isupper() and reason["text"].endswith(".")
    return reason["code"]


FOREIGN = {
    "nothing that says where it comes from": {},
    "another site": {"Origin": "https://elsewhere.example", "Sec-Fetch-Site": "cross-site"},
    "another site of the same family": {"Sec-Fetch-Site": "same-site"},
    "typed into the address bar": {"Sec-Fetch-Site": "none"},
    "no page at all": {"Origin": "null"},
    "another port": {"Origin": f"{ORIGIN}:81"},
    "a host that starts alike": {"Origin": f"{ORIGIN}.elsewhere.example"},
    "a host that only stands in the path": {"Origin": "http://elsewhere.example/testserver"},
    "ours by one header, foreign by the other": {
        "Origin": "http://elsewhere.example",
        "Sec-Fetch-Site": "same-origin",
    },
    "foreign by one header, ours by the other": {"Origin": ORIGIN, "Sec-Fetch-Site": "cross-site"},
    "no address": {"Origin": "http://[broken"},
    "a file": {"Origin": "file://testserver"},
}


@pytest.mark.parametrize("name", FOREIGN)
def test_other_pages_are_turned_away(talk, name):
    answer = talk.post(talk.entry(), headers=FOREIGN[name])
    assert answer.status_code == 403 and sentence(answer) == "foreign_page"
    _, upload = talk.promise(b"x" * 500)
    answer = talk.patch(upload, 0, b"x", headers=FOREIGN[name] | {"Upload-Offset": "0"})
    assert answer.status_code == 403 and sentence(answer) == "foreign_page"
    assert Receipt.objects.count() == 0


@pytest.mark.parametrize("headers", [{"Origin": ORIGIN}, {"Sec-Fetch-Site": "same-origin"}])
def test_one_header_of_our_own_is_enough(talk, headers):
    assert talk.post(talk.entry(), headers=headers).status_code == 200


@pytest.mark.parametrize(
    "content_type", ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data", ""]
)
def test_only_our_content_types(talk, content_type):
    answer = talk.raw(json.dumps({"now": 1, "entries": []}), content_type=content_type)
    assert answer.status_code == 415 and sentence(answer)
    answer = talk.patch("x", 0, b"x", content_type=content_type)
    assert answer.status_code == 415 and sentence(answer)


def test_no_form_token_is_asked_for(talk):
    client = Client(enforce_csrf_checks=True)
    client.cookies = talk.client.cookies
    talk.client = client
    assert talk.post(talk.entry()).status_code == 200


@pytest.mark.parametrize("address", ["/sync/entries", "/sync/upload/b7a4ffb0-8f4e-4d0c-9a51-2f2dd31a8b52"])
def test_without_a_tablet_or_with_a_revoked_one_it_is_401(talk, address):
    for method in ("get", "post", "patch", "head"):
        assert getattr(Client(), method)(address, headers={"Origin": ORIGIN}).status_code == 401
    talk.row.revoked_at = clock.now()
    talk.row.save()
    answer = talk.client.get(address)
    assert answer.status_code == 401 and sentence(answer) == "tablet_revoked"
    assert "Nothing on it is lost" in answer.json()["reasons"][0]["text"]
    assert talk.post(talk.entry()).status_code == 401 and Receipt.objects.count() == 0


def test_a_tablet_revoked_on_the_way_does_nothing_more(talk, monkeypatch):
    from shop.offline import views

    real = views.take

    def revoke_first(*args, **rest):
        type(talk.row).objects.filter(pk=talk.row.pk).update(revoked_at=clock.now())
        return real(*args, **rest)

    monkeypatch.setattr(views, "take", revoke_first)
    answer = talk.post(talk.entry())
    assert answer.status_code == 401 and sentence(answer) == "tablet_revoked" and Outcome.objects.count() == 0


@pytest.mark.parametrize("method", ["put", "delete", "patch", "options"])
def test_other_methods(talk, method):
    answer = getattr(talk.client, method)("/sync/entries", headers={"Origin": ORIGIN})
    assert answer.status_code == 405 and sentence(answer)


def test_a_foreign_page_may_not_read_the_next_number(talk):
    assert talk.client.get("/sync/entries", headers={"Sec-Fetch-Site": "cross-site"}).status_code == 403


GARBAGE = {
    "nothing": b" ",
    "no json": b"<html>login</html>",
    "half a json": b'{"now": 1, "entries": [',
    "no unicode": b'{"now": 1, "entries": ["\xff\xfe"]}',
    "a list": b"[]",
    "a number": b"12",
    "null": b"null",
    "no entries": b'{"now": 1}',
    "entries that are none": b'{"now": 1, "entries": {"a": 1}}',
    "no time": b'{"entries": []}',
    "a time that is none": b'{"now": "nine", "entries": []}',
    "a time with a fraction": b'{"now": 1.5, "entries": []}',
    "a time that is true": b'{"now": true, "entries": []}',
    "a time before time": b'{"now": -1, "entries": []}',
    "a time beyond all": b'{"now": 1e999, "entries": []}',
    "not a number": b'{"now": NaN, "entries": []}',
    "a number of ten thousand digits": b'{"now": 1' + b"0" * 10_000 + b', "entries": []}',
    "a hundred thousand levels": b"[" * 100_000,
    "a thousand levels inside": b'{"now": 1, "entries": ' + b"[" * 1000 + b"]" * 1000 + b"}",
    "a count of unsent that is none": b'{"now": 1, "entries": [], "unsent": "all"}',
    "an entry that is none": b'{"now": 1, "entries": [7]}',
    "fifty-one entries": json.dumps({"now": 1, "entries": [{}] * 51}).encode(),
    "more than a megabyte": b'{"now": 1, "entries": [' + b" " * 1_100_000 + b"]}",
}


@pytest.mark.parametrize("name", GARBAGE)
def test_garbage_gets_a_sentence(talk, name):
    answer = talk.raw(GARBAGE[name])
    assert answer.status_code in (400, 413) and sentence(answer)


@pytest.mark.parametrize(
    "change",
    [
        {"key": None}, {"key": ""}, {"key": "short"}, {"key": "a" * 65}, {"key": "../../etc/passwd"}, {"key": 7},
        {"seq": None}, {"seq": 0}, {"seq": -1}, {"seq": "1"}, {"seq": 1.0}, {"seq": True}, {"seq": 2**60},
        {"v": None}, {"v": 2}, {"v": "1"}, {"v": True},
    ],
)  # fmt: skip
def test_an_entry_without_key_number_or_version_stops_the_message(talk, change):
    answer = talk.post(talk.entry() | change)
    assert answer.status_code == 400 and sentence(answer)
    assert Receipt.objects.count() == 0


UNCLEAR = {
    "kind": [None, "", "sign", "release", 7, "__class__"],
    "job": [None, -1, "1", 1.5, True, [], 2**53],
    "who": [None, "Ines", {}],
    "at": [None, "now", -5, 0.5],
    "body": [None, [], "text", 7, {"line": 1.5}, {"line": "\ud800"}, {"line": "wash.washed", "typed": "a\0b"},
             {"line": "wash.washed", "value": {"air_c100": 21.4}}, {"a": [[[[[[]]]]]] * 3, "n": 2**60}, {}],
}  # fmt: skip


@pytest.mark.parametrize(("field", "value"), [(f, v) for f, values in UNCLEAR.items() for v in values])
def test_an_entry_nobody_can_read_is_refused_and_the_next_one_taken(talk, field, value):
    bad = talk.entry() | {field: value}
    results = talk.send(bad, talk.entry())
    assert [r["outcome"] for r in results] == ["refused", "applied"]
    assert results[0]["reasons"][0]["code"] in ("entry_unclear", "other_workshop", "not_allowed")
    assert talk.send(bad)[0]["again"]


BODIES = {
    "tick": [
        {"answer": "value"}, {"answer": "signed"}, {"answer": 7}, {"line": ""}, {"line": "no such"},
        {"line": "a" * 61}, {"panels": "hood.1"}, {"panels": ["hood"]}, {"panels": ["../x.1"]},
        {"panels": ["roof.1"]}, {"panels": ["hood.1"] * 201}, {"panels": [None]}, {"edges": ["<b>"]},
        {"edges": {"front": 1}}, {"typed": "x" * 201}, {"reason": ["a"]}, {"lot": 10**12}, {"lot": {}},
        {"value": [1]}, {"value": {str(n): n for n in range(21)}}, {"value": {"a": 10**12}}, {"value": {"a": [1]}},
    ],
    "photo": [
        {}, {"places": []}, {"places": [7]}, {"places": [{"line": 7}]}, {"upload": "x"}, {"upload": 7},
        {"sha256": "A" * 64}, {"sha256": None}, {"size": 0}, {"size": 10**9}, {"size": "1"}, {"name": 7},
    ],
    "defect": [
        {"panel": ""}, {"panel": "hood.1", "x_mil": 1001}, {"panel": "hood.1", "x_mil": -1},
        {"panel": "hood.1", "x_mil": "5"}, {"panel": "hood.1", "kind": "<i>"}, {"panel": "hood.1", "note": 7},
        {"panel": "hood.1", "photo": 7}, {"panel": "hood.1", "photo": {"upload": "x"}},
    ],
    "note": [{}, {"typed": ""}, {"typed": "x" * 1001}, {"typed": 7}],
}  # fmt: skip
WHOLE = {
    "tick": {"line": "wash.washed", "panels": [], "edges": []},
    "photo": {
        "upload": "b7a4ffb0-8f4e-4d0c-9a51-2f2dd31a8b52", "sha256": "0" * 64, "size": 1000,
        "places": [{"line": "wash.hardware_off", "panel": "hood.1", "edge": ""}],
    },
    "defect": {"kind": "dust", "found_at": "wash"},
    "note": {"panels": []},
}  # fmt: skip


@pytest.mark.parametrize(("kind", "change"), [(k, c) for k, changes in BODIES.items() for c in changes])
def test_bodies_out_of_shape_are_refused_with_a_sentence(talk, kind, change):
    body = {} if kind == "photo" and not change else WHOLE[kind] | change
    (result,) = talk.send(talk.entry(kind) | {"body": body})
    assert result["outcome"] == "refused", result
    assert all(reason["code"] != "entry_failed" for reason in result["reasons"])
    assert result["detail"].endswith(".")
    assert Outcome.objects.count() == 0 and Upload.objects.count() == 0
    assert Entry.objects.filter(tablet=talk.row).count() == 0


anything = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=8,
)
fields = st.sampled_from(
    ["line", "panels", "edges", "answer", "value", "typed", "reason", "lot", "seen", "after", "panel", "edge", "x_mil",
     "kind", "places", "upload", "sha256", "size", "name", "photo", "note", "found_at"]
)  # fmt: skip


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    kind=st.sampled_from(["tick", "na", "reading", "timer", "note", "defect", "photo", "hole"]),
    body=st.dictionaries(fields, anything, max_size=6),
    whole=st.booleans(),
)
def test_whatever_comes_is_answered(talk, kind, body, whole):
    body = (WHOLE.get(kind, {}) | body) if whole else body
    answer = talk.post(talk.entry(kind) | {"body": body})
    if answer.status_code != 200:
        talk.seq -= 1
        assert answer.status_code == 400 and sentence(answer)
        return
    (result,) = answer.json()["results"]
    assert result["outcome"] in ("applied", "same", "conflict", "refused")
    assert all(reason["code"] != "entry_failed" for reason in result["reasons"])


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.binary(min_size=1, max_size=200) | anything.map(lambda value: json.dumps(value).encode()))
def test_whatever_bytes_come_are_answered(talk, data):
    assert talk.raw(data).status_code in (200, 400, 413)


def test_pieces_need_an_offset(talk):
    for offset in ("", "-1", "1.5", "one", "1" * 13, "٣"):
        headers = {"Origin": ORIGIN, "Upload-Offset": offset}
        _, upload = talk.promise(b"x" * 500)
        Upload.objects.create(
            id=upload, workshop=talk.row.workshop, sha256="0" * 64, size=500, promised_at=clock.now(),
            pressed_at=clock.now(),
        )  # fmt: skip
        answer = talk.client.patch(f"/sync/upload/{upload}", b"x", content_type=PIECE, headers=headers)
        assert answer.status_code == 400 and sentence(answer)
