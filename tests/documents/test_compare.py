"""Two versions of a document, told apart in words."""

import copy
import tomllib
from pathlib import Path

from shop.documents.compare import differences

PLAN = tomllib.loads(
    (Path(__file__).resolve().parents[2] / "fixtures/plans/builtin.toml").read_text(encoding="utf-8")
)


def changed(change):
    new = copy.deepcopy(PLAN)
    change(new)
    return differences(PLAN, new)


def test_the_same_text_has_no_differences():
    assert differences(PLAN, copy.deepcopy(PLAN)) == []


def test_a_changed_figure_says_both():
    assert changed(lambda d: d["stale"][0].update(minutes=20)) == [
        "stale “degrease.wipe”.minutes: was 30, now 20."
    ]


def test_a_changed_text_names_its_line():
    assert changed(lambda d: d["lines"][0]["text"].update(en="Ready the bay")) == [
        "lines “wash.bay_ready”.text.en: was “Make the bay ready”, now “Ready the bay”."
    ]


def test_a_new_language_is_an_addition():
    assert changed(lambda d: d["lines"][0]["text"].update(de="Halle richten")) == [
        "lines “wash.bay_ready”.text.de: added, “Halle richten”."
    ]


def test_lines_come_and_go_by_their_key():
    def swap(document):
        gone = document["lines"].pop(0)
        document["lines"].append({**gone, "key": "wash.hall_ready"})

    assert changed(swap) == [
        "lines “wash.bay_ready”: taken out.",
        "lines “wash.hall_ready”: added.",
    ]


def test_a_moved_line_is_only_moved():
    def move(document):
        document["lines"].append(document["lines"].pop(0))

    assert changed(move) == ["lines: in another order."]


def test_a_key_that_is_gone_says_what_it_was():
    assert changed(lambda d: d["lines"][0].pop("na")) == ["lines “wash.bay_ready”.na: taken out, was false."]


def test_a_plain_list_is_shown_whole():
    def drop(document):
        document["signings"][0]["stages"].remove("primer")

    assert changed(drop) == [
        "signings “ready”.stages: was “wash”, “decontaminate”, “degrease”, “primer”, "
        "now “wash”, “decontaminate”, “degrease”."
    ]


def test_true_and_one_are_not_the_same():
    assert differences({"photo": True}, {"photo": 1}) == ["photo: was true, now 1."]
