"""Answers the gate refuses, and those it takes: the exact reasons of each."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from shop.reasons import Reason
from shop.work import gates
from shop.work.cases import LotFacts
from shop.work.checklist import EdgeSpec
from shop.work.kinds import Stage
from tests.work.facts import (
    DORA,
    FILM,
    INES,
    LIFT,
    MAREK,
    NOW,
    OTHER,
    ROLES,
    TODAY,
    answer,
    change,
    codes,
    dry,
    fitting,
    put,
    until,
    wider,
    without,
)

LOT = {"answer": "value", "fields": frozenset({"lot", "roll"})}


def flood(facts, **rest):
    return answer(facts, "tack.flooding", answer="start", **rest)


ANSWERS = {
    "a tick on an open stage": (answer(without("wash.bay_ready", "ready"), "wash.bay_ready"), []),
    "a tick by the desk": (
        answer(without("wash.bay_ready", "ready"), "wash.bay_ready", by=DORA),
        ["not_allowed"],
    ),
    "a line of another panel": (answer(fitting(), "tack.eased"), ["not_asked"]),
    "an edge line without an edge": (
        answer(without("degrease.wipe", "ready"), "degrease.wipe"),
        ["not_asked"],
    ),
    "an edge the panel has not": (
        answer(without("degrease.wipe", "ready"), "degrease.wipe", ["front", "belt"]),
        ["not_asked"],
    ),
    "a tick for a reading": (
        answer(without("degrease.climate", "ready"), "degrease.climate"),
        ["answer_unfit"],
    ),
    "a reading with a value left out": (
        answer(
            without("degrease.climate", "ready"),
            "degrease.climate",
            answer="value",
            fields=frozenset({"air_c100", "panel_c100"}),
        ),
        ["reading_missing"],
    ),
    "not here, on a line that cannot be left out": (
        answer(without("degrease.wipe", "ready"), "degrease.wipe", ["front"], answer="na", why="None"),
        ["answer_unfit"],
    ),
    "not here, and why": (
        answer(
            without("wash.hardware_off", "ready"), "wash.hardware_off", answer="na", why="It came without"
        ),
        [],
    ),
    "not here, without why": (
        answer(without("wash.hardware_off", "ready"), "wash.hardware_off", answer="na", why=" "),
        ["reason_missing"],
    ),
    "wrong is always taken": (
        answer(without("wash.hardware_off", "ready"), "wash.hardware_off", answer="wrong"),
        [],
    ),
    "a signed line": (answer(fitting(), "wash.hardware_off"), ["already_signed"]),
    "a hidden edge that was signed": (
        answer(without("laid", "released"), "seal.hidden_edge", ["cowl"]),
        ["already_signed"],
    ),
    "a line added after signing": (
        answer(
            wider(until("laid"), Stage.DEGREASE, EdgeSpec("left", "edge", "short")),
            "degrease.wipe",
            ["left"],
        ),
        [],
    ),
    "a stage before its time": (
        answer(without("wash.washed", "ready"), "decontaminate.clay"),
        ["stage_closed"],
    ),
    "a stage before the photo of the one before": (
        answer(without("photo:wash.hardware_off", "ready"), "decontaminate.clay"),
        ["stage_closed"],
    ),
    "tack while edges are not wiped": (
        answer(without("degrease.wipe@cowl", "ready", "laid"), "tack.face"),
        ["stage_closed"],
    ),
    "tack before ready is signed": (answer(without("tack.face", "ready", "laid"), "tack.face"), []),
    "seal opens with tack": (
        answer(without("tack.wet_through", "seal.flushed", "hidden", "laid"), "seal.flushed"),
        [],
    ),
    "the after card before the water": (answer(dry(), "tack.wet_through"), ["stage_closed"]),
    "steam before the edges are sealed": (
        answer(without("seal.trimmed", "laid", "released"), "steam.steamed"),
        ["stage_closed"],
    ),
    "steam before somebody saw the hidden edges": (
        answer(without("hidden", "laid", "released"), "steam.steamed"),
        ["hold_unsigned"],
    ),
    "cure before laid is signed": (
        answer(without("laid", "released"), "cure.edge_round", ["front"], by=MAREK),
        ["signature_missing"],
    ),
    "the edge round by the installer": (
        answer(without("cure.edge_round", "released"), "cure.edge_round", ["front"]),
        ["same_person"],
    ),
    "the edge round by another": (
        answer(without("cure.edge_round", "released"), "cure.edge_round", ["front"], by=MAREK),
        [],
    ),
    "the edge round alone, on the same day": (
        answer(without("cure.edge_round", "released"), "cure.edge_round", ["front"], self_release=True),
        ["next_day_rule"],
    ),
    "the edge round alone, before midnight here": (
        answer(
            without("cure.edge_round", "released"),
            "cure.edge_round",
            ["front"],
            self_release=True,
            now=NOW.replace(hour=22, minute=59),
        ),
        ["next_day_rule"],
    ),
    "the edge round alone, after midnight here": (
        answer(
            without("cure.edge_round", "released"),
            "cure.edge_round",
            ["front"],
            self_release=True,
            now=NOW.replace(hour=23, minute=1),
        ),
        [],
    ),
    "flooding": (flood(dry()), []),
    "flooding unsigned": (flood(change(dry(), Stage.WASH, signatures=())), ["signature_missing"]),
    "flooding with the dry card open": (
        flood(put(dry(), "tack", "tack.last_wipe", answer="wrong")),
        ["line_open"],
    ),
    "flooding with an edge added": (
        flood(wider(dry(), Stage.DEGREASE, EdgeSpec("left", "edge", "short"))),
        ["set_out_changed"],
    ),
    "flooding alone on a large panel": (
        flood(dry(installers={INES.id: INES.name})),
        ["two_people_missing"],
    ),
    "flooding without a roll": (flood(dry(film=None)), ["lot_missing"]),
    "flooding with a lot held back": (flood(dry(film=replace(FILM, quarantined=True))), ["lot_quarantined"]),
    "flooding on the last good day": (flood(dry(film=replace(FILM, expires_on=TODAY))), []),
    "flooding a day too late": (
        flood(dry(film=replace(FILM, expires_on=TODAY - timedelta(days=1)))),
        ["roll_expired"],
    ),
    "flooding after the set-out took another lot": (
        flood(dry(film=replace(FILM, code="L-205"))),
        ["lot_wrong"],
    ),
    "flooding on fresh paint": (flood(dry(paint_concern="fresh paint")), ["paint_not_accepted"]),
    "flooding over a defect": (flood(dry(defects=(LIFT,))), ["defect_open"]),
    "flooding over one that was put right": (flood(dry(defects=(replace(LIFT, open=False),))), []),
    "flooding on stale edges": (
        flood(dry(found=(Reason("stale", "The oldest wiped edge has stood 41 min."),))),
        ["stale"],
    ),
    "flooding film that was replaced": (flood(dry(ended=True)), ["superseded"]),
    "spoiled after signing": (answer(dry(), "degrease.spoiled"), []),
    "spoiled once it is wet": (answer(fitting(), "degrease.spoiled"), ["stage_closed"]),
    "the lot in hand": (answer(dry(), "tack.lot", lots=(FILM,), **LOT), []),
    "another lot in hand": (
        answer(dry(), "tack.lot", lots=(replace(FILM, code="L-9"),), **LOT),
        ["lot_wrong"],
    ),
    "another roll in hand": (
        answer(dry(), "tack.lot", lots=(replace(FILM, roll="R-9"),), **LOT),
        ["lot_wrong"],
    ),
    "a lot nobody received": (
        answer(dry(), "tack.lot", lots=(replace(FILM, known=False),), **LOT),
        ["lot_missing"],
    ),
    "no lot at all": (answer(dry(), "tack.lot", **LOT), ["lot_missing"]),
    "a lot where none is set out": (
        answer(dry(film=None), "tack.lot", lots=(FILM,), **LOT),
        ["lot_missing"],
    ),
    "primer out of date": (
        answer(
            without("primer.lot", "ready"),
            "primer.lot",
            answer="value",
            fields=frozenset({"primer_lot", "opened_on", "expires_on"}),
            lots=(LotFacts("primer", "P-1", expires_on=date(2026, 3, 1)),),
        ),
        ["roll_expired"],
    ),
    "slip without tack": (
        answer(
            without("tack.mix", "laid"),
            "tack.mix",
            answer="value",
            fields=frozenset({"slip_lot", "tack_lot"}),
            lots=(OTHER["slip"],),
        ),
        ["lot_missing"],
    ),
}


@pytest.mark.parametrize("name", ANSWERS)
def test_an_answer(name):
    facts, expected = ANSWERS[name]
    assert codes(gates.answer_reasons(facts, ROLES)) == expected
