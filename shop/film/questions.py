"""What is odd about a roll, a lot or a film sheet: refused where it cannot be, asked where it is seldom so."""

from datetime import date

from shop.documents import built_in
from shop.people.names import tidy
from shop.reasons import Reason, Refused, Weight

# Bounds of typing slips, not of the trade: a missing or mistaken unit lands a power of ten away from any roll.
NARROWEST_MM, WIDEST_MM = 100, 3_000
SHORTEST_MM, LONGEST_MM = 300, 200_000
CODE_LONGEST = 40


def codes(**given: str) -> list[Reason]:
    """Codes as they stand on a label: there, and not longer than a label."""
    return [
        Reason(
            "value_wrong",
            f"Copy the {field} code from the label, up to {CODE_LONGEST} characters.",
            where=f"#{field}",
        )
        for field, code in given.items()
        if not code or len(code) > CODE_LONGEST
    ]


def dates(*, today: date, received_on: date, opened_on: date | None, expires_on: date | None) -> list[Reason]:
    """Days in an order that cannot be."""
    found = []
    if received_on > today:
        found.append(Reason("value_wrong", "The day of receipt is still to come.", where="#received_on"))
    if opened_on and opened_on < received_on:
        found.append(Reason("value_wrong", "It was opened before it was received.", where="#opened_on"))
    if opened_on and opened_on > today:
        found.append(Reason("value_wrong", "The day of opening is still to come.", where="#opened_on"))
    if expires_on and expires_on < received_on:
        text = "It had expired before it was received: compare both dates with the label."
        found.append(Reason("expires_before_received", text, where="#expires_on"))
    return found


def size(width_mm: int, length_mm: int, *, confirmed: bool = False) -> list[Reason]:
    """A size that cannot be stops; an odd one is asked back until it is confirmed."""
    if width_mm <= 0 or length_mm <= 0:
        return [Reason("value_wrong", "A roll has a width and a length.", where="#width")]
    return [] if confirmed else _odd_size(width_mm, length_mm)


def _odd_size(width_mm: int, length_mm: int) -> list[Reason]:
    if width_mm > length_mm:
        return [_odd("A roll wider than it is long: have width and length changed places?", "#width")]
    found = []
    if not NARROWEST_MM <= width_mm <= WIDEST_MM:
        found.append(_odd(f"A width of {width_mm} mm is unusual: look at the unit.", "#width"))
    if not SHORTEST_MM <= length_mm <= LONGEST_MM:
        found.append(_odd(f"A length of {length_mm} mm is unusual: look at the unit.", "#length"))
    return found


def width_of_sheet(sheet: dict | None, width_mm: int, *, confirmed: bool = False) -> list[Reason]:
    """A roll whose width is none of those the film sheet names."""
    widths = ((sheet or {}).get("film") or {}).get("widths_mm", ())
    if confirmed or not widths or width_mm in widths:
        return []
    said = " or ".join(f"{width} mm" for width in widths)
    return [_odd(f"The film sheet says this film is {said} wide: compare with the label.", "#width")]


def why(reason: str) -> str:
    """The reason as it is kept; Refused where none is given."""
    reason = tidy(str(reason))
    if not 0 < len(reason) <= 200:
        raise Refused(Reason("value_wrong", "Say why, in up to 200 characters.", where="#reason"))
    return reason


def thickness(sheet: dict | None) -> list[Reason]:
    """A film sheet whose thickness looks like a thousandth of an inch taken for a millimetre, or the reverse."""
    um10 = ((sheet or {}).get("thickness") or {}).get("typical_um10")
    bounds = built_in.film_defaults()["thickness"]
    low, high = bounds["question_below_um10"], bounds["question_above_um10"]
    if um10 is None or low <= um10 <= high:
        return []
    text = (
        f"The film sheet says {um10 / 10:g} µm. Film usually has {low // 10} to {high // 10} µm: "
        "a mil is 25.4 µm, not a millimetre."
    )
    return [Reason("thickness_odd", text, Weight.NOTE)]


def _odd(text: str, where: str) -> Reason:
    return Reason("roll_size_odd", text, Weight.WAIVABLE, where)
