"""Acts told by a file, done one after the other through the verbs, each answered with what it made or why not."""

import logging
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError
from django.db import DataError, IntegrityError, transaction

from shop import clock
from shop.demo.given import Reader, find
from shop.demo.made import made
from shop.demo.script import Act, resolved
from shop.demo.spots import spelled_out
from shop.demo.verbs import VERBS, Arg, Verb
from shop.people.identity import By, Claimed, SignedIn
from shop.people.models import Person, Tablet
from shop.people.pin import prove
from shop.photos import actions as photos
from shop.reasons import Reason, Refused, Weight
from shop.warranty.models import Revision
from shop.warranty.paper import print_revision

log = logging.getLogger("shop")
FAULTS = (ValueError, TypeError, LookupError, AttributeError, ArithmeticError, ValidationError, DataError,
          IntegrityError)  # fmt: skip
HANDED_OVER = "I have got my car back as described."


@dataclass
class Rehearsal:
    """Runs acts in a practice folder. `made` keeps what each named line made."""

    folder: Path
    made: dict[str, dict[str, Any]] = field(default_factory=dict)

    def run(self, acts: Iterable[Act]) -> Iterator[dict[str, Any]]:
        """One answer an act: `{n, ok, reasons, ids, texts}`. A refusal is an answer, the next act goes on."""
        for act in acts:
            with clock.held_at(act.at):
                yield self._answer(act)

    def _answer(self, act: Act) -> dict[str, Any]:
        try:
            ids = made(self._do(act))
        except Refused as refused:
            return _refused(act, refused.reasons)
        except FAULTS:
            log.exception("line %s of the rehearsal failed", act.n)
            text = f"{act.verb} could not make sense of this line. Look at what its arguments are."
            return _refused(act, [Reason("entry_failed", text)])
        if act.called:
            self.made[act.called] = ids
        return {"n": act.n, "ok": True, "reasons": [], "ids": ids, "texts": []}

    def _do(self, act: Act) -> Any:
        verb, now = VERBS[act.verb], clock.now()
        if verb.identity() == "none":
            return verb.act(**self._args(verb, act, Reader(None, self.folder)), now=now)
        by = self._who(act, now)
        args = spelled_out(verb, self._args(verb, act, Reader(by.person.workshop, self.folder)))
        if "workshop" in verb.asks():
            args["workshop"] = by.person.workshop
        with transaction.atomic():
            args = {name: _shelved(value, by, now, args.get("job")) for name, value in args.items()}
            done = verb.act(**args, by=by, now=now)
        # Printing takes a second and may fail; the page prints after the commit as well.
        return print_revision(done) if isinstance(done, Revision) and not done.withdrawn_at else done

    def _who(self, act: Act, now) -> By:
        """Proven by a right PIN, else a name picked on a tablet, else somebody signed in at the desk."""
        person = self._person(self._known(act, act.by))
        tablet = self._tablet(self._known(act, act.tablet), person)
        pin = self._known(act, act.pin)
        if pin not in (None, ""):
            return prove(person, str(pin), now=now, tablet=tablet)
        return Claimed(person, tablet) if tablet else SignedIn(person)

    def _person(self, given: Any) -> Person:
        people = Person.objects.with_roles().select_related("workshop")
        named = people.filter(name=given) if isinstance(given, str) else people.none()
        person = named.first()
        if person is None and str(given).isdecimal() and len(str(given)) < 19:
            person = people.filter(pk=int(given)).first()
        if person is None:
            raise Refused(Reason("not_allowed", f"Nobody here is number {str(given)[:40]}."))
        if person.left_at:
            raise Refused(Reason("not_allowed", f"{person.name} does not work here any more."))
        return person

    def _tablet(self, given: Any, person: Person) -> Tablet | None:
        if given in (None, ""):
            return None
        tablet = find("tablet", given, person.workshop)
        if tablet.revoked_at:
            text = "This tablet must be enrolled again. Nothing on it is lost."
            raise Refused(Reason("tablet_revoked", text))
        return tablet

    def _args(self, verb: Verb, act: Act, reader: Reader) -> dict[str, Any]:
        given = self._known(act, act.args)
        found: dict[str, Any] = {}
        reasons: list[Reason] = []
        for arg in verb.args():
            try:
                if arg.name in given:
                    found[arg.name] = reader.read(arg, given[arg.name])
                elif arg.required or arg.name in verb.may_be_empty():
                    found[arg.name] = _left_out(verb, arg, reader)
            except Refused as refused:
                reasons += refused.reasons
        if reasons:
            raise Refused(reasons)
        return found

    def _known(self, act: Act, value: Any) -> Any:
        try:
            return resolved(value, self.made)
        except KeyError:
            text = f"Line {act.n} names something that an earlier line did not make."
            raise Refused(Reason("field_missing", text)) from None


def _left_out(verb: Verb, arg: Arg, reader: Reader) -> Any:
    """What stands for an argument nobody gave. The verb itself says what is wrong with an empty text or list."""
    today = clock.now().astimezone(ZoneInfo(reader.workshop.zone)).date() if reader.workshop else None
    usual = {("hand_over", "on"): today, ("hand_over", "text"): HANDED_OVER}
    if arg.name in ("received_on", "opened_on"):
        return today
    if (verb.name, arg.name) in usual:
        return usual[verb.name, arg.name]
    if arg.type in ("list", "strokes"):
        return []
    if arg.type == "str":
        return ""
    raise Refused(Reason("field_missing", f"{verb.name} needs {arg.name}.", where=f"#{arg.name}"))


def _shelved(value: Any, by: By, now, job) -> Any:
    """Photos looked at before are kept now, inside the act: a refused act leaves none behind."""
    if isinstance(value, list):
        return [_shelved(one, by, now, job) for one in value]
    if not isinstance(value, photos.Examined):
        return value
    return photos.shelve(value, workshop=by.person.workshop, by=by, now=now, job=job)


def _refused(act: Act, reasons: list[Reason]) -> dict[str, Any]:
    stops = [reason for reason in reasons if reason.weight is not Weight.NOTE]
    return {
        "n": act.n,
        "ok": False,
        "reasons": list(dict.fromkeys(reason.code for reason in stops)),
        "ids": {},
        "texts": [reason.text for reason in stops],
    }
