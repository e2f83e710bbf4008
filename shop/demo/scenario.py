"""A believable small shop, made through the same verbs as the screens. Same seed and day, same facts."""

import random
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from shop import clock
from shop.demo import names
from shop.demo.floor import Crew
from shop.documents.models import Document
from shop.film import actions as film
from shop.intake import actions as intake
from shop.people import actions as people
from shop.people.identity import Proven, SignedIn
from shop.warranty import actions as warranty
from shop.warranty.paper import print_revision
from shop.work import actions, setout

FRONT = ["hood", "fender-left", "fender-right"]
PAINT = {
    "hood": (1180, 1210, 1190),
    "roof": (1130, 1150, 1140),
    "trunk-lid": (1160, 1150, 1170),
    "door-front-left": (1220, 1190, 1210),
}
OLDER = """Number,VIN,Plate,Model,Colour,Panels,Film,First day,Last day,Owner
S-014,1M8GDM9AXKP042788,QH 14,four-door sedan,white,"Hood, Roof",Dune matt,2024-04-02,2029-04-02,Rosa Field
S-015,5GZCZ43D13S812715,QH 15,hatchback,green,Left fender,Harbour slate,2024-06-11,2029-06-11,
"""
STROKES = [[[80, 500], [160, 180], [240, 620], [330, 240], [420, 560]], [[470, 520], [640, 500], [830, 470]]]


