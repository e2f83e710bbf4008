"""The gate: one table of refusals by act, and the people who may not check their own work."""

import ast
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from shop.reasons import Reason, Weight, blocking
from shop.work import gates, progress
from shop.work.cases import DefectFacts, HandOverFacts, IssueFacts, LotFacts, PutRightFacts, ReleaseFacts
from shop.work.checklist import EdgeSpec, all_lines
from shop.work.kinds import Meaning, Stage
from tests.work.facts import (
    ALONE,
    DORA,
    FILM,
    HOOD,
    INES,
    MAREK,
    NOW,
    OTHER,
    PETRA,
    PLAN,
    ROLES,
    TODAY,
    TOM,
    ZONE,
    answer,
    change,
    fitting,
    put,
    sign,
    signature,
    until,
    without,
)

LIFT = DefectFacts(7, "Lifted edge", edge="front")
CUT = DefectFacts(8, "Cut in paint", open=False, paint_cut=True)


def flood(facts, **rest):
    return answer(facts, "tack.flooding", answer="start", **rest)


def dry(**rest):
    """Ready signed, the dry card answered, nothing wet yet."""
    later = [
        line.key
        for stage in ("seal", "steam", "cure")
        for line in all_lines(PLAN, HOOD)[stage]
        if line.required
    ]
    after = [line.key for line in all_lines(PLAN, HOOD)["tack"] if line.card == "after"]
    return without("tack.flooding", "hidden", "laid", "released", *after, *later, **rest)


def wider(facts, stage, edge):
    """The same fitting after an edge was added at set-out."""
    lines = all_lines(PLAN, replace(HOOD, edges=(*HOOD.edges, edge)))
    return change(facts, stage, lines=tuple(lines[stage]))


TAIL = EdgeSpec("left", "edge", "tucked")
HAND = HandOverFacts(DORA, TODAY, TODAY, TODAY, customer_signed=True)
ISSUE = IssueFacts(DORA, pieces=2, released=2, handed_over_on=TODAY)
SHUT = PutRightFacts(INES, "hood.1", "Hood", LIFT, "put_right", True, False, True, 1)
DRAFT = Reason("terms_incomplete", "The terms do not name who gives the cover.")
LOT = {"answer": "value", "fields": frozenset({"lot", "roll"})}

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

