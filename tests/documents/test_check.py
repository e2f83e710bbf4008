"""Faults of documents: the built-in ones have none, broken ones are told each fault with its path."""

import copy
import tomllib
from pathlib import Path

import pytest

from shop.documents.check import NEVER_WAIVED, faults
from shop.documents.plan_shape import CONDITION_WORDS, READABLE
from shop.documents.words import Cover, Cut, EdgeKind, Feature, Finish, Material, Stage, title

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"
BUILT_IN = sorted(FIXTURES.rglob("*.toml"))


def read(path):
    return tomllib.loads((FIXTURES / path).read_text(encoding="utf-8"))


def plan():
    return copy.deepcopy(read("plans/builtin.toml"))


def film():
    return copy.deepcopy(read("films/defaults.toml"))


def roles():
    return copy.deepcopy(read("roles.toml"))


def terms():
    return copy.deepcopy(read("terms/builtin.toml"))


def body():
    return copy.deepcopy(read("bodies/sedan.toml"))


def line_of(document, key):
    return next(line for line in document["lines"] if line["key"] == key)


@pytest.mark.parametrize("path", BUILT_IN, ids=lambda path: path.name)
def test_built_in_documents_have_no_faults(path):
    assert faults(read(path)) == []


def broken(document, change):
    change(document)
    return faults(document)


BROKEN = {
    "a misspelt key": (plan, lambda d: d["lines"][0].update(foto=True), "lines[0].foto: is unknown"),
    "a key left out": (plan, lambda d: d["lines"][0].pop("why"), "lines[0].why: is missing"),
    "a text without language": (
        plan,
        lambda d: d["lines"][0].update(text="Wash"),
        "lines[0].text: should be",
    ),
    "no English": (
        plan,
        lambda d: d["lines"][0].update(text={"de": "Halle bereit machen"}),
        "lines[0].text: the English text",
    ),
    "a line too long to read": (
        plan,
        lambda d: d["lines"][0].update(text={"en": "Make the bay ready for film and wait"}),
        "lines[0].text.en: 36 characters",
    ),
    "an unknown feature": (plan, lambda d: d["lines"][2].update(when="rubber"), "lines[2].when: “rubber”"),
    "a joined condition of two kinds": (
        plan,
        lambda d: d["lines"][2].update(when={"all": ["large"], "any": ["bulk"]}),
        "lines[2].when: should be one word",
    ),
    "an unknown scope": (plan, lambda d: d["lines"][0].update(scope="face"), "lines[0].scope: “face”"),
    "a key under the wrong stage": (
        plan,
        lambda d: d["lines"][0].update(stage="cure"),
        "lines[0].key: “wash.bay_ready”",
    ),
    "a key used twice": (
        plan,
        lambda d: d["lines"].append(copy.deepcopy(d["lines"][0])),
        "“wash.bay_ready” is there twice",
    ),
    "a hold without a photo": (
        plan,
        lambda d: line_of(d, "cure.edge_round").pop("photo"),
        "a line that holds the work needs a photo",
    ),
    "a hold that can be left out": (
        plan,
        lambda d: line_of(d, "seal.hidden_edge").pop("na"),
        "a line that holds the work cannot be answered “not here”",
    ),
    "a reading without values": (
        plan,
        lambda d: line_of(d, "degrease.climate").pop("fields"),
        "fields: belong to a reading",
    ),
    "limits nobody wrote": (
        plan,
        lambda d: d["limits"].pop("panel_c100"),
        "there are no limits “panel_c100”",
    ),
    "a clock on a line that is gone": (
        plan,
        lambda d: d["stale"][0].update(after="degrease.rub"),
        "stale[0].after: there is no line “degrease.rub”",
    ),
    "a stage without lines": (
        plan,
        lambda d: d.update(lines=[line for line in d["lines"] if line["stage"] != "steam"]),
        "lines: the stage steam has none",
    ),
    "stages in another order": (plan, lambda d: d["stages"].reverse(), "stages: should be these"),
    "a stage nobody signs": (
        plan,
        lambda d: d["signings"][2]["stages"].remove("steam"),
        "every stage is signed once",
    ),
    "a sentence that names nothing": (
        plan,
        lambda d: d["signings"][0].update(sentence={"en": "All is well."}),
        "signings[0].sentence.en: does not say what is signed",
    ),
    "two starts of the flooding": (
        plan,
        lambda d: line_of(d, "cure.start").update(starts="flooding"),
        "exactly one of them starts the flooding",
    ),
    "a broken number": (film, lambda d: d["thickness"].update(typical_um10=1650.5), "typical_um10: 1650.5"),
    "true instead of a number": (film, lambda d: d["stale"].update(minutes=True), "stale.minutes"),
    "a mil taken for a millimetre": (
        film,
        lambda d: d["thickness"].update(typical_um10=65),
        "thickness.typical_um10: lies outside",
    ),
    "a figure without its source": (film, lambda d: d["stale"].pop("source"), "stale.source: is missing"),
    "cure bands out of order": (film, lambda d: d["cure"]["bands"].reverse(), "cure.bands: from the warmest"),
    "a window that never opens": (
        film,
        lambda d: d["primer"].update(flash_off_most_s=60),
        "primer.flash_off_most_s: should be longer",
    ),
    "a role nobody has": (
        roles,
        lambda d: d["verbs"]["answer"].update(roles=["painter"]),
        "verbs.answer.roles: there is no role “painter”",
    ),
    "an unknown weight": (
        roles,
        lambda d: d["reasons"]["blur"].update(weight="heavy"),
        "reasons.blur.weight: “heavy”",
    ),
    "a waiver by nobody": (
        roles,
        lambda d: d["reasons"]["lots_mixed"].pop("waive"),
        "reasons.lots_mixed.waive: names who",
    ),
    "an unknown material": (
        body,
        lambda d: d["panels"][0].update(material="tin"),
        "panels[0].material: “tin”",
    ),
    "an unknown finish": (
        body,
        lambda d: d["panels"][0]["edges"][0].update(finish="folded"),
        "panels[0].edges[0].finish: “folded”",
    ),
    "an unknown way of counting": (
        terms,
        lambda d: d.update(counting="working_days"),
        "counting: “working_days”",
    ),
    "a cover without a length": (
        terms,
        lambda d: d["cover"]["material"].pop("months"),
        "cover.material: says how long",
    ),
    "a cover of two lengths": (
        terms,
        lambda d: d["cover"]["touch_up"].update(months=1),
        "cover.touch_up: says how long",
    ),
    "no cover of the work": (terms, lambda d: d["cover"].pop("workmanship"), "cover.workmanship: is missing"),
    "a sale nobody foresaw": (
        terms,
        lambda d: d["transfer"].update(rule="sometimes"),
        "transfer.rule: “sometimes”",
    ),
    "care that ends before it begins": (
        terms,
        lambda d: d["care"]["rows"][3].update(until_days=3),
        "care.rows[3].until_days: lies before from_days",
    ),
    "no kind": (plan, lambda d: d.pop("kind"), "kind: is missing"),
    "an unknown kind": (plan, lambda d: d.update(kind="recipe"), "kind: “recipe” is not one of"),
}


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_document_is_told_what_is_wrong(name):
    make, change, said = BROKEN[name]
    found = broken(make(), change)
    assert any(said in fault for fault in found), found
    assert all(fault.endswith(".") for fault in found)


