"""What is typed at the desk when a car comes in. The verbs judge it; here it only gets its shape."""

from zoneinfo import ZoneInfo

from django import forms

from shop.documents.models import Document
from shop.intake import paint
from shop.intake.agreement import SAID
from shop.intake.models import Mark
from shop.intake.odometer import read_km
from shop.people.desk import DeskForm
from shop.people.models import Workshop
from shop.photos.fields import PhotoField
from shop.templatetags.words import in_language

PLAIN = {"autocomplete": "off", "spellcheck": "false"}
USUAL_BODIES = ("sedan", "hatchback", "coupe", "estate", "pickup", "van")
CODE = PLAIN | {"class": "typed-code", "autocapitalize": "characters"}


class CustomerForm(DeskForm):
    name = forms.CharField(
        label="Name", widget=forms.TextInput(PLAIN), error_messages={"required": "Type the customer's name."}
    )
    phone = forms.CharField(label="Phone", required=False, widget=forms.TelInput(PLAIN))
    mail = forms.CharField(
        label="Mail", required=False, widget=forms.EmailInput(PLAIN | {"autocapitalize": "off"})
    )
    address = forms.CharField(label="Address", required=False, widget=forms.Textarea(PLAIN | {"rows": 3}))


class CarForm(DeskForm):
    vin = forms.CharField(label="VIN", required=False, widget=forms.TextInput(CODE))
    vin_confirmed = forms.CharField(
        label="It really reads so, because",
        required=False,
        widget=forms.TextInput(PLAIN),
        help_text="Only where the check digit does not fit. The reason stays on the record.",
    )
    chassis = forms.CharField(label="Chassis number", required=False, widget=forms.TextInput(CODE))
    chassis_reason = forms.CharField(label="Why it has no VIN", required=False, widget=forms.TextInput(PLAIN))
    plate = forms.CharField(label="Plate", required=False, widget=forms.TextInput(CODE))
    model = forms.CharField(
        label="Model",
        help_text="In plain words, as it should stand on the certificate.",
        widget=forms.TextInput(PLAIN),
        error_messages={"required": "Say which car it is, in plain words."},
    )
    colour = forms.CharField(
        label="Paint colour",
        widget=forms.TextInput(PLAIN),
        error_messages={"required": "Say which colour the paint has."},
    )
    colour_code = forms.CharField(label="Paint code", required=False, widget=forms.TextInput(CODE))

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        # The verb says it better when both are missing; here it only keeps the label from saying "may stay empty".
        self.fields["vin"].required = not self.no_vin
        self.fields["vin"].error_messages["required"] = (
            "Type the VIN: 17 characters. A car without one has a chassis number."
        )

    @property
    def no_vin(self) -> bool:
        """Whether the part for a car without a VIN stands open."""
        return any(self[name].value() for name in ("chassis", "chassis_reason"))

    @property
    def confirm_vin(self) -> bool:
        return bool(self["vin_confirmed"].value()) or any(
            reason["code"] == "vin_check_digit" for reason in self.reasons
        )


class CorrectionForm(CarForm, CustomerForm):
    """What is known of a car and its owner, to be put right."""


