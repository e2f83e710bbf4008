"""What a case of the table of refusals is, and the faults that are brought about beforehand.

A case: the state of the car, the act, what is wrong, who acts with what, and the reasons. `before` brings the fault
about where the arguments do not carry it; `wait` is how long after the last act it happens.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any

from shop import models
from shop.film.actions import quarantine_lot
from shop.intake.actions import note_paint, try_devices
from shop.people.identity import SignedIn
from shop.work import signing
from shop.work.floor import Floor
from tests import make
from tests.work.world import PLACE, World

NOTHING = frozenset()
ELSE_VIN = "ZZZ19TV82GEU57286"


@dataclass(frozen=True)
class Case:
    state: str
    act: str
    fault: str
    codes: frozenset[str] | set[str]
    who: str
    args: Callable[[World], dict[str, Any]]
    before: Callable[[World], Any] = lambda world: None
    wait: timedelta = field(default_factory=lambda: timedelta(seconds=20))
    pin: str = ""
    # A page that answers with a sentence at the field, and has no code there.
    at_the_field: bool = False
    not_by: tuple[str, ...] = ()
    tablet: str = ""

    @property
    def name(self) -> str:
        return f"{self.act}, {self.fault}".replace(" ", "_")


def many(state: str, act: str, who: str, sound: dict, *rows: tuple, pin: str = "", **rest) -> list[Case]:
    """The act as it should be, then one case a row: the fault, its codes, what differs, and more of the case."""
    usual = {"state": state, "act": act, "who": who, "pin": pin, **rest}
    cases = [Case(fault="nothing", codes=NOTHING, args=told(sound), **usual)]
    for fault, codes, changes, *more in rows:
        given = usual | (more[0] if more else {})
        cases.append(Case(fault=fault, codes=frozenset(codes.split()), args=told(sound | changes), **given))
    return cases


def told(given: dict) -> Callable[[World], dict]:
    """Values may be functions of the world; None leaves an argument away."""

    def args(world: World) -> dict:
        found = {name: value(world) if callable(value) else value for name, value in given.items()}
        return {name: value for name, value in found.items() if value is not None}

    return args


def job(world):
    return world.job.pk


def lamps_tried_on_arrival(world):
    try_devices(
        job=world.job, when="before", found={"headlamps": "works"}, by=SignedIn(world.dora), now=world.now
    )


def to_the_last_press(world):
    """The edges wiped a moment ago, as the case may have waited."""
    world.tick("tack.last_wipe", PLACE)


def colder(**value):
    return lambda world: world.read("degrease.climate", **{"air_c100": 2100, "humidity_rh10": 500} | value)


def flooded_at(**value):
    """Read so before the edges were signed, then on to the last press of the dry card."""

    def before(world):
        colder(**value)(world)
        world._ready()
        world._dry()

    return before


def primed_again(world):
    world._dry()
    world.start("primer.flash_off", PLACE)
    world._ready()


def screen(meaning):
    def of(world):
        floor = Floor(world.fresh())
        return signing.screen_of(floor, floor.pieces, meaning)

    return of


def large_for_one(world):
    """Called large after the dry card was filled, and one of two people taken off it."""
    world.correct("mirror-left", features=["tight_curve", "hardware", "large"], people=[world.ines.pk])
    world.finish("tack", card="before", but="tack.flooding")
    to_the_last_press(world)


def self_release(world):
    models.Workshop.objects.update(self_release=True)


def hold_film(world):
    quarantine_lot(lot=world.roll.lot, reason="odd smell", by=SignedIn(world.petra), now=world.tick_clock())


def expire_film(world):
    models.Roll.objects.filter(pk=world.roll.pk).update(expires_on=world.now.date() - timedelta(days=1))


def fresh_paint(world):
    note_paint(
        job=world.job, panel="mirror-left", kind="fresh", by=SignedIn(world.petra), now=world.tick_clock()
    )


def revoked(world):
    models.Tablet.objects.filter(pk=world.tablet.pk).update(revoked_at=make.NOW)


def locked(world):
    models.Person.objects.update(misses=5, locked_until=world.now + timedelta(hours=2))


def promised_photo(world):
    models.Upload.objects.create(
        workshop=world.shop,
        job=world.job,
        sha256="a" * 64,
        size=5000,
        promised_at=world.now,
        pressed_at=world.now,
    )


def warm_night(world):
    world.read("cure.temperatures", lowest_c100=1900, highest_c100=2100)
    world.tick_clock(hours=25)


def cold_night(world):
    world.read("cure.temperatures", lowest_c100=1200, highest_c100=2100)
    world.tick_clock(hours=25)


def proving(world):
    photo = world.photo()
    world.prove(photo, "wash.gaps_rinsed", PLACE)
    return photo
