"""A form field for photos at the desk and in the bay: what comes out was examined, nothing was kept yet."""

from django import forms
from django.core.exceptions import ValidationError

from shop import press
from shop.photos import actions
from shop.reasons import Refused


class PhotoField(forms.FileField):
    """Cleans to `Examined`, ready for `shop.photos.actions.shelve` inside the verb's transaction, or to None.

    Faults are form errors whose code is that of the reason (`photo_small`), so that what else was typed stays.
    """

    default_error_messages = {
        "required": "Choose a photo.",
        "invalid": "Choose a photo.",
        "missing": "Choose a photo.",
        "empty": "This file is empty. Take the photo again.",
    }
    widget = forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp,image/heic,.heic,.heif"})

    def to_python(self, data):
        upload = super().to_python(data)
        return None if upload is None else examine_upload(upload)


def examine_upload(upload) -> actions.Examined:
    """An uploaded file, examined; ValidationError with our sentences."""
    try:
        return _examined(upload)
    except Refused as refused:
        raise ValidationError(
            [ValidationError(reason.text, code=reason.code) for reason in refused.reasons]
        ) from None
    except press.PressBusy as busy:
        raise ValidationError(str(busy), code="busy") from None


def _examined(upload) -> actions.Examined:
    if upload.size > actions.MOST_BYTES:
        raise actions.unreadable(
            f"This file is larger than {actions.MOST_BYTES // 1_000_000} MB. Send a smaller photo."
        )
    return actions.examine(upload.read(), name=upload.name)
