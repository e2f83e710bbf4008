"""One obstacle a piece on the car's page: the first sentence to read, the rest to unfold."""

from shop.templatetags.words import breaking
from shop.work.places import by_piece


def reason(place: str, text: str) -> dict:
    return {"place": place, "text": text}


def test_a_piece_speaks_once_and_keeps_the_rest():
    hood, roof, more = reason("hood.1", "wash"), reason("roof.1", "wash"), reason("hood.1", "cure")
    assert by_piece([hood, roof, more]) == [{"first": hood, "rest": [more]}, {"first": roof, "rest": []}]


def test_what_belongs_to_no_piece_stands_alone():
    one, two = reason("", "The film is old."), reason("", "Nobody has signed.")
    assert [found["first"] for found in by_piece([one, two])] == [one, two]


def test_only_long_words_may_break():
    assert breaking("Edge seal") == "Edge seal"
    assert breaking("Decontaminate").replace("\u00ad", "") == "Decontaminate"
    assert "\u00ad" in breaking("Decontaminate")
