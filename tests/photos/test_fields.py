import pytest
from django import forms
from django.core.files.uploadedfile import SimpleUploadedFile

from shop.models import Photo
from shop.photos.actions import shelve
from shop.photos.fields import PhotoField
from tests import make
from tests.photos import pictures


class Proof(forms.Form):
    note = forms.CharField(required=False)
    photo = PhotoField()


class MaybeProof(forms.Form):
    photo = PhotoField(required=False)


def sent(data, name="IMG_1.jpg", form=Proof):
    files = {"photo": SimpleUploadedFile(name, data, content_type="image/jpeg")} if data is not None else {}
    return form({"note": "front edge"}, files)


@pytest.mark.django_db
def test_a_good_photo_is_ready_to_be_shelved():
    form = sent(pictures.jpeg())
    assert form.is_valid() and Photo.objects.count() == 0
    photo = shelve(form.cleaned_data["photo"], workshop=make.workshop(), by=None, now=make.NOW)
    assert (photo.w, photo.h) == pictures.SIZE


@pytest.mark.parametrize(
    ("data", "name", "code"),
    [
        (None, "", "required"),
        (b"", "IMG_1.jpg", "empty"),
        (b"<html><script>alert(1)</script></html>" * 9, "IMG_1.jpg", "photo_unreadable"),
        (pictures.jpeg((640, 480)), "IMG_1.jpg", "photo_small"),
        (pictures.jpeg(), "IMG_1.svg", "photo_unreadable"),
        (pictures.jpeg() + b"\0" * 25_000_000, "IMG_1.jpg", "photo_unreadable"),
    ],
)
def test_a_fault_is_a_form_error_with_our_sentence(data, name, code):
    form = sent(data, name)
    assert not form.is_valid()
    (error,) = form.errors.as_data()["photo"]
    assert error.code == code and error.messages[0].endswith(".")
    assert form["note"].value() == "front edge"


def test_no_photo_where_none_is_needed():
    form = sent(None, form=MaybeProof)
    assert form.is_valid() and form.cleaned_data["photo"] is None
