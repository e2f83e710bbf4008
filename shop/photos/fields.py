"""A form field for photos at the desk and in the bay: what comes out was examined, nothing was kept yet."""

from django import forms
from django.core.exceptions import ValidationError

from shop import press
from shop.photos import actions, codes
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


class CodesField(PhotoField):
    """Cleans to the codes read in the photo. An empty list is a photo in which none was found."""

    def to_python(self, data):
        upload = forms.FileField.to_python(self, data)
        return None if upload is None else _told(_codes, upload)

    def clean(self, data, initial=None):
        # FileField takes what is empty for nothing sent.
        found = self.to_python(data)
        if found is None and self.required:
            raise ValidationError(self.error_messages["required"], code="required")
        return found


def examine_upload(upload) -> actions.Examined:
    """An uploaded file, examined; ValidationError with our sentences."""
    return _told(_examined, upload)


def _told(work, upload):
    try:
        return work(upload)
    except Refused as refused:
        raise ValidationError(
            [ValidationError(reason.text, code=reason.code) for reason in refused.reasons]
        ) from None
    except press.PressBusy as busy:
        raise ValidationError(str(busy), code="busy") from None


def _codes(upload) -> list[codes.Code]:
    return actions.read_codes(_of_a_size(upload))


def _examined(upload) -> actions.Examined:
    return actions.examine(_of_a_size(upload), name=upload.name)


def _of_a_size(upload) -> bytes:
    if upload.size > actions.MOST_BYTES:
        raise actions.unreadable(
            f"This file is larger than {actions.MOST_BYTES // 1_000_000} MB. Send a smaller photo."
        )
    return upload.read()
