"""RFC 8785 (JSON canonicalisation) and FIPS 180-4 (SHA-256)."""

from hashlib import sha256

import pytest
import rfc8785

from shop.record.chain import canonical, digest

# RFC 8785 section 3.2.2: the sample object and its canonical form.
SAMPLE = {
    "numbers": [333333333.33333329, 1e30, 4.50, 2e-3, 0.000000000000000000000000001],
    "string": "\u20ac$\u000f\u000aA'\u0042\u0022\u005c\\\"\u002f",
    "literals": [None, True, False],
}
SAMPLE_CANONICAL = (
    '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
    '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
)
SAMPLE_SHA256 = "2d5e01a318d0f0879ab568c4be289c8b1f64ef8921a53c6277d5e069978baacb"

# RFC 8785 section 3.2.3: names are sorted by UTF-16 code units, so the emoji stands before U+FB33.
SORTING = {
    "\u20ac": "Euro Sign",
    "\r": "Carriage Return",
    "\ufb33": "Hebrew Letter Dalet With Dagesh",
    "1": "One",
    "\U0001f600": "Emoji: Grinning Face",
    "\u0080": "Control",
    "\u00f6": "Latin Small Letter O With Diaeresis",
}
SORTED = ["\r", "1", "\u0080", "\u00f6", "\u20ac", "\U0001f600", "\ufb33"]

# FIPS 180-4 example messages.
SHA256 = [
    (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
    (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
    (
        b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
    ),
    (b"a" * 1_000_000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
]


def test_the_library_writes_the_rfc_sample():
    written = rfc8785.dumps(SAMPLE)
    assert written.decode() == SAMPLE_CANONICAL
    assert sha256(written).hexdigest() == SAMPLE_SHA256


def test_the_strings_and_literals_of_the_sample_go_through_our_own_door():
    ours = {name: SAMPLE[name] for name in ("string", "literals")}
    assert canonical(ours).decode() == (
        '{"literals":[null,true,false],"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    )


def test_names_sort_by_utf_16_units():
    inside = canonical(SORTING).decode()
    places = [inside.index(f'"{SORTING[name]}"') for name in SORTED]
    assert places == sorted(places)


def test_text_is_not_normalised():
    # RFC 8785 section 3.1: no Unicode normalisation; the two spellings of Å stay two.
    assert canonical("A\u030a") != canonical("\u00c5")


@pytest.mark.parametrize(("message", "expected"), SHA256)
def test_sha256(message, expected):
    assert sha256(message).hexdigest() == expected


def test_a_digest_is_sha256_of_the_canonical_bytes():
    # printf '{"a":[1,"x"],"b":null}' | sha256sum
    assert digest({"b": None, "a": [1, "x"]}) == sha256(b'{"a":[1,"x"],"b":null}').hexdigest()