CHANGED_SCREEN = {"screen_seen": "a" * 64, "screen_now": "b" * 64}
SIGNINGS = {
    "ready": (sign("ready", until("ready")), []),
    "ready, nothing picked": (sign("ready"), ["nothing_to_sign"]),
    "ready, a line open": (sign("ready", without("degrease.wipe@cowl", "ready")), ["line_open"]),
    "ready, a line wrong": (
        sign("ready", put(until("ready"), "wash", "wash.washed", answer="wrong")),
        ["line_open"],
    ),
    "ready, a wipe waved away": (
        sign("ready", put(until("ready"), "degrease", "degrease.wipe", "cowl", answer="na")),
        ["line_open"],
    ),
    "ready, a photo missing": (sign("ready", without("photo:wash.hardware_off", "ready")), ["photo_missing"]),
    "ready, not here needs no photo": (
        sign(
            "ready",
            put(without("photo:wash.hardware_off", "ready"), "wash", "wash.hardware_off", answer="na"),
        ),
        [],
    ),
    "ready, by one not named": (sign("ready", until("ready"), by=MAREK), ["not_allowed"]),
    "ready, by the desk": (sign("ready", until("ready"), by=DORA), ["not_allowed", "not_allowed"]),
    "ready, twice": (sign("ready", until("laid")), ["already_signed"]),
    "ready, again with a line added": (
        sign("ready", wider(until("laid"), Stage.DEGREASE, EdgeSpec("left", "edge", "short"))),
        ["line_open"],
    ),
    "ready, with unsent entries": (sign("ready", until("ready"), unsent=3), ["unsent_here"]),
    "ready, with another screen": (sign("ready", until("ready"), **CHANGED_SCREEN), ["screen_changed"]),
    "ready, on fresh paint": (
        sign("ready", until("ready", paint_concern="fresh paint")),
        ["paint_not_accepted"],
    ),
    "ready, over a defect": (sign("ready", until("ready", defects=(LIFT,))), ["defect_open"]),
    "ready, with a note": (
        sign("ready", until("ready", found=(Reason("blur", "A photo is soft.", Weight.NOTE),))),
        ["blur"],
    ),
    "ready, film that was replaced": (sign("ready", until("ready", ended=True)), ["superseded"]),
    "ready, one of two": (
        sign("ready", until("ready"), replace(without("wash.washed", "ready"), place="roof.1")),
        ["line_open"],
    ),
    "hidden": (sign("hidden", until("hidden")), []),
    "hidden, by the installer": (sign("hidden", until("hidden"), by=ALONE), ["same_person"]),
    "hidden, alone by the owner's leave": (sign("hidden", until("hidden"), by=ALONE, self_release=True), []),
    "hidden, alone, an edge added on the day it was laid": (
        sign(
            "hidden",
            change(
                wider(without("released"), Stage.SEAL, HOOD.edges[0]),
                Stage.SEAL,
                signatures=(signature("laid", {"seal.flushed"}),),
            ),
            by=ALONE,
            self_release=True,
            now=NOW + timedelta(hours=3),
        ),
        [],
    ),
    "hidden, by an installer only": (sign("hidden", until("hidden"), by=TOM), ["not_allowed", "same_person"]),
    "hidden, without its photo": (
        sign("hidden", without("photo:seal.hidden_edge@cowl", "hidden", "laid", "released")),
        ["photo_missing"],
    ),
    "hidden, while other lines of seal are open": (
        sign("hidden", without("seal.trimmed", "hidden", "laid", "released")),
        [],
    ),
    "hidden, twice": (sign("hidden", until("laid")), ["already_signed"]),
    "hidden, before ready": (sign("hidden", without("ready", "hidden", "laid")), ["signature_missing"]),
    "hidden, where nothing is": (
        sign("hidden", until("hidden", piece=replace(HOOD, features=frozenset(), edges=HOOD.edges[:1]))),
        ["nothing_to_sign"],
    ),
    "laid": (sign("laid", until("laid")), []),
    "laid, hidden edges unseen": (sign("laid", without("hidden", "laid")), ["hold_unsigned"]),
    "laid, a hidden edge added": (
        sign("laid", wider(until("laid"), Stage.SEAL, TAIL)),
        ["line_open", "photo_missing", "hold_unsigned"],
    ),
    "laid, before ready": (sign("laid", without("ready", "laid")), ["signature_missing"]),
    "laid, alone on a large panel": (
        sign("laid", until("laid", installers={INES.id: INES.name})),
        ["two_people_missing"],
    ),
    "laid, with another lot": (sign("laid", until("laid", film=replace(FILM, code="L-9"))), ["lot_wrong"]),
    "laid, by the other installer": (sign("laid", until("laid"), by=TOM), []),
    "released": (sign("released", until("released")), []),
    "released, an edge without a photo": (
        sign("released", without("photo:cure.edge_round@front", "released")),
        ["photo_missing"],
    ),
    "released, by an installer": (sign("released", until("released"), by=ALONE), ["same_person"]),
    "released, alone, on the next day": (
        sign("released", until("released"), by=ALONE, self_release=True),
        [],
    ),
    "released, alone, on the same day": (
        sign("released", until("released"), by=ALONE, self_release=True, now=NOW + timedelta(hours=5)),
        ["next_day_rule"],
    ),
    "released, an edge round by an installer": (
        sign(
            "released",
            put(until("released"), "cure", "cure.edge_round", "front", person=2, person_name="Tom"),
        ),
        ["same_person"],
    ),
    "released, before laid": (sign("released", without("laid", "released")), ["signature_missing"]),
    "released, cure running": (
        sign("released", until("released", found=(Reason("cure_running", "Cure runs on."),))),
        ["cure_running"],
    ),
    "released, paint cut": (sign("released", until("released", defects=(CUT,))), ["paint_cut_not_agreed"]),
    "released, paint cut and agreed": (
        sign("released", until("released", defects=(replace(CUT, agreed=True),))),
        [],
    ),
    "released, set-out changed": (
        sign("released", wider(until("released"), Stage.TACK, HOOD.edges[0])),
        [],
    ),
    "released, an edge added to the seal": (
        sign("released", wider(until("released"), Stage.SEAL, EdgeSpec("left", "edge", "short"))),
        ["set_out_changed"],
    ),
}

