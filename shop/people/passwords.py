"""Passwords: what is wrong with a new one, and proving one, with tries counted by name and over all names."""

from datetime import timedelta
from hashlib import sha256

from django.contrib.auth.hashers import check_password, make_password
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from shop.people import throttle
from shop.people.identity import Proven
from shop.people.models import Person
from shop.people.names import folded
from shop.reasons import Reason, Refused

NAME_TRIES, NAME_WINDOW = 5, timedelta(minutes=15)
# Over all names: a brake on the machine's load, short so that it is no way to shut a shop out.
ALL_TRIES, ALL_WINDOW = 60, timedelta(minutes=1)
LONGEST = 200
SAME_FOR_BOTH = "That name and password do not belong together."
_SENTENCES = {
    "password_too_short": "A password has at least eight characters.",
    "password_too_common": "That password is on the list everybody tries first; take another.",
    "password_entirely_numeric": "A password needs more than digits.",
}


def problems(password: str) -> list[Reason]:
    """What is wrong with a new password, as sentences."""
    if len(password) > LONGEST:
        return [Reason("password_weak", f"A password has at most {LONGEST} characters.", where="#password")]
    try:
        validate_password(password)
    except ValidationError as fault:
        texts = [_SENTENCES.get(part.code, part.messages[0]) for part in fault.error_list]
        return [Reason("password_weak", text, where="#password") for text in texts]
    return []


def sign_in(name: str, password: str, *, now) -> Person:
    """The one person of this name and password. Refused otherwise, in one sentence for whatever was wrong."""
    _count(name, now)
    people = [
        person
        for person in Person.objects.filter(left_at=None, user__is_active=True).select_related(
            "user", "workshop"
        )
        if folded(person.name) == folded(name)
    ]
    if not people:
        # An unknown name takes as long as a wrong password, or the clock would tell them apart.
        make_password(password[:LONGEST])
    right = [person for person in people if _is_theirs(person, password)]
    if len(right) != 1:
        raise Refused(Reason("password_wrong", SAME_FOR_BOTH))
    _give_back(name, now)
    return right[0]


def prove_password(person: Person, password: str, *, now) -> Proven:
    """The person, proven by password in this request; shares its tries with signing in.

    Call it before the act's own transaction: inside, a refusal would roll the count back with everything else.
    """
    _count(person.name, now)
    if person.left_at or not person.user_id or not _is_theirs(person, password):
        raise Refused(Reason("password_wrong", "That is not your password.", where="#old_password"))
    _give_back(person.name, now)
    return Proven(person, "password")


def forget_tries(person: Person) -> None:
    throttle.forget("sign_in", _key(person.name))


def _is_theirs(person: Person, password: str) -> bool:
    user = person.user
    return user.is_active and len(password) <= LONGEST and check_password(password, user.password)


def _key(name: str) -> str:
    """A digest: people type passwords where the name belongs, and those are not to be kept."""
    return sha256(folded(name[:LONGEST]).encode()).hexdigest()


def _count(name: str, now) -> None:
    if throttle.count("sign_in_all", "", now=now, length=ALL_WINDOW) > ALL_TRIES:
        raise Refused(Reason("password_locked", "Very many are signing in just now. Try again in a minute."))
    if throttle.count("sign_in", _key(name), now=now, length=NAME_WINDOW) > NAME_TRIES:
        left = throttle.window_start(now, NAME_WINDOW) + NAME_WINDOW - now
        minutes = -(-int(left.total_seconds()) // 60)
        raise Refused(
            Reason("password_locked", f"Too many tries with this name. Wait {minutes} min, then try again.")
        )


def _give_back(name: str, now) -> None:
    throttle.give_back("sign_in_all", "", now=now, length=ALL_WINDOW)
    throttle.give_back("sign_in", _key(name), now=now, length=NAME_WINDOW)
