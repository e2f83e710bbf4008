"""Documents in words: figures carry their unit in the shop's system, conditions read as sentences."""

import doctest
import re

import pytest

from shop import units
from shop.documents import built_in, figures, reading
from shop.documents.figures import Reader

FILM = {
    "kind": "film",
    "limits": {
        "air_c100": {"good_from": 1800, "good_to": 2500, "note_below": 1500, "source": "somewhere"},
        "dew_margin_c100": {"stop_below": 300, "source": "elsewhere"},
    },
    "cure": {"stops_below_c100": 1000, "bands": [{"from_c100": 1800, "hours": 24}]},
    "stale": {"minutes": 30},
}


def told(body, reader=None):
    return {
        entry.name: (entry.text, *entry.more)
        for section in reading.sections(body, reader or Reader())
        for entry in section.entries
    }


def test_figures_in_the_shops_units():
    metric, us = told(FILM), told(FILM, Reader(system=units.US))
    assert metric["Air"] == ("Good from 18 °C to 25 °C; note below 15 °C", "somewhere")
    assert us["Air"][0] == "Good from 64.4 °F to 77 °F; note below 59 °F"
    # A margin is a difference: 3 °C are 5.4 °F, not 37.4.
    assert (metric["Dew margin"][0], us["Dew margin"][0]) == ("Stop below 3 °C", "Stop below 5.4 °F")
    assert metric["1"] == ("From 18 °C; 24 hours",) and metric["Going stale"] == ("30 minutes",)


@pytest.mark.parametrize(
    ("when", "words"),
    [
        ("hardware", "with hardware"),
        ("metal", "on metal"),
        ("pre_cut", "with pre-cut film"),
        ("wrapped", "on wrapped edges"),
        ("corner", "at a corner"),
        ("primer", "where primer is named"),
        ({"any": ["hardware", "rubber_trim"]}, "with hardware or with rubber trim"),
        ({"all": ["large", {"not": "bulk"}]}, "on large panels and not with bulk film"),
        ("word_of_tomorrow", "for word of tomorrow"),
    ],
)
def test_conditions_in_words(when, words):
    assert reading.condition(when, Reader()) == words


def test_the_readers_language_comes_first_and_english_stands_in():
    body = {
        "kind": "terms",
        "claim": [{"text": {"en": "Call us.", "es": "Llame."}}, {"text": {"en": "Wait."}}],
    }
    names = [entry.name for section in reading.sections(body, Reader("es")) for entry in section.entries]
    assert names == ["Llame.", "Wait."]


@pytest.mark.parametrize("path", built_in.files(), ids=lambda path: path.stem)
def test_nothing_of_a_built_in_document_is_left_out(path):
    body = built_in.read(path)
    shown = " ".join(
        " ".join((section.title, entry.name, entry.text, entry.caution, *entry.more))
        for section in reading.sections(body, Reader())
        for entry in section.entries
    )
    told = [re.sub(r"\{\w+\}", "…", text) for text in _texts(body)]
    assert [text for text in told if text.lower() not in shown.lower()] == []


def _texts(value, key=""):
    """Every English text for a reader in a document, but for its head."""
    if isinstance(value, dict):
        if set(value) == {"en"}:
            yield value["en"]
            return
        for name, part in value.items():
            if not (key == "" and name in ("title", "note")):
                yield from _texts(part, name)
    elif isinstance(value, list):
        for part in value:
            yield from _texts(part, key)


def test_the_examples_in_the_text_hold():
    for module in (reading, figures):
        assert doctest.testmod(module).failed == 0
