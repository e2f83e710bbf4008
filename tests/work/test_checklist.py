"""The lines a piece is asked, against a table of ten set-outs, and what every word of the set-out changes."""

import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

from shop.work.checklist import (
    EdgeSpec,
    PieceSpec,
    all_lines,
    applies,
    line_keys,
    stage_lines,
    work_to,
)
from shop.work.kinds import Card, Cover, Cut, EdgeKind, Feature, Finish, Material, Scope, Stage

ROOT = Path(__file__).resolve().parents[2]
PLAN = tomllib.loads((ROOT / "fixtures/plans/builtin.toml").read_text(encoding="utf-8"))
SET_OUTS = tomllib.loads(Path(__file__).with_name("set_outs.toml").read_text(encoding="utf-8"))["set_outs"]


def piece_of(set_out):
    return PieceSpec(
        panel=set_out["panel"],
        piece=set_out["piece"],
        panel_kind=set_out["panel_kind"],
        material=set_out["material"],
        features=frozenset(set_out["features"]),
        cut=set_out["cut"],
        cover=set_out["cover"],
        edges=tuple(EdgeSpec(**edge) for edge in set_out["edges"]),
        people=set_out["people"],
    )


PLAIN = PieceSpec(
    panel="door-front-left",
    piece=1,
    panel_kind="door",
    material="metal",
    features=frozenset(),
    cut="bulk",
    cover="accent",
    edges=(EdgeSpec("bottom", "edge", "short"), EdgeSpec("belt", "edge", "short")),
)


def keys(piece):
    return line_keys([line for lines in all_lines(PLAN, piece).values() for line in lines])


def with_finish(finish):
    first, *rest = PLAIN.edges
    return replace(PLAIN, edges=(replace(first, finish=finish), *rest))


@pytest.mark.parametrize("set_out", SET_OUTS, ids=lambda set_out: set_out["name"])
def test_each_set_out_is_asked_exactly_its_lines(set_out):
    asked = {stage: line_keys(lines) for stage, lines in all_lines(PLAN, piece_of(set_out)).items()}
    assert asked == set_out["keys"]


def test_the_table_holds_ten_set_outs_and_all_lines_of_the_plan():
    assert len(SET_OUTS) == 10
    asked = {key.split("@")[0] for s in SET_OUTS for stage in s["keys"].values() for key in stage}
    assert asked == {line["key"] for line in PLAN["lines"]}


@pytest.mark.parametrize("feature", Feature)
def test_every_feature_changes_a_list(feature):
    assert keys(replace(PLAIN, features=frozenset({feature}))) != keys(PLAIN)


@pytest.mark.parametrize("material", Material)
def test_every_material_has_a_list_of_its_own(material):
    lists = {other: tuple(keys(replace(PLAIN, material=other))) for other in Material}
    assert list(lists.values()).count(lists[material]) == 1


@pytest.mark.parametrize("cut", Cut)
def test_every_cut_has_a_list_of_its_own(cut):
    lists = [keys(replace(PLAIN, cut=other)) for other in Cut]
    assert lists.count(keys(replace(PLAIN, cut=cut))) == 1


@pytest.mark.parametrize("cover", Cover)
def test_every_cover_has_a_list_of_its_own(cover):
    lists = [keys(replace(PLAIN, cover=other)) for other in Cover]
    assert lists.count(keys(replace(PLAIN, cover=cover))) == 1


@pytest.mark.parametrize("finish", Finish)
def test_every_finish_has_a_list_of_its_own(finish):
    lists = [keys(with_finish(other)) for other in Finish]
    assert lists.count(keys(with_finish(finish))) == 1


def test_primer_is_asked_only_where_it_is_named():
    first, *rest = PLAIN.edges
    primed = replace(PLAIN, edges=(replace(first, primer=True), *rest))
    assert stage_lines(PLAN, PLAIN, Stage.PRIMER) == []
    assert line_keys(stage_lines(PLAN, primed, Stage.PRIMER)) == [
        "primer.lot",
        "primer.thin@bottom",
        "primer.flash_off",
    ]


def test_an_open_edge_is_never_asked_whatever_else_it_is():
    edge = EdgeSpec("jamb", "corner", "open", primer=True)
    assert keys(replace(PLAIN, edges=(*PLAIN.edges, edge))) == keys(PLAIN)


