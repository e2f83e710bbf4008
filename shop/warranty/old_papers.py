"""Older papers brought in from a table: looked through as a whole, then all of them taken in or none.

What was promised before is promised still, so such a paper is found and claimed like any other. But nobody can
show how its film was laid: everywhere it says so.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from hashlib import sha256
from zoneinfo import ZoneInfo

from dateutil.relativedelta import relativedelta
from django.db import transaction

from shop.documents.models import Document
from shop.documents.rights import must_be_allowed
from shop.intake.customers import customer_said, put_values
from shop.intake.jobs import hold_workshop
from shop.intake.keys import certificate_keys
from shop.intake.models import Customer, Ownership, SearchKey, Vehicle
from shop.intake.register import rewrite_keys
from shop.intake.vehicles import new_car, vehicle_said
from shop.papers import base_of
from shop.people.identity import By
from shop.reasons import Reason, Refused
from shop.record import chain
from shop.record.actions import book_of, told, write
from shop.templatetags.words import in_language
from shop.warranty import address
from shop.warranty.columns import DAY_FIRST, MONTH_FIRST, lacking, matched
from shop.warranty.coverage import EVENT_DAY_EXCLUDED, FIRST_DAY_COUNTED, last_day
from shop.warranty.models import Certificate, CoverLine, Revision, free_token
from shop.warranty.numbers import short_code
from shop.warranty.old_rows import Fault, OldPaper, read_rows, shapes_of
from shop.warranty.spreadsheet import NoTable, Table, read_table

SCHEMA = 1
NO_EVIDENCE = "imported, no evidence"
MOST_SAID = 60
KNOWN_TITLES = {CoverLine.Kind.MATERIAL: "Film", CoverLine.Kind.WORKMANSHIP: "Our work"}


@dataclass
class Looked:
    """What a table holds: papers to bring in, rows whose number is here already, and what is wrong."""

    columns: dict[str, str]
    days: str
    lacking: list[str] = field(default_factory=list)
    papers: list[OldPaper] = field(default_factory=list)
    here: list[tuple[OldPaper, str]] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)

    @property
    def is_good(self) -> bool:
        return not self.faults and not self.lacking


def days_of(workshop) -> str:
    """How days are usually written where the workshop is."""
    return MONTH_FIRST if workshop.country == "US" else DAY_FIRST


def look_through(
    workshop, table: Table, *, columns: Mapping[str, str] | None = None, days: str = "", today: date
) -> Looked:
    """Reads the whole table and writes nothing."""
    chosen = matched(table.headings) if columns is None else dict(columns)
    found = Looked(chosen, days or days_of(workshop), lacking(chosen))
    if found.lacking:
        return found
    papers, found.faults = read_rows(table, chosen, days=found.days, shapes=shapes_of(workshop), today=today)
    numbers = [paper.number for paper in papers]
    known = dict(
        Certificate.objects.of(workshop).filter(number__in=numbers).values_list("number", "imported")
    )
    for paper in papers:
        if paper.number in known:
            how = "brought in before" if known[paper.number] else "issued here"
            found.here.append((paper, how))
        else:
            found.papers.append(paper)
    return found


@transaction.atomic
def bring_in_papers(
    *, workshop, text: str, columns: dict | None = None, days: str = "", by: By, now: datetime
) -> list[Certificate]:
    """Every paper of the table, or none: refused with each bad row named.

    `text` is the table as CSV; `columns` says which heading is which field (else they are matched by name); `days`
    is dmy or mdy. Numbers that are here already change nothing, so the same table may be sent again.
    """
    must_be_allowed(by, "bring_in_papers", workshop=workshop)
    hold_workshop(workshop)
    try:
        table = read_table(text)
    except NoTable as no_table:
        raise Refused(Reason("value_wrong", str(no_table), where="#file")) from None
    _must_be_headings(table, columns)
    today = now.astimezone(ZoneInfo(workshop.zone)).date()
    looked = look_through(workshop, table, columns=columns, days=days, today=today)
    _refuse(looked)
    digest = sha256(text.encode()).hexdigest()
    return [_bring(workshop, paper, digest, by, now) for paper in looked.papers]


def _must_be_headings(table: Table, columns: Mapping[str, str] | None) -> None:
    for heading in (columns or {}).values():
        if heading not in table.headings:
            text = f"The table has no column called “{str(heading)[:60]}”."
            raise Refused(Reason("value_wrong", text, where="#file"))


def _refuse(looked: Looked) -> None:
    reasons = [Reason("field_missing", text) for text in looked.lacking]
    reasons += [Reason("value_wrong", str(fault)) for fault in looked.faults[:MOST_SAID]]
    more = len(looked.faults) - MOST_SAID
    if more > 0:
        reasons.append(Reason("value_wrong", f"{more} more are wrong: put these right first."))
    if reasons:
        raise Refused(reasons)


def _bring(workshop, paper: OldPaper, digest: str, by: By, now: datetime) -> Certificate:
    vehicle = Vehicle.objects.known(workshop, vin=paper.car.vin, chassis=paper.car.chassis)
    if vehicle is None:
        shape = Document.objects.in_force(workshop, Document.Kind.BODY, paper.body)
        vehicle = new_car(workshop, paper.car, shape)
    customer = _owner(workshop, vehicle, paper, now)
    rewrite_keys(vehicle)
    certificate = Certificate.objects.create(
        workshop=workshop, number=paper.number, token=free_token(), vehicle=vehicle, imported=True
    )
    for kind, key in certificate_keys(certificate.number):
        SearchKey.objects.get_or_create(workshop=workshop, vehicle=vehicle, kind=kind, key=key)
    _revision(certificate, paper, customer, digest, by, now)
    return certificate


def _owner(workshop, vehicle, paper: OldPaper, now: datetime) -> Customer | None:
    """Whoever owns the car now stays its owner: the older paper may be older than that."""
    running = Ownership.objects.filter(vehicle=vehicle, until__isnull=True).select_related("customer").first()
    if running or not paper.owner.name:
        return running.customer if running else None
    customer = Customer(workshop=workshop, language=workshop.language, since=now)
    put_values(customer, paper.owner, [f for f in ("name", "phone", "mail") if getattr(paper.owner, f)])
    Ownership.objects.create(vehicle=vehicle, customer=customer, since=paper.first_day)
    return customer


def _revision(certificate, paper: OldPaper, customer, digest: str, by: By, now: datetime) -> Revision:
    workshop = certificate.workshop
    facts = _facts(certificate, paper, customer, digest, by, now)
    body = {
        "certificate": certificate.number,
        "revision": 1,
        "reason": "",
        "facts_digest": chain.digest(facts),
        "table": digest,
        "row": paper.row,
        "vehicle": vehicle_said(certificate.vehicle),
        "customer": customer_said(customer) if customer else None,
    }
    entry = write(workshop=workshop, verb="bring_in_papers", body=body, by=by, now=now)
    revision = Revision.objects.create(
        certificate=certificate,
        n=1,
        entry=entry,
        terms=None,
        language=facts["language"],
        facts=chain.canonical(facts).decode(),
        facts_digest=body["facts_digest"],
        head=facts["book"]["head"],
        head_number=facts["book"]["number"],
        zone=facts["zone"],
        issued_by=by.person,
        issued_at=now,
    )
    names = {field.attname for field in CoverLine._meta.concrete_fields}
    CoverLine.objects.bulk_create(
        CoverLine(revision=revision, **{name: value for name, value in line.items() if name in names})
        for line in facts["cover"]
    )
    return revision


def _facts(certificate, paper: OldPaper, customer, digest: str, by: By, now: datetime) -> dict:
    """What the older paper says, in the shape of any certificate's facts as far as a stranger's page reads them."""
    workshop, car = certificate.workshop, certificate.vehicle
    base, book = base_of(workshop), book_of(workshop)
    shape = Document.objects.in_force(workshop, Document.Kind.BODY, paper.body)
    film = {"name": paper.film, "colour": paper.film, "finish": ""}
    return {
        "schema": SCHEMA,
        "imported": True,
        "number": certificate.number,
        "revision": 1,
        "language": workshop.language,
        "issued_at": now.astimezone(ZoneInfo(workshop.zone)).replace(microsecond=0).isoformat(),
        "issued_by": by.person.name,
        "zone": workshop.zone,
        "address": {
            "check": address.check_url(base, certificate.token),
            "typed": address.typed_address(base),
            "code": short_code(certificate.token),
        },
        "workshop": {"name": workshop.name, "country": workshop.country, "units": workshop.unit_system},
        "customer": {"name": told(customer.name) if customer else None},
        "vehicle": {
            "identity": told(car.vin_private),
            "identity_words": "VIN" if car.vin else "chassis number",
            "last_four": car.identity[-4:],
            "plate": told(car.plate),
            "model": paper.car.model,
            "colour": paper.car.colour,
        },
        "body": {
            "name": shape.name,
            "version": shape.version,
            "digest": shape.digest,
            "title": in_language(shape.body["title"], workshop.language),
        },
        "panels": [
            {"code": code, "label": label, "pieces": [{"film": film, "checked_by_installer": False}]}
            for code, label in paper.panels
        ],
        "cover": _cover(paper),
        "source": {"table": digest, "row": paper.row},
        "book": {"head": book.head, "number": book.length},
    }


def _cover(paper: OldPaper) -> list[dict]:
    ends = ((CoverLine.Kind.MATERIAL, paper.last_day), (CoverLine.Kind.WORKMANSHIP, paper.work_last_day))
    return [
        {
            "fitting": None,
            "panel": code,
            "label": label,
            "kind": str(kind),
            "title": KNOWN_TITLES[kind],
            "first_day": paper.first_day.isoformat(),
            "last_day": end.isoformat(),
            **length(paper.first_day, end),
        }
        for kind, end in ends
        if end
        for code, label in paper.panels
    ]


def length(first: date, last: date) -> dict[str, int | str | None]:
    """Both days as a paper has them, as a length: whole months where they are, else days.

    >>> length(date(2024, 5, 1), date(2029, 5, 1))
    {'months': 60, 'days': None, 'counting': 'event_day_excluded'}
    >>> length(date(2024, 5, 1), date(2029, 4, 30))
    {'months': 60, 'days': None, 'counting': 'first_day_counted'}
    >>> length(date(2024, 5, 1), date(2024, 5, 1))
    {'months': None, 'days': 1, 'counting': 'first_day_counted'}
    """
    for counting, end in ((EVENT_DAY_EXCLUDED, last), (FIRST_DAY_COUNTED, last + relativedelta(days=1))):
        gone = relativedelta(end, first)
        months = gone.years * 12 + gone.months
        if months and last_day(first, months, counting) == last:
            return {"months": months, "days": None, "counting": counting}
    days = (last - first).days
    if not days:
        return {"months": None, "days": 1, "counting": FIRST_DAY_COUNTED}
    return {"months": None, "days": days, "counting": EVENT_DAY_EXCLUDED}
