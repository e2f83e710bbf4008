"""What a workshop says of itself, and what can be wrong with it."""

import re
from collections.abc import Mapping
from typing import Any
from urllib.parse import urlsplit

from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from shop.people import places
from shop.people.models import Workshop
from shop.reasons import Reason

LANGUAGES = {"en": "English"}
_HOST = re.compile(r"[a-z0-9]([a-z0-9.-]*[a-z0-9])?|\[[0-9a-f:.]+\]", re.IGNORECASE)


def tidy_url(address: str) -> str:
    return address.strip().rstrip("/")


def problems(values: Mapping[str, Any]) -> list[Reason]:
    """Every fault of the values given, each naming its field; values left out are not looked at."""
    return [
        Reason("value_wrong", sentence, where=f"#{name}")
        for name, value in values.items()
        if (sentence := _RULES[name](value))
    ]


def _text(longest: int, missing: str):
    def rule(value: str) -> str:
        if not value.strip():
            return missing
        return f"At most {longest} characters fit here." if len(value) > longest else ""

    return rule


def _mail(value: str) -> str:
    try:
        if value:
            validate_email(value)
    except ValidationError:
        return "That is no mail address: it needs a name, an @ and a domain."
    return ""


def _public_url(value: str) -> str:
    say = "Write the whole address, for example https://bay.example.com, without anything after a ? or #."
    try:
        parts = urlsplit(tidy_url(value))
        sound = parts.port is None or parts.port > 0
    except ValueError:
        return say
    sound = sound and parts.scheme in ("http", "https") and bool(_HOST.fullmatch(_host(parts)))
    return "" if sound and not (parts.query or parts.fragment or parts.username or len(value) > 200) else say


def _host(parts) -> str:
    host = parts.hostname or ""
    return f"[{host}]" if ":" in host else host


_RULES = {
    "name": _text(120, "The workshop needs a name: it stands on every certificate."),
    "address": _text(500, "The certificate needs your address, as on your letterhead."),
    "phone": lambda value: "At most 40 characters fit here." if len(value) > 40 else "",
    "mail": _mail,
    "zone": lambda value: "" if places.is_zone(value) else "Pick the time zone the workshop's clock shows.",
    "country": lambda value: (
        "" if value in places.countries() else "Pick the country the workshop stands in."
    ),
    "language": lambda value: "" if value in LANGUAGES else "The program does not speak that language yet.",
    "unit_system": lambda value: "" if value in Workshop.Units.values else "Pick metric or US units.",
    "public_url": _public_url,
    "self_release": lambda value: "" if isinstance(value, bool) else "Self-release is allowed or it is not.",
    "pin_length": lambda value: "" if value in range(4, 9) else "A PIN has four to eight digits.",
}
