"""One car on its way through the shop, stopped wherever a case wants it: each state goes on from the one before."""

from datetime import timedelta

from django.db import transaction

from shop import models
from shop.people.identity import Proven, SignedIn
from shop.warranty import actions as warranty
from shop.work import actions, leaving
from tests import make
from tests.work.day import Day

STROKES = [[[80, 500], [160, 180], [240, 620], [330, 240], [420, 560]]]
PLACE = "mirror-left.1"
STATES = (
    "arrived", "set_out", "answered", "ready", "dry", "finished", "laid", "cured", "released", "handed_over", "issued",
)  # fmt: skip


class World(Day):
    """A day whose people can also sign in, with a tablet, terms, a stranger, and a second lot on the shelf."""

    def __init__(self):
        super().__init__()
        make.document(self.shop, "terms", "terms/builtin.toml")
        self.tablet = make.tablet(self.shop, name="Bay tablet")
        self.dora = make.person(self.shop, "Dora", "desk", password="harbour lights 7")
        self.kim = make.person(self.shop, "Kim", "installer")
        self.gone = make.person(self.shop, "Gone", "installer", left_at=make.NOW)
        self.otto = self.stranger()
        for person in (self.petra, self.ines):
            self.account(person)
        self.other_lot = make.roll(self.shop, lot="L-2210", code="R-9")
        self.spare = make.roll(self.shop, lot="L-2209", code="R-2")
        self.state = "arrived"

    def account(self, person):
        from django.contrib.auth.models import User

        person.user = User.objects.create_user(username=f"p{person.pk}", password="harbour lights 7")
        person.save()

    def fresh(self):
        """The job as a request would read it."""
        return models.Job.objects.for_page().get(pk=self.job.pk)

    def go_to(self, state: str) -> None:
        for step in STATES[STATES.index(self.state) + 1 : STATES.index(state) + 1]:
            getattr(self, f"_{step}")()
            self.state = step

    # ------------------------------------------------------------------ the steps

    def _set_out(self):
        """A mirror cap: few edges, one of them primed, one tucked away from sight."""
        self.set_out("mirror-left")
        self.correct(
            "mirror-left",
            features=["tight_curve", "hardware"],
            edges=[{"code": "foot", "primer": True}, {"code": "joint", "finish": "tucked"}],
        )

    def _answered(self):
        self.finish("wash", "decontaminate", "degrease", "primer")

    def _ready(self):
        self.sign("ready")

    def _dry(self):
        """The dry card but for its last press, primer long flashed off, the edges wiped a moment ago."""
        self.tick_clock(minutes=3)
        self.finish("tack", card="before", but="tack.flooding")

    def _finished(self):
        """Laid and finished, the hidden edges not looked at yet."""
        self.start("tack.flooding", PLACE)
        self.tick_clock(minutes=20)
        self.finish("tack", card="after")
        self.finish("seal")

    def _laid(self):
        self.sign("hidden")
        self.finish("steam")
        self.sign("laid")

    def _cured(self):
        self.read("cure.temperatures", lowest_c100=1900, highest_c100=2100)
        self.tick_clock(hours=26)
        self.finish("cure")

    def _released(self):
        self.sign("released")

    def _handed_over(self):
        leaving.hand_over(
            job=self.fresh(), on=self.today(), strokes=STROKES, text="Mine again.", by=self.proven(self.petra),
            now=self.tick_clock(),
        )  # fmt: skip

    def _issued(self):
        self.revision = warranty.issue(job=self.fresh(), by=self.proven(self.petra), now=self.tick_clock())

    # ------------------------------------------------------------------ short words

    def today(self):
        return self.now.date()

    def proven(self, person):
        return Proven(person, "pin")

    def defect(self, kind="speck", stage="wash"):
        return actions.raise_defect(
            job=self.fresh(),
            panel=PLACE,
            kind=kind,
            found_at=stage,
            by=SignedIn(self.ines),
            now=self.tick_clock(),
        )

    def certificate(self):
        return models.Certificate.objects.get()


class Worlds:
    """The world of the run, begun afresh where a case wants a state it has passed. Nothing of it is kept."""

    def __init__(self):
        self.world, self.start = None, None

    def at(self, state: str) -> World:
        if self.world is None or STATES.index(self.world.state) > STATES.index(state):
            if self.start:
                transaction.savepoint_rollback(self.start)
            self.start = transaction.savepoint()
            self.world = World()
        self.world.go_to(state)
        return self.world


def later(**span):
    """For a case that waits before it acts."""
    return timedelta(**span)
