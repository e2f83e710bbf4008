"""The verbs of a claim, in one place for whoever calls them."""

from shop.claims.deciding import decide
from shop.claims.mailing import send_letter
from shop.claims.repair import link_repair
from shop.claims.reporting import add_claim_photos, add_glue_side, report_claim
from shop.claims.supplier import supplier_answered, wait_for_supplier

__all__ = [
    "add_claim_photos",
    "add_glue_side",
    "decide",
    "link_repair",
    "report_claim",
    "send_letter",
    "supplier_answered",
    "wait_for_supplier",
]
