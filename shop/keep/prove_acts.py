"""What was done, row by row, against the entry that did it: none without the other, and both saying the same."""

import json
from collections import defaultdict
from collections.abc import Iterator
from typing import Any

from shop.intake.models import Consent
from shop.keep.checks import Check, Tell
from shop.record import chain
from shop.record.models import Entry, Receipt
from shop.work.models.outcome import Defect, HandOver, Release, Waiver
from shop.work.models.proof import Outcome, OutcomeOn, OutcomePhoto, Signing, SignOff


class Entries:
    """The entries of some verbs by id, and which of them have found what they made."""

    def __init__(self, *verbs: str):
        fields = ("number", "verb", "body", "person_id", "happened_at", "sure")
        rows = Entry.objects.filter(verb__in=verbs).order_by("pk").values("pk", *fields)
        self.rows: dict[int, dict[str, Any]] = {row["pk"]: row for row in rows.iterator(chunk_size=1000)}
        self.met: set[int] = set()

    def meet(self, pk: int) -> dict[str, Any] | None:
        """The entry with its body read, or None where there is none of these verbs under that id."""
        row = self.rows.get(pk)
        if row is None:
            return None
        self.met.add(pk)
        return row | {"body": body_of(row["body"])}

    def alone(self) -> Iterator[dict[str, Any]]:
        """Entries whose effect nobody asked for."""
        for pk, row in self.rows.items():
            if pk not in self.met:
                yield row | {"body": body_of(row["body"])}


def body_of(text: str) -> dict[str, Any]:
    """The body as a table; an unreadable one says nothing, and the chain has named it already."""
    try:
        body = json.loads(text)
    except ValueError:
        return {}
    return body if isinstance(body, dict) else {}


def differing(said: dict[str, Any], kept: dict[str, Any]) -> list[str]:
    return [name for name, value in said.items() if kept[name] != value]


def answers(tell: Tell) -> Check:
    """Every outcome and the places it fell on."""
    check, entries = Check("outcomes"), Entries("answer")
    places: dict[int, set[tuple[str, str]]] = defaultdict(set)
    for on in OutcomeOn.objects.values_list(
        "outcome", "checklist__fitting__panel__code", "checklist__fitting__piece", "edge__code"
    ).iterator(chunk_size=2000):
        places[on[0]].add((f"{on[1]}.{on[2]}", on[3] or ""))
    rows = Outcome.objects.order_by("pk").values(
        "pk", "entry_id", "person_id", "key", "answer", "value", "typed", "reason", "at", "sure", "late"
    )
    for row in check.each(rows.iterator(chunk_size=1000), tell):
        entry = entries.meet(row["entry_id"])
        if entry is None:
            check.add("outcome", row["pk"], f"Outcome {row['pk']} ({row['key']}) has no entry that made it.")
            continue
        body = entry["body"]
        said = {
            "key": body.get("line"),
            "answer": body.get("answer"),
            "value": body.get("value"),
            "typed": body.get("typed", ""),
            "reason": body.get("reason", ""),
            "late": body.get("late", False),
            "person_id": entry["person_id"],
            "at": entry["happened_at"],
            "sure": entry["sure"],
        }
        odd = differing(said, row)
        if places[row["pk"]] != _places(body.get("places")):
            odd.append("places")
        if odd:
            text = f"Outcome {row['pk']} ({row['key']}) is not what entry {entry['number']} says: {', '.join(odd)}."
            check.add("outcome", row["pk"], text)
    for entry in entries.alone():
        text = f"Entry {entry['number']} answered {entry['body'].get('line')}, and no outcome of it is there."
        check.add("entry", entry["pk"], text)
    return check


def _places(said: Any) -> set[tuple[str, str]]:
    return {(place, spot) for place, spots in said or () for spot in spots}


def order_of_answers(tell: Tell) -> Check:
    """At each place the last answer that was taken stands, and every earlier one says which replaced it."""
    check = Check("answers that stand")
    spots: dict[tuple, list[tuple[int, int | None]]] = defaultdict(list)
    rows = OutcomeOn.objects.filter(late=False).order_by("outcome", "pk")
    fields = ("checklist", "key", "edge", "outcome", "replaced_by")
    for checklist, key, edge, outcome, replaced in rows.values_list(*fields).iterator(chunk_size=2000):
        spots[checklist, key, edge].append((outcome, replaced))
    for (checklist, key, _edge), given in check.each(spots.items(), tell):
        expected = [outcome for outcome, _ in given[1:]] + [None]
        if [replaced for _, replaced in given] != expected:
            text = f"The answers to {key} on checklist {checklist} do not replace each other as they came."
            check.add("checklist", checklist, text)
    return check


