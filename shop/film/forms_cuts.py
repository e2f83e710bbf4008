"""What is typed when film leaves a roll, lies on a shelf, or slip and tack are mixed."""

from decimal import Decimal

from django import forms

from shop import units
from shop.film.forms import LengthField
from shop.film.models import Lot, Material, Mix
from shop.people.desk import DeskForm

MEASURED = "It was measured, and there is more on the roll than the book says"


class StockForm(DeskForm):
    """Lengths in the shop's units; `confirmed` is asked only once the roll was found too short by the book."""

    confirmed = forms.BooleanField(label=MEASURED, required=False)

    def __init__(self, *args, workshop, **kwargs):
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if isinstance(field, LengthField):
                field.system = workshop.unit_system
        if "confirmed" not in self.data:
            self.confirm = self.fields.pop("confirmed", None)

    def refuse(self, reasons):
        if any(reason.code == "roll_short" for reason in reasons) and "confirmed" not in self.fields:
            self.fields["confirmed"] = self.confirm
        super().refuse(reasons)


class ScrapForm(StockForm):
    length = LengthField(label="How much goes to the bin", max_length=30)
    reason = forms.CharField(
        label="Why",
        max_length=200,
        help_text="A crease, dirt, a wrong cut.",
        widget=forms.Textarea({"rows": 2}),
    )
    field_order = ["key", "length", "reason", "confirmed"]


class OffcutScrapForm(DeskForm):
    reason = forms.CharField(label="Why", max_length=200, widget=forms.Textarea({"rows": 2}))


class OffcutForm(StockForm):
    width = LengthField(label="Width", max_length=30, help_text="Across the roll.")
    length = LengthField(label="Length", max_length=30, help_text="Along the roll: the way the film runs.")
    shelf = forms.CharField(label="Shelf", max_length=40, help_text="Where it lies: B 2, tube 4.")
    off_the_roll = forms.TypedChoiceField(
        label="Where it comes from",
        choices=[("left", "Left over from a cut for a car"), ("roll", "Cut off the roll for this")],
        coerce=lambda value: value == "roll",
        widget=forms.RadioSelect,
        initial="left",
    )
    field_order = ["key", "width", "length", "shelf", "off_the_roll", "confirmed"]


class VolumeField(forms.CharField):
    system = units.METRIC

    def clean(self, value):
        text = super().clean(value)
        try:
            return units.parse_ml10(text, self.system)
        except ValueError as fault:
            raise forms.ValidationError(str(fault)) from None


class StrengthField(forms.DecimalField):
    """A strength in % by volume as typed; cleaned to whole 0.1 %."""

    def __init__(self, **kwargs):
        wrong = "Write a strength in percent: 99 or 70.5."
        super().__init__(
            required=False,
            max_digits=5,
            decimal_places=1,
            localize=False,
            error_messages=dict.fromkeys(
                ("invalid", "max_digits", "max_decimal_places", "max_whole_digits"), wrong
            ),
            widget=forms.TextInput({"inputmode": "decimal", "autocomplete": "off"}),
            **kwargs,
        )

    def to_python(self, value):
        return super().to_python(str(value).replace(",", ".").removesuffix("%").strip() if value else value)

    def clean(self, value):
        percent = super().clean(value)
        return None if percent is None else int(percent * Decimal(10))


class MixForm(DeskForm):
    """By ratio, and then which way it is meant is asked; or by strength, where both strengths are known."""

    lot = forms.ModelChoiceField(
        label="Made from",
        queryset=None,
        empty_label="Pick the bottle",
        error_messages={"required": "Pick the bottle it is made from."},
    )
    total = VolumeField(label="How much is wanted", max_length=30)
    ratio = forms.CharField(
        label="Ratio on the bottle", max_length=20, required=False, help_text="1:10, as it is printed."
    )
    meant = forms.ChoiceField(
        label="How the ratio is meant",
        choices=[
            (Mix.Meant.IN, "One part in ten parts of mix: 1:10 makes 10 %"),
            (Mix.Meant.PLUS, "One part and ten parts of water: 1:10 makes 9.1 %"),
        ],
        required=False,
        help_text="Labels differ. Read the data sheet, or ask the supplier.",
        widget=forms.RadioSelect,
    )
    stock_strength = StrengthField(label="Strength in the bottle, %", help_text="By volume.")
    wanted_strength = StrengthField(label="Strength wanted, %", help_text="By volume.")

    def __init__(self, *args, workshop, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["lot"].queryset = Lot.objects.on_the_shelf(
            workshop, Material.Kind.SLIP, Material.Kind.TACK
        )
        self.fields["lot"].label_from_instance = lambda lot: (
            f"{lot.material.get_kind_display()}: {lot.material.name}, lot {lot.code}"
        )
        us = workshop.unit_system == units.US
        self.fields["total"].system = workshop.unit_system
        self.fields["total"].help_text = "1 US gal or 5 l." if us else "5 l or 1500 ml."

    def told(self) -> dict:
        """As the verb takes it."""
        given = self.cleaned_data
        return {
            "lot": given["lot"],
            "total_ml10": given["total"],
            "ratio": given["ratio"],
            "meant": given["meant"],
            "stock_percent10": given["stock_strength"],
            "wanted_percent10": given["wanted_strength"],
        }

    def said(self) -> dict:
        told = super().said()
        return told | {"lot": told["lot"].pk}
