"""What a certificate goes by: a number a year and workshop, a token nobody guesses, a short code to type.

The alphabet leaves out I, L, O and U, so that what is read aloud comes back as it was; all of it is in the
alphanumeric set of a QR code, which keeps the code coarse enough for a phone in a dim garage.
"""

import re
import secrets
from datetime import date

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
TOKEN_LENGTH = 26  # 5 bits each: 130 bits
CODE_LENGTH = 8
_LOOK_ALIKE = str.maketrans({"O": "0", "I": "1", "L": "1"})


def new_token() -> str:
    return "".join(secrets.choice(ALPHABET) for _ in range(TOKEN_LENGTH))


def number_after(last: str | None, on: date) -> str:
    """The next number of the year, `YY-NNNN`; `last` is the highest given in that year.

    >>> number_after("26-0041", date(2026, 5, 1)), number_after(None, date(2027, 1, 2))
    ('26-0042', '27-0001')
    """
    count = int(last.partition("-")[2]) if last else 0
    return f"{on:%y}-{count + 1:04d}"


def short_code(token: str) -> str:
    """The part of the token that is printed for typing.

    >>> short_code("7Q4M2KXDA0A0A0A0A0A0A0A0A0")
    '7Q4M-2KXD'
    """
    return f"{token[:4]}-{token[4:CODE_LENGTH]}"


def plain(typed: str) -> str:
    """A token or short code as somebody types it: any case, blanks and dashes, O for 0, I or L for 1.

    >>> plain(" 7q4m 2kxd ")
    '7Q4M2KXD'
    """
    return re.sub(r"[\s\-–—]", "", typed).upper().translate(_LOOK_ALIKE)


def is_code(text: str) -> bool:
    return len(text) == CODE_LENGTH and set(text) <= set(ALPHABET)


def is_token(text: str) -> bool:
    return len(text) == TOKEN_LENGTH and set(text) <= set(ALPHABET)
