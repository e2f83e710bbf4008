"""All rows of all rooms, where Django looks for them."""

from shop.claims.models import Claim, ClaimPhoto, Decision, GlueReading, SupplierWait
from shop.documents.models import Document
from shop.film.models import Cut, Lot, Material, Mix, Offcut, Roll
from shop.intake.expected import Expected
from shop.intake.looked_over import DeviceTry, PaintSpot
from shop.intake.models import (
    Consent,
    Customer,
    Edge,
    Job,
    Mark,
    MarkPhoto,
    Ownership,
    PaintNote,
    Panel,
    SearchKey,
    Vehicle,
)
from shop.people.models import Person, PersonRole, Tablet, Throttle, Workshop
from shop.photos.models import Photo, Upload
from shop.record.models import Book, Entry, Private, Receipt
from shop.warranty.aftercare import CoverEvent, Finding, FindingPhoto, Recheck
from shop.warranty.models import Certificate, CoverLine, Revision
from shop.warranty.sendings import Sending
from shop.work.models.fitting import Fitting, FittingEdge, FittingPerson
from shop.work.models.outcome import Defect, DefectPhoto, HandOver, Release, Waiver
from shop.work.models.proof import Checklist, Outcome, OutcomeOn, OutcomePhoto, Signing, SignOff

__all__ = [
    "Book",
    "Certificate",
    "Checklist",
    "Claim",
    "ClaimPhoto",
    "Consent",
    "CoverEvent",
    "CoverLine",
    "Customer",
    "Cut",
    "Decision",
    "Defect",
    "DefectPhoto",
    "DeviceTry",
    "Document",
    "Edge",
    "Entry",
    "Expected",
    "Finding",
    "FindingPhoto",
    "Fitting",
    "FittingEdge",
    "FittingPerson",
    "GlueReading",
    "HandOver",
    "Job",
    "Lot",
    "Mark",
    "MarkPhoto",
    "Material",
    "Mix",
    "Offcut",
    "Outcome",
    "OutcomeOn",
    "OutcomePhoto",
    "Ownership",
    "PaintNote",
    "PaintSpot",
    "Panel",
    "Person",
    "PersonRole",
    "Photo",
    "Private",
    "Receipt",
    "Recheck",
    "Release",
    "Revision",
    "Roll",
    "SearchKey",
    "Sending",
    "SignOff",
    "Signing",
    "SupplierWait",
    "Tablet",
    "Throttle",
    "Upload",
    "Vehicle",
    "Waiver",
    "Workshop",
]