def signings(tell: Tell) -> Check:
    """Every signing: its sentence, the lines frozen in it, and a sign-off for each checklist it names."""
    check = Check("sign-offs")
    entries = Entries("sign_ready", "sign_hidden", "sign_laid", "sign_released")
    signed: dict[int, set[int]] = defaultdict(set)
    by_meaning: dict[str, set[int]] = defaultdict(set)
    for signoff in SignOff.objects.select_related("signing").order_by("pk"):
        signed[signoff.signing_id].add(signoff.checklist_id)
        by_meaning[signoff.meaning].add(signoff.checklist_id)
        if (
            signoff.meaning != signoff.signing.meaning
            or str(signoff.checklist_id) not in signoff.signing.lines
        ):
            text = f"Sign-off {signoff.pk} ({signoff.meaning}) is not part of what signing {signoff.signing_id} signed."
            check.add("sign-off", signoff.pk, text)
    for row in check.each(Signing.objects.order_by("pk").iterator(chunk_size=200), tell):
        entry = entries.meet(row.entry_id)
        if entry is None:
            check.add("signing", row.pk, f"Signing {row.pk} ({row.meaning}) has no entry that made it.")
            continue
        body = entry["body"]
        odd = differing(
            {
                "meaning": body.get("meaning"),
                "sentence": body.get("sentence"),
                "digest": body.get("lines_digest"),
                "person_id": entry["person_id"],
                "at": entry["happened_at"],
            },
            vars(row),
        )
        if chain.digest(row.lines) != row.digest:
            odd.append("lines")
        if {int(pk) for pk in row.lines} - by_meaning[row.meaning]:
            odd.append("sign-offs")
        if odd:
            text = f"Signing {row.pk} ({row.meaning}) is not what entry {entry['number']} says: {', '.join(odd)}."
            check.add("signing", row.pk, text)
    for entry in entries.alone():
        check.add("entry", entry["pk"], f"Entry {entry['number']} signed, and its signing is not there.")
    return check


def photos_as_proof(tell: Tell) -> Check:
    """Every photo taken as proof: which bytes, of which places."""
    check, entries = Check("photos as proof"), Entries("keep_photo")
    shown: dict[int, set[tuple[str, str, str]]] = defaultdict(set)
    bytes_of: dict[int, set[str]] = defaultdict(set)
    rows = OutcomePhoto.objects.order_by("pk").values_list(
        "entry_id", "checklist__fitting__panel__code", "checklist__fitting__piece", "key", "edge__code",
        "photo__sha256", "upload__sha256",
    )  # fmt: skip
    for entry_pk, panel, piece, key, edge, kept, promised in check.each(rows.iterator(chunk_size=1000), tell):
        shown[entry_pk].add((f"{panel}.{piece}", key, edge or ""))
        bytes_of[entry_pk].add(kept or promised or "")
    for pk in shown:
        entry = entries.meet(pk)
        if entry is None:
            check.add("photo", pk, f"A photo stands as proof, and no entry {pk} kept it.")
        elif {tuple(place) for place in entry["body"].get("places", ())} != shown[pk]:
            check.add(
                "entry", pk, f"Entry {entry['number']} kept a photo of other places than it now proves."
            )
        elif bytes_of[pk] != {entry["body"].get("sha256")}:
            check.add(
                "entry", pk, f"Entry {entry['number']} kept another photo than the one that stands there."
            )
    for entry in entries.alone():
        if entry["body"].get("places"):
            text = f"Entry {entry['number']} kept a photo as proof, and it stands nowhere."
            check.add("entry", entry["pk"], text)
    return check


