from django import forms

from shop.people.desk import DeskForm

PIN = {"inputmode": "numeric", "autocomplete": "off", "class": "typed-code"}


class ProvenForm(DeskForm):
    """Whoever answers for the act proves it with the PIN, in the same request."""

    secret = ("pin",)
    pin = forms.CharField(
        label="Your PIN",
        max_length=8,
        widget=forms.PasswordInput(attrs=PIN),
        error_messages={"required": "Type your PIN: it signs for the workshop."},
    )


class IssueForm(ProvenForm):
    pass


class PrintForm(DeskForm):
    pass


class CorrectForm(ProvenForm):
    field_order = ("reason", "pin")
    reason = forms.CharField(
        label="What was wrong",
        help_text="Printed on the new revision. No names and no phone numbers.",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": "Say what this revision corrects."},
    )


class WithdrawForm(ProvenForm):
    field_order = ("why", "pin")
    why = forms.CharField(
        label="Why",
        help_text="Kept in the record. The public page says that it was withdrawn and when, not why.",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": "Say why it is withdrawn."},
    )


class AddressForm(DeskForm):
    """One address to write to; it reaches no receipt."""

    secret = ("address",)
    address = forms.CharField(
        label="Mail address",
        max_length=200,
        widget=forms.EmailInput(attrs={"autocomplete": "off"}),
        error_messages={"required": "Type the address to write to."},
    )


class AgainForm(DeskForm):
    """Nothing to type: the page says what will happen."""
