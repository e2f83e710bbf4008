"""What all reasons of the gate have in common, and the people who may not check their own work."""

import ast
from dataclasses import replace
from pathlib import Path

import pytest

from shop.reasons import Reason, Weight, blocking
from shop.work import gates, progress
from shop.work.checklist import EdgeSpec
from shop.work.kinds import Meaning, Stage
from tests.work.facts import (
    ALONE,
    DORA,
    HOOD,
    INES,
    MAREK,
    PETRA,
    ROLES,
    change,
    codes,
    dry,
    put,
    sign,
    signature,
    until,
    wider,
    without,
)
from tests.work.test_gate_acts import OTHERS
from tests.work.test_gate_answers import ANSWERS, flood
from tests.work.test_gate_signings import SIGNINGS, TAIL


def every_reason():
    for facts, _ in ANSWERS.values():
        yield from gates.answer_reasons(facts, ROLES)
    for facts, _ in SIGNINGS.values():
        yield from gates.sign_reasons(facts, ROLES)
    for ask, facts, _ in OTHERS.values():
        yield from ask(facts, ROLES)
    yield from gates.waive_reasons("stale", PETRA, "", ROLES)


def test_the_table_meets_every_code_the_gate_can_give():
    written = set()
    for module in ("gates", "answers", "obstacles", "lots"):
        source = Path(gates.__file__).with_name(f"{module}.py").read_text(encoding="utf-8")
        for node in ast.walk(ast.parse(source)):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Reason":
                written.add(ast.literal_eval(node.args[0]))
    assert written <= set(codes(every_reason()))


def test_every_reason_is_a_sentence():
    for reason in every_reason():
        assert reason.text[0].isupper() and reason.text.endswith("."), reason.text
        assert "_" not in reason.text.replace("degrease.wipe", ""), reason.text


def test_open_lines_name_themselves_and_their_edges():
    facts = sign("ready", without("degrease.wipe@cowl", "degrease.wipe@front", "degrease.climate", "ready"))
    (reason,) = gates.sign_reasons(facts, ROLES)
    assert reason.text == (
        "Hood, degrease edges: not settled yet: “Wipe edge, return, flush line” (front, cowl); "
        "“Read air, humidity and panel”."
    )
    assert reason.where == "hood.1/degrease#degrease.wipe@front"


def test_edges_are_called_as_the_body_sheet_calls_them():
    facts = sign("ready", without("degrease.wipe@cowl", "ready", edge_names={"cowl": "cowl edge"}))
    (reason,) = gates.sign_reasons(facts, ROLES)
    assert "(cowl edge)" in reason.text


def test_a_line_found_wrong_says_so():
    facts = sign("ready", put(until("ready"), "degrease", "degrease.wipe", "cowl", answer="wrong"))
    (reason,) = gates.sign_reasons(facts, ROLES)
    assert reason.text.endswith("“Wipe edge, return, flush line” (cowl), found wrong.")


def test_a_changed_set_out_names_the_new_lines():
    facts = flood(wider(dry(), Stage.WASH, HOOD.edges[0]))
    assert codes(gates.answer_reasons(facts, ROLES)) == []
    facts = sign("released", wider(until("released"), Stage.SEAL, EdgeSpec("left", "edge", "short")))
    (reason,) = gates.sign_reasons(facts, ROLES)
    assert reason.text == (
        "Hood: the set-out changed after it was signed as laid and sealed. Answer "
        "“Dried otherwise? Say how” (left), “No blade mark on the paint” (left) "
        "and “End it on one straight line” (left) and sign again."
    )


TIES = {
    "named on it": ({"installers": {MAREK.id: MAREK.name, INES.id: INES.name}}, None),
    "answered a panel line": ({}, ("wash", "wash.hardware_off")),
    "answered a piece line": ({}, ("seal", "seal.flushed")),
    "answered an edge line": ({}, ("degrease", "degrease.wipe")),
}


@pytest.mark.parametrize("name", TIES)
@pytest.mark.parametrize("meaning", [Meaning.HIDDEN, Meaning.RELEASED])
def test_nobody_checks_their_own_work(name, meaning):
    rest, line = TIES[name]
    facts = until(meaning, **rest)
    if line:
        facts = put(facts, *line, person=MAREK.id, person_name=MAREK.name)
    found = gates.sign_reasons(sign(meaning, facts), ROLES)
    assert "same_person" in codes(found)
    assert all("Marek" in reason.text for reason in found if reason.code == "same_person")


@pytest.mark.parametrize("line", ["wash.bay_ready", "degrease.climate", "tack.mix"])
def test_a_car_line_ties_nobody(line):
    facts = put(until("released"), line.split(".")[0], line, person=MAREK.id, person_name=MAREK.name)
    assert gates.sign_reasons(sign("released", facts), ROLES) == []


def test_a_car_line_no_longer_asked_ties_nobody_either():
    facts = put(
        until("released"), "primer", "primer.lot", person=MAREK.id, person_name=MAREK.name, scope="car"
    )
    facts = change(facts, Stage.PRIMER, lines=())
    assert gates.sign_reasons(sign("released", facts), ROLES) == []


