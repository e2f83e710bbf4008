"""Several photos in one form field, each examined; nothing of them is kept yet."""

from django import forms

from shop.photos.fields import PhotoField

MOST_AT_ONCE = 8


class ManyFiles(forms.FileInput):
    allow_multiple_selected = True


class PhotosField(PhotoField):
    """Cleans to a list of `Examined`, empty where nothing was chosen. One file that is no photo refuses them all."""

    widget = ManyFiles(
        attrs={"accept": "image/jpeg,image/png,image/webp,image/heic,.heic,.heif", "multiple": True}
    )

    def clean(self, data, initial=None):
        files = data if isinstance(data, list | tuple) else [data] if data else []
        if not files:
            if self.required:
                raise forms.ValidationError(self.error_messages["required"], code="required")
            return []
        if len(files) > MOST_AT_ONCE:
            raise forms.ValidationError(f"At most {MOST_AT_ONCE} photos at once; send the rest after.")
        return [super(PhotosField, self).clean(one, initial) for one in files]


def digests(examined) -> list[str]:
    """What a form says of its photos, fit to be compared with a second sending."""
    return [found.sha256 for found in examined]
