"""Rows of people, made and judged: what the verbs about people have in common."""

from django.contrib.auth.models import User

from shop.people import pin as pins
from shop.people.models import Person, PersonRole, Role, Workshop
from shop.people.names import LONGEST, folded, tidy
from shop.reasons import Reason, Refused
from shop.record.actions import book_of


def here(person: Person) -> Person:
    """The person as they are now, in a workshop whose people nobody else changes meanwhile."""
    book_of(person.workshop)
    row = Person.objects.select_related("workshop", "user").get(pk=person.pk)
    if row.left_at:
        raise Refused(Reason("not_allowed", f"{row.name} does not work here any more."))
    return row


def is_last_owner(person: Person) -> bool:
    """Only an owner who can sign in counts: somebody has to be able to open the door again."""
    owners = Person.objects.here(person.workshop).filter(roles__role=Role.OWNER, user__is_active=True)
    return person.has(Role.OWNER) and not owners.exclude(pk=person.pk).exists()


def name_faults(workshop: Workshop, name: str, person: Person | None = None, where="#name") -> list[Reason]:
    name = tidy(name)
    if not name or len(name) > LONGEST:
        return [Reason("value_wrong", f"A person needs a name of up to {LONGEST} characters.", where=where)]
    others = Person.objects.here(workshop) if workshop.pk else Person.objects.none()
    if person:
        others = others.exclude(pk=person.pk)
    if folded(name) in {folded(other) for other in others.values_list("name", flat=True)}:
        return [Reason("name_taken", "Somebody here already has this name; add an initial.", where=where)]
    return []


def role_faults(roles: list[str]) -> list[Reason]:
    if not roles or set(roles) - set(Role.values):
        return [Reason("value_wrong", "Give at least one role, of those listed.", where="#roles")]
    return []


def new_person(workshop, name, roles, pin, password) -> Person:
    person = Person.objects.create(
        workshop=workshop, name=tidy(name), pin_hash=pins.hashed(pin) if pin else ""
    )
    give_roles(person, roles)
    if password:
        give_password(person, password)
    return person


def give_roles(person: Person, roles: list[str]) -> None:
    person.roles.exclude(role__in=roles).delete()
    had = set(person.roles.values_list("role", flat=True))
    PersonRole.objects.bulk_create(PersonRole(person=person, role=role) for role in sorted(set(roles) - had))
    getattr(person, "_prefetched_objects_cache", {}).pop("roles", None)


def give_password(person: Person, password: str) -> None:
    if not person.user:
        person.user = User(username=f"person-{person.pk}")
    person.user.set_password(password)
    person.user.save()
    person.save(update_fields=["user"])
