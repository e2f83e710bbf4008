import copy
import tomllib
from datetime import date, timedelta
from pathlib import Path

import pytest

from shop.documents.check import faults
from shop.reasons import Weight
from shop.warranty.care import care_rows, first_recheck
from shop.warranty.coverage import spans
from shop.warranty.disclosure import (
    DAMAGES,
    IMPLIED,
    LEGAL_NOTE,
    RIGHTS,
    missing,
    missing_on_paper,
    place_of,
    points,
)
from shop.warranty.tying import ties

BUILT_IN = tomllib.loads(Path("fixtures/terms/builtin.toml").read_text(encoding="utf-8"))
PLACES = ["US", "GB", "DE", "FR", "NZ", "us", ""]


def changed(path, value):
    """The built-in terms with one place set to something else, or taken out with None."""
    terms = copy.deepcopy(BUILT_IN)
    *way, last = path.split(".")
    part = terms
    for step in way:
        part = part[int(step)] if isinstance(part, list) else part[step]
    if value is None:
        del part[int(last) if isinstance(part, list) else last]
    else:
        part[last] = value
    return terms


def gaps(terms, country, language="en"):
    found = missing(terms, country=country, language=language)
    assert {reason.code for reason in found} <= {"terms_incomplete"}
    assert all(reason.weight is Weight.STOP and reason.text.endswith((".", "”")) for reason in found)
    return [reason.where for reason in found]


@pytest.mark.parametrize("country", PLACES)
def test_the_built_in_terms_are_complete(country):
    assert gaps(BUILT_IN, country) == []


def test_the_built_in_terms_can_be_obeyed():
    assert faults(BUILT_IN) == []


def test_every_built_in_length_says_that_it_is_not_verified():
    cover = BUILT_IN["cover"]
    assert {part["source"] for part in cover.values()} == {"unverified default"}
    assert (cover["material"]["months"], cover["material"]["flat_months"]) == (60, 60)
    assert (cover["workmanship"]["months"], cover["touch_up"]["days"]) == (12, 30)
    assert BUILT_IN["recheck"]["effect"] == "presumption"


@pytest.mark.parametrize("country", ["US", "GB", "DE", "NZ"])
@pytest.mark.parametrize(
    "path",
    [
        "heading.text",
        "starts.text",
        "territory",
        "remedy.text",
        "remedy.pays",
        "transfer.text",
        "transfer.rule",
        "statutory.text",
        "covered",
        "excluded",
        "claim.steps",
        "claim",
        "cover.material.months",
        "cover.workmanship",
        "cover.touch_up.days",
        "counting",
    ],
)
def test_the_common_list_is_asked_everywhere(country, path):
    assert gaps(changed(path, None), country)


@pytest.mark.parametrize(
    ("country", "path", "value", "where"),
    [
        ("US", "entitled", None, "#entitled"),
        ("US", "designation", None, "#designation"),
        ("US", "heading.text", {"en": "Warranty"}, "#heading"),
        ("US", "place.us", None, "#place.us.rights"),
        ("US", "place.us.rights.text", {"en": RIGHTS.replace("specific", "some")}, "#place.us.rights"),
        ("US", "place.us.implied_limited", None, "#place.us.implied_limited"),
        ("US", "place.us.owner_card", "suggested", "#place.us.card"),
        ("US", "place.us.dispute", "informal", "#place.us.settlement"),
        ("US", "place.us.dispute", None, "#place.us.dispute"),
        ("US", "remedy.text", {"en": "Void if washed by anybody else."}, "#remedy"),
        ("GB", "place.gb.extra_charge", True, "#place.gb.extra_charge"),
        ("GB", "place.gb.request", None, "#place.gb.request"),
        ("DE", "place.eu.seller", None, "#place.eu.seller"),
        ("DE", "cover.material.months", 0, "#cover.material.months"),
        ("DE", "cover.material.months", True, "#cover.material.months"),
        ("NZ", "covered.2.text", {"de": "nur deutsch"}, "#covered.2"),
        ("NZ", "counting", "calendar", "#counting"),
    ],
)
def test_what_a_place_asks(country, path, value, where):
    assert gaps(changed(path, value), country) == (
        [where] if where != "#place.us.rights" or value else US_ALL
    )


