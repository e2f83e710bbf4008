"""The workshop, its people and its tablets: every change is one of these, and one entry in the workshop's book.

Where a name must be free, the book is locked first: two who add the same name at once come one after the other.
"""

from typing import Any

from django.db import connection, transaction

from shop.documents.actions import adopt_built_ins
from shop.documents.rights import must_be_allowed
from shop.people import letterhead, passwords, tablets
from shop.people import pin as pins
from shop.people.identity import By, Proven, must_be_proven
from shop.people.models import Person, Role, Tablet, Workshop
from shop.people.names import tidy
from shop.people.roster import (
    give_password,
    give_roles,
    here,
    is_last_owner,
    name_faults,
    new_person,
    role_faults,
)
from shop.reasons import Reason, Refused
from shop.record.actions import book_of, keep_private, open_book, told, write

PERSONAL = ("address", "phone", "mail")


@transaction.atomic
def set_up(
    *,
    name: str,
    address: str,
    zone: str,
    country: str,
    public_url: str,
    owner_name: str,
    password: str,
    pin: str,
    now,
    phone: str = "",
    mail: str = "",
    language: str = "en",
    unit_system: str = Workshop.Units.METRIC,
    self_release: bool = False,
) -> Person:
    """The first start: workshop, book, owner with password and PIN, and the built-in documents. Once only."""
    _alone()
    if Workshop.objects.exists():
        raise Refused(Reason("already_set_up", "This shop was already set up. Sign in instead."))
    values = _tidied(
        {
            "name": name, "address": address, "phone": phone, "mail": mail, "zone": zone, "country": country,
            "language": language, "unit_system": unit_system, "public_url": public_url,
            "self_release": self_release,
        }
    )  # fmt: skip
    workshop = Workshop(**values)
    _refuse(
        letterhead.problems(values)
        + name_faults(workshop, owner_name, where="#owner_name")
        + passwords.problems(password)
        + pins.problems(pin, workshop.pin_length)
    )
    workshop.save()
    open_book(workshop)
    owner = new_person(workshop, owner_name, [Role.OWNER], pin, password)
    body = _said(workshop, values) | {"owner": _told_of(owner)}
    write(workshop=workshop, verb="set_up", body=body, by=None, now=now)
    adopt_built_ins(workshop=workshop, by=Proven(owner, "password"), now=now)
    return owner


@transaction.atomic
def change_settings(
    *,
    workshop: Workshop,
    by: By,
    now,
    name: str | None = None,
    address: str | None = None,
    phone: str | None = None,
    mail: str | None = None,
    zone: str | None = None,
    country: str | None = None,
    language: str | None = None,
    unit_system: str | None = None,
    public_url: str | None = None,
    self_release: bool | None = None,
    pin_length: int | None = None,
) -> Workshop:
    """Change what is given; what is left out stays. The book holds only what changed."""
    must_be_allowed(by, "change_settings", workshop=workshop)
    given = {
        "name": name, "address": address, "phone": phone, "mail": mail, "zone": zone, "country": country,
        "language": language, "unit_system": unit_system, "public_url": public_url,
        "self_release": self_release, "pin_length": pin_length,
    }  # fmt: skip
    values = _tidied({field: value for field, value in given.items() if value is not None})
    _refuse(letterhead.problems(values))
    row = Workshop.objects.select_for_update(no_key=True).get(pk=workshop.pk)
    changed = {field: value for field, value in values.items() if getattr(row, field) != value}
    if changed:
        for field, value in changed.items():
            setattr(row, field, value)
        row.save(update_fields=list(changed))
        write(workshop=row, verb="change_settings", body=_said(row, changed), by=by, now=now)
    return row


@transaction.atomic
def add_person(
    *,
    workshop: Workshop,
    name: str,
    roles: list[str],
    by: By,
    now,
    pin: str | None = None,
    password: str | None = None,
) -> Person:
    """A new colleague. Without a PIN nothing can be signed, without a password there is no desk."""
    must_be_allowed(by, "add_person", workshop=workshop)
    book_of(workshop)
    _refuse(
        name_faults(workshop, name)
        + role_faults(roles)
        + (pins.problems(pin, workshop.pin_length) if pin else [])
        + (passwords.problems(password) if password else [])
    )
    person = new_person(workshop, name, roles, pin, password)
    body = {
        "person": _told_of(person),
        "roles": sorted(set(roles)),
        "pin": bool(pin),
        "password": bool(password),
    }
    write(workshop=workshop, verb="add_person", body=body, by=by, now=now)
    return person


@transaction.atomic
def change_person(*, person: Person, name: str, roles: list[str], by: By, now) -> Person:
    """Another name or other roles. What was signed keeps the name it was signed with."""
    must_be_allowed(by, "change_person", workshop=person.workshop)
    person = here(person)
    reasons = name_faults(person.workshop, name, person) + role_faults(roles)
    if Role.OWNER not in roles and is_last_owner(person):
        reasons.append(
            Reason("last_owner", f"{person.name} is the only owner: make somebody else one first.")
        )
    _refuse(reasons)
    renamed = tidy(name) != person.name
    if not renamed and set(roles) == person.role_set:
        return person
    passwords.forget_tries(person)
    person.name = tidy(name)
    person.save(update_fields=["name"])
    give_roles(person, roles)
    body = {"person": person.pk, "roles": sorted(set(roles))}
    if renamed:
        body["name"] = told(keep_private(person.workshop, person.name))
    write(workshop=person.workshop, verb="change_person", body=body, by=by, now=now)
    return person


