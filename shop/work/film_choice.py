"""Which roll a piece may be cut from, and whether one car stays with one lot."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from typing import Any

from shop.documents.models import Document
from shop.film.models import Material, Roll
from shop.film.shelf import length
from shop.people.models import Person, Role
from shop.reasons import Reason, Weight


def find_roll(workshop, given: Any) -> Roll | None:
    """The roll itself, by row or id; None when this workshop has none of that id."""
    pk = getattr(given, "pk", given)
    if type(pk) is not int:
        return None
    return Roll.objects.on_the_shelf(workshop).filter(pk=pk, lot__material__kind=Material.Kind.FILM).first()


def roll_reasons(roll: Roll, name: str, today: date) -> list[Reason]:
    reasons = []
    lot = roll.lot
    expires = min(filter(None, (roll.expires_on, lot.expires_on)))
    if expires < today:
        text = f"{name}: roll {roll.code} expired on {expires.day} {expires:%B %Y}; take another."
        reasons.append(Reason("roll_expired", text))
    if lot.quarantined_at:
        text = f"{name}: lot {lot.code} is in quarantine; take a roll of another lot."
        reasons.append(Reason("lot_quarantined", text))
    return reasons


def mixed_lots(rolls: Iterable[Roll]) -> list[Reason]:
    """Colour varies from lot to lot, so one film on one car comes from one lot; the owner may let it pass."""
    lots = defaultdict(dict)
    for roll in rolls:
        lots[roll.lot.material][roll.lot_id] = roll.lot.code
    return [
        Reason(
            "lots_mixed",
            f"{film} would come from {len(codes)} lots on one car: {', '.join(sorted(codes.values()))}. "
            "Shade varies from lot to lot. Take one lot, or let the owner allow it with a reason.",
            Weight.WAIVABLE,
            "#mixed_why",
        )
        for film, codes in lots.items()
        if len(codes) > 1
    ]


def mixed_direction(pieces: Iterable[tuple[Material, bool]]) -> list[Reason]:
    """Directional film runs one way on the whole car; the owner may let a turned piece pass."""
    ways = defaultdict(set)
    for material, turned in pieces:
        if material.directional:
            ways[material].add(turned)
    return [
        Reason(
            "direction_mixed",
            f"{film} runs one way, and on this car it would run both ways. Light shows it from across the yard. "
            "Lay every piece the same way, or let the owner allow it with a reason.",
            Weight.WAIVABLE,
            "#turned",
        )
        for film, found in ways.items()
        if len(found) > 1
    ]


def said_mm(mm: int, job) -> str:
    """A length of film as it is said in this shop."""
    return length(mm, job.workshop.unit_system)


def find_sheet(workshop, given: Any) -> Document | None:
    pk = getattr(given, "pk", given)
    if type(pk) is not int:
        return None
    return Document.objects.filter(
        workshop=workshop, kind=Document.Kind.FILM, pk=pk, published_at__isnull=False
    ).first()


def default_sheet(workshop) -> Document | None:
    return Document.objects.in_force(workshop, Document.Kind.FILM, "defaults") or Document.objects.in_force(
        workshop, Document.Kind.FILM
    )


def unknown_people(workshop, ids: Iterable[Any]) -> list[str]:
    """Sentences for everybody named who cannot fit film here."""
    wanted = {pk for pk in ids if type(pk) is int}
    sentences = ["Name the people by their ids."] if any(type(pk) is not int for pk in ids) else []
    here = {
        person.pk: person for person in Person.objects.filter(workshop=workshop, pk__in=wanted).with_roles()
    }
    if wanted - set(here):
        sentences.append("Somebody named does not work here.")
    for person in here.values():
        if person.left_at:
            sentences.append(f"{person.name} does not work here any more.")
        elif not person.has(Role.INSTALLER):
            sentences.append(f"{person.name} is not an installer.")
    return sentences
