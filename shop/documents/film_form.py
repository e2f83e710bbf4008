"""The film sheet as a form: every figure in the shop's units with where it comes from; written back as a draft."""

import copy
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms

from shop import units
from shop.documents import built_in, film_kind
from shop.documents.figures import human, unit_of
from shop.documents.typed import shown, typed
from shop.people.desk import DeskForm

Body = Mapping[str, Any]
BOUNDS = (
    ("good_from", "Good from"),
    ("good_to", "Good to"),
    ("note_below", "Warn below"),
    ("note_above", "Warn above"),
    ("stop_below", "Stop below"),
    ("stop_above", "Stop above"),
)
LIMITS = {
    "air_c100": "Air",
    "panel_c100": "Panel",
    "humidity_rh10": "Humidity",
    "dew_margin_c100": "Above the dew point",
    "return_mm": "Return round an edge",
    "allowance_mm": "Allowance a side, bulk",
    "allowance_bumper_mm": "Allowance, bumper",
    "post_heat_c100": "Face when post-heating",
}
BANDS = 4
SOURCED = ("thickness", "stale", "reading", "primer", "cure")
SOURCE_SAYS = "Say where this comes from: the maker's paper and its date, or “common practice, no source”."


@dataclass(frozen=True)
class Row:
    """One line of the table of limits: its name, a cell for each bound, its source."""

    name: str
    cells: list[tuple[str, forms.BoundField]]
    source: forms.BoundField


class FigureField(forms.CharField):
    """A figure as typed. What was shown and left alone keeps its exact value: 165 µm are not 6.5 mil."""

    def __init__(self, *, unit: str, system: str, value: int | None, required: bool, label: str):
        self.unit, self.system, self.value = unit, system, value
        super().__init__(
            label=label,
            required=required,
            max_length=30,
            initial=shown(value, unit, system),
            widget=forms.TextInput(attrs={"autocomplete": "off", "class": "figure"}),
            error_messages={"required": "This figure is needed."},
        )

    def clean(self, value):
        text = super().clean(value)
        if not text:
            return None
        if self.value is not None and text == shown(self.value, self.unit, self.system):
            return self.value
        try:
            return typed(text, self.unit, self.system)
        except ValueError as fault:
            raise forms.ValidationError(str(fault)) from None


