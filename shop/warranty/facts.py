"""The facts of a certificate: one plain dict, all that page and paper may use, frozen when it is issued.

Whole numbers, texts, lists and tables only. Values about a person stand by reference (`{private, commit}`), so
that they can be erased while the digest stands. The names of the people who worked stay as facts.
"""

from datetime import datetime

from shop.intake.models import Job
from shop.papers import base_of
from shop.people.models import Person
from shop.reasons import Reason, Refused
from shop.record.actions import told as reference
from shop.record.models import Book
from shop.templatetags.words import in_language
from shop.warranty import address, fitted, promise
from shop.warranty.disclosure import missing, missing_on_paper, points, said
from shop.warranty.numbers import short_code
from shop.work import told
from shop.work.floor import Floor
from shop.work.models.outcome import HandOver, Release

SCHEMA = 1


def certificate_facts(
    job: Job,
    *,
    now: datetime,
    language: str,
    number: str,
    token: str,
    revision: int,
    terms,
    by: Person,
    reason: str = "",
    floor: Floor | None = None,
) -> dict:
    """Everything the paper of this job states, as it is at this moment. Refused where the terms lack something.

    The job is released and handed over; whether it may be issued is the gate's matter, not this function's.
    """
    floor = floor or Floor(job)
    hand_over, release = job.hand_over, job.release
    gaps = terms_gaps(job, terms, language=language)
    if gaps:
        raise Refused(gaps)
    base = base_of(job.workshop)
    return {
        "schema": SCHEMA,
        "number": number,
        "revision": revision,
        "reason": reason,
        "language": language,
        "issued_at": fitted.local(now, told.zone(floor)),
        "issued_by": by.name,
        "zone": job.workshop.zone,
        "address": {
            "check": address.check_url(base, token),
            "scan": address.scanned_url(base, token),
            "typed": address.typed_address(base),
            "code": short_code(token),
        },
        "workshop": _workshop(job.workshop),
        "customer": {"name": reference(job.customer.name)},
        "vehicle": _vehicle(job, hand_over),
        "job": {"number": job.number},
        "body": _document(job.body, language),
        "plan": _document(job.plan, language),
        "terms": _terms(terms, job.workshop.country, language),
        "panels": fitted.panels(floor, language),
        "cover": promise.cover_lines(floor, terms.body, hand_over.on, language),
        "counting": promise.counting_said(terms.body),
        "care": promise.care(terms.body, hand_over.on, language),
        "known": fitted.known(floor, language),
        "signings": fitted.signings(floor, language),
        "photos": fitted.photos(floor, language),
        "release": _release(release, floor),
        "hand_over": _hand_over(hand_over, floor),
        "book": _book(job),
    }


def terms_gaps(job: Job, terms, *, language: str) -> list[Reason]:
    """What terms and letterhead still lack for a paper in this place and language."""
    if terms is None:
        return [Reason("terms_incomplete", "No terms are published. Publish them under Shop, Documents.")]
    shop = job.workshop
    gaps = missing(terms.body, country=shop.country, language=language)
    # Panels and the day of hand-over are the gate's to ask: said once, they need no second sentence here.
    return gaps + missing_on_paper(guarantor=shop.name, address=shop.address, goods=1, handed_over=True)


def _workshop(shop) -> dict:
    return {
        "name": shop.name,
        "address": shop.address,
        "phone": shop.phone,
        "mail": shop.mail,
        "country": shop.country,
        "units": shop.unit_system,
    }


def _vehicle(job: Job, hand_over: HandOver) -> dict:
    car = job.vehicle
    return {
        "identity": reference(car.vin_private),
        "identity_words": "VIN" if car.vin else "chassis number",
        "last_four": car.identity[-4:],
        "plate": reference(car.plate),
        "model": car.model,
        "colour": car.colour,
        "colour_code": car.colour_code,
        "odometer_km": job.odometer_km,
        "odometer_out_km": hand_over.odometer_km,
    }


def _document(document, language: str) -> dict:
    return {
        "name": document.name,
        "version": document.version,
        "digest": document.digest,
        "title": in_language(document.body["title"], language),
    }


def _terms(document, country: str, language: str) -> dict:
    body = document.body
    return {
        **_document(document, language),
        "heading": said(body, "heading", language),
        "cover": [
            {
                "kind": kind,
                "title": in_language(body["cover"][kind]["title"], language),
                "text": in_language(body["cover"][kind]["text"], language),
            }
            for kind in promise.KINDS
            if kind in body["cover"]
        ],
        "covered": [in_language(entry["text"], language) for entry in body["covered"]],
        "excluded": [in_language(entry["text"], language) for entry in body["excluded"]],
        "remedy": [said(body, "remedy", language), said(body, "remedy.pays", language)],
        "claim": [in_language(step["text"], language) for step in body["claim"]["steps"]],
        "points": [
            {"key": point.key, "title": point.title, "texts": list(point.texts)}
            for point in points(body, country=country, language=language)
        ],
    }


def _release(release: Release, floor: Floor) -> dict:
    return {
        "at": fitted.local(release.at, told.zone(floor)),
        "by": release.person.name,
        "by_installer": release.by_installer,
    }


def _hand_over(hand_over: HandOver, floor: Floor) -> dict:
    return {
        "on": hand_over.on.isoformat(),
        "at": fitted.local(hand_over.at, told.zone(floor)),
        "by": hand_over.person.name,
        "text": hand_over.consent.text,
        "strokes": reference(hand_over.consent.strokes),
    }


def _book(job: Job) -> dict:
    """Head and length of the job's book before this paper is entered in it."""
    book = Book.objects.get(job=job)
    return {"head": book.head, "number": book.length}
