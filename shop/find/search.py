"""One field over everything a caller can say: a number of the car or the paper, a plate, a name, a phone, a lot.

Numbers match whole keys or begin them, so a car answers while it is typed; the words of a name have to be met all
at once, the last of them perhaps unfinished. Newest first, and never a query per car.
"""

from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Exists, OuterRef, Prefetch, Q

from shop.film.models import Lot
from shop.intake import keys
from shop.intake.models import Job, SearchKey, Vehicle
from shop.warranty.models import Certificate
from shop.work.models.fitting import Fitting

MOST = 30
# Two signs begin thousands of keys: more than this many of the newest cars' nobody reads.
MOST_BEGUN = 400
LEAST_SIGNS = 2
SAID = {
    keys.VIN: "VIN",
    keys.CHASSIS: "chassis number",
    keys.LAST_SIX: "last six",
    keys.PLATE: "plate",
    keys.NAME: "name",
    keys.PHONE: "phone",
    keys.PHONE_TAIL: "end of the phone number",
    keys.CERTIFICATE: "certificate",
    keys.LOT: "lot",
}


@dataclass(frozen=True)
class Hit:
    """One car, what of it was met, and its jobs, newest first."""

    vehicle: Vehicle
    met: str
    jobs: list[Job]
    old_papers: list[Certificate]

    @property
    def latest(self) -> Job | None:
        return self.jobs[0] if self.jobs else None


@dataclass(frozen=True)
class Found:
    hits: list[Hit]
    more: bool = False
    too_short: bool = False


def search(workshop, text: str) -> Found:
    """Cars of this workshop that fit what was typed, those seen last on top."""
    if len(keys.squeezed(text)) < LEAST_SIGNS:
        return Found([], too_short=bool(text.strip()))
    asked = keys.query_keys(text, workshop.country)
    met = _met(workshop, asked)
    begun = list(_begun(workshop, keys.begun_keys(text, workshop.country)))
    for kind, car in begun:
        met[car].add(kind)
    cars = Vehicle.objects.filter(pk__in=met).select_related("plate").prefetch_related(_jobs(), _old_papers())
    hits = [Hit(car, _said(met[car.pk]), list(car.jobs.all()), list(car.certificates.all())) for car in cars]
    hits.sort(
        key=lambda hit: (hit.latest.arrived_at.timestamp() if hit.latest else 0, hit.vehicle.pk), reverse=True
    )
    return Found(hits[:MOST], more=len(hits) > MOST or len(begun) == MOST_BEGUN)


def _met(workshop, asked: list[keys.Key]) -> dict[int, set[str]]:
    """Kinds met by car."""
    names = [key for kind, key in asked if kind == keys.NAME]
    met: dict[int, set[str]] = defaultdict(set)
    by_word: dict[int, set[str]] = defaultdict(set)
    for kind, key, car in _kept(workshop, asked):
        if kind == keys.NAME:
            by_word[car].add(key)
        else:
            met[car].add(kind)
    for car, words in by_word.items():
        if len(words) == len(names):
            met[car].add(keys.NAME)
    for car in _of_lots(workshop, tuple(key for kind, key in asked if kind == keys.LOT)):
        met[car].add(keys.LOT)
    return met


def _kept(workshop, asked: list[keys.Key]):
    by_kind: dict[str, list[str]] = defaultdict(list)
    for kind, key in asked:
        by_kind[kind].append(key)
    wanted = Q()
    for kind, found in by_kind.items():
        wanted |= Q(kind=kind, key__in=found)
    rows = SearchKey.objects.filter(wanted, workshop=workshop)
    return rows.values_list("kind", "key", "vehicle_id")


def _begun(workshop, asked: list[keys.Key]):
    """Kind and car of the keys that begin as typed, of the newest cars."""
    numbers = [(kind, key) for kind, key in asked if kind not in (keys.NAME, keys.LOT)]
    words = [key for kind, key in asked if kind == keys.NAME]
    wanted = Q()
    for kind, key in numbers:
        wanted |= Q(kind=kind) & _begins(key)
    if words:
        name = Q(kind=keys.NAME) & _begins(words[-1])
        for word in words[:-1]:
            name &= Q(Exists(SearchKey.objects.filter(vehicle=OuterRef("vehicle"), kind=keys.NAME, key=word)))
        wanted |= name
    if not wanted:
        return []
    rows = SearchKey.objects.filter(wanted, workshop=workshop).order_by("-vehicle_id")
    return rows.values_list("kind", "vehicle_id")[:MOST_BEGUN]


def _begins(key: str) -> Q:
    """The bounds let the database look into its index; what begins so is for the last test to say."""
    end = keys.after(key)
    within = Q(key__gte=key, key__lt=end) if end else Q(key__gte=key)
    return within & Q(key__startswith=key)


def _of_lots(workshop, asked: tuple[str, ...]) -> list[int]:
    """Cars that carry film of a lot. A shelf has hundreds of lots, so they are compared here, in one plain form."""
    if not asked:
        return []
    codes = Lot.objects.filter(material__workshop=workshop, material__kind="film").values_list("pk", "code")
    lots = [pk for pk, code in codes if keys.squeezed(code).startswith(asked)]
    if not lots:
        return []
    fitted = Fitting.objects.filter(roll__lot__in=lots, job__workshop=workshop)
    return list(fitted.values_list("job__vehicle_id", flat=True).distinct())


def _jobs() -> Prefetch:
    rows = Job.objects.select_related("hand_over", "certificate", "customer__name").order_by(
        "-arrived_at", "-pk"
    )
    return Prefetch("jobs", queryset=rows)


def _old_papers() -> Prefetch:
    """Papers brought in belong to no job."""
    return Prefetch("certificates", queryset=Certificate.objects.filter(imported=True).order_by("-pk"))


def _said(kinds: set[str]) -> str:
    return ", ".join(said for kind, said in SAID.items() if kind in kinds)
