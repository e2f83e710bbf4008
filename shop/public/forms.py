from django import forms

from shop.intake import vin as vins
from shop.warranty.numbers import is_code, is_token, plain


class CodeForm(forms.Form):
    unknown = "There is no certificate with this code. Compare it with the paper, sign by sign."

    code = forms.CharField(
        label="The code beside the QR",
        max_length=60,
        help_text="Eight signs, like 7Q4M-2KXD.",
        error_messages={
            "required": "Type the code that stands beside the QR.",
            "max_length": "A code has eight signs, like 7Q4M-2KXD.",
        },
        widget=forms.TextInput(
            attrs={
                "autocomplete": "off",
                "autocapitalize": "characters",
                "spellcheck": "false",
                "class": "typed-code",
            }
        ),
    )

    def clean_code(self):
        code = plain(self.cleaned_data["code"])
        if is_code(code) or is_token(code):
            return code
        if code.isdigit() and len(code) <= 7:
            raise forms.ValidationError(
                "That looks like the certificate's number. Type the code beside the QR, like 7Q4M-2KXD."
            )
        raise forms.ValidationError("A code has eight signs, letters and figures, like 7Q4M-2KXD.")


class FileForm(forms.Form):
    file = forms.FileField(
        label="The PDF as you got it",
        error_messages={
            "required": "Choose the PDF first.",
            "empty": "This file is empty.",
            "invalid": "The file did not arrive. Choose it again.",
        },
        widget=forms.FileInput(attrs={"accept": "application/pdf,.pdf"}),
    )


class VinForm(forms.Form):
    number = forms.CharField(
        label="The whole VIN",
        max_length=40,
        error_messages={
            "required": "Type the number as it stands on the car.",
            "max_length": "That is too long: a VIN has 17 characters.",
        },
        widget=forms.TextInput(
            attrs={
                "autocomplete": "off",
                "autocapitalize": "characters",
                "spellcheck": "false",
                "placeholder": "17 characters",
            }
        ),
    )

    def __init__(self, *args, is_vin: bool = True, **kwargs):
        super().__init__(*args, **kwargs)
        self.is_vin = is_vin
        if not is_vin:
            self.fields["number"].widget.attrs["placeholder"] = "as on the car"

    def clean_number(self):
        number = vins.forgiving(self.cleaned_data["number"])
        if self.is_vin and len(number) != vins.LENGTH:
            raise forms.ValidationError(f"A VIN has {vins.LENGTH} characters; this has {len(number)}.")
        return number
