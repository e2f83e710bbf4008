"""A car under cover: filmed, released, handed over, certified; and the same years later.

Ana Berg owns it. The certificate is issued on the day of hand-over, 3 March 2026.
"""

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from shop import models
from shop.documents.digest import digest
from shop.people.identity import Proven, SignedIn
from shop.warranty import actions
from shop.work.again import film_again
from tests import make
from tests.make_finished import HAND_OVER_DAY, HANDED_OVER, Finished, finished_job, hand_over

FIRST_DAY = HAND_OVER_DAY
WORK_LAST = date(2027, 3, 3)
FILM_LAST = date(2031, 3, 3)
TOUCH_UP_LAST = date(2026, 4, 2)
ZONE = ZoneInfo("Europe/Madrid")


class Covered:
    """The car and its certificate, with short words for what happens to it later."""

    def __init__(self, *, shop=None, panels=(("hood", 1), ("fender-left", 1)), with_photos=False, **terms):
        self.done: Finished = finished_job(shop, panels=panels, with_photos=with_photos)
        self.shop, self.job, self.car = self.done.shop, self.done.job, self.done.job.vehicle
        self.dora, self.petra, self.ines, self.marek = (
            self.done.dora,
            self.done.petra,
            self.done.ines,
            self.done.marek,
        )
        if terms:
            self.set_terms(**terms)
        models.Ownership.objects.create(vehicle=self.car, customer=self.job.customer, since=FIRST_DAY)
        self.revision = actions.issue(job=self.job, by=Proven(self.dora, "pin"), now=HANDED_OVER)
        self.certificate = self.revision.certificate

    @property
    def desk(self) -> SignedIn:
        return SignedIn(self.dora)

    def set_terms(self, **sections) -> None:
        """The terms in force with other rules: `set_terms(transfer={"rule": "once", "notice_days": 30})`."""
        row = models.Document.objects.in_force(self.shop, "terms")
        for name, rules in sections.items():
            row.body[name] = row.body[name] | rules if isinstance(rules, dict) else rules
        row.digest = digest(row.body)
        row.save()

    def film(self, place: str = "hood.1") -> models.Fitting:
        code, _, piece = place.partition(".")
        return models.Fitting.objects.for_work().get(
            panel__vehicle=self.car, panel__code=code, piece=int(piece), ended_at__isnull=True
        )

    def again(self, on: date, place: str = "hood.1", *, number: str = "28-0001") -> models.Fitting:
        """The piece filmed again in a job of its own that was handed over on this day."""
        job = make.job(
            self.shop,
            car=self.car,
            number=number,
            customer=self.job.customer,
            plan=self.job.plan,
            body=self.job.body,
            arrived_at=noon(on) - timedelta(days=3),
        )
        film = film_again(
            job=job, panel=place, from_stage="wash", by=self.desk, now=noon(on) - timedelta(days=3)
        )
        hand_over(replace(self.done, job=job), on=on, at=noon(on))
        return film

    def stranger(self) -> SignedIn:
        return SignedIn(make.person(make.workshop(name="Elsewhere"), "Otto", "owner", "desk"))


def with_passwords(**rest) -> Covered:
    """The same, with people who can sign in: Dora at the desk, Petra the owner, Ines and Marek on the floor."""
    shop = make.workshop()
    for name, role in (
        ("Dora Lind", "desk"),
        ("Petra Quay", "owner"),
        ("Ines Vidal", "installer"),
        ("Marek Dudek", "inspector"),
    ):
        make.person(shop, name, role, password="harbour lights 7")
    return Covered(shop=shop, **rest)


def noon(day: date) -> datetime:
    return datetime.combine(day, time(12), tzinfo=ZONE)


def days(count: int) -> timedelta:
    return timedelta(days=count)
