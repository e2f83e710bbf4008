"""Whatever is missing in whatever order: adding what is missing never adds a reason, and no hold is jumped."""

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from shop.reasons import Reason, blocking
from shop.work import gates, progress
from shop.work.cases import DefectFacts, ReleaseFacts
from shop.work.checklist import EdgeSpec
from shop.work.kinds import STAGES_OF, Meaning, Stage
from tests.work.facts import (
    ALONE,
    FILM,
    HOOD,
    INES,
    MAREK,
    NOW,
    ROLES,
    TOM,
    ZONE,
    answer,
    fitting,
    parts,
    sign,
)

SMALL = replace(HOOD, edges=(*HOOD.edges[:1], EdgeSpec("cowl", "edge", "tucked", primer=True)))
PARTS = parts(SMALL)
ORDER = [Meaning.READY, Meaning.HIDDEN, Meaning.LAID, Meaning.RELEASED]

# What else can be missing: each turns one obstacle away.
AROUND = {
    "film": {"film": FILM},
    "paint": {"paint_concern": ""},
    "people": {"installers": {INES.id: INES.name, TOM.id: TOM.name}},
    "defect": {"defects": ()},
    "clock": {"found": ()},
}
MISSING = {
    "film": None,
    "paint_concern": "fresh paint",
    "installers": {INES.id: INES.name},
    "defects": (DefectFacts(1, "Speck"), DefectFacts(2, "Cut in paint", open=False, paint_cut=True)),
    "found": (Reason("cure_running", "Cure runs on."), Reason("stale", "The edges are stale.")),
}


def built(have, around):
    rest = dict(MISSING)
    for name in around:
        rest.update(AROUND[name])
    return fitting(have, SMALL, **rest)


def named(reasons):
    """Code and place; open lines and photos by their stage, for a later stage does not excuse an earlier."""
    found = set()
    for reason in reasons:
        stage = reason.where.split("#")[0]
        found.add(
            (reason.code, stage if reason.code in ("line_open", "photo_missing") else stage.split("/")[0])
        )
    return found


subsets = st.tuples(
    st.sets(st.sampled_from(PARTS)).map(lambda gone: set(PARTS) - gone) | st.sets(st.sampled_from(PARTS)),
    st.sets(st.sampled_from(sorted(AROUND))),
)


def more_of(have, around, data):
    """The same with one more thing that was missing."""
    missing = [part for part in PARTS if part not in have] + [name for name in AROUND if name not in around]
    if not missing:
        return have, around
    added = data.draw(st.sampled_from(missing))
    return (have, around | {added}) if isinstance(added, str) else (have | {added}, around)


@settings(max_examples=150, deadline=None)
@given(subsets, st.data())
def test_adding_what_is_missing_never_adds_a_reason_to_release(start, data):
    have, around = start
    before = gates.release_reasons(ReleaseFacts((built(have, around),), NOW, ZONE), ROLES)
    after = gates.release_reasons(ReleaseFacts((built(*more_of(have, around, data)),), NOW, ZONE), ROLES)
    assert named(after) <= named(before)


@settings(max_examples=150, deadline=None)
@given(subsets, st.sampled_from(ORDER), st.data())
def test_nor_to_a_signing(start, meaning, data):
    """Signatures of this signing and of later ones are not missing yet, so they are left aside."""
    later = ORDER[ORDER.index(meaning) :]
    have, around = {part for part in start[0] if part.key not in later}, start[1]
    more, more_around = more_of(have, around, data)
    more = {part for part in more if part.key not in later}
    before = gates.sign_reasons(sign(meaning, built(have, around)), ROLES)
    after = gates.sign_reasons(sign(meaning, built(more, more_around)), ROLES)
    assert named(after) <= named(before)


@settings(max_examples=150, deadline=None)
@given(subsets, st.data())
def test_nor_to_the_flooding(start, data):
    have, around = {part for part in start[0] if _before_water(part)}, start[1]
    more, more_around = more_of(have, around, data)
    more = {part for part in more if _before_water(part)}

    def asked(parts, around):
        return gates.answer_reasons(answer(built(parts, around), "tack.flooding", answer="start"), ROLES)

    assert named(asked(more, more_around)) <= named(asked(have, around))


def _before_water(part):
    if part.what == "signature":
        return part.key == Meaning.READY
    early = STAGES_OF[Meaning.READY]
    return part.stage in early or (part.stage == Stage.TACK and part.key != "tack.flooding")


@settings(max_examples=200, deadline=None)
@given(subsets)
def test_nothing_is_released_with_anything_missing(start):
    have, around = start
    facts = built(have, around)
    free = not blocking(gates.release_reasons(ReleaseFacts((facts,), NOW, ZONE), ROLES))
    signed = all(progress.is_signed(facts, meaning) for meaning in ORDER)
    # Once a stage is signed its lines were all there; what stands is its signature.
    assert free == (signed and set(AROUND) - {"film"} <= around)


EVERY_ACT = [(meaning, by) for meaning in ORDER for by in (INES, TOM, MAREK, ALONE)]


@settings(max_examples=100, deadline=None)
@given(
    st.lists(st.permutations(EVERY_ACT), min_size=4, max_size=4),
    st.sets(st.sampled_from(PARTS), max_size=1),
    st.booleans(),
)
def test_no_order_of_signings_by_anybody_jumps_a_hold(rounds, gone, self_release):
    """Everybody tries every signing, four times in any order, on a car that may lack one thing: what is signed
    at the end was signed by somebody who might, after everything before it."""
    have = {part for part in PARTS if part.what != "signature" and part not in gone}
    signed_by = {}
    for meaning, by in (act for tries in rounds for act in tries):
        facts = built(have | _signatures(signed_by), AROUND)
        if not blocking(gates.sign_reasons(sign(meaning, facts, by=by, self_release=self_release), ROLES)):
            assert meaning not in signed_by
            signed_by[meaning] = by
    assert list(signed_by) == ORDER[: len(signed_by)]
    lacking = {part for part in gone if part.what != "signature"}
    assert (Meaning.RELEASED in signed_by) == (not lacking)
    for meaning, by in signed_by.items():
        if meaning in (Meaning.READY, Meaning.LAID):
            assert by in (INES, TOM, ALONE)
        else:
            assert by in ((MAREK, ALONE) if self_release else (MAREK,))


def _signatures(signed_by):
    return {part for part in PARTS if part.what == "signature" and part.key in signed_by}
