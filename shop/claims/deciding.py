"""A decision: whether the workshop answers for the fault, why, in which words of the terms, and who bears what.

A new decision stands beside the old ones; the last one holds.
"""

from typing import Any

from django.db import transaction

from shop.claims import letter
from shop.claims.clauses import Clause, clause_of
from shop.claims.judging import judge
from shop.claims.models import Claim, Decision
from shop.claims.place import certificate_of
from shop.claims.reporting import held, note_on
from shop.claims.supplier import must_not_wait
from shop.documents.rights import must_be_allowed
from shop.intake.typed import Typed
from shop.people.identity import Proven, must_be_proven
from shop.record import chain
from shop.record.actions import keep_private, told
from shop.warranty.vocabulary import terms_for

REASON_MOST = 2000
SHARES = ("shop_pct", "supplier_pct", "customer_pct", "insurer_pct")


@transaction.atomic
def decide(
    *,
    claim: Claim,
    outcome: str,
    clause: str,
    reason: str,
    shop_pct: int = 0,
    supplier_pct: int = 0,
    customer_pct: int = 0,
    insurer_pct: int = 0,
    by: Proven,
    now,
) -> Decision:
    """Accept, accept in part or refuse. `clause` names the words of the terms its paper was issued under.

    Shares are whole per cent of the cost and make 100. Accepted costs the customer nothing, in part something;
    refused costs neither us nor the supplier. The letter is made by `print_letter` after the commit.
    """
    must_be_proven(by)
    must_be_allowed(by, "decide", workshop=claim.workshop)
    claim = held(claim)
    must_not_wait(claim)
    typed = Typed()
    typed.one_of(outcome, Decision.Outcome.values, sentence="Say what is decided.", where="#outcome")
    why = typed.lines(reason, name="The reason", most=REASON_MOST, where="#reason")
    if not str(reason or "").strip():
        typed.wrong("Say why: the customer reads it in the letter.", "#reason", "reason_missing")
    shares = dict(zip(SHARES, (shop_pct, supplier_pct, customer_pct, insurer_pct), strict=True))
    _split(typed, outcome, shares)
    terms, language = _paper(claim)
    found = clause_of(terms.body if terms else {}, clause, language)
    if found is None:
        typed.wrong("Choose the words of the terms that this rests on.", "#clause")
    typed.stop()
    return _keep(claim, outcome, found, why, shares, terms, language, by, now)


def _paper(claim: Claim):
    """The terms the paper was issued under, and its language; those in force where there is no paper."""
    certificate = certificate_of(claim.line)
    language = claim.line.revision.language if claim.line else claim.workshop.language
    return terms_for(claim.workshop, certificate), language


def _split(typed: Typed, outcome: str, shares: dict[str, Any]) -> None:
    if any(type(share) is not int or not 0 <= share <= 100 for share in shares.values()):
        typed.wrong("A share is a whole number of per cent from 0 to 100.", "#shop_pct", "split_wrong")
        return
    if sum(shares.values()) != 100:
        typed.wrong(
            f"The shares make {sum(shares.values())} per cent; together they make 100.",
            "#shop_pct",
            "split_wrong",
        )
    customer = shares["customer_pct"]
    if outcome == Decision.Outcome.ACCEPT and customer:
        text = "Accepted costs the customer nothing; with a share of theirs it is accepted in part."
        typed.wrong(text, "#customer_pct", "split_wrong")
    if outcome == Decision.Outcome.PART and not 0 < customer < 100:
        text = "Accepted in part leaves the customer a share, and not all of it."
        typed.wrong(text, "#customer_pct", "split_wrong")
    if outcome == Decision.Outcome.REFUSE and (shares["shop_pct"] or shares["supplier_pct"]):
        typed.wrong("Refused: then neither we nor the supplier bear a share.", "#shop_pct", "split_wrong")


def _keep(
    claim: Claim, outcome: str, clause: Clause, reason: str, shares: dict, terms, language: str, by, now
) -> Decision:
    before = claim.decision()
    n = before.n + 1 if before else 1
    kept = keep_private(claim.workshop, reason)
    facts = letter.facts(
        claim,
        judge(claim, now=now),
        n=n,
        outcome=outcome,
        clause=clause,
        reason=kept,
        shares=shares,
        terms=terms,
        language=language,
        by=by.person,
        now=now,
    )
    digest = chain.digest(facts)
    body = {
        "claim": claim.number,
        "decision": n,
        "outcome": outcome,
        "reason": told(kept),
        "clause": clause.key,
        "words": clause.words,
        "terms": {"name": terms.name, "version": terms.version, "digest": terms.digest},
        **shares,
        "facts_digest": digest,
    }
    entry = note_on(claim, "decide", body, by=by, now=now)
    return Decision.objects.create(
        claim=claim,
        n=n,
        entry=entry,
        outcome=outcome,
        reason=kept,
        terms=terms,
        clause=clause.key,
        words=clause.words,
        language=language,
        facts=chain.canonical(facts).decode(),
        facts_digest=digest,
        person=by.person,
        at=now,
        **shares,
    )
