"""The fingerprint of a document, and the issued versions that never change."""

import tomllib
from pathlib import Path

import pytest

from shop.documents.digest import digest

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"

# An issued version never changes. A new text gets a new version and a new row here; the old row stays with the
# old file.
ISSUED = {
    "plans/builtin.toml": ("1", "3115d4c5f75bcc0734d695926949aee8711d9a83fead6aae56c344b9c193fb50"),
    "films/defaults.toml": ("1", "96968430ad7f79b0d3587f7b1d00aab555fe1703b03803f806e10034b16182fa"),
    "roles.toml": ("1", "03ae068b76a5fa5ffe3f3e60957a5ce0d175c4359ef2bf6a3207c30f06cd44a4"),
}


@pytest.mark.parametrize("path", ISSUED)
def test_an_issued_version_is_never_changed(path):
    document = tomllib.loads((FIXTURES / path).read_text(encoding="utf-8"))
    version, expected = ISSUED[path]
    assert (document["version"], digest(document)) == (version, expected)


def test_the_order_of_keys_does_not_count():
    assert digest({"a": 1, "b": {"c": 2, "d": 3}}) == digest({"b": {"d": 3, "c": 2}, "a": 1})


def test_the_order_of_a_list_does():
    assert digest({"a": [1, 2]}) != digest({"a": [2, 1]})


def test_known_bytes_give_the_known_fingerprint():
    # SHA-256 of the two bytes {} as printed by sha256sum.
    assert digest({}) == "44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a"


@pytest.mark.parametrize("value", [1.0, {"b": 0.5}, [1, [2.5]]])
def test_a_broken_number_is_refused_and_named(value):
    with pytest.raises(TypeError, match="whole numbers only"):
        digest({"a": value})