class ArrivalForm(CarForm, CustomerForm):
    body = forms.ChoiceField(label="Body")
    odometer = forms.CharField(label="Odometer", required=False, widget=forms.TextInput(PLAIN))
    odometer_confirmed = forms.CharField(
        label="It really shows less, because", required=False, widget=forms.TextInput(PLAIN)
    )
    promised = forms.DateTimeField(
        label="Promised for",
        required=False,
        widget=forms.DateTimeInput({"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        error_messages={"invalid": "Give a day and an hour."},
    )

    def __init__(self, *args, workshop, **kwargs):
        super().__init__(*args, **kwargs)
        self.workshop = workshop
        self.miles = workshop.unit_system == Workshop.Units.US
        self.fields["vin"].widget.attrs |= {
            "hx-get": "?part=vin",
            "hx-trigger": "input changed delay:400ms",
            "hx-target": "#vin-verdict",
            "aria-describedby": "vin-verdict",
        }
        self.fields["odometer"].help_text = f"In {'miles' if self.miles else 'km'}, as it shows."
        bodies = sorted(Document.objects.published(workshop, Document.Kind.BODY), key=_usual_first)
        self.fields["body"].choices = [
            (row.name, in_language(row.body.get("title", row.name), workshop.language)) for row in bodies
        ]

    @property
    def confirm_odometer(self) -> bool:
        return bool(self["odometer_confirmed"].value()) or any(
            reason["code"] == "odometer_back" for reason in self.reasons
        )

    def clean_odometer(self) -> int | None:
        text = self.cleaned_data["odometer"]
        try:
            return read_km(text, miles=self.miles) if text else None
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None

    def clean_promised(self):
        moment = self.cleaned_data["promised"]
        return moment.replace(tzinfo=ZoneInfo(self.workshop.zone)) if moment else None


def _usual_first(body) -> tuple[int, str]:
    """The usual bodies in their order, a shop's own ones after them by name."""
    return (USUAL_BODIES.index(body.name) if body.name in USUAL_BODIES else len(USUAL_BODIES), body.name)


def known_values(vehicle, workshop) -> dict:
    """What is known of a returning car, to start the form from."""
    owner = vehicle.ownerships.filter(until__isnull=True).select_related("customer").first()
    values = {
        "vin": vehicle.vin or "",
        "vin_confirmed": vehicle.vin_note,
        "chassis": vehicle.chassis,
        "chassis_reason": vehicle.chassis_reason,
        "plate": vehicle.plate_text,
        "model": vehicle.model,
        "colour": vehicle.colour,
        "colour_code": vehicle.colour_code,
        "body": vehicle.body,
    }
    return values | (customer_values(owner.customer) if owner else {})


def expected_values(due, workshop) -> dict:
    """What was told of a car before it came, to start the form from."""
    values = known_values(due.vehicle, workshop) if due.vehicle else {"model": due.car[:80]}
    return values | customer_values(due.customer)


def customer_values(customer) -> dict:
    return {
        field: value.value if (value := getattr(customer, field)) else ""
        for field in ("name", "phone", "mail", "address")
    }


class PartForm(DeskForm):
    """One of several forms of a page: told apart by its prefix, also where a reason leads to a field."""

    def refuse(self, reasons) -> None:
        super().refuse(reasons)
        for reason in self.reasons:
            field = reason["where_url"].removeprefix("#id_")
            if field in self.fields:
                reason["where_url"] = f"#{self[field].id_for_label}"


class PlaceForm(PartForm):
    """Where a mark is, in thousandths of its panel's box."""

    x_mil = forms.IntegerField(widget=forms.HiddenInput, initial=500, min_value=0, max_value=1000)
    y_mil = forms.IntegerField(widget=forms.HiddenInput, initial=500, min_value=0, max_value=1000)


class MarkForm(PlaceForm):
    panel = forms.ChoiceField(label="Panel", error_messages={"required": "Touch the panel on the drawing."})
    kind = forms.ChoiceField(
        label="What it is",
        choices=[("", "Choose one"), *Mark.Kind.choices],
        error_messages={"required": "Say what kind of damage it is."},
    )
    note = forms.CharField(
        label="Note",
        required=False,
        max_length=300,
        widget=forms.TextInput(PLAIN),
        help_text="How large, how deep.",
    )
    photo = PhotoField(label="Photo", required=False)

    def __init__(self, *args, panels, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["panel"].choices = [("", "Choose one"), *panels]

    def said(self) -> dict:
        photo = self.cleaned_data.get("photo")
        return super().said() | {"photo": photo.sha256 if photo else ""}


class PaintForm(PartForm):
    panel = forms.ChoiceField(label="Panel")
    kind = forms.ChoiceField(label="What is known", choices=[("", "Choose one"), *paint.KINDS.items()])
    dried = forms.ChoiceField(
        label="How it was dried",
        required=False,
        choices=[
            ("", "Nobody asked yet"),
            *((code, words.capitalize()) for code, words in paint.DRIED.items()),
        ],
    )
    painted_on = forms.DateField(
        label="Painted on",
        required=False,
        widget=forms.DateInput({"type": "date"}),
        error_messages={"invalid": "Give a day."},
    )
    note = forms.CharField(label="Note", required=False, max_length=300, widget=forms.TextInput(PLAIN))

    def __init__(self, *args, panels, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["panel"].choices = [("", "Choose one"), *panels]


class SignatureForm(PartForm):
    strokes = forms.CharField(
        label="Signature", required=False, max_length=400_000, widget=forms.HiddenInput({"data-strokes": ""})
    )
    secret = ("strokes",)


class AgreementForm(SignatureForm):
    said_at_desk = forms.MultipleChoiceField(
        label="Said to the customer",
        required=False,
        choices=[(code, said.ticked) for code, said in SAID.items()],
        widget=forms.CheckboxSelectMultiple,
    )
    text_seen = forms.CharField(widget=forms.HiddenInput, required=False)
    counter = forms.CharField(
        label="Our signature",
        required=False,
        max_length=400_000,
        widget=forms.HiddenInput({"data-strokes": ""}),
    )
    secret = ("strokes", "counter")


class ReasonForm(PartForm):
    why = forms.CharField(label="Why", required=False, max_length=300, widget=forms.TextInput(PLAIN))
