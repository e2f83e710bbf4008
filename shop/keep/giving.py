"""A copy of everything kept of one customer: a zip with the data as JSON, the photos and the printed papers."""

import json
import zipfile
from collections.abc import Iterator
from typing import Any, BinaryIO

from shop import store
from shop.intake.models import Consent, Ownership
from shop.keep.belongings import VALUES, Belongings, all_photos, certificates_of, said_of_customer
from shop.photos.models import Photo
from shop.photos.views import ENDINGS
from shop.record.chain import instant
from shop.record.models import Private
from shop.warranty.models import Revision
from shop.warranty.sendings import Sending
from shop.warranty.shown import read_facts, references

FORMAT = 1


def write_zip(found: Belongings, out: BinaryIO, *, now) -> tuple[int, int]:
    """Write the copy; how many photos and papers are in it. Bytes that are gone are listed as missing."""
    photos, missing = all_photos(found), []
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as packed:
        count = 0
        for photo in photos:
            count += _put(packed, f"photos/{_name(photo)}", photo.sha256, "photos", missing)
        papers = sum(
            _put(packed, f"papers/{digest[:16]}.pdf", digest, "papers", missing)
            for digest in sorted(found.papers | found.letters)
        )
        told = told_of(found, photos, missing, now=now)
        packed.writestr("data.json", json.dumps(told, ensure_ascii=False, indent=1))
    return count, papers


def told_of(found: Belongings, photos: list[Photo], missing: list[str], *, now) -> dict[str, Any]:
    customer = found.customer
    return {
        "bayproof_customer": FORMAT,
        "made_at": instant(now),
        "workshop": customer.workshop.name,
        "customer": {name: _value(getattr(customer, name)) for name in VALUES}
        | {"language": customer.language, "since": instant(customer.since)},
        "earlier": _earlier(customer),
        "cars": [_car(car, customer) for car in [*found.cars, *found.others]],
        "jobs": [_job(job) for job in found.jobs],
        "certificates": list(_certificates(found)),
        "claims": [_claim(claim) for claim in found.claims],
        "mails": list(_mails(found)),
        "photos": [
            {"file": f"photos/{_name(photo)}", "kind": photo.klass, "taken": photo.taken_text}
            for photo in photos
        ],
        "missing": missing,
    }


def _earlier(customer) -> list[str]:
    """Names, phones and addresses known before the ones of now."""
    now = {getattr(customer, f"{name}_id") for name in VALUES}
    before = set(references(said_of_customer(customer))) - now
    return list(Private.objects.filter(pk__in=before, erased_at__isnull=True).values_list("value", flat=True))


def _value(private: Private | None) -> str:
    return private.value if private else ""


def _car(car, customer) -> dict[str, Any]:
    owned = Ownership.objects.filter(vehicle=car, customer=customer).order_by("since")
    return {
        "number": car.identity,
        "plate": car.plate_text,
        "model": car.model,
        "colour": car.colour,
        "owned": [
            {"since": row.since.isoformat(), "until": row.until and row.until.isoformat()} for row in owned
        ],
    }


def _job(job) -> dict[str, Any]:
    handed = getattr(job, "hand_over", None)
    return {
        "number": job.number,
        "car": job.vehicle.identity,
        "came": instant(job.arrived_at),
        "handed_over": handed.on.isoformat() if handed else None,
        "called_off": instant(job.cancelled_at) if job.cancelled_at else None,
        "odometer_km": job.odometer_km,
        "signed": [
            {
                "what": row.get_kind_display(),
                "text": row.text,
                "at": instant(row.given_at),
                "hand": row.strokes.value,
            }
            for row in Consent.objects.filter(job=job).select_related("strokes").order_by("pk")
        ],
        "damage": [
            {"panel": mark.panel.code, "kind": mark.kind, "note": mark.note}
            for mark in job.marks.select_related("panel").order_by("pk")
        ],
    }


def _certificates(found: Belongings) -> Iterator[dict[str, Any]]:
    rows = Revision.objects.filter(certificate__in=certificates_of(found.jobs, found.cars))
    for row in rows.select_related("certificate").order_by("certificate", "n"):
        facts = read_facts(row.facts)
        values = {pk: private.value for pk, private in Private.objects.in_bulk(references(facts)).items()}
        yield {
            "number": row.certificate.number,
            "revision": row.n,
            "file": f"papers/{row.pdf_sha256[:16]}.pdf" if row.pdf_sha256 else None,
            "facts": _said(facts, values),
        }


def _said(facts: Any, values: dict[int, str]) -> Any:
    """The facts with values in place of references."""
    if isinstance(facts, dict):
        if set(facts) == {"private", "commit"}:
            return values.get(facts["private"], "")
        return {name: _said(inner, values) for name, inner in facts.items()}
    return [_said(inner, values) for inner in facts] if isinstance(facts, list) else facts


def _claim(claim) -> dict[str, Any]:
    return {
        "number": claim.number,
        "panel": claim.panel,
        "symptom": claim.symptom,
        "noticed_on": claim.noticed_on.isoformat(),
        "told_on": claim.told_on.isoformat(),
        "said": _value(claim.said),
        "decisions": [
            {"outcome": row.outcome, "reason": row.reason.value, "words": row.words, "at": instant(row.at)}
            for row in claim.decisions.select_related("reason").order_by("n")
        ],
    }


def _mails(found: Belongings) -> Iterator[dict[str, Any]]:
    rows = Sending.objects.filter(address__in=found.values)
    for row in rows.select_related("address").order_by("pk"):
        yield {
            "to": row.address.value,
            "subject": row.subject,
            "written": instant(row.made_at),
            "sent": instant(row.sent_at) if row.sent_at else None,
        }


def _name(photo: Photo) -> str:
    return f"{photo.pk}.{ENDINGS.get(photo.type, 'bin')}"


def _put(packed: zipfile.ZipFile, name: str, digest: str, shelf: str, missing: list[str]) -> int:
    try:
        packed.writestr(name, store.open_bytes(digest, shelf=shelf))
    except store.Missing:
        missing.append(name)
        return 0
    return 1
