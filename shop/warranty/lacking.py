"""What terms still lack for the shop's place, said where the owner drafts them."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from shop.people import places
from shop.warranty.disclosure import LEGAL_NOTE, missing


@dataclass(frozen=True)
class Lacking:
    """`place` is the country's name; `gaps` are (path, sentence); `note` says what these checks are not."""

    place: str
    gaps: list[tuple[str, str]]
    note: str = LEGAL_NOTE


def of_terms(body: Mapping[str, Any], workshop) -> Lacking:
    found = missing(body, country=workshop.country, language=workshop.language)
    place = places.countries().get(workshop.country, workshop.country)
    return Lacking(place, [(reason.where.removeprefix("#"), reason.text) for reason in found])