@pytest.mark.parametrize("meaning", [Meaning.READY, Meaning.LAID])
def test_whoever_signed_the_work_does_not_check_it(meaning):
    facts = until("released")
    for stage, part in facts.stages.items():
        marks = tuple(
            replace(s, person=MAREK.id, person_name=MAREK.name) if s.meaning == meaning else s
            for s in part.signatures
        )
        facts = change(facts, stage, signatures=marks)
    found = codes(gates.sign_reasons(sign("released", facts), ROLES))
    assert "same_person" in found


def test_an_edge_nobody_hides_leaves_the_hidden_edges_signed():
    seen = until("laid")
    assert progress.is_signed(wider(seen, Stage.SEAL, EdgeSpec("left", "edge", "short")), Meaning.HIDDEN)
    assert not progress.is_signed(wider(seen, Stage.SEAL, TAIL), Meaning.HIDDEN)


def test_looking_at_hidden_edges_ties_nobody():
    assert gates.sign_reasons(sign("released", until("released"), by=MAREK), ROLES) == []


def test_signatures_of_a_stage_that_asks_nothing_are_not_missed():
    unprimed = replace(HOOD, edges=(HOOD.edges[0], HOOD.edges[2]))
    facts = change(until("laid", piece=unprimed), Stage.PRIMER, signatures=())
    assert gates.sign_reasons(sign("laid", facts), ROLES) == []


def test_weights_come_from_the_roles_document():
    softer = {**ROLES, "reasons": {**ROLES["reasons"], "line_open": {"weight": "note"}}}
    facts = sign("ready", without("wash.washed", "ready"))
    assert [reason.weight for reason in gates.sign_reasons(facts, ROLES)] == [Weight.STOP]
    assert blocking(gates.sign_reasons(facts, softer)) == []


def test_what_a_rule_only_notes_is_never_made_heavier():
    note = Reason("vin_check_digit", "The check digit does not fit, which is common here.", Weight.NOTE)
    assert gates.weigh([note], ROLES) == [note]


def test_an_unlisted_code_is_an_error():
    with pytest.raises(KeyError):
        gates.weigh([Reason("moon_phase", "The moon is wrong.")], ROLES)


def test_the_same_obstacle_is_said_once():
    twice = Reason("stale", "The edges are stale.")
    assert len(gates.weigh([twice, twice], ROLES)) == 1


@pytest.mark.parametrize(
    ("code", "by", "why", "expected"),
    [
        ("lots_mixed", PETRA, "Same shade by eye, customer told", []),
        ("lots_mixed", DORA, "Same shade by eye", ["not_allowed"]),
        ("lots_mixed", PETRA, "  ", ["reason_missing"]),
        ("vin_check_digit", DORA, "As stamped on the car", []),
        ("same_person", PETRA, "Nobody else is here", ["cannot_waive"]),
        ("hold_unsigned", PETRA, "In a hurry", ["cannot_waive"]),
        ("photo_missing", PETRA, "Camera broke", ["cannot_waive"]),
        ("paint_cut_not_agreed", PETRA, "A small one", ["cannot_waive"]),
        ("moon_phase", PETRA, "It is full", ["cannot_waive"]),
    ],
)
def test_who_may_waive_what(code, by, why, expected):
    assert codes(gates.waive_reasons(code, by, why, ROLES)) == expected


def test_no_document_can_make_a_never_waivable():
    bent = {"weight": "waivable", "waive": ["owner"], "never": True}
    roles = {**ROLES, "reasons": {**ROLES["reasons"], "same_person": bent}}
    assert codes(gates.waive_reasons("same_person", PETRA, "Alone today", roles)) == ["cannot_waive"]


@pytest.mark.parametrize("verb", ROLES["verbs"])
def test_every_verb_is_for_somebody_and_not_for_a_stranger(verb):
    everyone = replace(ALONE, roles=frozenset(ROLES["roles"]))
    assert gates.verb_reasons(verb, everyone, ROLES) == []
    assert codes(gates.verb_reasons(verb, replace(ALONE, roles=frozenset()), ROLES)) == ["not_allowed"]


def test_signature_keys_are_frozen_at_signing():
    facts = change(
        until("released"), Stage.SEAL, signatures=(signature("laid", set()), signature("hidden", set()))
    )
    assert {"set_out_changed", "hold_unsigned"} <= set(
        codes(gates.sign_reasons(sign("released", facts), ROLES))
    )


def test_a_hand_that_was_painted_over_still_counts():
    """Somebody whose answer another one replaced has worked on the piece all the same."""
    facts = until("released", hands=frozenset({MAREK.id}))
    facts = put(facts, "cure", "cure.edge_round", person=9, person_name="Olga")
    (reason,) = gates.sign_reasons(sign("released", facts), ROLES)
    assert (reason.code, reason.text) == (
        "same_person",
        "Hood: Marek worked on it earlier, so somebody else has to check it.",
    )
