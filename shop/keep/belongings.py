"""Everything kept that is about one customer, found once for looking, giving out and erasing.

What belongs to a car goes with it only when nobody else, before or since, is known as its owner.
"""

import json
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from functools import reduce
from operator import or_
from typing import Any

from django.db.models import Q

from shop.claims.models import Claim, Decision
from shop.intake.models import Consent, Customer, Job, Ownership, Vehicle
from shop.keep.names import references
from shop.photos.models import Photo
from shop.record.models import Entry, Private
from shop.warranty.models import Certificate, CoverLine, Revision
from shop.warranty.sendings import Sending

VALUES = ("name", "phone", "mail", "address")
OF_A_PERSON = (Photo.Klass.PLATE, Photo.Klass.DOCUMENT, Photo.Klass.SIGNATURE)
# How a photo is tied to a job, by every table that ties one.
TO_A_JOB = (
    "marks__mark__job",
    "proves__checklist__fitting__job",
    "defects__defect__fitting__job",
    "findings__finding__fitting__job",
    "uploads__job",
)
NAMING = ("take_in", "expect_car", "change_customer", "transfer_cover", "bring_in_papers")
CARS = ("take_in", "change_vehicle", "bring_in_papers")


@dataclass(frozen=True)
class Belongings:
    """`cars` are those nobody else is known to have owned; `others` those shared with another owner."""

    customer: Customer
    jobs: list[Job]
    cars: list[Vehicle]
    others: list[Vehicle]
    claims: list[Claim]
    values: set[int] = field(default_factory=set)
    photos: list[Photo] = field(default_factory=list)
    papers: set[str] = field(default_factory=set)
    letters: set[str] = field(default_factory=set)

    def standing_values(self) -> list[Private]:
        return list(Private.objects.filter(pk__in=self.values, erased_at__isnull=True).order_by("pk"))

    def covered_until(self) -> date | None:
        """The last day of any cover promised to this customer and not withdrawn."""
        papers = certificates_of(self.jobs, self.cars)
        lines = CoverLine.objects.filter(
            revision__certificate__in=papers, revision__withdrawn_at__isnull=True
        )
        return lines.order_by("-last_day").values_list("last_day", flat=True).first()


def belongings_of(customer: Customer) -> Belongings:
    jobs = list(Job.objects.for_page().filter(customer=customer).order_by("pk"))
    cars, others = _cars(customer, jobs)
    claims = _claims(customer, cars)
    found = Belongings(customer, jobs, cars, others, claims)
    found.values.update(_values(customer, jobs, cars, claims) - _values_of_others(customer, claims))
    found.photos.extend(_photos(customer, jobs, claims))
    found.papers.update(_papers(jobs))
    found.letters.update(_letters(claims))
    return found


def _cars(customer: Customer, jobs: list[Job]) -> tuple[list[Vehicle], list[Vehicle]]:
    mine = {job.vehicle_id for job in jobs}
    mine |= set(Ownership.objects.filter(customer=customer).values_list("vehicle_id", flat=True))
    shared = set(
        Ownership.objects.filter(vehicle__in=mine)
        .exclude(customer=customer)
        .filter(customer__name__erased_at__isnull=True)
        .values_list("vehicle_id", flat=True)
    )
    rows = Vehicle.objects.for_page().filter(pk__in=mine).select_related("workshop").order_by("pk")
    return [row for row in rows if row.pk not in shared], [row for row in rows if row.pk in shared]


def _claims(customer: Customer, cars: list[Vehicle]) -> list[Claim]:
    """What was told while the car was this customer's."""
    rows = list(Claim.objects.filter(vehicle__in=cars).order_by("pk"))
    owned = Ownership.objects.filter(customer=customer).exclude(vehicle__in=cars)
    for row in owned:
        told = Claim.objects.filter(vehicle=row.vehicle_id, told_on__gte=row.since)
        rows += told.filter(told_on__lt=row.until) if row.until else told
    return rows


def _values(customer: Customer, jobs: list[Job], cars: list[Vehicle], claims: list[Claim]) -> set[int]:
    found = {getattr(customer, f"{name}_id") for name in VALUES}
    found |= set(references(map(json.dumps, said_of_customer(customer))))
    consents = Consent.objects.filter(job__in=jobs).values_list("strokes_id", "counter_strokes_id")
    found |= {pk for row in consents for pk in row}
    found |= {claim.said_id for claim in claims}
    found |= set(Decision.objects.filter(claim__in=claims).values_list("reason_id", flat=True))
    found |= set(Sending.objects.filter(certificate__job__in=jobs).values_list("address_id", flat=True))
    found |= _letters_went_to(customer, claims)
    found |= set(_in_books(jobs))
    for car in cars:
        found |= {car.plate_id, car.vin_private_id}
    found |= set(references(map(json.dumps, _said_of_cars(customer, cars))))
    return {pk for pk in found if pk}


