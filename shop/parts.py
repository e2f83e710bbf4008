"""Made-up content for the page that shows every part of the look in every state."""

import json
from pathlib import Path

from django import forms

CONTENT = Path(__file__).resolve().parent.parent / "fixtures" / "parts.json"


class SampleForm(forms.Form):
    """One field of every kind; bound to nonsense it shows every sentence."""

    plate = forms.CharField(label="Plate", max_length=12, help_text="As it stands on the car.")
    vin = forms.CharField(
        label="VIN",
        min_length=17,
        max_length=17,
        widget=forms.TextInput(attrs={"class": "typed-code", "autocomplete": "off", "spellcheck": "false"}),
        error_messages={"min_length": "A VIN has 17 characters; this one has %(show_value)s."},
    )
    # A number field of the browser's own drops what it cannot read, and what was typed has to stay.
    odometer_km = forms.IntegerField(
        label="Odometer, km",
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
        error_messages={"invalid": "The odometer is a whole number of kilometres."},
    )
    body = forms.ChoiceField(
        label="Body",
        choices=(("", "Choose one"), ("sedan", "Four-door sedan"), ("van", "Van")),
        error_messages={"required": "Choose the body, so that the right sheet is drawn."},
    )
    paint = forms.ChoiceField(
        label="Paint",
        choices=(("factory", "as it left the factory"), ("fresh", "painted since, or we think so")),
        widget=forms.RadioSelect,
        help_text="Film can lift weak paint when it comes off.",
        error_messages={"required": "Say what is known of the paint."},
    )
    told = forms.BooleanField(
        label="The customer was told that a new colour may have to be registered",
        help_text="Rules differ from place to place; the local office knows.",
        error_messages={"required": "Tell the customer first, then tick this."},
    )
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea(attrs={"rows": 3}))
    photo = forms.FileField(label="Photo", required=False)


def _stages(content, states, now=""):
    return [
        {"code": code, "name": name, "state": state, "word": content["words"][state], "now": code == now}
        for (code, name), state in zip(content["stages"], states.split(), strict=True)
    ]


def _panel(content, name, states):
    cells = [
        {**cell, "stage": cell["code"], "url": "#grid", "word": f"{name}, {cell['name']}: {cell['word']}"}
        for cell in _stages(content, states)
    ]
    return {"name": name, "url": "#grid", "cells": cells}


def samples():
    """Context of `parts/index.html`."""
    content = json.loads(CONTENT.read_text(encoding="utf-8"))
    ladders = [_stages(content, states, now) for now, states in content["ladders"]]
    wrong = {"vin": "ZZZPP41LTR", "plate": "SK 41 LTR", "odometer_km": "many"}
    return {
        **content,
        "grid_stages": [{"code": code, "name": name} for code, name in content["stages"]],
        "ladders": ladders,
        "cars": [{**car, "stages": ladder} for car, ladder in zip(content["cars"], ladders, strict=True)],
        "stages": _stages(content, "ready ready worked open open open open open", "degrease"),
        "panels": [_panel(content, name, states) for name, states in content["panels"]],
        "form": SampleForm(),
        "form_wrong": SampleForm(wrong),
    }
