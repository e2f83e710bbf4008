"""Forms of the floor: a defect settled, a car handed over."""

import json

from django import forms


class SettleForm(forms.Form):
    """How a defect ends. The photo after goes by the tablet's outbox, not by this form."""

    kind = forms.ChoiceField(label="What it is")
    cause = forms.ChoiceField(label="What caused it", required=False)
    disposition = forms.ChoiceField(label="How it was settled")
    from_stage = forms.ChoiceField(
        label="Film again from",
        required=False,
        help_text="Only where it is filmed again. What was done before that stage is carried over.",
    )
    note = forms.CharField(label="Note", required=False, max_length=500, widget=forms.Textarea({"rows": 2}))
    person = forms.ChoiceField(label="Who settled it")
    strokes = forms.CharField(widget=forms.HiddenInput({"data-strokes": ""}), required=False)
    text_seen = forms.CharField(required=False, max_length=1000, widget=forms.HiddenInput)

    def __init__(self, *args, kinds, causes, ways, stages, people, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["kind"].choices = kinds
        self.fields["cause"].choices = [("", "Not known"), *causes]
        self.fields["disposition"].choices = ways
        self.fields["from_stage"].choices = [("", "Where its edges are wiped"), *stages]
        self.fields["person"].choices = [(person.pk, person.name) for person in people]

    def clean_strokes(self) -> list:
        return drawn(self.cleaned_data["strokes"])


class HandOverForm(forms.Form):
    on = forms.DateField(label="Day of hand-over", widget=forms.DateInput({"type": "date"}))
    odometer_km = forms.IntegerField(label="Odometer, km", required=False, min_value=0, max_value=3_000_000)
    strokes = forms.CharField(widget=forms.HiddenInput({"data-strokes": ""}), required=False)
    pin = forms.CharField(
        label="Your PIN",
        max_length=8,
        widget=forms.PasswordInput({"inputmode": "numeric", "autocomplete": "off"}),
    )

    def clean_strokes(self) -> list:
        return drawn(self.cleaned_data["strokes"])


def drawn(text: str) -> list:
    """The strokes of a pad; nothing where the field holds no list."""
    try:
        strokes = json.loads(text or "[]")
    except ValueError:
        return []
    return strokes if isinstance(strokes, list) else []
