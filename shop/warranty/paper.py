"""A revision's paper: put together from the frozen facts, printed in the press, kept by its digest.

The first bytes printed are the paper. They are never replaced by others: a renderer of another version may lay
the same facts out differently, and then the paper in the customer's hand would not be ours any more.
"""

import logging
import re
from datetime import datetime

from shop import clock, press, store
from shop.papers import code_svg, compose
from shop.printing import Printed, render
from shop.reasons import Reason, Refused
from shop.warranty.drawing import covered_sheet
from shop.warranty.models import Revision
from shop.warranty.shown import Facts, read_facts, shown

log = logging.getLogger("shop")

PRINT_S = 120
SHEET_PX = 330
QR_MM = 33
_MARK = re.compile(rb"certificate\.([0-9A-Z]{26})\.[0-9]{1,4}")


def mark_of(revision: Revision) -> str:
    """What the file's permanent identifier says: whose paper this is, even after somebody changed it."""
    return f"certificate.{revision.certificate.token}.{revision.n}"


def mark_pattern() -> re.Pattern[bytes]:
    return _MARK


def print_revision(revision: Revision) -> Revision:
    """Print the paper of this revision and keep it, unless that is done already. Call it after the commit.

    Whatever goes wrong leaves the revision unprinted, with the fault in the log; `is_printed` tells.
    Refused only where the bytes once printed are gone and cannot be made again.
    """
    if revision.pdf_sha256 and store.has(revision.pdf_sha256, shelf="papers"):
        return revision
    data = _printed(revision)
    if data is None:
        return revision
    if revision.pdf_sha256 and store.digest_of(data) != revision.pdf_sha256:
        text = (
            "The paper once printed is gone, and printing it now gives another file. Correct the certificate."
        )
        raise Refused(Reason("superseded", text))
    sha256 = store.put_pdf(data)
    # Two presses may have printed at once; the paper noted first stays the paper.
    Revision.objects.filter(pk=revision.pk, pdf_sha256="").update(pdf_sha256=sha256, printed_at=clock.now())
    revision.refresh_from_db(fields=["pdf_sha256", "printed_at"])
    return revision


def is_printed(revision: Revision) -> bool:
    return bool(revision.pdf_sha256)


def _printed(revision: Revision) -> bytes | None:
    try:
        return press.run(render, put_together(revision), timeout=PRINT_S)
    except Exception:
        log.exception("certificate %s was not printed", revision)
        return None


def put_together(revision: Revision) -> Printed:
    """All of the paper as plain values: HTML, style, pictures, facts. The same revision gives the same values."""
    facts = read_facts(revision.facts)
    served = {
        f"photo:{photo['sha256']}": ("image/jpeg", _photo(photo["sha256"])) for photo in facts["photos"]
    }
    served["static:qr.svg"] = ("image/svg+xml", qr_svg(facts))
    return compose(
        "warranty/certificate_paper.html",
        context(revision, facts),
        style="certificate_paper.css",
        mark=mark_of(revision),
        made=datetime.fromisoformat(facts["issued_at"]),
        facts=revision.facts.encode(),
        served=served,
    )


def context(revision: Revision, facts: Facts) -> dict:
    ready = shown(facts)
    for photo in ready["photos"]:
        photo["src"] = f"photo:{photo['sha256']}"
    return {
        **ready,
        "digest": revision.facts_digest,
        "drawing": covered_sheet(facts, revision.certificate.workshop, size="print", width=SHEET_PX),
        "qr": "static:qr.svg",
    }


def qr_svg(facts: Facts) -> bytes:
    """The address of the check page as a QR code."""
    return code_svg(facts["address"]["scan"])


def _photo(sha256: str) -> bytes:
    return store.open_bytes(sha256, store.PRINT)
