"""No order of acts, by any assignment of people, gets a certificate past a hold or past its own work."""

import json
from dataclasses import dataclass

import pytest
from django.db import transaction
from hypothesis import HealthCheck, event, example, given, settings
from hypothesis import strategies as st

from shop import models
from shop.people.identity import Claimed
from shop.reasons import Refused
from shop.warranty import actions as warranty
from shop.warranty.shown import self_checked
from shop.work import actions, leaving
from shop.work.floor import Floor
from shop.work.kinds import SATISFIED_BY, LineKind, Stage
from tests.kept import kept
from tests.work.world import PLACE, STROKES, World

pytestmark = pytest.mark.django_db
PEOPLE = ("ines", "jonas", "kim", "both", "marek", "petra")
STEPS = (
    "ready",
    "dry",
    "lay",
    "seal",
    "hidden",
    "steam",
    "laid",
    "wait",
    "round",
    "released",
    "handed",
    "issue",
)
USUAL = {"hidden": "marek", "round": "marek", "released": "marek", "handed": "petra", "issue": "petra"}
WORKED = ("wash", "decontaminate", "degrease", "primer", "tack", "seal", "steam")


@dataclass(frozen=True)
class Course:
    """How one car goes: who does each step, who else had a hand in it, what was left out, doubled or exchanged."""

    who: tuple[str, ...]
    helper: str = ""
    also_named: str = ""
    self_release: bool = False
    nights: int = 2
    mischief: str = ""
    at: int = 0

    def steps(self) -> list[tuple[str, str]]:
        steps = list(zip(STEPS, self.who, strict=True))
        if self.mischief == "left out":
            del steps[self.at]
        elif self.mischief == "exchanged" and self.at + 1 < len(steps):
            steps[self.at], steps[self.at + 1] = steps[self.at + 1], steps[self.at]
        elif self.mischief == "late":
            steps.append(steps.pop(self.at))
        elif self.mischief == "unfinished":
            steps[self.at] = ("half " + steps[self.at][0], steps[self.at][1])
        return steps + [step for step in steps if step[0] in ("released", "handed", "issue")]


@st.composite
def courses(draw) -> Course:
    usual = [USUAL.get(step, "ines") for step in STEPS]
    for at in draw(st.sets(st.integers(0, len(STEPS) - 1), max_size=3)):
        usual[at] = draw(st.sampled_from(PEOPLE))
    return Course(
        who=tuple(usual),
        helper=draw(st.sampled_from(("", "", *PEOPLE))),
        also_named=draw(st.sampled_from(("", "", "both", "kim"))),
        self_release=draw(st.booleans()),
        nights=draw(st.integers(0, 2)),
        mischief=draw(st.sampled_from(("", "", "left out", "exchanged", "late", "unfinished"))),
        at=draw(st.integers(0, len(STEPS) - 1)),
    )


AS_USUAL = tuple(USUAL.get(step, "ines") for step in STEPS)
ALONE = tuple(
    "both" if who == "marek" or step in ("ready", "laid") else who
    for step, who in zip(STEPS, AS_USUAL, strict=True)
)


class Walk:
    """Does the steps it is told to, whatever is refused on the way."""

    def __init__(self, world: World, course: Course):
        self.world, self.course = world, course
        world.shop.self_release = course.self_release
        world.shop.save()
        fitting = models.Fitting.objects.get(job=world.job)
        if course.also_named:
            named = getattr(world, course.also_named)
            models.FittingPerson.objects.get_or_create(fitting=fitting, person=named)

    def go(self) -> None:
        if self.course.helper:
            self.step("help", self.course.helper)
        for name, who in self.course.steps():
            self.step(name, who)

    def step(self, name: str, who: str) -> None:
        kept, before = transaction.savepoint(), self.world.now
        half, name = name.startswith("half "), name.removeprefix("half ")
        try:
            getattr(self, f"_{name}")(getattr(self.world, who), half)
        except Refused:
            if name in ("dry", "lay", "seal", "steam", "round"):
                return
            transaction.savepoint_rollback(kept)
            self.world.now = before

    def _help(self, who, half):
        """Somebody wipes one edge once more, as anybody might."""
        actions.answer(
            job=self.world.fresh(), key="degrease.wipe", panels=[PLACE], edges=["foot"], answer="done",
            by=Claimed(who), now=self.world.tick_clock(),
        )  # fmt: skip

    def _sign(self, meaning, who, half):
        self.world.sign(meaning, by=who)

    def _ready(self, who, half):
        self._sign("ready", who, half)

    def _dry(self, who, half):
        self.world.tick_clock(minutes=3)
        self.world.finish("tack", card="before", but="tack.flooding", by=who)

    def _lay(self, who, half):
        self.world.start("tack.flooding", PLACE, by=who)
        self.world.tick_clock(minutes=20)
        if not half:
            self.world.finish("tack", card="after", by=who)

    def _seal(self, who, half):
        self.world.finish("seal", but="seal.edges_down" if half else "", by=who)

    def _hidden(self, who, half):
        self._sign("hidden", who, half)

    def _steam(self, who, half):
        if not half:
            self.world.finish("steam", by=who)

    def _laid(self, who, half):
        self._sign("laid", who, half)

    def _wait(self, who, half):
        self.world.read("cure.temperatures", lowest_c100=1900, highest_c100=2100, by=who)
        self.world.tick_clock(hours=2 if half else 1 + 24 * self.course.nights)

    def _round(self, who, half):
        self.world.finish("cure", but="cure.edge_round" if half else "", by=who)

    def _released(self, who, half):
        self._sign("released", who, half)

    def _handed(self, who, half):
        leaving.hand_over(
            job=self.world.fresh(), on=self.world.today(), strokes=[] if half else STROKES, text="Mine again.",
            by=self.world.proven(who), now=self.world.tick_clock(),
        )  # fmt: skip

    def _issue(self, who, half):
        warranty.issue(job=self.world.fresh(), by=self.world.proven(who), now=self.world.tick_clock())