def test_an_edge_line_speaks_of_that_edge_and_a_piece_line_of_any():
    mixed = with_finish("flush")
    blades = [line for line in stage_lines(PLAN, mixed, Stage.SEAL) if line.key == "seal.fresh_blade"]
    assert [line.edges for line in blades] == [("bottom",)]
    assert "seal.corners_first" not in [i.key for i in work_to(PLAN, PLAIN, Stage.SEAL)]
    corner = replace(PLAIN, edges=(*PLAIN.edges, EdgeSpec("front", EdgeKind.CORNER, "short")))
    assert "seal.corners_first" in [i.key for i in work_to(PLAN, corner, Stage.SEAL)]


def test_a_bumper_wants_more_allowance_than_any_other_panel():
    bumper = replace(PLAIN, panel="bumper-front", panel_kind="bumper")
    asked = [[key for key in keys(piece) if "allowance" in key] for piece in (PLAIN, bumper)]
    assert asked == [["tack.allowance"], ["tack.allowance_bumper"]]


@pytest.mark.parametrize("set_out", SET_OUTS, ids=lambda set_out: set_out["name"])
def test_no_key_is_asked_twice_of_one_piece(set_out):
    asked = keys(piece_of(set_out))
    assert len(asked) == len(set(asked))


def test_dry_cards_stand_in_the_order_before_flooding_after():
    for set_out in SET_OUTS:
        lines = stage_lines(PLAN, piece_of(set_out), Stage.TACK)
        cards = [line.card for line in lines]
        assert cards == sorted(cards, key=[Card.BEFORE, Card.AFTER].index)
        before = [line for line in lines if line.card == Card.BEFORE]
        assert before[-1].key == "tack.flooding"
        assert before[-1].starts == "flooding"


def test_large_bulk_keeps_its_cap_sheet_until_it_lies():
    def card(**how):
        return [instruction.key for instruction in work_to(PLAN, replace(PLAIN, **how))]

    large = frozenset({"large"})
    assert "lay.cap_after" in card(features=large, cut="bulk")
    assert "lay.cap_first" not in card(features=large, cut="bulk")
    assert "lay.cap_first" in card(features=large, cut="pre_cut")
    assert "lay.cap_first" in card(cut="bulk")


def test_holds_need_a_photo_and_cannot_be_waved_away():
    holds = [line for line in PLAN["lines"] if line.get("hold")]
    assert {line["hold"] for line in holds} == {"hidden", "released"}
    assert all(line["photo"] and line["na"] is False for line in holds)


def test_conditions_join():
    has = frozenset({"large", "bulk"})
    assert applies(None, has)
    assert applies({"any": ["hardware", {"all": ["large", "bulk"]}]}, has)
    assert not applies({"all": ["large", {"not": "bulk"}]}, has)


def test_cautions_stand_where_work_can_hurt():
    """Solvents, steam, heat, blades, compressed air, sensors: a caution, and who knows better than we do."""
    careful = {line["key"]: line["caution"]["en"] for line in PLAN["lines"] if "caution" in line}
    hurting = [
        "wash.hardware_off",
        "decontaminate.iron_tar",
        "decontaminate.blown_out",
        "degrease.cleaner_proven",
        "degrease.flange",
        "degrease.behind_rubber",
        "degrease.wipe",
        "primer.thin",
        "tack.blade_depth",
        "tack.last_wipe",
        "tack.rubber_trim",
        "tack.open_gap",
        "tack.eased",
        "seal.tension",
        "seal.flushed",
        "seal.post_heat",
        "seal.fresh_blade",
        "seal.trimmed",
        "steam.steamed",
        "steam.hardware_back",
        "steam.sensors",
    ]
    assert set(hurting) <= set(careful)
    assert all("local rules" in text.lower() for text in careful.values())


def test_car_lines_are_few_and_edges_carry_the_work():
    scopes = {line["key"]: line["scope"] for line in PLAN["lines"]}
    assert [key for key, scope in scopes.items() if scope == Scope.CAR] == [
        "wash.bay_ready",
        "wash.washed",
        "degrease.climate",
        "primer.lot",
        "tack.mix",
        "cure.temperatures",
        "cure.sorted",
    ]
    assert scopes["degrease.wipe"] == scopes["cure.edge_round"] == Scope.EDGE
