"""What is typed about cars to come and times promised. Times are those of the workshop's clock."""

from zoneinfo import ZoneInfo

from django import forms

from shop.people.desk import DeskForm

AT = {"type": "datetime-local"}
PLAIN = {"autocomplete": "off"}
FORMAT = "%Y-%m-%dT%H:%M"
NO_TIME = {
    "required": "Pick a day and a time.",
    "invalid": "Pick a day and a time, like 26 November 2026, 09:00.",
}


class TimedForm(DeskForm):
    """`moments` names the fields that are times of the workshop's clock."""

    moments: tuple[str, ...] = ()

    def __init__(self, *args, zone: str, **kwargs):
        self.zone = ZoneInfo(zone)
        super().__init__(*args, **kwargs)

    def clean(self):
        told = super().clean()
        for name in self.moments:
            if told.get(name):
                told[name] = told[name].replace(tzinfo=self.zone)
        return told


def _time(label: str, **rest) -> forms.DateTimeField:
    return forms.DateTimeField(
        label=label, widget=forms.DateTimeInput(AT, format=FORMAT), error_messages=NO_TIME, **rest
    )


class ExpectForm(TimedForm):
    moments = ("expected",)
    secret = ("name", "phone", "mail")
    expected = _time("Comes on")
    name = forms.CharField(
        label="Customer",
        max_length=200,
        widget=forms.TextInput(PLAIN),
        error_messages={"required": "Type the customer's name."},
    )
    phone = forms.CharField(label="Phone", max_length=40, required=False, widget=forms.TextInput(PLAIN))
    mail = forms.CharField(
        label="Mail address", max_length=200, required=False, widget=forms.EmailInput(PLAIN)
    )
    car = forms.CharField(
        label="Car",
        max_length=120,
        help_text="“Grey sedan” is enough.",
        widget=forms.TextInput(PLAIN),
        error_messages={"required": "Say which car it is."},
    )
    what = forms.CharField(
        label="What for",
        max_length=200,
        required=False,
        help_text="Front, or whole car.",
        widget=forms.TextInput(PLAIN),
    )

    def __init__(self, *args, known: bool, **kwargs):
        super().__init__(*args, **kwargs)
        for name in ("name", "phone", "mail", "car") if known else ():
            del self.fields[name]


class MoveForm(TimedForm):
    moments = ("expected",)
    expected = _time("Comes on")


class OffForm(DeskForm):
    why = forms.CharField(label="It does not come, because", max_length=200, widget=forms.TextInput(PLAIN),
                          error_messages={"required": "Say why it does not come."})  # fmt: skip


class PromiseForm(TimedForm):
    moments = ("promised",)
    promised = _time("Ready on", required=False)
    why = forms.CharField(
        label="Why it changes",
        help_text="Kept in the record of the car.",
        max_length=200,
        required=False,
        widget=forms.TextInput(PLAIN),
    )

    def __init__(self, *args, first: bool, **kwargs):
        super().__init__(*args, **kwargs)
        if first:
            self.fields["promised"].required = True
            del self.fields["why"]