class FilmSheetForm(DeskForm):
    """`body` is the sheet as it stands; what the form does not show of it stays as it is."""

    name = forms.SlugField(
        label="Short name",
        max_length=80,
        error_messages={"invalid": "Small letters, digits and dashes only."},
    )
    version = forms.CharField(label="Version", max_length=30)
    title = forms.CharField(label="Which film", max_length=120)
    note = forms.CharField(
        label="Remark", max_length=400, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args, body: Body, system: str, **kwargs):
        super().__init__(*args, **kwargs)
        self.body, self.system = body, system
        for field in ("name", "version"):
            self.fields[field].initial = body.get(field, "")
        for field in ("title", "note"):
            self.fields[field].initial = body.get(field, {}).get("en", "")
        for path, unit, label, required in _figures(body):
            self.fields["__".join(path)] = FigureField(
                unit=unit, system=system, value=_at(body, path), required=required, label=label
            )
        self.fields["primer__corners_of"] = forms.CharField(
            label="Primer at corners of",
            required=False,
            max_length=300,
            initial=", ".join(body.get("primer", {}).get("corners_of", ())),
        )
        for path in _sources(body):
            self.fields["__".join(path)] = _source_field(_at(body, path))
        self.fields |= film_kind.fields(body, system)
        if "confirmed" in self.data:
            self.fields["confirmed"] = _confirmed()

    # --- what is written back ------------------------------------------------------------------------------

    def clean(self):
        told = super().clean()
        self._ask_for_sources(told)
        self._ask_for_bands(told)
        self.widths = film_kind.clean(self, told, SOURCE_SAYS)
        typical = told.get("thickness__typical_um10")
        usual = built_in.film_defaults()["thickness"]
        low, high = usual["question_below_um10"], usual["question_above_um10"]
        if typical is not None and not low <= typical <= high and not told.get("confirmed"):
            self.fields.setdefault("confirmed", _confirmed())
            self.add_error(
                "thickness__typical_um10",
                f"{both(typical)}: film usually has {both(low)} to {both(high)}. A mil is 25.4 µm, not a "
                "millimetre: 6.5 mil are 165 µm. Compare number and unit with the maker's paper.",
            )
        return told

    def _ask_for_sources(self, told: dict[str, Any]) -> None:
        """A figure without its source is one nobody can question later."""
        for key in _limits(self.body):
            figures = [told.get(f"limits__{key}__{bound}") for bound, _ in BOUNDS]
            if any(figure is not None for figure in figures) and not told.get(f"limits__{key}__source"):
                self.add_error(f"limits__{key}__source", SOURCE_SAYS)
        for part in SOURCED:
            if not told.get(f"{part}__source"):
                self.add_error(f"{part}__source", SOURCE_SAYS)

    def _ask_for_bands(self, told: dict[str, Any]) -> None:
        bands = [
            [told.get(f"cure__bands__{n}__{part}") for part in ("from_c100", "hours")] for n in range(BANDS)
        ]
        for n, (from_c100, hours) in enumerate(bands):
            if (from_c100 is None) != (hours is None):
                self.add_error(
                    f"cure__bands__{n}__hours", "A band has a temperature and its hours: give both."
                )
        if not any(None not in band for band in bands):
            self.add_error("cure__bands__0__hours", "Give at least one band: how warm, and how long then.")

    def new_body(self) -> dict[str, Any]:
        """The sheet with what was typed. A confirmed thickness moves the bounds it would be questioned by."""
        told, body = self.cleaned_data, copy.deepcopy(dict(self.body))
        body |= {
            "name": told["name"],
            "version": told["version"],
            "title": {**body.get("title", {}), "en": told["title"]},
        }
        body.pop("note", None)
        if told["note"]:
            body["note"] = {"en": told["note"]}
        for name, value in told.items():
            if "__" in name and not name.startswith("cure__bands"):
                _put(body, tuple(name.split("__")), value)
        body["primer"]["corners_of"] = told["primer__corners_of"].replace(",", " ").split()
        bands = [
            (told[f"cure__bands__{n}__from_c100"], told[f"cure__bands__{n}__hours"]) for n in range(BANDS)
        ]
        body["cure"]["bands"] = [
            {"from_c100": from_c100, "hours": hours}
            for from_c100, hours in bands
            if from_c100 is not None and hours
        ]
        body.pop(film_kind.PART, None)
        if film := film_kind.table(told, self.widths):
            body[film_kind.PART] = film
        thick = body["thickness"]
        if told.get("confirmed"):
            thick["question_below_um10"] = min(thick["question_below_um10"], thick["typical_um10"])
            thick["question_above_um10"] = max(thick["question_above_um10"], thick["typical_um10"])
        return _in_order(body)

    # --- what the page shows -------------------------------------------------------------------------------

    def rows(self) -> list[Row]:
        return [
            Row(
                LIMITS.get(key) or human(key),
                [(words, self[f"limits__{key}__{bound}"]) for bound, words in BOUNDS],
                self[f"limits__{key}__source"],
            )
            for key in _limits(self.body)
        ]

    def bands(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        return [
            (self[f"cure__bands__{n}__from_c100"], self[f"cure__bands__{n}__hours"]) for n in range(BANDS)
        ]

    def thickness_both(self) -> str:
        """The thickness of now in both units, so that a slip between them is seen."""
        typical = self.body.get("thickness", {}).get("typical_um10")
        return both(typical) if isinstance(typical, int) else ""


def fits(body: Body) -> bool:
    """Whether a draft is whole enough for the form; one that lacks a part is put right as text first."""
    parts = all(isinstance(body.get(part), Mapping) for part in (*SOURCED, "limits", "title"))
    return parts and all(isinstance(rule, Mapping) for rule in body["limits"].values())


def both(um10: int) -> str:
    """
    >>> both(1650)
    '165 µm (6.5 mil)'
    """
    return f"{units.format_um10(um10)} ({units.format_um10(um10, units.US)})"


def _limits(body: Body) -> list[str]:
    """Every limit of the sheet, and those the built-in sheet knows besides."""
    return list(dict.fromkeys([*built_in.film_defaults()["limits"], *body.get("limits", {})]))


def _figures(body: Body) -> Iterator[tuple[tuple[str, ...], str, str, bool]]:
    """(path, unit, label, whether it is needed) of every figure."""
    yield ("thickness", "typical_um10"), "um10", "Thickness", True
    yield ("thickness", "question_below_um10"), "um10", "Question below", True
    yield ("thickness", "question_above_um10"), "um10", "Question above", True
    for key in _limits(body):
        for bound, label in BOUNDS:
            yield (
                ("limits", key, bound),
                unit_of(key),
                f"{LIMITS.get(key) or human(key)}, {label.lower()}",
                False,
            )
    yield ("stale", "minutes"), "minutes", "Wiped edges stay fresh for", True
    yield ("reading", "valid_minutes"), "minutes", "A reading is good for", True
    yield ("primer", "flash_off_least_s"), "s", "Flash-off at least", True
    yield ("primer", "flash_off_most_s"), "s", "Flash-off at most", True
    yield ("cure", "stops_below_c100"), "c100", "The clock stops below", True
    for n in range(BANDS):
        yield ("cure", "bands", str(n), "from_c100"), "c100", "From", False
        yield ("cure", "bands", str(n), "hours"), "hours", "Hours", False


def _sources(body: Body) -> Iterator[tuple[str, ...]]:
    for part in SOURCED:
        yield (part, "source")
    for key in _limits(body):
        yield ("limits", key, "source")


def _source_field(value: Any) -> forms.CharField:
    return forms.CharField(
        label="Where it comes from",
        required=False,
        max_length=200,
        initial=value or "",
        widget=forms.TextInput(attrs={"autocomplete": "off", "class": "source"}),
    )


def _confirmed() -> forms.BooleanField:
    return forms.BooleanField(
        label="I compared it with the maker's paper",
        required=False,
        help_text="This film really is that thick; rolls of it are not questioned any more.",
    )


def _at(body: Body, path: tuple[str, ...]) -> Any:
    found: Any = body
    for step in path:
        if isinstance(found, list):
            found = found[int(step)] if int(step) < len(found) else None
        else:
            found = found.get(step) if isinstance(found, Mapping) else None
    return found


def _put(body: dict[str, Any], path: tuple[str, ...], value: Any) -> None:
    """A value where it belongs; an empty one is taken out, and with it a table that says nothing else."""
    *tables, last = path
    here = body
    for step in tables:
        here = here.setdefault(step, {})
    if value is None or value == "":
        here.pop(last, None)
    else:
        here[last] = value


def _in_order(body: dict[str, Any]) -> dict[str, Any]:
    """Limits without a figure left out; the rest in the order of the built-in sheet."""
    body["limits"] = {key: rule for key, rule in body["limits"].items() if set(rule) - {"source"}}
    order = [*built_in.film_defaults(), *body]
    return {key: body[key] for key in dict.fromkeys(order) if key in body}
