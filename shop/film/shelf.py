"""The shelf as it is read: films with their lots and rolls, sizes in both systems, what is wrong in words."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from shop import units
from shop.film import questions
from shop.film.models import Lot, Material, Roll
from shop.reasons import Reason
from shop.templatetags.words import day


@dataclass
class OnShelf:
    """One row: a roll, or a lot of something wet."""

    lot: Lot
    roll: Roll | None
    size: str
    left: str
    expires_on: date | None
    opened_on: date | None
    wrong: list[str]
    planned: str = ""
    free: str = ""
    notes: list[str] = field(default_factory=list)


@dataclass
class Product:
    material: Material
    rows: list[OnShelf] = field(default_factory=list)
    notes: list[Reason] = field(default_factory=list)


def length(mm: int, system: str) -> str:
    """A length as it is said on the shelf: metres from one metre on, feet from ten feet on.

    >>> length(15_000, "metric"), length(15_240, "us"), length(60, "metric")
    ('15 m', '50 ft', '60 mm')
    """
    if system == units.US or mm < 1000:
        return units.format_mm(mm, system)
    return f"{units.decimal(Fraction(mm, 1000), 2)} m"


def size(width_mm: int, length_mm: int, system: str) -> str:
    """Width by length in the shop's units, the other system behind it.

    >>> size(1_524, 15_240, "us")
    '60 in × 50 ft (1524 mm × 15.24 m)'
    """
    other = units.METRIC if system == units.US else units.US
    own, behind = (
        f"{units.format_mm(width_mm, each)} × {length(length_mm, each)}" for each in (system, other)
    )
    return f"{own} ({behind})"


def wrong(lot: Lot, expires_on: date | None, today: date) -> list[str]:
    """Why this is not to be taken, each in words; nothing for sound stock."""
    found = []
    if lot.quarantined_at:
        found.append(f"In quarantine: {lot.quarantine_reason}")
    if expires_on and expires_on < today:
        found.append(f"Expired on {day(expires_on)}")
    return found


def films(
    rolls: Iterable[Roll],
    system: str,
    today: date,
    *,
    planned: Mapping[int, int],
    reserved: Mapping[int, str],
) -> list[Product]:
    """Rolls grouped by film, in the order given. `planned` mm by roll; `reserved` what is said of its lot."""
    found: dict[int, Product] = {}
    for roll in rolls:
        material = roll.lot.material
        if material.pk not in found:
            sheet = material.sheet.body if material.sheet else None
            found[material.pk] = Product(material, notes=questions.thickness(sheet))
        found[material.pk].rows.append(row_of_roll(roll, system, today, planned.get(roll.pk, 0)))
        if roll.lot_id in reserved:
            found[material.pk].rows[-1].notes.append(reserved[roll.lot_id])
    return list(found.values())


def row_of_roll(roll: Roll, system: str, today: date, planned_mm: int = 0) -> OnShelf:
    return OnShelf(
        lot=roll.lot,
        roll=roll,
        size=size(roll.width_mm, roll.length_mm, system),
        left=length(max(roll.left_mm, 0), system),
        expires_on=roll.expires_on,
        opened_on=roll.opened_on,
        wrong=wrong(roll.lot, roll.expires_on, today),
        planned=length(planned_mm, system) if planned_mm else "",
        free=length(max(roll.left_mm - planned_mm, 0), system),
        notes=[] if roll.left_mm >= 0 else ["More was cut than it held: measure it"],
    )


def reserve_said(reserve_mm: int, free_mm: int, system: str) -> str:
    """What is said of a lot some of which is kept back; nothing where none is.

    >>> reserve_said(3000, 2500, "metric")
    'Keep 3 m of this lot for cars under cover: only 2.5 m are free'
    """
    if not reserve_mm:
        return ""
    kept = f"Keep {length(reserve_mm, system)} of this lot for cars under cover"
    return kept if free_mm >= reserve_mm else f"{kept}: only {length(max(free_mm, 0), system)} are free"


def wet(lots: Iterable[Lot], today: date) -> list[OnShelf]:
    """Lots of primer, slip and tack, in the order given."""
    return [
        OnShelf(lot, None, "", "", lot.expires_on, lot.opened_on, wrong(lot, lot.expires_on, today))
        for lot in lots
    ]
