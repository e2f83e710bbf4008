"""Slip and tack made up from a lot for the day, each with a label of its own."""

from zoneinfo import ZoneInfo

from django.db import transaction

from shop.documents.rights import must_be_allowed
from shop.film import usage
from shop.film.models import Lot, Material, Mix
from shop.people.identity import By
from shop.reasons import Reason, Refused
from shop.record.actions import book_of, write
from shop.templatetags.words import day

MOST_ML10 = 2_000_000


@transaction.atomic
def make_mix(
    *,
    workshop,
    lot: Lot,
    total_ml10: int,
    by: By,
    now,
    ratio: str = "",
    meant: str = "",
    stock_percent10: int | None = None,
    wanted_percent10: int | None = None,
) -> Mix:
    """A mix of slip or tack from a lot, made up with filtered water to `total_ml10`, good until the day ends.

    By `ratio` ("1:10") with `meant` ("in" or "plus"), as labels differ; or by strength, in 0.1 % by volume.
    """
    must_be_allowed(by, "make_mix", workshop=workshop)
    book_of(workshop)
    today = now.astimezone(ZoneInfo(workshop.zone)).date()
    reasons = _lot_faults(workshop, lot, today)
    made = None
    try:
        made = mixed(
            total_ml10=total_ml10,
            ratio=ratio,
            meant=meant,
            stock_percent10=stock_percent10,
            wanted_percent10=wanted_percent10,
        )
    except ValueError as fault:
        reasons.append(Reason("value_wrong", str(fault), where="#ratio"))
    if reasons:
        raise Refused(reasons)
    by_strength = stock_percent10 is not None
    row = Mix.objects.create(
        workshop=workshop,
        kind=lot.material.kind,
        lot=lot,
        ratio=f"{wanted_percent10 / 10:g} % of {stock_percent10 / 10:g} %" if by_strength else _plain(ratio),
        meant=Mix.Meant.STRENGTH if by_strength else meant,
        stock_ml10=made.stock_ml10,
        total_ml10=made.total_ml10,
        label=_next_label(workshop, lot.material.kind, today),
        made_on=today,
        made_at=now,
        made_by=by.person,
    )
    body = {"mix": row.pk, "label": row.label, "kind": row.kind, "lot": {"id": lot.pk, "code": lot.code}}
    body |= {"ratio": row.ratio, "meant": str(row.meant), "stock_ml10": row.stock_ml10}
    write(
        workshop=workshop,
        verb="make_mix",
        body=body | {"total_ml10": row.total_ml10},
        by=by,
        now=now,
    )
    return row


def mixed(
    *,
    total_ml10: int,
    ratio: str = "",
    meant: str = "",
    stock_percent10: int | None = None,
    wanted_percent10: int | None = None,
) -> usage.Mix:
    """How much of the concentrate, and to what it is made up. ValueError with a sentence."""
    if not 0 < total_ml10 <= MOST_ML10:
        raise ValueError("Say how much is to be mixed: up to 200 litres.")
    if stock_percent10 is None and wanted_percent10 is None:
        made = usage.mix_by_ratio(total_ml10, usage.read_ratio(ratio), meant=meant)
    elif stock_percent10 is None or wanted_percent10 is None:
        raise ValueError("Give both strengths: what is in the bottle, and what is wanted.")
    else:
        made = usage.mix_by_strength(
            total_ml10, stock_percent10=stock_percent10, wanted_percent10=wanted_percent10
        )
    if made.stock_ml10 < 1:
        raise ValueError("That is less than a drop of concentrate: mix more, or look at the ratio.")
    return made


def _plain(ratio: str) -> str:
    one, other = usage.read_ratio(ratio)
    return f"{one}:{other}"


def _lot_faults(workshop, lot: Lot, today) -> list[Reason]:
    if lot.material.workshop_id != workshop.pk:
        text = "That is not on this workshop's shelf."
        return [Reason("other_workshop", text, where="#lot")]
    found = []
    if lot.material.kind not in (Material.Kind.SLIP, Material.Kind.TACK):
        found.append(Reason("value_wrong", "Only slip and tack are made up with water.", where="#lot"))
    if lot.quarantined_at:
        text = f"Lot {lot.code} is in quarantine; take another."
        found.append(Reason("lot_quarantined", text, where="#lot"))
    if lot.expires_on and lot.expires_on < today:
        text = f"Lot {lot.code} expired on {day(lot.expires_on)}; take another."
        found.append(Reason("roll_expired", text, where="#lot"))
    return found


def _next_label(workshop, kind: str, today) -> str:
    """`S261125-2`: short enough for a marker on a sprayer. The book of the shop is held, so none comes twice."""
    head = f"{kind[0].upper()}{today:%y%m%d}-"
    numbers = Mix.objects.filter(workshop=workshop, label__startswith=head).values_list("label", flat=True)
    return f"{head}{max((int(label.removeprefix(head)) for label in numbers), default=0) + 1}"