def _letters_went_to(customer: Customer, claims: list[Claim]) -> set[int]:
    """Addresses typed for letters of claims; those without a paper of ours hang on nothing but the claim's number."""
    sent = Sending.objects.filter(workshop=customer.workshop_id, kind=Sending.Kind.CLAIM)
    numbers = {claim.number for claim in claims}
    return {pk for key, pk in sent.values_list("key", "address_id") if key.split()[1] in numbers}


def _in_books(jobs: list[Job]) -> Iterable[int]:
    """What the books of the jobs point to, but for the car, which may have become somebody else's."""
    for text in Entry.objects.filter(book__job__in=jobs, body__contains='"private"').values_list(
        "body", flat=True
    ):
        body = json.loads(text)
        body.pop("vehicle", None)
        yield from references([json.dumps(body)])


def said_of_customer(customer: Customer) -> list[Any]:
    """What was entered of this customer, whichever book it stands in: earlier names and phones as well."""
    bodies = _naming(customer.workshop_id, NAMING, "customer", [customer.pk])
    found = [body.get(part) for body in bodies for part in ("customer", "owner")]
    return [part for part in found if isinstance(part, dict) and part.get("customer") == customer.pk]


def _said_of_cars(customer: Customer, cars: list[Vehicle]) -> list[Any]:
    wanted = {car.pk for car in cars}
    bodies = _naming(customer.workshop_id, CARS, "vehicle", sorted(wanted)) if wanted else []
    found = [body.get("vehicle") for body in bodies]
    return [part for part in found if isinstance(part, dict) and part.get("vehicle") in wanted]


def _naming(workshop: int, verbs: tuple[str, ...], kind: str, numbers: list[int]) -> list[dict[str, Any]]:
    """Bodies of these verbs that name one of these numbers. Bodies are canonical JSON, so it stands there as text."""
    texts = [f'"{kind}":{number}{end}' for number in numbers for end in (",", "}")]
    naming = reduce(or_, (Q(body__contains=text) for text in texts))
    rows = Entry.objects.filter(naming, book__workshop=workshop, verb__in=verbs)
    return [json.loads(text) for text in rows.values_list("body", flat=True)]


def _values_of_others(customer: Customer, claims: list[Claim]) -> set[int]:
    """Never taken: what another customer's row points to now, and other people's claims on the same film."""
    rows = Customer.objects.filter(workshop=customer.workshop_id).exclude(pk=customer.pk)
    found = {pk for row in rows.values_list(*(f"{name}_id" for name in VALUES)) for pk in row}
    told = Claim.objects.filter(workshop=customer.workshop_id).exclude(pk__in=[claim.pk for claim in claims])
    found |= set(told.values_list("said_id", flat=True))
    return found | set(Decision.objects.filter(claim__in=told).values_list("reason_id", flat=True))


def _photos(customer: Customer, jobs: list[Job], claims: list[Claim]) -> list[Photo]:
    """Photos of plates, papers and signatures. Photos of edges are the workshop's evidence and stay."""
    rows = Photo.objects.of(customer.workshop_id).filter(klass__in=OF_A_PERSON)
    mine = rows.filter(
        reduce(or_, (Q(**{f"{path}__in": jobs}) for path in TO_A_JOB)) | Q(claims__claim__in=claims)
    )
    shared = rows.filter(
        reduce(or_, (Q(**{f"{path}__in": Job.objects.exclude(customer=customer)}) for path in TO_A_JOB))
    )
    return list(mine.exclude(pk__in=shared.values("pk")).distinct().order_by("pk"))


def all_photos(found: Belongings) -> list[Photo]:
    """Every photo of this customer's jobs and claims, for giving out."""
    ties = reduce(or_, (Q(**{f"{path}__in": found.jobs}) for path in TO_A_JOB))
    rows = Photo.objects.of(found.customer.workshop_id).filter(ties | Q(claims__claim__in=found.claims))
    return list(rows.distinct().order_by("pk"))


def certificates_of(jobs: list[Job], cars: list[Vehicle]):
    """Papers of these jobs, and those of before that were brought in for these cars."""
    return Certificate.objects.filter(Q(job__in=jobs) | Q(job__isnull=True, vehicle__in=cars))


def _papers(jobs: list[Job]) -> Iterable[str]:
    rows = Revision.objects.filter(certificate__in=Certificate.objects.filter(job__in=jobs))
    return rows.exclude(pdf_sha256="").values_list("pdf_sha256", flat=True)


def _letters(claims: list[Claim]) -> Iterable[str]:
    rows = Decision.objects.filter(claim__in=claims).exclude(pdf_sha256="")
    return rows.values_list("pdf_sha256", flat=True)
