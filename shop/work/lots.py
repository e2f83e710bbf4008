"""Film, primer, slip and tack in hand against the shelf and the set-out."""

from collections.abc import Iterable
from datetime import date

from shop.reasons import Reason
from shop.work import progress
from shop.work.cases import FittingFacts, LotFacts
from shop.work.kinds import Stage
from shop.work.obstacles import at


def set_out_film(fitting: FittingFacts, today: date) -> list[Reason]:
    """The film that is set out exists, is not held back and has not expired."""
    if fitting.film is None:
        return [
            Reason("lot_missing", f"{fitting.name} has no roll set out; set one out.", where=fitting.place)
        ]
    return lot(fitting.film, today, fitting.place, fitting.name)


def lot(facts: LotFacts, today: date, where: str, name: str) -> list[Reason]:
    label = f"{facts.kind} lot {facts.code}" + (f", roll {facts.roll}" if facts.roll else "")
    if not facts.known:
        return [
            Reason("lot_missing", f"{name}: there is no {label} on the shelf; receive it first.", where=where)
        ]
    reasons = []
    if facts.quarantined:
        text = f"{name}: {label} is in quarantine; take another."
        reasons.append(Reason("lot_quarantined", text, where=where))
    if facts.expires_on and facts.expires_on < today:
        text = f"{name}: {label} expired on {facts.expires_on:%d %B %Y}; take another."
        reasons.append(Reason("roll_expired", text, where=where))
    return reasons


def wrong_lot(fitting: FittingFacts, named: Iterable[LotFacts], where: str) -> list[Reason]:
    """The film in hand is not the film set out: shades differ from lot to lot."""
    film = fitting.film
    if film is None:
        return []
    for given in named:
        if given.kind != "film" or not given.known:
            continue
        if given.code != film.code or (given.roll and film.roll and given.roll != film.roll):
            text = (
                f"{fitting.name}: lot {given.code}, roll {given.roll or 'not said'} is in hand, "
                f"set out are lot {film.code}, roll {film.roll or 'not said'}. "
                "Fetch the right roll or correct the set-out."
            )
            return [Reason("lot_wrong", text, where=where)]
    return []


def card_lot(fitting: FittingFacts) -> list[Reason]:
    """The film on the dry card against the set-out as it is now."""
    stage = progress.stage_of(fitting, Stage.TACK)
    for given in stage.given:
        if any(named.kind == "film" for named in given.lots):
            return wrong_lot(fitting, given.lots, at(fitting, Stage.TACK, given.line))
    return []
