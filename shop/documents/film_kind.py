"""What a film sheet says of the film itself: the widths it comes in, its finish, and whether it runs one way."""

from collections.abc import Mapping
from typing import Any

from django import forms

from shop import units

PART = "film"


def fields(body: Mapping[str, Any], system: str) -> dict[str, forms.Field]:
    """Fields by name, starting from what the sheet says; all of it may stay empty."""
    film = body.get(PART, {})
    widths = ", ".join(units.format_mm(width, system) for width in film.get("widths_mm", ()))
    example = "60 in, 48 in" if system == units.US else "1520 mm, 1220 mm"
    return {
        "kind_widths": forms.CharField(
            label="Widths it comes in",
            required=False,
            max_length=100,
            initial=widths,
            help_text=f"One after the other: {example}. A roll of another width is questioned.",
        ),
        "kind_finish": forms.CharField(
            label="Finish", required=False, max_length=20, initial=film.get("finish", "")
        ),
        "kind_directional": forms.BooleanField(
            label="Runs one way",
            required=False,
            initial=film.get("directional", False),
            help_text="Metallic and brushed films must not be turned.",
        ),
        "kind_source": forms.CharField(
            label="Where it comes from",
            required=False,
            max_length=200,
            initial=film.get("source", ""),
            widget=forms.TextInput(attrs={"autocomplete": "off", "class": "source"}),
        ),
    }


def read_widths(text: str, system: str) -> list[int]:
    """Whole millimetres, widest first; ValueError with a sentence.

    >>> read_widths("1220 mm, 60 in", "metric")
    [1524, 1220]
    """
    found = {units.parse_mm(part, system) for part in text.split(",") if part.strip()}
    if 0 in found:
        raise ValueError("A film has a width.")
    return sorted(found, reverse=True)


def clean(form: Any, told: Mapping[str, Any], source_says: str) -> list[int]:
    """The widths typed; what is wrong is told at its field."""
    widths: list[int] = []
    try:
        widths = read_widths(told.get("kind_widths", ""), form.system)
    except ValueError as fault:
        form.add_error("kind_widths", str(fault))
    said = widths or told.get("kind_finish") or told.get("kind_directional")
    if said and not told.get("kind_source"):
        form.add_error("kind_source", source_says)
    return widths


def table(told: Mapping[str, Any], widths: list[int]) -> dict[str, Any] | None:
    """The part of the sheet; None where it says nothing."""
    said: dict[str, Any] = {"widths_mm": widths} if widths else {}
    if told["kind_finish"]:
        said["finish"] = told["kind_finish"]
    if told["kind_directional"]:
        said["directional"] = True
    return said | {"source": told["kind_source"]} if said else None
