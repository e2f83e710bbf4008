"""Who may do a verb, as the workshop's roles document says."""

from shop.documents import built_in
from shop.documents.models import Document
from shop.people.identity import By
from shop.reasons import Reason, Refused

STRENGTH = ("claimed", "signed_in", "proven")


def roles_of(workshop) -> dict:
    """The roles document in force; a workshop that never published one obeys the built-in."""
    document = Document.objects.in_force(workshop, Document.Kind.ROLES)
    return document.body if document else built_in.roles()


def must_be_allowed(by: By, verb: str, *, workshop, roles: dict | None = None) -> None:
    """Refused when this person, known this well, may not do this verb in this workshop."""
    if by.person.workshop_id != workshop.pk:
        raise Refused(Reason("other_workshop", "That belongs to another workshop."))
    if by.person.left_at:
        raise Refused(Reason("not_allowed", f"{by.person.name} does not work here any more."))
    rule = _rule(verb, roles or roles_of(workshop))
    if not by.person.has(*rule["roles"]):
        raise Refused(Reason("not_allowed", f"Only {_titles(rule['roles'], workshop)} may do this."))
    if STRENGTH.index(_strength(by)) < STRENGTH.index(rule["identity"]):
        how = "Give your PIN or password with it." if rule["identity"] == "proven" else "Sign in first."
        raise Refused(Reason("not_allowed", f"A name picked on a tablet is not enough for this. {how}"))


def may(person, verb: str, *, roles: dict) -> bool:
    """For pages: whether to offer an act at all."""
    return person.has(*_rule(verb, roles)["roles"])


def _rule(verb: str, roles: dict) -> dict:
    """A roles document may be older than the verb; then the built-in rule holds until a new version names it."""
    return roles["verbs"].get(verb) or built_in.roles()["verbs"][verb]


def _strength(by: By) -> str:
    return by.how if by.how in STRENGTH else "proven"


def _titles(names: list[str], workshop) -> str:
    titles = roles_of(workshop)["roles"]
    words = [f"the {titles[name]['title']['en'].lower()}" for name in names]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"
