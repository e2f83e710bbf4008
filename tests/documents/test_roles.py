"""The roles document against the program: every code and every verb it uses is listed, with the right weight."""

import ast
import tomllib
from pathlib import Path

import pytest

from shop.documents.check import NEVER_WAIVED

ROOT = Path(__file__).resolve().parents[2]
ROLES = tomllib.loads((ROOT / "fixtures/roles.toml").read_text(encoding="utf-8"))

STOP = """
    line_open signature_missing stage_closed hold_unsigned same_person next_day_rule stale panel_cold panel_hot
    dew_margin primer_early primer_late cure_running defect_open photo_missing unsent_here lot_missing lot_wrong
    lot_quarantined roll_expired two_people_missing paint_not_accepted set_out_changed screen_changed
    already_signed superseded not_allowed other_workshop pin_wrong pin_locked tablet_revoked vin_length
    vin_letters photo_unreadable photo_small photo_blank photo_reused terms_incomplete
"""
WAIVABLE = "vin_check_digit lots_mixed direction_mixed roll_short skill_missing"
NOTE = "air_cold air_hot air_dry air_damp dew_note blur look_alike photo_old clock_unsure"
VERBS = """
    set_up add_person change_person enrol_tablet revoke_tablet receive_roll receive_lot quarantine_lot take_in
    mark_damage accept_paint set_out answer keep_photo raise_defect put_right waive sign_ready sign_hidden
    sign_laid sign_released hand_over issue correct_certificate withdraw publish_document change_settings
"""
PROVEN = "waive sign_ready sign_hidden sign_laid sign_released hand_over issue correct_certificate withdraw"


def calls(*names):
    """First string argument of every call of these names in the program, with its file."""
    for path in sorted((ROOT / "shop").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            name = getattr(node.func, "id", getattr(node.func, "attr", ""))
            if name in names:
                for given in node.args[:2]:
                    if isinstance(given, ast.Constant) and isinstance(given.value, str):
                        yield given.value, path.relative_to(ROOT)
                        break


def test_every_code_the_program_gives_is_listed():
    unlisted = {f"{code} in {path}" for code, path in calls("Reason") if code not in ROLES["reasons"]}
    assert unlisted == set()


def test_every_verb_the_program_asks_for_is_listed():
    asked = calls("must_be_allowed", "verb_reasons", "role_obstacle", "may")
    unlisted = {f"{verb} in {path}" for verb, path in asked if verb not in ROLES["verbs"]}
    assert unlisted == set()


@pytest.mark.parametrize(("weight", "codes"), [("stop", STOP), ("waivable", WAIVABLE), ("note", NOTE)])
def test_the_codes_keep_their_weight(weight, codes):
    assert {code: ROLES["reasons"][code]["weight"] for code in codes.split()} == dict.fromkeys(
        codes.split(), weight
    )


@pytest.mark.parametrize("code", NEVER_WAIVED)
def test_some_can_never_be_waived(code):
    assert ROLES["reasons"][code] == {"weight": "stop", "never": True}


def test_the_verbs_are_all_there():
    assert set(VERBS.split()) <= set(ROLES["verbs"])


@pytest.mark.parametrize(
    ("verb", "roles"),
    [
        ("take_in", {"desk", "owner"}),
        ("hand_over", {"desk", "owner"}),
        ("issue", {"desk", "owner"}),
        ("answer", {"installer", "inspector"}),
        ("raise_defect", {"installer", "inspector"}),
        ("sign_ready", {"installer"}),
        ("sign_laid", {"installer"}),
        ("sign_hidden", {"inspector"}),
        ("sign_released", {"inspector"}),
        ("change_settings", {"owner"}),
        ("publish_document", {"owner"}),
    ],
)
def test_who_may(verb, roles):
    assert set(ROLES["verbs"][verb]["roles"]) == roles


@pytest.mark.parametrize(
    "verb",
    PROVEN.split(),
)
def test_whoever_answers_for_it_proves_who_they_are(verb):
    assert ROLES["verbs"][verb]["identity"] == "proven"


def test_signings_say_who_signs():
    by = {
        verb: (rule.get("named", False), rule.get("second", False)) for verb, rule in ROLES["verbs"].items()
    }
    assert by["sign_ready"] == by["sign_laid"] == (True, False)
    assert by["sign_hidden"] == by["sign_released"] == (False, True)
