"""Where strangers check a certificate."""

from urllib.parse import urlsplit


def check_url(base: str, token: str) -> str:
    """The address a phone opens.

    >>> check_url("https://film.example", "7Q4M")
    'https://film.example/check/7Q4M/'
    """
    return f"{base}/check/{token}/"


def scanned_url(base: str, token: str) -> str:
    """The same address as the QR code says it: upper case where that may be, for a coarser code.

    Scheme and host take any case, and our own path does too; somebody else's path before it may not.

    >>> scanned_url("https://film.example", "7Q4M")
    'HTTPS://FILM.EXAMPLE/CHECK/7Q4M/'
    >>> scanned_url("https://film.example/shop", "7Q4M")
    'https://film.example/shop/check/7Q4M/'
    """
    whole = check_url(base, token)
    return whole if urlsplit(base).path else whole.upper()


def typed_address(base: str) -> str:
    """What is printed for typing: no scheme, nothing a person would leave out.

    >>> typed_address("https://film.example")
    'film.example/check'
    """
    return f"{base.partition('://')[2]}/check"
