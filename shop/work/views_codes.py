"""A roll label read from a photo in the bay: told to the page, which shows it; nobody's answer is made of it."""

from django import forms
from django.http import JsonResponse

from shop.film import label
from shop.people.desk import PlainForm
from shop.people.doors import bay
from shop.photos.fields import CodesField

NONE = "No code was found. Go closer, square on, with more light, or type it."


class PhotoForm(PlainForm):
    photo = CodesField(widget=forms.FileInput)


@bay(posts=True)
def codes_in_photo(request):
    """`{found: [{kind, lot, roll, bare}], said}`. Nothing is kept, neither the photo nor what it says."""
    if request.method != "POST":
        return JsonResponse({"found": [], "said": ""})
    form = PhotoForm(request.POST, request.FILES)
    if not form.is_valid():
        said = " ".join(error for errors in form.errors.values() for error in errors)
        return JsonResponse({"found": [], "said": said}, status=422)
    read = ((code.kind, label.read(code.text)) for code in form.cleaned_data["photo"])
    found = [{"kind": kind, "lot": on.lot, "roll": on.roll, "bare": on.bare} for kind, on in read if on]
    return JsonResponse({"found": found, "said": "" if found else NONE})
