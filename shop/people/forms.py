"""What is typed about the workshop, its people and its tablets."""

from django import forms

from shop.people import places
from shop.people.desk import DeskForm, PlainForm
from shop.people.models import Role, Workshop

NEW_PASSWORD = {"autocomplete": "new-password"}
OLD_PASSWORD = {"autocomplete": "current-password"}
PIN = {"inputmode": "numeric", "autocomplete": "off", "class": "typed-code"}


def _countries():
    return [("", "Choose one"), *places.countries().items()]


def _zones():
    return [("", "Choose one"), *places.zones()]


def _switch(label: str, help_text: str):
    return forms.BooleanField(label=label, help_text=help_text, required=False)


class LetterheadForm(DeskForm):
    """Name and address as on paper, and how this workshop writes days, lengths and temperatures."""

    name = forms.CharField(label="Name of the workshop", max_length=120)
    address = forms.CharField(
        label="Address",
        help_text="As it stands on your letterhead. Every certificate carries it.",
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    phone = forms.CharField(label="Phone", max_length=40, required=False, widget=forms.TelInput)
    mail = forms.CharField(label="Mail", max_length=200, required=False, widget=forms.EmailInput)
    country = forms.ChoiceField(label="Country", choices=_countries)
    zone = forms.ChoiceField(
        label="Time zone",
        help_text="The clock on the workshop's wall. Cover begins and ends by its days.",
        choices=_zones,
    )
    unit_system = forms.ChoiceField(
        label="Units",
        choices=(
            (Workshop.Units.METRIC, "Metric: mm, µm, °C"),
            (Workshop.Units.US, "US: inches, mils, °F; paper shows metric behind"),
        ),
        initial=Workshop.Units.METRIC,
        widget=forms.RadioSelect,
    )
    public_url = forms.CharField(
        label="Public address",
        help_text="Printed as a QR code on every certificate, so it has to last. "
        "A customer's phone must be able to open it.",
        max_length=200,
        widget=forms.URLInput(attrs={"autocapitalize": "off", "spellcheck": "false"}),
    )
    self_release = _switch(
        "Allow self-release",
        "For a shop of one. Whoever laid a film may then check it too, not before the next day, and the paper says "
        "“checked by the installer”. Leave it off where a second person can look.",
    )


class FirstStartForm(LetterheadForm):
    """The letterhead and the owner's own account."""

    owner_name = forms.CharField(
        label="Your name",
        help_text="You sign in with it, and it stands on what you sign.",
        max_length=80,
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )
    password = forms.CharField(
        label="Your password",
        help_text="At least eight characters. A few words in a row are easy to keep.",
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs=NEW_PASSWORD),
    )
    pin = forms.CharField(
        label="Your PIN",
        help_text="Six digits. It signs for you at the tablet, so nobody else may know it.",
        max_length=8,
        widget=forms.TextInput(attrs=PIN),
    )
    secret = ("password", "pin")


class SettingsForm(LetterheadForm):
    pin_length = forms.TypedChoiceField(
        label="Digits of a PIN",
        help_text="New PINs have this many. Fewer digits are guessed sooner.",
        choices=[(n, n) for n in range(4, 9)],
        coerce=int,
    )


class SignInForm(PlainForm):
    name = forms.CharField(
        label="Name",
        max_length=200,
        error_messages={"required": "Type your name."},
        widget=forms.TextInput(attrs={"autocomplete": "username", "autofocus": True, "spellcheck": "false"}),
    )
    password = forms.CharField(
        label="Password",
        max_length=1000,
        strip=False,
        error_messages={"required": "Type your password."},
        widget=forms.PasswordInput(attrs=OLD_PASSWORD),
    )


class PersonForm(DeskForm):
    name = forms.CharField(label="Name", help_text="As it should stand on the certificate.", max_length=80)
    roles = forms.MultipleChoiceField(
        label="Roles",
        choices=Role.choices,
        widget=forms.CheckboxSelectMultiple,
        help_text="Installers lay and sign. Inspectors check work that is not their own. The desk takes cars in and "
        "hands them over. The owner does people, tablets and settings.",
        error_messages={"required": "Give at least one role."},
    )


class NewPersonForm(PersonForm):
    pin = forms.CharField(
        label="PIN",
        help_text="Made up just now and shown only here: pass it on. Its owner changes it at the tablet.",
        max_length=8,
        required=False,
        widget=forms.TextInput(attrs=PIN),
    )
    password = forms.CharField(
        label="Password",
        help_text="For front desk and owner: they sign in. At the tablet the PIN is enough.",
        max_length=200,
        strip=False,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )
    secret = ("pin", "password")


class ResetPinForm(DeskForm):
    pin = forms.CharField(
        label="New PIN",
        help_text="Made up just now and shown only here: pass it on. It also ends a lock.",
        max_length=8,
        widget=forms.TextInput(attrs=PIN),
    )
    secret = ("pin",)


class ResetPasswordForm(DeskForm):
    password = forms.CharField(
        label="New password",
        help_text="Pass it on; its owner changes it after signing in. Open sessions end.",
        max_length=200,
        strip=False,
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )
    secret = ("password",)


class ConfirmForm(DeskForm):
    """Nothing to type: the page says what will happen."""


class TabletForm(DeskForm):
    name = forms.CharField(label="Name", help_text="What you call it: “Bay 2, by the lift”.", max_length=60)


class OwnPasswordForm(DeskForm):
    old_password = forms.CharField(
        label="Password now", max_length=1000, strip=False, widget=forms.PasswordInput(attrs=OLD_PASSWORD)
    )
    password = forms.CharField(
        label="New password",
        help_text="At least eight characters. Your other sessions end.",
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs=NEW_PASSWORD),
    )
    secret = ("old_password", "password")


class OwnPinForm(DeskForm):
    """A person changes their own PIN, at the desk or at a tablet, with the one they have."""

    who = forms.ModelChoiceField(label="Who", queryset=None, empty_label="Pick your name")
    old_pin = forms.CharField(label="PIN now", max_length=8, widget=forms.PasswordInput(attrs=PIN))
    pin = forms.CharField(label="New PIN", max_length=8, widget=forms.PasswordInput(attrs=PIN))
    again = forms.CharField(label="New PIN again", max_length=8, widget=forms.PasswordInput(attrs=PIN))
    secret = ("old_pin", "pin", "again")

    def __init__(self, *args, people, me=None, **kwargs):
        super().__init__(*args, **kwargs)
        if me:
            del self.fields["who"]
        else:
            self.fields["who"].queryset = people

    def clean(self):
        told = super().clean()
        if {"pin", "again"} <= set(told) and told["pin"] != told["again"]:
            self.add_error("again", "The two new PINs differ: type it once more.")
        return told