US_ALL = [
    "#place.us.implied_limited",
    "#place.us.damages_limited",
    "#place.us.rights",
    "#place.us.owner_card",
    "#place.us.dispute",
]


@pytest.mark.parametrize("path", ["place.us", "place.gb", "place.eu", "entitled", "designation"])
def test_no_place_asks_for_what_another_wants(path):
    owner = {"place.us": "US", "place.gb": "GB", "place.eu": "DE"}.get(path, "US")
    for country in {"US", "GB", "DE", "NZ"} - {owner}:
        assert gaps(changed(path, None), country) == []


def test_a_paper_in_another_language_needs_every_text_in_it():
    assert "#covered.0" in gaps(BUILT_IN, "NZ", "de")
    assert "#language" in gaps(BUILT_IN, "GB", "de")


# 16 CFR 701.3 (a)(7) to (9): the last sentence always, the others if and only if something is limited.
@pytest.mark.parametrize("implied", [False, True])
@pytest.mark.parametrize("damages", [False, True])
def test_prescribed_sentences_are_printed_exactly_when_they_apply(implied, damages):
    terms = changed("place.us.implied_limited", implied)
    terms["place"]["us"]["damages_limited"] = damages
    assert gaps(terms, "US") == []
    printed = " ".join(text for point in points(terms, country="US", language="en") for text in point.texts)
    assert RIGHTS in printed
    assert (IMPLIED in printed) is implied
    assert (DAMAGES in printed) is damages


@pytest.mark.parametrize("name", ["implied", "damages"])
def test_a_limit_without_its_prescribed_sentence_is_a_gap(name):
    terms = changed(f"place.us.{name}_limited", True)
    terms["place"]["us"][name]["text"]["en"] = "It is limited."
    assert gaps(terms, "US") == [f"#place.us.{name}"]


def test_spacing_and_case_of_a_prescribed_sentence_do_not_matter():
    spaced = {"en": RIGHTS.upper().replace(" ", "  \n")}
    assert gaps(changed("place.us.rights.text", spaced), "US") == []


# 15 USC 2303 and 2304, 16 CFR 700.7
@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("remedy.free", False),
        ("remedy.refund", False),
        ("pro_rata", True),
        ("transfer.rule", "never"),
        ("transfer.rule", "once"),
        ("place.us.implied_limited", True),
        ("place.us.owner_card", "condition"),
        ("heading.text", {"en": "Full warranty"}),
        ("heading.text", {"en": "Limited warranty"}),
    ],
)
def test_a_full_warranty_keeps_its_rules(path, value):
    full = changed("designation", "full")
    full["heading"]["text"]["en"] = "Full 60-month warranty"
    full["remedy"]["refund"] = True
    full["place"]["us"]["card"] = {"title": {"en": "Card"}, "text": {"en": "Send it back."}}
    assert gaps(full, "US") == []
    *way, last = path.split(".")
    part = full
    for step in way:
        part = part[step]
    part[last] = value
    where = {"heading.text": "heading"}.get(path, path)
    assert gaps(full, "US") == [f"#{where}"]


@pytest.mark.parametrize(
    ("text", "tied"),
    [
        ("Use only Brightwax soap.", True),
        ("Only use our care set.", True),
        ("Wash with genuine products exclusively approved by us.", True),
        ("Use only GLANZ spray on it.", True),
        ("This warranty is void if the film is serviced by anyone but an authorised dealer.", True),
        ("If anybody else cleans it, cover is void.", True),
        ("The film must be washed by us.", True),
        ("Use only a soft cloth and pH neutral soap.", False),
        ("Damage caused by the use of brushes is excluded.", False),
        ("Damage caused by work of anyone else is not covered, and such cover is void.", False),
        ("Do not use polish. Brightwax is a good soap.", False),
        ("", False),
    ],
)
def test_care_text_must_not_tie_cover_to_a_brand(text, tied):
    # 16 CFR 700.10: "use only <brand>" is an error, "damage caused by … is excluded" is fine
    assert bool(ties(text)) is tied


@pytest.mark.parametrize("country", PLACES)
def test_every_section_printed_has_a_title_and_words(country):
    found = points(BUILT_IN, country=country, language="en")
    assert all(point.title and all(point.texts) for point in found)
    assert {"starts", "territory", "transfer", "statutory"} <= {point.key for point in found}