class Story:
    """One shop: its people and stock, a car that is handed over, and, in full size, cars still at work."""

    def __init__(self, *, seed: int, as_of: date, public_url: str = "", full: bool = False):
        self.chance = random.Random(f"bayproof {seed}")
        self.zone = ZoneInfo(names.SHOP["zone"])
        self.as_of, self.full = as_of, full
        self.public_url = public_url or names.SHOP["public_url"]
        self.jobs, self.revisions = [], []

    def at(self, days_ago: int, hour: int, minute: int = 0) -> datetime:
        day = self.as_of - timedelta(days=days_ago)
        moment = datetime(day.year, day.month, day.day, hour, minute, tzinfo=self.zone).astimezone(UTC)
        clock.set_to(moment)
        return moment

    def tell(self) -> "Story":
        self.open_shop()
        self.stock()
        if self.full:
            self.older_papers()
        self.finished_car()
        self.car_at_work()
        if self.full:
            self.cars_in_between()
            self.cars_to_come()
        clock.set_to(None)
        return self

    def open_shop(self) -> None:
        now = self.at(40, 9)
        (owner_name, _, pin, password), *others = names.PEOPLE
        self.owner = people.set_up(
            **names.SHOP | {"public_url": self.public_url},
            owner_name=owner_name,
            password=password,
            pin=pin,
            now=now,
        )
        self.workshop = self.owner.workshop
        by = SignedIn(self.owner)
        people.change_person(person=self.owner, name=owner_name, roles=names.PEOPLE[0][1], by=by, now=now)
        self.people = {owner_name: self.owner}
        for name, roles, pin, password in others:
            self.people[name] = people.add_person(
                workshop=self.workshop, name=name, roles=roles, pin=pin, password=password, by=by, now=now
            )
        self.tablets = [
            people.enrol_tablet(workshop=self.workshop, name=name, by=by, now=now)
            for name in ("Bay tablet", "Second tablet")
        ]
        self.ines, self.jonas, self.marek, self.dora = (
            self.people[name] for name in ("Ines Moreau", "Jonas Weber", "Marek Nowak", "Dora Kaya")
        )

    def stock(self) -> None:
        now = self.at(38, 10)
        by, today = SignedIn(self.owner), now.date()
        sheet = Document.objects.in_force(self.workshop, Document.Kind.FILM)
        name, colour, finish = self.chance.choice(names.FILMS)
        self.roll = film.receive_roll(
            workshop=self.workshop,
            name=name,
            colour=colour,
            finish=finish,
            sheet=sheet,
            lot=f"L-{self.chance.randint(2000, 2999)}",
            roll=f"R-{self.chance.randint(100, 999)}",
            width_mm=1520,
            length_mm=30_000,
            received_on=today,
            expires_on=today + timedelta(days=700),
            by=by,
            now=now,
        )
        self.lots = {
            kind: film.receive_lot(
                workshop=self.workshop,
                kind=kind,
                name=f"Harbour {kind}",
                lot=f"{kind[0].upper()}-{self.chance.randint(100, 999)}",
                received_on=today,
                expires_on=today + timedelta(days=365),
                by=by,
                now=now,
            )
            for kind in ("primer", "slip", "tack")
        }
        film.reserve_film(lot=self.roll.lot, length_mm=2000, by=by, now=now)
        film.keep_offcut(roll=self.roll, width_mm=620, length_mm=900, shelf="B 2", by=by, now=now)

    def mix(self, by: SignedIn, now: datetime) -> None:
        """Slip and tack for the day, each as its own bottle says."""
        for kind, ratio, meant in (("slip", "1:256", "plus"), ("tack", "1:10", "in")):
            film.make_mix(
                workshop=self.workshop,
                lot=self.lots[kind],
                total_ml10=50_000,
                ratio=ratio,
                meant=meant,
                by=by,
                now=now,
            )

    def take_in(self, now: datetime, promised: timedelta) -> object:
        job = intake.take_in(
            workshop=self.workshop,
            name=self.chance.choice(names.CUSTOMERS),
            phone=f"+34 600 {self.chance.randint(100, 999)} {self.chance.randint(100, 999)}",
            mail="customer@mail.example",
            vin=names.vin(self.chance),
            plate=names.plate(self.chance),
            model="four-door sedan",
            colour=self.chance.choice(names.COLOURS),
            odometer_km=self.chance.randint(9_000, 88_000),
            promised_at=now + promised,
            by=SignedIn(self.dora),
            now=now,
        )
        intake.mark_damage(
            job=job,
            panel="door-front-left",
            kind="scratch",
            x_mil=420,
            y_mil=610,
            note="10 mm, not through the clear coat",
            by=SignedIn(self.dora),
            now=now + timedelta(minutes=4),
        )
        self.look_over(job, now + timedelta(minutes=5))
        intake.agree_intake(
            job=job,
            strokes=STROKES,
            counter_strokes=STROKES,
            said=["edges", "registration", "sensors"],
            by=SignedIn(self.dora),
            now=now + timedelta(minutes=9),
        )
        self.jobs.append(job)
        return job

    def look_over(self, job, now: datetime) -> None:
        """Paint measured on four panels, and everything that shines, looks or sprays tried."""
        by = SignedIn(self.dora)
        for panel, readings in PAINT.items():
            intake.measure_paint(job=job, panel=panel, readings_um10=list(readings), by=by, now=now)
        self.try_devices(job, "before", now)

    def try_devices(self, job, when: str, now: datetime) -> None:
        names = ("headlamps", "rear_lamps", "indicators", "washers", "parking_sensors")
        by, found = SignedIn(self.dora), dict.fromkeys(names, "works")
        intake.try_devices(job=job, when=when, found=found, by=by, now=now)

    def older_papers(self) -> None:
        """What a shop brings along from before this program was here."""
        by, now = SignedIn(self.owner), self.at(37, 9)
        warranty.bring_in_papers(workshop=self.workshop, text=OLDER, by=by, now=now)

    def set_out(self, job, panels, now: datetime) -> None:
        setout.set_out_many(
            job=job,
            panels=panels,
            roll=self.roll,
            people=[self.ines.pk, self.jonas.pk],
            by=SignedIn(self.dora),
            now=now,
        )

    def crew(self, job, at: datetime) -> Crew:
        return Crew(
            job=job,
            tablet=self.tablets[0],
            installers=[self.ines, self.jonas],
            inspector=self.marek,
            lots=self.lots,
            at=at,
        )

    def finished_car(self) -> None:
        now = self.at(20, 9, 10)
        job = self.take_in(now, timedelta(days=3))
        panels = ["hood", self.chance.choice(["fender-left", "fender-right"])]
        self.set_out(job, panels, self.at(20, 10))
        crew = self.crew(job, self.at(20, 11))
        crew.prepare()
        crew.lay()
        crew.cure()
        now = crew.tick(90)
        self.try_devices(job, "after", now - timedelta(minutes=2))
        by = Proven(self.dora, "pin")
        local = now.astimezone(self.zone).date()
        actions.hand_over(
            job=job,
            on=local,
            strokes=STROKES,
            text="I have got my car back as described.",
            by=by,
            now=now,
            odometer_km=job.odometer_km + 2,
        )
        now = crew.tick(5)
        self.revisions.append(print_revision(warranty.issue(job=job, by=by, now=now)))

    def car_at_work(self) -> None:
        """A second car stands in the bay with its first stages done, so that there is something to tick."""
        job = self.take_in(self.at(1, 8, 40), timedelta(days=2))
        self.set_out(job, ["hood", "mirror-left"], self.at(1, 9, 30))
        self.mix(SignedIn(self.dora), self.at(1, 9, 45))
        crew = self.crew(job, self.at(1, 10))
        crew.do("wash")

    def cars_in_between(self) -> None:
        job = self.take_in(self.at(2, 8, 20), timedelta(days=2))
        self.set_out(job, FRONT, self.at(2, 9))
        crew = self.crew(job, self.at(2, 9, 30))
        crew.prepare()
        crew.lay()
        job = self.take_in(self.at(0, 8, 5), timedelta(days=3))
        intake.note_paint(
            job=job,
            panel="bumper-front",
            kind="fresh",
            note="told at the desk",
            by=SignedIn(self.dora),
            now=self.at(0, 8, 12),
        )
        self.set_out(job, ["bumper-front", "roof"], self.at(0, 8, 30))

    def cars_to_come(self) -> None:
        """Two calls at the desk, and the first recheck of the car that left."""
        now, by = self.at(0, 9), SignedIn(self.dora)
        calls = (
            ("Noor Haddad", "black van", "front and both doors", timedelta(hours=23, minutes=30)),
            ("Tomas Prieto", "white estate", "stripe over both sides", timedelta(days=2, hours=1)),
        )
        for name, car, what, ahead in calls:
            intake.expect_car(
                workshop=self.workshop, name=name, car=car, what=what, expected_at=now + ahead, by=by, now=now
            )
        intake.expect_car(
            workshop=self.workshop,
            vehicle=self.jobs[0].vehicle,
            what="recheck of the edges",
            expected_at=now + timedelta(days=1, hours=5),
            by=by,
            now=now,
        )
