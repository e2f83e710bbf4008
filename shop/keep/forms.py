"""What the owner types about customers' data."""

from django import forms

from shop.keep.retention import MOST_YEARS
from shop.people.desk import DeskForm
from shop.people.forms import PIN


class EraseForm(DeskForm):
    secret = ("pin",)

    sure = forms.BooleanField(
        label="I know that it cannot be undone",
        help_text="Nobody can bring it back, from here or from a paper. Backups hold it until they go by their rules.",
        error_messages={"required": "Tick this, or leave the page."},
    )
    pin = forms.CharField(label="Your PIN", max_length=20, strip=False, widget=forms.PasswordInput(attrs=PIN))


class RetentionForm(DeskForm):
    years = forms.IntegerField(
        label="Years they stay after all cover has ended and the car was last here",
        help_text="0 keeps them until the customer asks. Bills and warranties may have to be kept for a time set by "
        "law: ask those who know yours; this is no advice.",
        min_value=0,
        max_value=MOST_YEARS,
        error_messages={
            "invalid": "Give whole years.",
            "min_value": "Give whole years, 0 or more.",
            "max_value": f"At most {MOST_YEARS} years.",
        },
    )
