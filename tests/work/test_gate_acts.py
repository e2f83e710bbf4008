"""Release, hand-over, issue and putting right: the exact reasons of each."""

from dataclasses import replace
from datetime import timedelta

import pytest

from shop.reasons import Reason
from shop.work import gates
from shop.work.cases import HandOverFacts, IssueFacts, PutRightFacts, ReleaseFacts
from tests.work.facts import (
    CUT,
    DORA,
    INES,
    LIFT,
    NOW,
    ROLES,
    TODAY,
    ZONE,
    codes,
    fitting,
    without,
)

HAND = HandOverFacts(DORA, TODAY, TODAY, TODAY, customer_signed=True)
ISSUE = IssueFacts(DORA, pieces=2, released=2, handed_over_on=TODAY)
SHUT = PutRightFacts(INES, "hood.1", "Hood", LIFT, "put_right", True, False, True, 1)
DRAFT = Reason("terms_incomplete", "The terms do not name who gives the cover.")


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


@pytest.mark.parametrize("name", OTHERS)
def test_another_act(name):
    ask, facts, expected = OTHERS[name]
    assert codes(ask(facts, ROLES)) == expected
