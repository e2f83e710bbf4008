"""Signings the gate refuses, and those it takes: the exact reasons of each."""

from dataclasses import replace
from datetime import timedelta

import pytest

from shop.reasons import Reason, Weight
from shop.work import gates
from shop.work.checklist import EdgeSpec
from shop.work.kinds import Stage
from tests.work.facts import (
    ALONE,
    CUT,
    DORA,
    FILM,
    HOOD,
    INES,
    LIFT,
    MAREK,
    NOW,
    ROLES,
    TOM,
    change,
    codes,
    put,
    sign,
    signature,
    until,
    wider,
    without,
)

TAIL = EdgeSpec("left", "edge", "tucked")


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


@pytest.mark.parametrize("name", SIGNINGS)
def test_a_signing(name):
    facts, expected = SIGNINGS[name]
    assert codes(gates.sign_reasons(facts, ROLES)) == expected
