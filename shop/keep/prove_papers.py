"""Certificates: the frozen facts, the book they were issued from, and the days they promise."""

import json
from hashlib import sha256
from typing import Any

from shop.keep.checks import Check, Tell
from shop.keep.prove_acts import Entries
from shop.record.models import Entry
from shop.warranty.models import CoverLine, Revision

ISSUED_BY = ("issue", "correct_certificate", "bring_in_papers")
COVER = ("fitting", "panel", "label", "kind", "months", "days", "counting", "first_day", "last_day")


def revisions(tell: Tell) -> Check:
    """Each revision's facts against its digest and its entry, and its head against the book it was taken from."""
    check = Check("certificates")
    entries, withdrawn = Entries(*ISSUED_BY), Entries("withdraw")
    taken_back = {
        (entry["body"].get("certificate"), entry["body"].get("revision")) for entry in withdrawn.alone()
    }
    rows = Revision.objects.select_related("certificate").order_by("pk")
    for row in check.each(rows.iterator(chunk_size=100), tell):
        name = f"Certificate {row.certificate.number}, revision {row.n}"
        if sha256(row.facts.encode()).hexdigest() != row.facts_digest:
            check.add("revision", row.pk, f"{name}: the facts were changed after it was issued.")
        _against_entry(check, entries, row, name)
        if not _head_stands(row):
            check.add(
                "revision", row.pk, f"{name}: its head is not entry {row.head_number} of the book any more."
            )
        if bool(row.withdrawn_at) != ((row.certificate.number, row.n) in taken_back):
            check.add("revision", row.pk, f"{name}: the book says otherwise about its withdrawal.")
    for entry in entries.alone():
        text = (
            f"Entry {entry['number']} issued {entry['body'].get('certificate')}, and that paper is not there."
        )
        check.add("entry", entry["pk"], text)
    return check


def _against_entry(check: Check, entries: Entries, row: Revision, name: str) -> None:
    entry = entries.meet(row.entry_id)
    if entry is None:
        check.add("revision", row.pk, f"{name} has no entry that issued it.")
        return
    body = entry["body"]
    said = (body.get("certificate"), body.get("revision"), body.get("facts_digest"), body.get("reason", ""))
    kept = (row.certificate.number, row.n, row.facts_digest, row.reason)
    by = (entry["person_id"], entry["happened_at"]) == (row.issued_by_id, row.issued_at)
    if said != kept or not by:
        check.add("revision", row.pk, f"{name} is not what entry {entry['number']} says.")


def _head_stands(row: Revision) -> bool:
    """The head is the last entry before the issue itself, in the book of the job or the workshop."""
    if row.certificate.imported and not row.head_number:
        return row.head == ""  # the first entry of the workshop's book has nothing before it
    there = Entry.objects.filter(number=row.head_number, digest=row.head)
    if row.certificate.job_id:
        there = there.filter(book__job=row.certificate.job_id)
    return there.exists()


def cover(tell: Tell) -> Check:
    """Every cover line against the facts it was printed from."""
    check = Check("cover lines")
    lines: dict[int, list[dict[str, Any]]] = {}
    rows = CoverLine.objects.order_by("pk").values("revision_id", "fitting_id", *COVER[1:])
    for row in check.each(rows.iterator(chunk_size=1000), tell):
        lines.setdefault(row["revision_id"], []).append(row)
    for revision in Revision.objects.select_related("certificate").only("facts", "n", "certificate__number"):
        if _stored(lines.get(revision.pk, [])) != _frozen(revision.facts):
            text = f"Certificate {revision.certificate.number}, revision {revision.n}: its cover is not what it says."
            check.add("revision", revision.pk, text)
    return check


def _stored(rows: list[dict[str, Any]]) -> list[tuple]:
    return [(row["fitting_id"], *(_plain(row[name]) for name in COVER[1:])) for row in rows]


def _frozen(facts: str) -> list[tuple]:
    try:
        return [tuple(line[name] for name in COVER) for line in json.loads(facts)["cover"]]
    except (ValueError, KeyError, TypeError):
        return []


def _plain(value: Any) -> Any:
    return value.isoformat() if hasattr(value, "isoformat") else value