@transaction.atomic
def set_pin(*, person: Person, pin: str, by: By, now) -> None:
    """A new PIN, and an end to any lock: the owner's reset, or a person's own, proven in the same request."""
    _own_or_owner(person, by)
    person = here(person)
    _refuse(pins.problems(pin, person.workshop.pin_length))
    Person.objects.filter(pk=person.pk).update(pin_hash=pins.hashed(pin), misses=0, locked_until=None)
    write(workshop=person.workshop, verb="set_pin", body={"person": person.pk}, by=by, now=now)


@transaction.atomic
def set_password(*, person: Person, password: str, by: By, now) -> None:
    """A new password; every session of that person ends. The owner's reset, or a person's own, proven."""
    _own_or_owner(person, by)
    person = here(person)
    _refuse(passwords.problems(password))
    give_password(person, password)
    passwords.forget_tries(person)
    write(workshop=person.workshop, verb="set_password", body={"person": person.pk}, by=by, now=now)


@transaction.atomic
def leave(*, person: Person, by: By, now) -> Person:
    """Somebody goes: no PIN, no password, every session ends; what they signed stays theirs."""
    must_be_allowed(by, "change_person", workshop=person.workshop)
    person = here(person)
    if is_last_owner(person):
        raise Refused(Reason("last_owner", f"{person.name} is the only owner: make somebody else one first."))
    person.left_at, person.pin_hash = now, ""
    person.save(update_fields=["left_at", "pin_hash"])
    if person.user:
        person.user.is_active = False
        person.user.set_unusable_password()
        person.user.save(update_fields=["is_active", "password"])
    write(workshop=person.workshop, verb="leave", body={"person": person.pk}, by=by, now=now)
    return person


@transaction.atomic
def enrol_tablet(*, workshop: Workshop, name: str, by: By, now) -> Tablet:
    """A place for a tablet; `tablets.link_token` makes the link that puts the cookie on it."""
    must_be_allowed(by, "enrol_tablet", workshop=workshop)
    book_of(workshop)
    name = tidy(name)
    if not name or len(name) > 60:
        raise Refused(Reason("value_wrong", "Give the tablet a name of up to 60 characters.", where="#name"))
    if Tablet.objects.enrolled(workshop).filter(name__iexact=name).exists():
        raise Refused(Reason("name_taken", f"Another tablet is called {name}.", where="#name"))
    tablet = Tablet.objects.create(workshop=workshop, name=name)
    tablet.secret_hash = tablets.secret_hash(tablets.secret_of(tablet))
    tablet.save(update_fields=["secret_hash"])
    write(workshop=workshop, verb="enrol_tablet", body={"tablet": tablet.pk, "name": name}, by=by, now=now)
    return tablet


@transaction.atomic
def revoke_tablet(*, tablet: Tablet, by: By, now) -> Tablet:
    """Its cookie is worth nothing from the next request on. Revoking twice is revoking once."""
    must_be_allowed(by, "revoke_tablet", workshop=tablet.workshop)
    tablet = (
        Tablet.objects.select_for_update(of=("self",), no_key=True)
        .select_related("workshop")
        .get(pk=tablet.pk)
    )
    if not tablet.revoked_at:
        tablet.revoked_at = now
        tablet.save(update_fields=["revoked_at"])
        body = {"tablet": tablet.pk, "unsent": tablet.unsent}
        write(workshop=tablet.workshop, verb="revoke_tablet", body=body, by=by, now=now)
    return tablet


def _refuse(reasons: list[Reason]) -> None:
    if reasons:
        raise Refused(reasons)


def _alone() -> None:
    """Two first starts at once: the second waits. SQLite's transactions already do."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("LOCK TABLE shop_workshop IN SHARE ROW EXCLUSIVE MODE")


def _tidied(values: dict[str, Any]) -> dict[str, Any]:
    rules = {"name": tidy, "address": str.strip, "phone": tidy, "mail": str.strip}
    rules["public_url"] = letterhead.tidy_url
    return {field: rules.get(field, lambda same: same)(value) for field, value in values.items()}


def _said(workshop: Workshop, values: dict[str, Any]) -> dict[str, Any]:
    """Values for the book: those about a person stay outside it."""
    return {
        field: (told(keep_private(workshop, value)) if value else None) if field in PERSONAL else value
        for field, value in values.items()
    }


def _told_of(person: Person) -> dict[str, Any]:
    return {"id": person.pk, "name": told(keep_private(person.workshop, person.name))}


def _own_or_owner(person: Person, by: By) -> None:
    if by.person.pk == person.pk:
        must_be_proven(by)
    else:
        must_be_allowed(by, "change_person", workshop=person.workshop)
