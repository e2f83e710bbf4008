"""How sure we are of who acts. The type says it, the book stores it."""

from dataclasses import dataclass

from shop.people.models import Person, Tablet
from shop.reasons import Reason, Refused


@dataclass(frozen=True)
class Claimed:
    """A name picked on a tablet: enough for ticks, readings, photos."""

    person: Person
    tablet: Tablet | None = None
    how = "claimed"


@dataclass(frozen=True)
class SignedIn:
    """A desk session: enough for intake, set-out, stock."""

    person: Person
    tablet: Tablet | None = None
    how = "signed_in"


@dataclass(frozen=True)
class Proven:
    """PIN or password in this very request: needed for whatever somebody answers for."""

    person: Person
    how: str
    tablet: Tablet | None = None


By = Claimed | SignedIn | Proven


def must_be_proven(by: By) -> None:
    if not isinstance(by, Proven):
        raise Refused(Reason("not_allowed", "This act needs your PIN or password with it."))


def must_be_known(by: By) -> None:
    """Desk acts: a session or a PIN, never just a name picked on a tablet."""
    if isinstance(by, Claimed):
        raise Refused(Reason("not_allowed", "Sign in at the desk, or give your PIN, to do this."))


def must_be_of(by: By, workshop) -> None:
    """Whoever acts works in this very workshop, and still does."""
    if by.person.workshop_id != workshop.pk:
        raise Refused(Reason("other_workshop", "That belongs to another workshop."))
    if by.person.left_at:
        raise Refused(Reason("not_allowed", f"{by.person.name} does not work here any more."))
