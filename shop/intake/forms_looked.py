"""What is typed of a car that is looked over: readings of a paint gauge, and what was tried."""

from django import forms

from shop import units
from shop.intake.forms import PLAIN, PartForm
from shop.intake.looked_over import DeviceTry


class SpotForm(PartForm):
    """Readings as they are read off the gauge, with blanks between; they become 0.1 µm."""

    panel = forms.ChoiceField(
        label="Metal panel", error_messages={"required": "Say which panel was measured."}
    )
    readings = forms.CharField(
        label="Readings of one spot",
        max_length=300,
        widget=forms.TextInput(PLAIN | {"inputmode": "decimal"}),
        error_messages={"required": "Type at least three readings."},
    )
    note = forms.CharField(
        label="Where on the panel", required=False, max_length=100, widget=forms.TextInput(PLAIN)
    )

    def __init__(self, *args, panels, system, **kwargs):
        super().__init__(*args, **kwargs)
        self.system = system
        self.fields["panel"].choices = [("", "Choose one"), *panels]
        example = "4.6 4.7 4.6" if system == units.US else "118 121 119"
        unit, near = ("mil", "1.5 in") if system == units.US else ("µm", "4 cm")
        # The circle of a spot is that of SSPC-PA 2.
        self.fields[
            "readings"
        ].help_text = f"At least three within {near}, in {unit}, with blanks between: {example}"

    def clean_readings(self) -> list[int]:
        found = []
        for text in self.cleaned_data["readings"].replace(";", " ").split():
            try:
                found.append(units.parse_um10(text, self.system))
            except ValueError as error:
                raise forms.ValidationError(f"“{text[:20]}”: {error}") from None
        return found


class TriedForm(PartForm):
    """One choice and one note for each device; those left open are not tried."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        choices = [("", "Not tried yet"), *DeviceTry.Found.choices]
        for code, name in DeviceTry.Device.choices:
            self.fields[code] = forms.ChoiceField(label=name, choices=choices, required=False)
            self.fields[f"{code}_note"] = forms.CharField(
                label=f"{name}: what is wrong, or which",
                required=False,
                max_length=200,
                widget=forms.TextInput(PLAIN | {"placeholder": "what is wrong, or which"}),
            )

    @property
    def rows(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        return [(self[code], self[f"{code}_note"]) for code, _ in DeviceTry.Device.choices]

    @property
    def found(self) -> dict[str, str]:
        return {code: how for code, _ in DeviceTry.Device.choices if (how := self.cleaned_data.get(code))}

    @property
    def notes(self) -> dict[str, str]:
        return {code: self.cleaned_data.get(f"{code}_note", "") for code in self.found}
