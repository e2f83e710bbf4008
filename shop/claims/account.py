"""All that is known about a claim, from the paper, the record, the rechecks and the lot, ready to be shown."""

from dataclasses import dataclass, field

from shop.claims.facts import Fact, film_facts
from shop.claims.judging import Judged
from shop.claims.models import Claim
from shop.claims.neighbours import OtherCar, cars_of_lot, lot_fact, pattern_fact
from shop.claims.record import FilmRecord, Shown, Source
from shop.claims.standing import NAMES, age_in_words
from shop.templatetags.words import day


@dataclass(frozen=True)
class Account:
    """`reported`: what was told and how the paper stands. `work`: what the record says of the film there."""

    reported: list[Fact]
    work: list[Fact] = field(default_factory=list)
    around: list[Fact] = field(default_factory=list)
    then: list[Shown] = field(default_factory=list)
    cars: list[OtherCar] = field(default_factory=list)


def account_of(claim: Claim, judged: Judged) -> Account:
    reported = [_noticed(claim, judged), _told(claim), *_cover(claim, judged)]
    rechecks = _rechecks(judged)
    if claim.fitting is None:
        return Account(reported, around=[*rechecks, pattern_fact(claim, judged.words)])
    record = FilmRecord(claim.fitting, claim.edge.code if claim.edge else "")
    cars = cars_of_lot(record.film, judged.words)
    around = [lot_fact(record.film, cars), pattern_fact(claim, judged.words), *rechecks]
    return Account(
        reported,
        work=film_facts(record),
        around=[fact for fact in around if fact],
        then=record.photos(),
        cars=cars,
    )


def _noticed(claim: Claim, judged: Judged) -> Fact:
    first = min((stretch.first_day for stretch in judged.stretches), default=None)
    text = day(claim.noticed_on)
    if first and first <= claim.noticed_on:
        text += f", {age_in_words(first, claim.noticed_on)} after hand-over"
    return Fact("Noticed", f"{text}.", _source(claim))


def _told(claim: Claim) -> Fact:
    how = claim.get_told_how_display()
    text = f"{day(claim.told_on)}, {how[:1].lower()}{how[1:]}, taken down by {claim.person.name}."
    return Fact("Told", text, _source(claim))


def _source(claim: Claim) -> tuple[Source, ...]:
    job = claim.fitting.job if claim.fitting else None
    at = (job.pk, job.number) if job else (None, "")
    return (Source(*at, claim.entry.number, claim.entry.verb, claim.entry.happened_at),)


def _cover(claim: Claim, judged: Judged) -> list[Fact]:
    """One row for each kind of cover at the place: in force that day until when, or ended when."""
    facts = []
    for kind, name in NAMES.items():
        of_kind = [stretch for stretch in judged.stretches if stretch.kind == kind]
        if not of_kind:
            continue
        there = [s for s in of_kind if s.first_day <= claim.noticed_on <= s.last_day]
        last = max(of_kind, key=lambda stretch: stretch.last_day)
        text = (
            f"in force to {day(last.last_day)}."
            if there
            else f"not in force; its last day is {day(last.last_day)}."
        )
        if judged.standing.answers == kind:
            text = f"{text[:-1]}. It answers for this."
        facts.append(Fact(name.removeprefix("the ")[:1].upper() + name.removeprefix("the ")[1:], text))
    if not facts:
        facts.append(Fact("Cover", "nothing was promised for this place.", odd=True))
    return facts


def _rechecks(judged: Judged) -> list[Fact]:
    """Those missed by the day it was noticed, and what that does; those done."""
    found = judged.standing
    done = [recheck.done_on for recheck in judged.rechecks if recheck.done_on]
    said = []
    if done:
        said.append(f"done {', '.join(day(on) for on in sorted(done))}")
    if found.missed:
        said.append(f"missed: {', '.join(day(on) for on in found.missed)}")
    if not said:
        return []
    text = f"{'; '.join(said)}."
    if found.weakened:
        text += " It weakens a presumption; it ends no cover."
    return [Fact("Recheck", text)]
