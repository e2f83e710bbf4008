"""What is given when a car comes in: read, tidied, and judged as a whole before anything is written."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from shop.intake import vin as vins
from shop.intake.typed import Typed
from shop.reasons import Reason, Weight

LONGEST_STAY = timedelta(days=366)
MOST_KM = 3_000_000
_DIGITS = frozenset("0123456789")


@dataclass(frozen=True)
class Owner:
    name: str
    phone: str
    mail: str
    address: str


@dataclass(frozen=True)
class Car:
    """A car by its VIN, or by a chassis number and the reason it has no VIN; the other is empty."""

    vin: str
    vin_note: str
    chassis: str
    chassis_reason: str
    plate: str
    model: str
    colour: str
    colour_code: str

    @property
    def identity(self) -> str:
        return self.vin or self.chassis


def read_owner(typed: Typed, *, name: Any, phone: Any, mail: Any, address: Any) -> Owner:
    owner = Owner(
        name=typed.line(name, name="The name", most=200, where="#name", missing="Type the customer's name."),
        phone=typed.line(phone, name="The phone number", most=40, where="#phone"),
        mail=typed.line(mail, name="The mail address", most=200, where="#mail"),
        address=typed.lines(address, name="The address", most=500, where="#address"),
    )
    if owner.phone and sum(sign in _DIGITS for sign in owner.phone) < 5:
        typed.wrong("That phone number is too short to be called.", "#phone")
    if owner.mail and not _is_mail(owner.mail):
        typed.wrong("That mail address cannot be written to: it needs one @ and a domain.", "#mail")
    return owner


def read_car(
    typed: Typed,
    *,
    vin: Any,
    vin_confirmed: Any,
    chassis: Any,
    chassis_reason: Any,
    plate: Any,
    model: Any,
    colour: Any,
    colour_code: Any,
) -> Car:
    number, why = read_chassis(typed, chassis, chassis_reason)
    good, note = ("", "") if number and not str(vin or "").strip() else read_vin(typed, vin, vin_confirmed)
    if number and good:
        typed.wrong("Give the VIN or a chassis number, not both.", "#chassis")
    return Car(
        vin=good,
        vin_note=note,
        chassis=number,
        chassis_reason=why,
        plate=typed.line(plate, name="The plate", most=20, where="#plate").upper(),
        model=typed.line(
            model,
            name="The model",
            most=80,
            where="#model",
            missing="Say which car it is, in plain words.",
        ),
        colour=typed.line(
            colour,
            name="The colour",
            most=60,
            where="#colour",
            missing="Say which colour the paint has.",
        ),
        colour_code=typed.line(colour_code, name="The paint code", most=30, where="#colour_code"),
    )


def read_vin(typed: Typed, vin: Any, confirmed: Any) -> tuple[str, str]:
    """The VIN as it is kept and the reason it was confirmed with; everything wrong with it goes to `typed`."""
    good = vins.clean(str(vin or ""))
    why = typed.line(confirmed, name="The reason", most=200, where="#vin_confirmed")
    slips = [_at(reason, "#vin") for reason in vins.problems(good)]
    waivable = any(reason.weight is Weight.WAIVABLE for reason in slips)
    if waivable and why:
        slips = []
    typed.reasons += slips
    return good, why if waivable else ""


def read_chassis(typed: Typed, chassis: Any, reason: Any) -> tuple[str, str]:
    number = typed.line(chassis, name="The chassis number", most=40, where="#chassis").upper()
    why = typed.line(reason, name="The reason", most=200, where="#chassis_reason")
    if number and not why:
        typed.reasons.append(
            Reason("reason_missing", "Say why this car has no VIN.", where="#chassis_reason")
        )
    if number and sum(sign.isalnum() for sign in number) < 3:
        typed.wrong("A chassis number has at least three letters or digits.", "#chassis")
    return number, why


def read_odometer(typed: Typed, km: Any, confirmed: Any, *, last_km: int | None) -> tuple[int | None, str]:
    """Kilometres, and why they are fewer than at the last visit, where they are."""
    why = typed.line(confirmed, name="The reason", most=200, where="#odometer_confirmed")
    sentence = f"The odometer shows whole kilometres from 0 to {MOST_KM:,}.".replace(",", " ")
    good = typed.number(km, least=0, most=MOST_KM, sentence=sentence, where="#odometer")
    less = good is not None and last_km is not None and good < last_km
    if less and not why:
        text = (
            f"At the last visit it showed {last_km} km. Read it again; if it really shows less, say why "
            "(a new instrument, for example)."
        )
        typed.wrong(text, "#odometer", "odometer_back")
    return good, why if less else ""


def read_promised(typed: Typed, promised: datetime | None, *, now: datetime) -> datetime | None:
    if promised is None:
        return None
    if promised <= now:
        typed.wrong("The promised time is already past.", "#promised")
    elif promised - now > LONGEST_STAY:
        typed.wrong("The promised time is more than a year away: look at the year.", "#promised")
    return promised


def _is_mail(text: str) -> bool:
    try:
        validate_email(text)
    except ValidationError:
        return False
    return True


def _at(reason: Reason, where: str) -> Reason:
    return Reason(reason.code, reason.text, reason.weight, where)
