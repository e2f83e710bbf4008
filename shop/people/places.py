"""Countries and time zones, from the public tz database that comes with the tzdata package."""

from functools import cache
from importlib import resources
from zoneinfo import available_timezones


def _rows(name: str) -> list[list[str]]:
    text = (resources.files("tzdata") / "zoneinfo" / name).read_text(encoding="utf-8")
    return [line.split("\t") for line in text.splitlines() if line and not line.startswith("#")]


@cache
def countries() -> dict[str, str]:
    """Two-letter code to the short English name the tz database uses, by name."""
    return dict(sorted(((code, name) for code, name in _rows("iso3166.tab")), key=lambda pair: pair[1]))


@cache
def zones() -> list[tuple[str, list[tuple[str, str]]]]:
    """Zones a person would pick, grouped by area: `[("Europe", [("Europe/Madrid", "Madrid"), …]), …]`."""
    groups: dict[str, list[tuple[str, str]]] = {}
    for name in sorted(row[2] for row in _rows("zone.tab")):
        area, _, place = name.partition("/")
        groups.setdefault(area, []).append((name, place.replace("_", " ").replace("/", ", ")))
    return [*sorted(groups.items()), ("Other", [("UTC", "UTC")])]


def is_zone(name: str) -> bool:
    return name in available_timezones()