# ------------------------------------------------------------------ what a certificate has to stand on


def lacking(job) -> list[str]:
    """What is missing under a certificate, read from the rows alone."""
    found = []
    for fitting in models.Fitting.objects.live().filter(job=job):
        lines = Floor(job).piece(PLACE).stages
        for stage in map(str, Stage):
            checklist = models.Checklist.objects.filter(fitting=fitting, stage=stage, redone_at=None).first()
            if checklist is None:
                found.append(f"{stage}: never begun")
                continue
            signed = set(
                models.SignOff.objects.filter(checklist=checklist)
                .filter(replaced_by=None)
                .values_list("meaning", flat=True)
            )
            found += [f"{stage}: not signed {meaning}" for meaning in wanted(stage, lines) - signed]
            found += [f"{stage}: {key}" for key in unanswered(checklist, lines[stage].lines)]
        if fitting.defects.filter(closed_at=None).exists():
            found.append("a defect is open")
    return found


def wanted(stage: str, lines) -> set[str]:
    if stage in ("wash", "decontaminate", "degrease", "primer"):
        return {"ready"}
    if stage == "cure":
        return {"released"}
    hidden = stage == "seal" and any(line.hold == "hidden" for line in lines["seal"].lines)
    return {"laid", "hidden"} if hidden else {"laid"}


def unanswered(checklist, lines) -> list[str]:
    given = {(on.key, on.edge.code if on.edge else ""): on.outcome.answer for on in checklist.outcomes.live()}
    proven = {(p.key, p.edge.code if p.edge else "") for p in checklist.photos.filter(late=False)}
    found = []
    for line in lines:
        for place in line.places() if line.required else ():
            answer = given.get((line.key, place))
            fits = answer in SATISFIED_BY[LineKind(line.kind)] or (answer == "na" and line.na)
            if not fits or (line.photo and answer != "na" and (line.key, place) not in proven):
                found.append(f"{line.key} {place}")
    return found


def own_work_checked(job) -> set[str]:
    """Who checked film they had a hand in: named on it, answered on it before the cure, or signed it."""
    plan = {line["key"]: line["scope"] for line in job.plan.body["lines"]}
    live = models.Fitting.objects.live().filter(job=job)
    worked = set(models.FittingPerson.objects.filter(fitting__in=live).values_list("person__name", flat=True))
    for on in models.OutcomeOn.objects.filter(checklist__fitting__in=live, checklist__stage__in=WORKED):
        if plan[on.key] != "car":
            worked.add(on.outcome.person.name)
    signed = models.SignOff.objects.filter(checklist__fitting__in=live)
    worked |= set(
        signed.filter(meaning__in=("ready", "laid")).values_list("signing__person__name", flat=True)
    )
    checked = set(
        signed.filter(meaning__in=("hidden", "released"), replaced_by=None).values_list(
            "signing__person__name", flat=True
        )
    )
    second = {line["key"] for line in job.plan.body["lines"] if line.get("second")}
    rounds = models.OutcomeOn.objects.live().filter(checklist__fitting__in=live, key__in=second)
    checked |= {on.outcome.person.name for on in rounds}
    return worked & checked


def hold_to_it(course: Course, world: World) -> bool:
    """Whether the car got its certificate, with all that has to be true of it if it did."""
    Walk(world, course).go()
    revision = models.Revision.objects.filter(certificate__job=world.job).first()
    if revision is None:
        return False
    job = world.fresh()
    assert lacking(job) == []
    own = own_work_checked(job)
    if own:
        assert course.self_release, own
        assert self_checked(json.loads(revision.facts)), own
        laid = models.Signing.objects.filter(meaning="laid").latest("at")
        released = models.Signing.objects.filter(meaning="released").latest("at")
        if released.person.name in own:
            assert released.at.date() > laid.at.date()
    return True


def answered() -> World:
    """Everything before *ready* is signed has been answered, by Ines."""
    world = World()
    world.go_to("answered")
    return world


@pytest.fixture
def world():
    return kept(answered)


def run(world: World, course: Course) -> bool:
    kept, now, photos = transaction.savepoint(), world.now, world.photos
    try:
        return hold_to_it(course, world)
    finally:
        transaction.savepoint_rollback(kept)
        world.now, world.photos = now, photos
        world.shop.refresh_from_db()


PAPERS = [
    (Course(AS_USUAL), True),
    (Course(ALONE, also_named="both", self_release=True), True),
    (Course(ALONE, also_named="both"), False),
    (Course(ALONE, also_named="both", self_release=True, nights=0), False),
    (Course(AS_USUAL, helper="marek"), False),
    (Course(AS_USUAL, mischief="left out", at=STEPS.index("hidden")), False),
    (Course(AS_USUAL, mischief="unfinished", at=STEPS.index("handed")), False),
]


def test_these_cars_get_their_paper_or_not(world):
    assert [run(world, course) for course, _ in PAPERS] == [gets_one for _, gets_one in PAPERS]


def the_property(examples: int):
    @example(course=Course(AS_USUAL))
    @given(course=courses())
    @settings(
        max_examples=examples,
        deadline=None,
        derandomize=examples < 50,
        suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
    )
    def walk(world, course):
        event(f"paper: {run(world, course)}")

    return walk


test_no_course_of_a_day_reaches_a_paper_it_should_not = the_property(5)