OTHERS = {
    "hand-over": (gates.hand_over_reasons, HAND, []),
    "hand-over by an installer": (gates.hand_over_reasons, replace(HAND, by=INES), ["not_allowed"]),
    "hand-over before release": (gates.hand_over_reasons, replace(HAND, released_on=None), ["not_released"]),
    "hand-over dated before release": (
        gates.hand_over_reasons,
        replace(HAND, on=TODAY - timedelta(days=1)),
        ["day_wrong"],
    ),
    "hand-over dated tomorrow": (
        gates.hand_over_reasons,
        replace(HAND, on=TODAY + timedelta(days=1)),
        ["day_wrong"],
    ),
    "hand-over unsigned": (
        gates.hand_over_reasons,
        replace(HAND, customer_signed=False),
        ["customer_unsigned"],
    ),
    "hand-over twice": (
        gates.hand_over_reasons,
        replace(HAND, handed_over_on=TODAY),
        ["already_handed_over"],
    ),
    "hand-over over a defect": (gates.hand_over_reasons, replace(HAND, defects=(LIFT,)), ["defect_open"]),
    "hand-over over a cut": (
        gates.hand_over_reasons,
        replace(HAND, defects=(CUT,)),
        ["paint_cut_not_agreed"],
    ),
    "issue": (gates.issue_reasons, ISSUE, []),
    "issue by an installer": (gates.issue_reasons, replace(ISSUE, by=INES), ["not_allowed"]),
    "issue with a piece to go": (gates.issue_reasons, replace(ISSUE, released=1), ["not_released"]),
    "issue for nothing": (gates.issue_reasons, replace(ISSUE, pieces=0, released=0), ["not_released"]),
    "issue before hand-over": (gates.issue_reasons, replace(ISSUE, handed_over_on=None), ["not_handed_over"]),
    "issue twice": (gates.issue_reasons, replace(ISSUE, number="26-0001"), ["already_issued"]),
    "correct one": (gates.issue_reasons, replace(ISSUE, number="26-0001", correcting=True), []),
    "correct one that was withdrawn": (
        gates.issue_reasons,
        replace(ISSUE, number="26-0001", correcting=True, withdrawn=True),
        ["certificate_withdrawn"],
    ),
    "issue with unfinished terms": (
        gates.issue_reasons,
        replace(ISSUE, found=(DRAFT,)),
        ["terms_incomplete"],
    ),
    "issue over a cut": (gates.issue_reasons, replace(ISSUE, defects=(CUT,)), ["paint_cut_not_agreed"]),
    "put right": (gates.put_right_reasons, SHUT, []),
    "put right by the desk": (gates.put_right_reasons, replace(SHUT, by=DORA), ["not_allowed"]),
    "put right without proof": (gates.put_right_reasons, replace(SHUT, proof=0), ["photo_missing"]),
    "put right twice": (
        gates.put_right_reasons,
        replace(SHUT, defect=replace(LIFT, open=False)),
        ["superseded"],
    ),
    "put right in no known way": (gates.put_right_reasons, replace(SHUT, known=False), ["answer_unfit"]),
    "accepted without the customer": (
        gates.put_right_reasons,
        replace(SHUT, needs_agreement=True),
        ["agreement_missing"],
    ),
    "a cut in paint put right without the customer": (
        gates.put_right_reasons,
        replace(SHUT, defect=replace(CUT, open=True)),
        ["paint_cut_not_agreed"],
    ),
    "release": (gates.release_reasons, ReleaseFacts((fitting(),), NOW, ZONE), []),
    "release of nothing": (gates.release_reasons, ReleaseFacts((), NOW, ZONE), ["nothing_to_sign"]),
    "release with one signature to go": (
        gates.release_reasons,
        ReleaseFacts((fitting(), without("released")), NOW, ZONE),
        ["signature_missing"],
    ),
    "release with the seal to do": (
        gates.release_reasons,
        ReleaseFacts((without("seal.trimmed", "laid", "released"),), NOW, ZONE),
        ["line_open", "signature_missing", "signature_missing"],
    ),
}


def codes(reasons):
    return [reason.code for reason in reasons]


@pytest.mark.parametrize("name", ANSWERS)
def test_an_answer(name):
    facts, expected = ANSWERS[name]
    assert codes(gates.answer_reasons(facts, ROLES)) == expected


@pytest.mark.parametrize("name", SIGNINGS)
def test_a_signing(name):
    facts, expected = SIGNINGS[name]
    assert codes(gates.sign_reasons(facts, ROLES)) == expected


@pytest.mark.parametrize("name", OTHERS)
def test_another_act(name):
    ask, facts, expected = OTHERS[name]
    assert codes(ask(facts, ROLES)) == expected


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
