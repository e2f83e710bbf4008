"""Search keys: what is kept beside a car so that one field finds it, and what one typed field may mean.

A key is kept and asked for in the same plain form, so spaces, dashes, case, accents and look-alike signs
(O and Q for 0, I for 1) do not matter. Keys of names and phones are personal values and are erased with them.
"""

import unicodedata
from typing import Final

import phonenumbers

from shop.intake import vin as vins

Key = tuple[str, str]

VIN, CHASSIS, LAST_SIX, PLATE, NAME = "vin", "chassis", "last_six", "plate", "name"
PHONE, PHONE_TAIL, LOT, CERTIFICATE = "phone", "phone_tail", "lot", "certificate"
LONGEST: Final = 80
_TAILS: Final = (7, 4)
_MOST_WORDS: Final = 8
_LEAST_OF_PHONE: Final = 4
# Letters that Unicode does not take apart into a plain one and its mark.
_PLAIN: Final = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "æ": "ae", "œ": "oe", "þ": "th", "ı": "i"}
)


def vin_keys(vin: str) -> list[Key]:
    return _numbered(VIN, vins.forgiving(vin))


def chassis_keys(number: str) -> list[Key]:
    return _numbered(CHASSIS, squeezed(number))


def plate_keys(plate: str) -> list[Key]:
    return _one(PLATE, squeezed(plate))


def lot_keys(code: str) -> list[Key]:
    return _one(LOT, squeezed(code))


def certificate_keys(number: str) -> list[Key]:
    return _one(CERTIFICATE, squeezed(number))


def name_keys(name: str) -> list[Key]:
    """Each word of a name on its own: people type the surname alone, or the names in another order.

    >>> name_keys("Zoë O'Neil-Łukasz")
    [('name', 'zoe'), ('name', 'oneil'), ('name', 'lukasz')]
    """
    return [(NAME, word[:LONGEST]) for word in dict.fromkeys(_words(name))]


def phone_keys(number: str, country: str) -> list[Key]:
    """The number in E.164 if it reads as one in the workshop's country, and its last digits in any case."""
    e164 = _e164(number, country)
    digits = e164 or "".join(sign for sign in _folded(number) if sign in "0123456789")
    tails = [(PHONE_TAIL, digits[-length:]) for length in _TAILS if len(digits) >= length]
    return ([(PHONE, e164)] if e164 else []) + tails


def query_keys(text: str, country: str) -> list[Key]:
    """Every key one typed field may mean, without repeats. Words of a name have to be met all at once.

    >>> query_keys("o4 2788", "US")
    [('last_six', '042788'), ('plate', '042788'), ('lot', '042788'), ('certificate', '042788'), \
('chassis', '042788'), ('name', 'o4')]
    """
    text = text[:200]
    plain = squeezed(text)
    found: list[Key] = []
    if len(plain) == vins.LENGTH:
        found.append((VIN, plain))
    if len(plain) == 6:
        found.append((LAST_SIX, plain))
    found += [(kind, plain[:LONGEST]) for kind in (PLATE, LOT, CERTIFICATE, CHASSIS) if plain]
    words = [word for word in _words(text) if not word.isdigit()][:_MOST_WORDS]
    if not words:
        found += _asked_phone(text, country)
    return list(dict.fromkeys(found + [(NAME, word[:LONGEST]) for word in words]))


def begun_keys(text: str, country: str) -> list[Key]:
    """What a field half typed may be the beginning of. The last word of a name may be unfinished, the others not.

    >>> begun_keys("mv 52", "US")
    [('vin', 'MV52'), ('plate', 'MV52'), ('lot', 'MV52'), ('certificate', 'MV52'), ('chassis', 'MV52'), \
('name', 'mv')]
    >>> begun_keys("07400 12", "GB")[-1]
    ('phone', '+44740012')
    """
    text = text[:200]
    plain = squeezed(text)[:LONGEST]
    found = [(kind, plain) for kind in (VIN, PLATE, LOT, CERTIFICATE, CHASSIS) if plain]
    words = [word for word in _words(text) if not word.isdigit()][:_MOST_WORDS]
    if words:
        return found + [(NAME, word[:LONGEST]) for word in words]
    started = _started(text, country)
    return found + ([(PHONE, started)] if started else [])


def after(begun: str) -> str:
    """A key behind all that begin so, or nothing where none is sure to be: it bounds a look into an index.

    Databases sort signs differently, but digits and plain letters alike: only among these is a next one named.

    >>> after("MV52"), after("AB9"), after("ABZ"), after("Z"), after("é")
    ('MV53', 'ABA', 'AC', '', '')
    """
    while begun and begun[-1] in "Zz":
        begun = begun[:-1]
    if not begun or not (begun[-1].isascii() and begun[-1].isalnum()):
        return ""
    return begun[:-1] + ("A" if begun[-1] == "9" else chr(ord(begun[-1]) + 1))


def squeezed(text: str) -> str:
    """Letters and digits only, capital, without accents, look-alikes as digits.

    >>> squeezed(" bp-2026/o0I7 ")
    'BP20260017'
    """
    kept = "".join(sign for sign in _folded(text) if sign.isalnum()).upper()
    return vins.forgiving(kept)


def _asked_phone(text: str, country: str) -> list[Key]:
    """As typed it may be the whole number or only the end of it: the longest tail that fits is asked for."""
    keys = phone_keys(text, country)
    whole = [key for key in keys if key[0] == PHONE]
    return whole + [key for key in keys if key[0] == PHONE_TAIL][:1]


def _e164(number: str, country: str) -> str:
    try:
        parsed = phonenumbers.parse(number[:250], country or None)
    except phonenumbers.NumberParseException:
        return ""
    # A number that is only possible within its own town is the end of one, not a whole one.
    if phonenumbers.is_possible_number_with_reason(parsed) != phonenumbers.ValidationResult.IS_POSSIBLE:
        return ""
    return phonenumbers.format_number(parsed, phonenumbers.PhoneNumberFormat.E164)


def _started(text: str, country: str) -> str:
    """The beginning of a phone number as it would stand in E.164, once enough of it is there to mean one."""
    if sum(sign.isdigit() for sign in text) < _LEAST_OF_PHONE:
        return ""
    try:
        parsed = phonenumbers.parse(text, country or None)
    except phonenumbers.NumberParseException:
        return ""
    return f"+{parsed.country_code}{parsed.national_number}"


def _numbered(kind: str, number: str) -> list[Key]:
    """A whole number, and its last six where it is longer."""
    return _one(kind, number) + ([(LAST_SIX, number[-6:])] if len(number) >= 6 else [])


def _one(kind: str, key: str) -> list[Key]:
    return [(kind, key[:LONGEST])] if key else []


def _words(name: str) -> list[str]:
    joined = "".join(sign for sign in _folded(name) if sign not in "'’ʼ`´")
    return "".join(sign if sign.isalnum() else " " for sign in joined).split()


def _folded(text: str) -> str:
    """Case and accents off, wide and other letter forms made plain."""
    parts = unicodedata.normalize("NFKD", text.casefold()).translate(_PLAIN)
    return "".join(sign for sign in parts if not unicodedata.combining(sign))
