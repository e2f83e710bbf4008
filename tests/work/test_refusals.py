"""One table of refusals, run by every way each act has: the same fault brings the same reasons everywhere."""

import pytest
from django.db import connections, transaction
from django.test import override_settings

from shop import models
from shop.documents import built_in
from tests.work.refusal_cases import Case
from tests.work.refusals_bay import BAY
from tests.work.refusals_desk import DESK
from tests.work.ways import WAYS, ways_of
from tests.work.world import STATES, Worlds

# The states follow on each other, so that the world is made once: one process takes the whole table.
pytestmark = pytest.mark.xdist_group("refusals")
TABLE = [*BAY, *DESK]
CASES = sorted(TABLE, key=lambda case: STATES.index(case.state))


@pytest.fixture(scope="module")
def worlds(django_db_setup, django_db_blocker):
    hasher = "django.contrib.auth.hashers.MD5PasswordHasher"
    with django_db_blocker.unblock(), override_settings(PASSWORD_HASHERS=[hasher]), transaction.atomic():
        yield Worlds()
        transaction.set_rollback(True)
    connections.close_all()


def written() -> dict[str, int]:
    """What a refused act may not add to."""
    names = "Entry Outcome SignOff Job Roll Revision Upload Photo OutcomePhoto Defect Consent Waiver Person Lot Mark"
    return {name: getattr(models, name).objects.count() for name in names.split()}


@pytest.mark.parametrize(
    ("case", "way"),
    [(case, way) for case in CASES for way in ways_of(case.act) if way not in case.not_by],
    ids=lambda part: part.name if isinstance(part, Case) else part,
)
def test_the_same_fault_brings_the_same_reasons(case, way, worlds):
    world = worlds.at(case.state)
    clock_before = world.now
    kept = transaction.savepoint()
    try:
        case.before(world)
        world.now += case.wait
        who, args = getattr(world, case.who), case.args(world)
        before = written()
        tablet = getattr(world, case.tablet) if case.tablet else None
        codes = WAYS[way](world, case.act, who, args, pin=case.pin, tablet=tablet)
        if way == "page" and case.at_the_field:
            assert codes == {"form"}
        else:
            assert codes == case.codes
        assert (written() == before) == bool(codes)
    finally:
        transaction.savepoint_rollback(kept)
        world.now = clock_before


# Reasons whose codes never change meaning: each is tried in the table, or where this says.
LASTING = {
    "line_open", "signature_missing", "stage_closed", "hold_unsigned", "same_person", "next_day_rule", "stale",
    "panel_cold", "panel_hot", "dew_margin", "primer_early", "primer_late", "cure_running", "defect_open",
    "photo_missing", "unsent_here", "lot_missing", "lot_wrong", "lot_quarantined", "roll_expired",
    "two_people_missing", "paint_not_accepted", "set_out_changed", "screen_changed", "already_signed", "superseded",
    "not_allowed", "other_workshop", "pin_wrong", "pin_locked", "tablet_revoked", "vin_length", "vin_letters",
    "vin_check_digit", "lots_mixed", "photo_reused", "photo_unreadable", "photo_small", "photo_blank",
    "terms_incomplete",
}  # fmt: skip
ELSEWHERE = {
    "photo_unreadable": "tests/photos, tests/demo: what is wrong with bytes",
    "photo_small": "tests/photos",
    "photo_blank": "tests/photos",
    "terms_incomplete": "tests/warranty/test_terms.py: terms are a document, not an act",
}


@pytest.mark.django_db
def test_the_table_reaches_every_lasting_reason():
    """(The mark has the database made, for the table as well.)"""
    tried = {code for case in TABLE for code in case.codes}
    assert sorted(LASTING - tried - set(ELSEWHERE)) == []
    assert tried <= set(built_in.roles()["reasons"])
