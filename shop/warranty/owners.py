"""The car gets a new owner, and the cover passes on as the terms of each paper say."""

from datetime import date
from zoneinfo import ZoneInfo

from django.db import transaction

from shop.documents.rights import must_be_allowed
from shop.intake import arrival
from shop.intake.customers import VALUES, customer_said, put_values, text_of
from shop.intake.models import Customer, Ownership, Vehicle
from shop.intake.register import rewrite_keys
from shop.intake.typed import Typed
from shop.people.identity import By
from shop.record.actions import write
from shop.templatetags.words import day
from shop.warranty.aftercare import CoverEvent
from shop.warranty.cover import CarCover, cover_of, promised_by
from shop.warranty.models import CoverLine
from shop.warranty.timeline import NEVER, ONCE, Sale, last_sale_day


@transaction.atomic
def transfer_cover(
    *,
    vehicle: Vehicle,
    name: str,
    phone: str = "",
    mail: str = "",
    address: str = "",
    sold_on: date,
    told_on: date | None = None,
    accept_end: bool = False,
    by: By,
    now,
) -> CoverEvent:
    """The car was sold on this day, and we were told on that one (today where nothing is said).

    Where the terms of a paper do not let its cover pass on, the sale ends it; that is refused with the reason
    until `accept_end` says that this is known. Nothing ever keeps a sale out of the record.
    """
    must_be_allowed(by, "transfer_cover", workshop=vehicle.workshop)
    today = now.astimezone(ZoneInfo(vehicle.workshop.zone)).date()
    told_on = told_on or today
    typed = Typed()
    owner = arrival.read_owner(typed, name=name, phone=phone, mail=mail, address=address)
    last = (
        Ownership.objects.filter(vehicle=vehicle, until__isnull=True).select_related("customer__name").first()
    )
    _days(typed, sold_on, told_on, last, today)
    if last and owner and text_of(last.customer.name).casefold() == owner.name.casefold():
        typed.wrong(f"{owner.name} is the owner here already.", "#name", "already_recorded")
    typed.stop()
    ended = ends_by(vehicle, Sale(sold_on, told_on), today=today)
    if ended and not accept_end:
        for sentence in ended:
            typed.wrong(sentence, "#accept_end", "cover_not_passed")
        typed.stop()
    ownership = _new_owner(vehicle, owner, last, sold_on, now)
    body = {
        "vehicle": vehicle.pk,
        "sold_on": sold_on.isoformat(),
        "told_on": told_on.isoformat(),
        "ends_cover": bool(ended),
        "owner": customer_said(ownership.customer),
    }
    entry = write(workshop=vehicle.workshop, verb="transfer_cover", body=body, by=by, now=now)
    return CoverEvent.objects.create(
        workshop=vehicle.workshop,
        vehicle=vehicle,
        entry=entry,
        kind=CoverEvent.Kind.SOLD,
        on=sold_on,
        told_on=told_on,
        ownership=ownership,
        person=by.person,
        at=now,
    )


def ends_by(vehicle: Vehicle, sale: Sale, *, today: date) -> list[str]:
    """One sentence for each paper whose cover, in force on that day, this sale would end."""
    cover = cover_of(vehicle, today=today)
    papers: dict[int, CoverLine] = {}
    for stretch in cover.on(sale.on):
        line = cover.lines[stretch.line]
        papers.setdefault(line.revision.certificate_id, line)
    return [sentence for line in papers.values() if (sentence := _ends(cover, line, sale, today))]


def _ends(cover: CarCover, line: CoverLine, sale: Sale, today: date) -> str:
    terms = line.revision.terms.body if line.revision.terms_id else {}
    promised = promised_by(line, terms)
    sales = [s for s in (*cover.history.sales, sale) if s.on >= promised.first_day]
    if last_sale_day(promised.transfer, promised.notice_days, sales, today=today) is None:
        return ""
    number = line.revision.certificate.number
    end = f"The cover of certificate {number} ends on {day(sale.on)}"
    if promised.transfer == NEVER:
        return f"{end}: by its terms it does not pass to a new owner."
    if promised.transfer == ONCE and len(sales) > 1:
        return f"{end}: by its terms it passes on once, and it has."
    return f"{end}: we were told later than {promised.notice_days} days after the sale."


def _days(typed: Typed, sold_on: date, told_on: date, last: Ownership | None, today: date) -> None:
    if sold_on > today or told_on > today:
        typed.wrong("That day is still to come.", "#sold_on", "day_wrong")
    if told_on < sold_on:
        typed.wrong("We cannot have been told before it was sold.", "#told_on", "day_wrong")
    if last and sold_on < last.since:
        text = f"The owner of now has it since {day(last.since)}; it was sold on that day or later."
        typed.wrong(text, "#sold_on", "day_wrong")


def _new_owner(vehicle: Vehicle, owner, last: Ownership | None, sold_on: date, now) -> Ownership:
    if last:
        last.until = sold_on
        last.save(update_fields=["until"])
    workshop = vehicle.workshop
    customer = Customer(workshop=workshop, language=workshop.language, since=now)
    put_values(customer, owner, [field for field in VALUES if getattr(owner, field)])
    row = Ownership.objects.create(vehicle=vehicle, customer=customer, since=sold_on)
    rewrite_keys(vehicle)
    return row
