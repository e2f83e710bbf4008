import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.record.chain import LARGEST, Link, NotCanonical, canonical, digest, entry_digest, instant, verify


def chain_of(bodies):
    links, previous = [], ""
    for number, body in enumerate(bodies, 1):
        columns = {
            "book": 7,
            "number": number,
            "received_at": instant(datetime(2026, 5, 15, 9, number, tzinfo=UTC)),
            "happened_at": instant(datetime(2026, 5, 15, 9, number, tzinfo=UTC)),
            "device_at": None,
            "sure": True,
            "person": 3,
            "proven": "claimed",
            "tablet": 1,
            "verb": "answer",
            "schema": 1,
            "body_digest": digest(body),
            "previous": previous,
        }
        previous = entry_digest(**columns)
        links.append(Link(**columns, body=canonical(body).decode(), digest=previous))
    return links


@pytest.mark.parametrize(
    ("value", "says"),
    [
        ({"c": 21.4}, "float at c"),
        ([1, [2, 0.0]], "float"),
        ({"mm": Decimal("1.5")}, "Decimal at mm"),
        ({"on": date(2026, 5, 15)}, "date at on"),
        ({"x": b"y"}, "bytes at x"),
        ({1: "x"}, "not a text"),
        ({"n": LARGEST + 1}, "too large"),
        ({"n": -LARGEST - 1}, "too large"),
        ({"t": "\ud800"}, "half a character"),
        ({"\udfff": 1}, "half a character"),
        ({"s": {1, 2}}, "set at s"),
    ],
)
def test_what_has_no_one_spelling_is_refused_with_a_sentence(value, says):
    with pytest.raises(NotCanonical, match=says):
        canonical(value)


def test_a_bottomless_value_is_refused():
    value = []
    for _ in range(5000):
        value = [value]
    with pytest.raises(NotCanonical, match="levels"):
        canonical(value)


def test_the_largest_whole_number_is_kept_exactly():
    assert canonical([LARGEST, -LARGEST]) == b"[9007199254740991,-9007199254740991]"


def test_an_instant_is_the_same_in_every_zone():
    here = datetime(2026, 7, 1, 10, 30, 0, 5, tzinfo=timezone(timedelta(hours=2)))
    assert instant(here) == instant(here.astimezone(UTC)) == "2026-07-01T08:30:00.000005Z"
    with pytest.raises(NotCanonical, match="offset"):
        instant(datetime(2026, 7, 1))  # noqa: DTZ001 - a moment without offset is the case


PLAIN = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-LARGEST, LARGEST)
    | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=5), inner, max_size=4),
    max_leaves=12,
)


@given(PLAIN)
def test_canonical_bytes_read_back_and_are_stable(value):
    written = canonical(value)
    again = json.loads(written)
    assert again == value
    assert canonical(again) == written


def test_a_sound_chain_has_no_faults():
    links = chain_of([{"n": 1}, {"n": 2}, {"n": 3}])
    assert verify(links, length=3, head=links[-1].digest) == []
    assert verify([], length=0, head="") == []


COLUMNS = [
    ("book", 8),
    ("received_at", "2026-05-15T09:02:00.000001Z"),
    ("happened_at", "2026-05-15T08:02:00.000000Z"),
    ("device_at", "2026-05-15T09:02:00.000000Z"),
    ("sure", False),
    ("person", 4),
    ("person", None),
    ("proven", "pin"),
    ("tablet", 2),
    ("verb", "sign"),
    ("schema", 2),
    ("body_digest", "0" * 64),
    ("previous", "0" * 64),
    ("digest", "0" * 64),
    ("body", '{"n":9}'),
    ("number", 1),
]


@pytest.mark.parametrize(("column", "value"), COLUMNS)
def test_any_changed_column_is_found_at_its_entry(column, value):
    links = chain_of([{"n": 1}, {"n": 2}, {"n": 3}])
    links[1] = replace(links[1], **{column: value})
    faults = verify(links, length=3, head=links[-1].digest)
    assert faults
    assert faults[0].number in (links[1].number, 2)


@pytest.mark.parametrize(("cut", "codes"), [(0, "number"), (1, "number"), (2, "length")])
def test_a_missing_entry_is_found(cut, codes):
    links = chain_of([{"n": 1}, {"n": 2}, {"n": 3}])
    head = links[-1].digest
    del links[cut]
    assert codes in {fault.code for fault in verify(links, length=3, head=head)}


def test_two_entries_changed_places():
    first, second, third = chain_of([{"n": 1}, {"n": 2}, {"n": 3}])
    assert verify([first, third, second])


def test_a_rewritten_tail_is_found_by_the_head():
    links = chain_of([{"n": 1}, {"n": 2}])
    forged = chain_of([{"n": 1}, {"n": 5}])
    assert verify(forged) == []
    assert [fault.code for fault in verify(forged, length=2, head=links[-1].digest)] == ["head"]


@given(st.data())
def test_one_changed_character_of_a_body_is_found(data):
    links = chain_of([{"name": "edge", "mm": 6}] * 3)
    at = data.draw(st.integers(0, 2))
    body = links[at].body
    place = data.draw(st.integers(0, len(body) - 1))
    other = data.draw(st.characters().filter(lambda character: character != body[place]))
    links[at] = replace(links[at], body=body[:place] + other + body[place + 1 :])
    assert [(fault.number, fault.code) for fault in verify(links)] == [(at + 1, "body")]