def test_places():
    assert [place_of(country) for country in ("US", "gb", "IE", "CH", "")] == ["us", "gb", "eu", "", ""]


def test_the_paper_itself_names_guarantor_goods_and_day():
    assert missing_on_paper(guarantor="A", address="B", goods=1, handed_over=True) == []
    found = missing_on_paper(guarantor=" ", address="", goods=0, handed_over=False)
    assert [reason.where for reason in found] == ["#guarantor", "#address", "#goods", "#handed_over"]


def test_legal_checks_say_that_they_are_no_advice():
    assert "no legal advice" in LEGAL_NOTE


@pytest.mark.parametrize(
    "terms", [{}, {"place": 3, "covered": "x", "heading": []}, {"claim": {"steps": [None, 1]}}]
)
@pytest.mark.parametrize("country", PLACES)
def test_broken_terms_give_gaps_and_no_error(terms, country):
    assert gaps(terms, country)
    assert points(terms, country=country, language="en") == []


# Cover and care dates ------------------------------------------------------------------------------------


def test_spans_of_the_built_in_terms():
    found = spans(BUILT_IN, date(2024, 2, 29), flat=False)
    assert [(span.kind, span.months, span.days, span.last_day) for span in found] == [
        ("material", 60, None, date(2029, 2, 28)),
        ("workmanship", 12, None, date(2025, 2, 28)),
        ("touch_up", None, 30, date(2024, 3, 30)),
    ]
    assert {span.first_day for span in found} == {date(2024, 2, 29)}


def test_flat_panels_may_have_less():
    terms = changed("cover.material.flat_months", 24)
    assert spans(terms, date(2026, 5, 15), flat=True)[0].last_day == date(2028, 5, 15)
    assert spans(terms, date(2026, 5, 15), flat=False)[0].last_day == date(2031, 5, 15)
    assert spans(changed("cover.material.flat_months", None), date(2026, 5, 15), flat=True)[0].months == 60


def by_key(**how):
    return {row.key: row for row in care_rows(BUILT_IN, date(2026, 12, 20), language="en", **how)}


@pytest.mark.parametrize(
    ("how", "first_wash"),
    [
        ({"lowest_night_c100": 1000}, date(2026, 12, 27)),
        ({"lowest_night_c100": 999}, date(2027, 1, 3)),
        ({"cold_season": False}, date(2026, 12, 27)),
        ({"cold_season": True}, date(2027, 1, 3)),
        ({"lowest_night_c100": 1500, "cold_season": True}, date(2026, 12, 27)),
        # nobody knows how cold the nights are: the longer time
        ({}, date(2027, 1, 3)),
    ],
)
def test_the_first_wash_waits_longer_in_the_cold(how, first_wash):
    assert by_key(**how)["first_wash"].from_day == first_wash


def test_care_dates():
    rows = by_key(cold_season=False)
    assert rows["pressure_washer"].from_day == date(2027, 1, 3)
    assert (rows["first_recheck"].from_day, rows["first_recheck"].until_day) == (
        date(2026, 12, 27),
        date(2027, 1, 3),
    )
    assert rows["next_recheck"].from_day == date(2027, 12, 20)
    assert rows["settling"].until_day == date(2027, 1, 19)
    assert (rows["same_day"].from_day, rows["same_day"].until_day) == (None, None)


def test_rows_stand_in_order_of_their_days_and_timeless_ones_last():
    rows = care_rows(BUILT_IN, date(2026, 5, 15), language="en")
    timeless = [row.from_day is None and row.until_day is None for row in rows]
    assert timeless == sorted(timeless)
    days = [row.from_day for row in rows if row.from_day]
    assert days == sorted(days)
    assert first_recheck(rows).from_day == date(2026, 5, 15) + timedelta(7)


@pytest.mark.parametrize(
    ("terms", "on", "language", "says"),
    [
        ({}, date(2026, 5, 15), "en", "no care rows"),
        (BUILT_IN, date(2026, 5, 15), "de", "language"),
        (BUILT_IN, date(9999, 12, 30), "en", "calendar"),
    ],
)
def test_care_that_cannot_be_worked_out_is_refused(terms, on, language, says):
    with pytest.raises(ValueError, match=says):
        care_rows(terms, on, language=language)
