"""What is typed when stock comes in, is opened or is held back."""

from django import forms

from shop import units
from shop.documents.models import Document
from shop.film.models import Material
from shop.people.desk import DeskForm

CODE = {"class": "typed-code", "autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}
CODE_WORDS = {"required": "Copy it from the label."}


class LengthField(forms.CharField):
    """A length as typed, in whatever unit; cleaned to whole millimetres."""

    system = units.METRIC

    def clean(self, value):
        text = super().clean(value)
        if not text:
            return None
        try:
            return units.parse_mm(text, self.system)
        except ValueError as fault:
            raise forms.ValidationError(str(fault)) from None


def day_field(label: str, *, required=True, help_text=""):
    return forms.DateField(
        label=label,
        required=required,
        help_text=help_text,
        error_messages={"invalid": "Write a day as year-month-day: 2026-03-31."},
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )


def code_field(label: str):
    """A lot or a roll, as its label says it."""
    return forms.CharField(
        label=label, max_length=40, error_messages=CODE_WORDS, widget=forms.TextInput(attrs=CODE)
    )


def colour_field():
    return forms.CharField(label="Colour", max_length=60, required=False)


def finish_field():
    return forms.CharField(
        label="Finish", max_length=20, required=False, help_text="Gloss, satin, matt, brushed."
    )


def directional_field():
    return forms.BooleanField(
        label="Runs one way", required=False, help_text="Metallic and brushed films must not be turned."
    )


class RollForm(DeskForm):
    """`confirmed` is asked only once a size was questioned."""

    material = forms.ModelChoiceField(
        label="Film",
        queryset=None,
        required=False,
        empty_label="A film that is new on this shelf",
        help_text="Pick it, or leave this and describe the new film below.",
    )
    name = forms.CharField(label="Name of the new film", max_length=80, required=False)
    colour = colour_field()
    finish = finish_field()
    directional = directional_field()
    sheet = forms.ModelChoiceField(
        label="Film sheet",
        queryset=None,
        required=False,
        empty_label="None: the plan's own limits hold",
        help_text="Its limits for heat, damp, primer and cure hold for this film.",
    )
    lot = code_field("Lot")
    roll = code_field("Roll")
    width = LengthField(label="Width", max_length=30)
    length = LengthField(label="Length", max_length=30)
    confirmed = forms.BooleanField(
        label="I read width and length twice", required=False, help_text="They are as written here."
    )
    received_on = day_field("Received on")
    opened_on = day_field("Opened on", required=False)
    expires_on = day_field("Good until", help_text="The last day the maker stands for.")

    def __init__(self, *args, workshop, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["material"].queryset = Material.objects.filter(
            workshop=workshop, kind=Material.Kind.FILM
        ).order_by("name")
        sheets = Document.objects.published(workshop, Document.Kind.FILM)
        self.fields["sheet"].queryset = sheets
        self.fields["sheet"].label_from_instance = titled
        for name, example in (("width", ("1520 mm", "60 in")), ("length", ("15 m", "50 ft"))):
            us = workshop.unit_system == units.US
            self.fields[name].system = workshop.unit_system
            self.fields[
                name
            ].help_text = f"With its unit: {example[us]}. {example[not us]} is understood too."
        if "confirmed" not in self.data:
            self.confirm = self.fields.pop("confirmed")

    def refuse(self, reasons):
        if any(reason.code == "roll_size_odd" for reason in reasons) and "confirmed" not in self.fields:
            self.fields["confirmed"] = self.confirm
        super().refuse(reasons)


def titled(document: Document) -> str:
    title = document.body.get("title", {})
    return title.get("en") or document.name


class LotForm(DeskForm):
    kind = forms.ChoiceField(
        label="What it is",
        choices=[
            (kind.value, kind.label)
            for kind in (Material.Kind.PRIMER, Material.Kind.SLIP, Material.Kind.TACK)
        ],
        widget=forms.RadioSelect,
        error_messages={"required": "Say whether it is primer, slip or tack."},
    )
    name = forms.CharField(
        label="Product", max_length=80, help_text="As it stands on the bottle.",
        widget=forms.TextInput(attrs={"list": "products", "autocomplete": "off"}),
    )  # fmt: skip
    lot = code_field("Lot")
    received_on = day_field("Received on")
    opened_on = day_field("Opened on", required=False)
    expires_on = day_field("Good until", required=False)


class FilmForm(DeskForm):
    """What is known of a film that stands on the shelf already."""

    colour = colour_field()
    finish = finish_field()
    directional = directional_field()
    sheet = forms.ModelChoiceField(
        label="Film sheet",
        queryset=None,
        required=False,
        empty_label="As it stands",
        help_text="It holds for what is set out from now on; pieces set out keep the sheet they have.",
    )

    def __init__(self, *args, workshop, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["sheet"].queryset = Document.objects.published(workshop, Document.Kind.FILM)
        self.fields["sheet"].label_from_instance = titled


class ReserveForm(DeskForm):
    length = LengthField(
        label="Keep back",
        max_length=30,
        help_text="Counted over all rolls of this lot. Nought keeps nothing.",
        error_messages={"required": "Say how much: 0 keeps nothing."},
    )

    def __init__(self, *args, workshop, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["length"].system = workshop.unit_system


class OpenedForm(DeskForm):
    opened_on = day_field("Opened on")


class WhyForm(DeskForm):
    reason = forms.CharField(
        label="Why",
        max_length=200,
        help_text="Whoever reaches for it reads this.",
        error_messages={"required": "Say why."},
        widget=forms.Textarea(attrs={"rows": 2}),
    )
