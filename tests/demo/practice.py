"""A small shop to rehearse in, and short words for the lines of a rehearsal."""

import json
from pathlib import Path

from shop import models
from shop.demo.rehearsal import Rehearsal
from shop.demo.script import read_script
from tests import make

DAY = "2026-03-02"
TAKE_A_PIN = ("set_up", "add_person", "set_pin")


def shop_of_people() -> dict[str, models.Person]:
    """Built-in documents, one person of each kind, a tablet."""
    shop = make.workshop()
    for kind, path in (
        ("plan", "plans/builtin.toml"),
        ("terms", "terms/builtin.toml"),
        ("film", "films/defaults.toml"),
        ("body", "bodies/sedan.toml"),
        ("roles", "roles.toml"),
    ):
        make.document(shop, kind, path)
    people = {
        "ines": "installer",
        "jonas": "installer",
        "marek": "inspector",
        "dora": "desk",
        "petra": "owner",
    }
    here = {name: make.person(shop, name.title(), role) for name, role in people.items()}
    make.tablet(shop, name="Bay tablet")
    return here


def line(verb, by=None, at="09:00:00", **rest) -> str:
    """One line; `pin`, `tablet` and `as_` stand beside the verb, everything else are its arguments."""
    names = ("tablet", "as_") if verb in TAKE_A_PIN else ("pin", "tablet", "as_")
    beside = {name.rstrip("_"): rest.pop(name) for name in names if name in rest}
    moment = at if "T" in at else f"{DAY}T{at}+01:00"
    told = {"at": moment, "verb": verb, "args": rest} | beside
    return json.dumps(told | ({"by": getattr(by, "pk", by)} if by is not None else {}), default=str)


def rehearse(*lines: str, folder: Path = Path()) -> list[dict]:
    return list(Rehearsal(folder).run(read_script(lines)))


def car_lines(dora, *, vin="ZZZPP41L5TR041720") -> list[str]:
    """A car comes in, called `car`."""
    return [line("take_in", dora, name="Ana Berg", vin=vin, model="sedan", colour="grey", as_="car")]
