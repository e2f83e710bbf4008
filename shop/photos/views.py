"""Showing photos: the sizes made here to whoever works here, the bytes as sent only to staff, as a download."""

import logging

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404

from shop import store
from shop.people import doors
from shop.photos.models import Photo

log = logging.getLogger("shop")

# What was sent may hold anything besides its picture: it is never shown on a page, nor run by anyone's browser.
SEALED = "sandbox; default-src 'none'"
ENDINGS = {"jpeg": "jpg", "png": "png", "webp": "webp", "heif": "heic"}


@doors.bay
def smaller(request, pk, variant):
    """The screen or print size. A tablet without a signed-in person sees evidence only, no papers of a customer."""
    photos = Photo.objects.of(request.workshop)
    if request.person is None:
        photos = photos.filter(klass=Photo.Klass.EVIDENCE)
    photo = get_object_or_404(photos, pk=pk)
    answer = _answer(photo, variant, "image/jpeg")
    answer["Content-Disposition"] = f'inline; filename="photo-{photo.pk}-{variant}.jpg"'
    if photo.klass == Photo.Klass.EVIDENCE:
        # Bytes under a digest never change, so they may be kept for good, by this browser alone.
        answer["Cache-Control"] = "private, max-age=31536000, immutable"
    else:
        answer["Cache-Control"] = "no-store"
    return answer


@doors.staff()
def original(request, pk):
    photo = get_object_or_404(Photo.objects.of(request.workshop), pk=pk)
    answer = _answer(photo, store.ORIGINAL, "application/octet-stream")
    ending = ENDINGS.get(photo.type, "bin")
    answer["Content-Disposition"] = f'attachment; filename="photo-{photo.pk}.{ending}"'
    answer["Cache-Control"] = "no-store"
    return answer


def _answer(photo: Photo, variant: str, content_type: str) -> HttpResponse:
    try:
        data = store.open_bytes(photo.sha256, variant)
    except store.Missing:
        log.error("photo %s has no %s in the store", photo.pk, variant)
        raise Http404 from None
    return HttpResponse(
        data,
        content_type=content_type,
        headers={"X-Content-Type-Options": "nosniff", "Content-Security-Policy": SEALED},
    )
