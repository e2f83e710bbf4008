"""The letter that tells the owner what was decided: its facts are frozen first, its PDF is printed after."""

import json
import logging
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from shop import clock, papers, press, store
from shop.claims.judging import Judged
from shop.claims.models import Claim, Decision
from shop.claims.place import certificate_of, where
from shop.claims.standing import NAMES
from shop.intake.models import Ownership
from shop.printing import Printed, render
from shop.reasons import Reason, Refused
from shop.record.actions import told
from shop.templatetags.words import in_language
from shop.warranty.disclosure import points
from shop.warranty.shown import private_values

log = logging.getLogger("shop")
SCHEMA = 1
PRINT_S = 60
ERASED = "erased"
STYLE = "claim_paper.css"
RIGHTS = ("statutory", "place.us.rights", "place.eu.seller", "place.gb.request")
"""The sections that tell owners of their rights by law; the place decides which of them there are."""

PAYERS = (
    ("shop_pct", "workshop"),
    ("supplier_pct", "supplier"),
    ("customer_pct", "you"),
    ("insurer_pct", "insurer"),
)


def facts(
    claim: Claim, judged: Judged, *, n, outcome, clause, reason, shares, terms, language, by, now
) -> dict[str, Any]:
    """Everything the letter states, as whole numbers, texts, lists and tables; personal values by reference."""
    shop, certificate = claim.workshop, certificate_of(claim.line)
    owner = (
        Ownership.objects.filter(vehicle=claim.vehicle, until__isnull=True)
        .select_related("customer__name", "customer__address")
        .first()
    )
    return {
        "schema": SCHEMA,
        "claim": claim.number,
        "decision": n,
        "language": language,
        "zone": shop.zone,
        "at": now.astimezone(ZoneInfo(shop.zone)).replace(microsecond=0).isoformat(),
        "by": by.name,
        "workshop": {
            "name": shop.name,
            "address": shop.address,
            "phone": shop.phone,
            "mail": shop.mail,
            "country": shop.country,
        },
        "owner": {
            "name": told(owner.customer.name) if owner else None,
            "address": told(owner.customer.address) if owner else None,
        },
        "vehicle": {
            "model": claim.vehicle.model,
            "colour": claim.vehicle.colour,
            "plate": told(claim.vehicle.plate),
            "last_four": claim.vehicle.identity[-4:],
        },
        "certificate": certificate.number if certificate else "",
        "revision": claim.line.revision.n if claim.line else 0,
        "place": where(claim),
        "symptom": judged.words.title(claim.symptom),
        "noticed_on": claim.noticed_on.isoformat(),
        "told_on": claim.told_on.isoformat(),
        "standing": _standing(judged),
        "outcome": outcome,
        "outcome_words": str(Decision.Outcome(outcome).label),
        "reason": told(reason),
        "clause": clause.key,
        "words": clause.words,
        "terms": {
            "title": in_language(terms.body["title"], language),
            "version": terms.version,
            "digest": terms.digest,
        },
        "shares": [{"who": who, "pct": shares[name]} for name, who in PAYERS if shares[name]],
        "rights": [
            {"title": point.title, "text": " ".join(point.texts)}
            for point in points(terms.body, country=shop.country, language=language)
            if point.key in RIGHTS
        ],
    }


def _standing(judged: Judged) -> list[str]:
    """How the paper stood on the day it was noticed, in sentences; a missed recheck is said, and what it does."""
    found = judged.standing
    said = []
    if found.answers:
        said.append(f"On the day it was noticed, {NAMES[found.answers]} was in force.")
    said += found.why
    if found.missed and found.weakened:
        said.append("A recheck was missed. That makes it harder to tell how a fault began; it ends no cover.")
    return said


def read(decision: Decision) -> dict[str, Any]:
    return json.loads(decision.facts)


def shown(decision: Decision) -> dict[str, Any]:
    """The letter ready to be read. A value that was erased reads so."""
    stated = read(decision)
    values = private_values(stated)

    def said(reference) -> str:
        return values.get(reference["private"], ERASED) if reference else ""

    return {
        "facts": stated,
        "at": datetime.fromisoformat(stated["at"]),
        "noticed_on": date.fromisoformat(stated["noticed_on"]),
        "told_on": date.fromisoformat(stated["told_on"]),
        "owner": said(stated["owner"]["name"]),
        "owner_address": said(stated["owner"]["address"]),
        "plate": said(stated["vehicle"]["plate"]),
        "reason": said(stated["reason"]),
        "paper_size": papers.paper_size(stated["workshop"]["country"]),
    }


def print_letter(decision: Decision) -> Decision:
    """Print the letter and keep it, unless that is done already. Call it after the commit.

    Whatever goes wrong leaves it unprinted, with the fault in the log; the decision stands all the same.
    """
    if decision.pdf_sha256 and store.has(decision.pdf_sha256, shelf="papers"):
        return decision
    try:
        data = press.run(render, put_together(decision), timeout=PRINT_S)
    except Exception:
        log.exception("the letter of %s was not printed", decision)
        return decision
    if decision.pdf_sha256 and store.digest_of(data) != decision.pdf_sha256:
        text = "The letter once printed is gone, and printing it now gives another file. Decide anew."
        raise Refused(Reason("superseded", text))
    sha256 = store.put_pdf(data)
    Decision.objects.filter(pk=decision.pk, pdf_sha256="").update(pdf_sha256=sha256, printed_at=clock.now())
    decision.refresh_from_db(fields=["pdf_sha256", "printed_at"])
    return decision


def put_together(decision: Decision) -> Printed:
    """All of the letter as plain values. The same decision gives the same values."""
    context = shown(decision)
    return papers.compose(
        "claims/letter.html",
        context,
        style=STYLE,
        mark=f"claim.{decision.claim.number}.{decision.n}",
        made=context["at"],
    )
