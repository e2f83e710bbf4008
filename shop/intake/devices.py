"""Lamps, sensors, cameras and washers: tried when the car came, and again before it goes."""

from collections.abc import Mapping
from dataclasses import dataclass

from django.db import transaction

from shop.documents.rights import must_be_allowed
from shop.intake.jobs import held
from shop.intake.looked_over import DeviceTry
from shop.intake.typed import Typed
from shop.people.identity import By
from shop.record.actions import write

NOTE_MOST = 200
Device, When, Found = DeviceTry.Device, DeviceTry.When, DeviceTry.Found


@transaction.atomic
def try_devices(*, job, when: str, found: dict, notes: dict | None = None, by: By, now) -> list[DeviceTry]:
    """What was tried: `found` maps a device to works, faulty or none, `notes` says what is wrong with a faulty one.

    `when` is before or after. A later try of the same device stands in the earlier one's place; both are kept.
    """
    must_be_allowed(by, "mark_damage", workshop=job.workshop)
    job = held(job)
    typed = Typed()
    typed.one_of(when, When.values, sentence="Say whether the car came or goes.", where="#when")
    if not found:
        typed.missing("Try at least one of them, and say how it was.", "#found")
    said = {device: _note(typed, device, found[device], (notes or {}).get(device, "")) for device in found}
    typed.stop()
    rows = DeviceTry.objects.bulk_create(
        DeviceTry(job=job, device=device, when=when, found=how, note=said[device], person=by.person, at=now)
        for device, how in found.items()
    )
    body = {
        "when": when,
        "found": [{"device": row.device, "found": row.found, "note": row.note} for row in rows],
    }
    write(workshop=job.workshop, job=job, verb="try_devices", body=body, by=by, now=now)
    return rows


def _note(typed: Typed, device: str, how: str, note: str) -> str:
    typed.one_of(device, Device.values, sentence="Nothing of that kind is tried.", where="#found")
    typed.one_of(how, Found.values, sentence="Say whether it works.", where=f"#{device}")
    said = typed.line(note, name="The note", most=NOTE_MOST, where=f"#{device}_note")
    if how == Found.FAULTY and not said:
        name = Device(device).label if device in Device.values else "It"
        typed.missing(f"{name}: say what is wrong.", f"#{device}_note")
    return said


@dataclass(frozen=True)
class Tried:
    """One device, as it was before and after; None where it was not tried."""

    code: str
    name: str
    before: DeviceTry | None
    after: DeviceTry | None

    @property
    def got_worse(self) -> bool:
        return bool(
            self.before
            and self.after
            and self.before.found == Found.WORKS
            and self.after.found == Found.FAULTY
        )

    @property
    def waits(self) -> bool:
        """Tried when it came and there, but not yet before it goes."""
        return bool(self.before and self.before.found != Found.NONE and self.after is None)


def tried(job) -> list[Tried]:
    """Every device that was ever tried on this job, in the order of the list."""
    last: Mapping[tuple[str, str], DeviceTry] = {
        (row.device, row.when): row
        for row in DeviceTry.objects.filter(job=job).select_related("person").order_by("pk")
    }
    rows = [
        Tried(code, str(name), last.get((code, When.BEFORE)), last.get((code, When.AFTER)))
        for code, name in Device.choices
    ]
    return [row for row in rows if row.before or row.after]


def tried_text(rows: list[Tried]) -> str:
    """How things were when the car came, as the customer reads it."""
    there = [row for row in rows if row.before and row.before.found != Found.NONE]
    if not there:
        return ""
    works = [row.name.lower() for row in there if row.before.found == Found.WORKS]
    faulty = [f"{row.name.lower()} ({row.before.note})" for row in there if row.before.found == Found.FAULTY]
    said = [f"working: {', '.join(works)}"] if works else []
    said += [f"faulty: {', '.join(faulty)}"] if faulty else []
    return f"Tried on arrival, {'; '.join(said)}."
