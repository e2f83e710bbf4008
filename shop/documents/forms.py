"""What is typed about documents."""

from django import forms

from shop.people.desk import DeskForm

CODE = {"autocomplete": "off", "autocapitalize": "off", "spellcheck": "false"}


class ProvenForm(DeskForm):
    """Whoever answers for the act proves it, in the same request."""

    secret = ("proof",)
    proof = forms.CharField(
        label="Your PIN or password",
        max_length=200,
        widget=forms.PasswordInput(attrs={"autocomplete": "off"}),
        error_messages={"required": "Type your PIN or password: it answers for this."},
    )


class PublishForm(ProvenForm):
    """`seen` is the digest of the text this page showed."""

    seen = forms.CharField(widget=forms.HiddenInput, max_length=64)


class CopyForm(DeskForm):
    name = forms.SlugField(
        label="Short name",
        max_length=80,
        widget=forms.TextInput(attrs=CODE),
        help_text="Keep it for a new version of the same document; change it for another one beside it.",
        error_messages={"invalid": "Small letters, digits and dashes only."},
    )
    version = forms.CharField(
        label="Version",
        max_length=30,
        widget=forms.TextInput(attrs=CODE),
        help_text="One that this document never had.",
    )

    def clean_name(self):
        return self.cleaned_data["name"].lower()


class TextForm(DeskForm):
    text = forms.CharField(
        label="The text",
        strip=False,
        widget=forms.Textarea(attrs={**CODE, "wrap": "off", "class": "lines-text", "data-lines": ""}),
        error_messages={"required": "The text is empty."},
    )
