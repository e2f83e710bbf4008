"""Names of people: as they are kept, and as they are compared."""

import unicodedata

LONGEST = 80


def tidy(name: str) -> str:
    """One space between words, none around, one spelling of each letter.

    >>> tidy("  Ana   Berg ")
    'Ana Berg'
    """
    return " ".join(unicodedata.normalize("NFC", name).split())


def folded(name: str) -> str:
    """What two spellings of one name have in common: case, spaces and compatibility forms do not count.

    >>> folded(" ANA  berg") == folded("Ana Berg")
    True
    """
    return tidy(unicodedata.normalize("NFKC", name).casefold())
