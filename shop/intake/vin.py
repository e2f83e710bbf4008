"""Vehicle identification numbers: what is wrong with one, and what look-up forgives.

Rules: 49 CFR 565.13 and 565.15 (17 characters, no I, O or Q, check digit in position 9).
"""

from shop.reasons import Reason, Weight

LENGTH = 17
_CHECK_AT = 8
_LOOKED_AT = 100
_UPPER = str.maketrans("abcdefghijklmnopqrstuvwxyz", "ABCDEFGHIJKLMNOPQRSTUVWXYZ")
_DASHES = "-‐‑‒–—―−﹘﹣－"
_VALUES = {character: int(character) for character in "0123456789"} | dict(
    zip(
        "ABCDEFGHJKLMNPRSTUVWXYZ",
        (1, 2, 3, 4, 5, 6, 7, 8, 1, 2, 3, 4, 5, 7, 9, 2, 3, 4, 5, 6, 7, 8, 9),
        strict=True,
    )
)
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
_LOOK_ALIKE = str.maketrans({"O": "0", "Q": "0", "I": "1"})


def clean(text: str) -> str:
    """Upper case, without spaces and dashes.

    Only a–z are raised: full case folding would turn foreign letters into ones a VIN may hold.

    >>> clean(" 1m8gdm9a-xkp0 42788 ")
    '1M8GDM9AXKP042788'
    >>> clean("ſ")
    'ſ'
    """
    kept = (character for character in text if not character.isspace() and character not in _DASHES)
    return "".join(kept).translate(_UPPER)


def forgiving(text: str) -> str:
    """The form used for looking up: also reads O and Q as 0 and I as 1, as a VIN never holds them."""
    return clean(text).translate(_LOOK_ALIKE)


def check_digit(vin: str) -> str:
    """The character that position 9 must hold; ValueError for anything that is not 17 characters of the set.

    >>> check_digit("1M8GDM9A_KP042788".replace("_", "0"))
    'X'
    """
    vin = clean(vin)
    if len(vin) != LENGTH or any(character not in _VALUES for character in vin):
        raise ValueError("Only a VIN of 17 valid characters has a check digit.")
    remainder = sum(_VALUES[character] * weight for character, weight in zip(vin, _WEIGHTS, strict=True)) % 11
    return "X" if remainder == 10 else str(remainder)


def in_code(text: str) -> str:
    """The VIN a bar code holds, or nothing. Imported cars put an I before it, which no VIN can start with.

    >>> in_code("I1M8GDM9AXKP042788"), in_code("L-2209")
    ('1M8GDM9AXKP042788', '')
    """
    found = clean(text.strip("*"))
    if len(found) == LENGTH + 1 and found[0] == "I":
        found = found[1:]
    return found if len(found) == LENGTH and all(character in _VALUES for character in found) else ""


def problems(vin: str) -> list[Reason]:
    """Everything wrong with a VIN as typed; empty when it is good.

    A failing check digit can be waived where the law demands the digit (first character 1–5) and
    is only a remark elsewhere, as many sound cars built for other markets carry none.
    """
    vin = clean(vin)
    found = [*_length(vin), *_letters(vin)]
    return found or _check(vin)


def _length(vin: str) -> list[Reason]:
    if len(vin) == LENGTH:
        return []
    if not vin:
        return [Reason("vin_length", "Type the VIN: 17 characters, as on the car or its papers.")]
    return [
        Reason("vin_length", f"A VIN has 17 characters, this one has {len(vin)}. Compare it with the car.")
    ]


def _letters(vin: str) -> list[Reason]:
    # A pasted book is refused for its length; its letters need not all be looked at.
    wrong = [(place, sign) for place, sign in enumerate(vin[:_LOOKED_AT], 1) if sign not in _VALUES]
    if not wrong:
        return []
    named = ", ".join(f"{_shown(character)} in place {place}" for place, character in wrong[:4])
    if len(wrong) > 4:
        named += f" and {len(wrong) - 4} more"
    return [
        Reason(
            "vin_letters",
            f"A VIN holds digits and capital letters, never I, O or Q: {named}. "
            "Look for a 1 or a 0 on the car.",
        )
    ]


def _shown(character: str) -> str:
    return character if character.isprintable() else f"a sign that cannot be seen (U+{ord(character):04X})"


def _check(vin: str) -> list[Reason]:
    wanted = check_digit(vin)
    if vin[_CHECK_AT] == wanted:
        return []
    slip = (
        f"The check digit does not fit: place 9 says {vin[_CHECK_AT]}, the other characters ask for {wanted}."
    )
    if vin[0] in "12345":
        text = f"{slip} Compare the VIN with the car; if it really reads so, confirm it with a reason."
        return [Reason("vin_check_digit", text, Weight.WAIVABLE)]
    if vin[0] == "L":
        text = f"{slip} Cars from China normally carry one: compare it with the car once more."
    else:
        text = f"{slip} Not every market uses one: compare it with the car."
    return [Reason("vin_check_digit", text, Weight.NOTE)]