@pytest.mark.parametrize("code", NEVER_WAIVED)
@pytest.mark.parametrize("weight", ["waivable", "note"])
def test_no_version_can_let_anybody_waive_these(code, weight):
    document = roles()
    document["reasons"][code] = {"weight": weight, **({"waive": ["owner"]} if weight == "waivable" else {})}
    assert any(fault.startswith(f"reasons.{code}.weight") for fault in faults(document))


@pytest.mark.parametrize("code", NEVER_WAIVED)
def test_none_of_these_can_be_left_out(code):
    document = roles()
    del document["reasons"][code]
    assert faults(document) == [f"reasons.{code}: is missing; nothing may leave it out."]


@pytest.mark.parametrize("rubbish", [None, 7, "plan", [], {}, {"kind": "plan"}])
def test_rubbish_is_told_apart_without_falling_over(rubbish):
    assert faults(rubbish)


def test_every_text_to_be_answered_can_be_read_a_metre_away():
    texts = [entry["text"]["en"] for part in ("lines", "not_here") for entry in plan()[part]]
    assert max(len(text) for text in texts) <= READABLE


def test_every_figure_and_line_names_its_source():
    known = {"common practice, no source", "from memory, unverified"}
    published = {
        entry["source"]
        for entry in [*plan()["lines"], *plan()["work_to"], *plan()["limits"].values(), plan()["reading"]]
        if entry["source"] not in known
    }
    assert published == {
        "ASTM F22, water-break",
        "ISO 8502-4 and ISO 12944-7: surface at least 3 °C above dew point",
        "MIL-HDBK-1110 9.6.6, readings about every 4 hours",
    }


def test_stages_have_one_name_everywhere():
    assert {stage["key"]: stage["title"] for stage in plan()["stages"]} == {s: title(s) for s in Stage}


def test_the_defaults_sheet_says_what_the_plan_falls_back_on():
    for part in ("cure", "reading"):
        assert film()[part] == plan()[part]
    assert film()["stale"]["minutes"] == plan()["stale"][0]["minutes"]
    assert {name: film()["limits"][name] for name in plan()["limits"]} == plan()["limits"]


def test_no_word_of_a_condition_means_two_things():
    kinds = (Feature, Material, Cut, Cover, EdgeKind, Finish)
    twice = [word for word in CONDITION_WORDS if sum(word in list(kind) for kind in kinds) > 1]
    # A seam is a kind of edge and a finish, and always both at once.
    assert twice == ["seam"]
