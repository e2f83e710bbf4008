"""What was read off a meter or a label, in words."""

from collections.abc import Mapping

from shop.units import format_c100, format_mm, format_rh10, format_um10

_BY_UNIT = {
    "_c100": format_c100,
    "_rh10": lambda value, system: format_rh10(value),
    "_mm": format_mm,
    "_um10": format_um10,
}


def values_in_words(values: Mapping[str, object], system: str) -> str:
    """
    >>> values_in_words({"air_c100": 2140, "humidity_rh10": 455, "lot": "L-7"}, "metric")
    'air 21.4 °C, humidity 45.5 %, lot L-7'
    """
    return ", ".join(_said(name, value, system) for name, value in values.items())


def _said(name: str, value: object, system: str) -> str:
    for unit, write in _BY_UNIT.items():
        if name.endswith(unit) and isinstance(value, int):
            return f"{name.removesuffix(unit).replace('_', ' ')} {write(value, system)}"
    return f"{name.replace('_', ' ')} {value}"