def decisions(tell: Tell) -> Check:
    """Waivers, releases and hand-overs."""
    check, entries = Check("waivers, releases, hand-overs"), Entries("waive", "hand_over")
    for waiver in check.each(Waiver.objects.order_by("pk"), tell):
        said = {"code": waiver.code, "why": waiver.why}
        _decided(check, entries, "waiver", waiver, "waive", said)
    for handed in check.each(HandOver.objects.order_by("pk"), tell):
        said = {"on": handed.on.isoformat(), "odometer_km": handed.odometer_km}
        _decided(check, entries, "hand-over", handed, "hand_over", said)
    for entry in entries.alone():
        text = f"Entry {entry['number']} says {entry['verb'].replace('_', ' ')}, and nothing of it is there."
        check.add("entry", entry["pk"], text)
    released = Entries("sign_released")
    for release in check.each(Release.objects.order_by("pk"), tell):
        _decided(check, released, "release", release, "sign_released", {})
    return check


def _decided(check: Check, entries: Entries, what: str, row: Any, verb: str, said: dict[str, Any]) -> None:
    entry = entries.meet(row.entry_id)
    if entry is None or entry["verb"] != verb:
        check.add(what, row.pk, f"The {what} {row.pk} has no entry that made it.")
        return
    same = all(entry["body"].get(name) == value for name, value in said.items())
    if not same or (row.person_id, row.at) != (entry["person_id"], entry["happened_at"]):
        check.add(what, row.pk, f"The {what} {row.pk} is not what entry {entry['number']} says.")


def defects(tell: Tell) -> Check:
    """Every defect raised, and how each was settled."""
    check, entries = Check("defects"), Entries("raise_defect", "put_right")
    rows = {row.pk: row for row in Defect.objects.select_related("fitting__panel").order_by("pk")}
    raised = {(row.fitting.place, row.raised_by_id, row.raised_at): row.pk for row in rows.values()}
    settled = set()
    for entry in check.each(entries.alone(), tell):
        body, who = entry["body"], (entry["person_id"], entry["happened_at"])
        if entry["verb"] == "raise_defect":
            if (body.get("panel"), *who) not in raised:
                check.add("entry", entry["pk"], f"Entry {entry['number']} raised a defect that is not there.")
            continue
        row = rows.get(body.get("defect", 0))
        settled.add(body.get("defect"))
        if row is None or (row.disposition, row.closed_by_id, row.closed_at) != (
            body.get("disposition"),
            *who,
        ):
            text = f"Entry {entry['number']} settled a defect otherwise than it now stands."
            check.add("defect", body.get("defect", 0), text)
    for row in rows.values():
        if row.closed_at and row.pk not in settled:
            check.add("defect", row.pk, f"Defect {row.pk} is closed, and no entry closed it.")
    return check


def consents(tell: Tell) -> Check:
    """What customers signed: the words, and whose strokes."""
    check, kept = Check("consents"), {}
    for row in check.each(Consent.objects.order_by("pk"), tell):
        kept[row.pk] = row
    said = Entries("agree_intake", "accept_paint", "hand_over")
    by_strokes = {row.strokes_id: row for row in kept.values()}
    for entry in said.alone():
        body = entry["body"]
        strokes = (body.get("strokes") or {}).get("private")
        row = by_strokes.pop(strokes, None)
        if row is None:
            check.add("entry", entry["pk"], f"Entry {entry['number']} took a signature that is not there.")
        elif row.text != body.get("text"):
            check.add(
                "consent", row.pk, f"The words of consent {row.pk} are not those of entry {entry['number']}."
            )
    return check


def receipts(tell: Tell) -> Check:
    """What tablets were answered, against the entry the answer is about."""
    check = Check("receipts")
    told = Receipt.objects.filter(entry__isnull=False).order_by("key")
    entries = {
        row["pk"]: row
        for row in Entry.objects.filter(receipts__isnull=False).values(
            "pk", "number", "tablet_id", "received_at", "outcome__pk", "book__workshop_id"
        )
    }
    seen: set[int] = set()
    for row in check.each(told.iterator(chunk_size=1000), tell):
        entry = entries.get(row.entry_id)
        if entry is None or not _fits(row, entry) or row.entry_id in seen:
            check.add("receipt", row.key, f"Receipt {row.key} points at an entry it was not given for.")
        seen.add(row.entry_id)
    return check


def _fits(row: Receipt, entry: dict[str, Any]) -> bool:
    about = row.answer.get("outcome_id") if isinstance(row.answer, dict) else None
    return (
        entry["tablet_id"] == row.tablet_id
        and entry["book__workshop_id"] == row.workshop_id
        and entry["received_at"] == row.at
        and about in (None, entry["outcome__pk"])
    )
