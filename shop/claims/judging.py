"""A claim as its rows stand, put to the rules: how it stands, and what it waits for."""

from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from shop.claims.models import Claim, Decision
from shop.claims.place import certificate_of
from shop.claims.standing import PRESUMPTION, Recheck, Reported, Standing, standing
from shop.warranty.cover import cover_of
from shop.warranty.due import rechecks_of
from shop.warranty.timeline import Stretch
from shop.warranty.vocabulary import Vocabulary, terms_for, vocabulary

RULER = "ruler"


@dataclass(frozen=True)
class Judged:
    """How a claim stands, with what it was judged from."""

    standing: Standing
    stretches: list[Stretch]
    rechecks: list[Recheck]
    terms: dict
    words: Vocabulary


def terms_body(claim: Claim) -> dict:
    terms = terms_for(claim.workshop, certificate_of(claim.line))
    return terms.body if terms else {}


def words_for(claim: Claim) -> Vocabulary:
    return vocabulary(terms_body(claim), claim.workshop.language)


def judge(claim: Claim, *, now) -> Judged:
    today = now.astimezone(ZoneInfo(claim.workshop.zone)).date()
    terms = terms_body(claim)
    words = vocabulary(terms, claim.workshop.language)
    cover = cover_of(claim.vehicle, today=today)
    here = cover.at(claim.panel, claim.fitting.piece if claim.fitting else None)
    certificate = certificate_of(claim.line)
    rechecks = [
        Recheck(due.asked.due_from, due.asked.due_until, due.row.done_on if due.row else None)
        for due in (rechecks_of([certificate], today=today) if certificate else ())
    ]
    reported = Reported(
        noticed_on=claim.noticed_on,
        told_on=claim.told_on,
        covers=words.covers(claim.symptom),
        stretches=here,
        rechecks=rechecks,
        recheck_effect=terms.get("recheck", {}).get("effect", PRESUMPTION),
        tell_within_days=terms.get("claim", {}).get("tell_within_days"),
    )
    return Judged(standing(reported), here, rechecks, terms, words)


def answer_due(claim: Claim, terms: dict) -> date | None:
    """The day by which the terms promise an answer."""
    days = terms.get("claim", {}).get("answer_within_days")
    return claim.told_on + timedelta(days=days) if days else None


# ------------------------------------------------------------------ what it waits for

WAITS = {
    "photos": "Photos with a ruler",
    "glue_side": "The glue side",
    "supplier": "The supplier: leave it on",
    "decision": "A decision",
    "repair": "A day for the repair",
    "release": "The repair's release",
    "put_right": "Nothing: put right",
    "refused": "Nothing: refused",
}
"""What a claim waits for, in words."""
CLOSED = ("put_right", "refused")


def waits_for(claim: Claim, photos: list, readings: list) -> str:
    """A code of WAITS, read off the rows; nothing of it is stored. `claim` comes with its state."""
    if running_repair(claim):
        return "put_right" if claim.repaired else "release"
    if claim.waits:
        return "supplier"
    decision = claim.decision()
    if decision:
        return "refused" if decision.outcome == Decision.Outcome.REFUSE else "repair"
    if not photos:
        return "photos"
    return "decision" if readings else "glue_side"


def running_repair(claim: Claim):
    """The job that puts it right; one that was called off puts nothing right."""
    job = claim.repair_job
    return job if job and job.cancelled_at is None else None
