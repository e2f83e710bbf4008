"""Photos by digest, and the uploads that have not arrived whole yet."""

import uuid

from django.db import models
from django.db.models import Q

from shop.reasons import Reason, Weight


class PhotoQuerySet(models.QuerySet):
    def of(self, workshop):
        return self.filter(workshop=workshop)

    def latest_first(self):
        return self.order_by("-kept_at", "-pk")


class Photo(models.Model):
    """One picture by the digest of its bytes. `w` and `h` are as it is seen, turned upright.

    `verdict` holds `notes` (list of `{code, text}`), `dhash` (16 hexadecimal digits), `sharpness`, and the
    digests of the two sizes made of it (`screen`, `print`), so that those can be proved as well.
    """

    class Klass(models.TextChoices):
        EVIDENCE = "evidence", "Evidence"
        PLATE = "plate", "Plate"
        DOCUMENT = "document", "Document"
        SIGNATURE = "signature", "Signature"

    workshop = models.ForeignKey("shop.Workshop", models.PROTECT, related_name="photos")
    sha256 = models.CharField(max_length=64)
    size = models.PositiveIntegerField()
    type = models.CharField(max_length=10)
    w = models.PositiveIntegerField()
    h = models.PositiveIntegerField()
    taken_text = models.CharField(max_length=40, blank=True)
    klass = models.CharField(max_length=10, choices=Klass, default=Klass.EVIDENCE)
    verdict = models.JSONField(default=dict)
    kept_at = models.DateTimeField()

    objects = PhotoQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["workshop", "sha256"], name="photo_bytes_once"),
            models.CheckConstraint(
                condition=Q(size__gt=0, w__gt=0, h__gt=0),
                name="photo_has_a_size",
                violation_error_message="A photo has a size.",
            ),
        ]

    def __str__(self):
        return self.sha256[:12]

    @property
    def notes(self) -> list[Reason]:
        """What is odd about this photo, for whoever inspects; none of it stops anything."""
        return [Reason(n["code"], n["text"], Weight.NOTE) for n in self.verdict.get("notes", [])]


class UploadQuerySet(models.QuerySet):
    def of(self, workshop):
        return self.filter(workshop=workshop)

    def waiting(self):
        """Promised, neither in nor refused."""
        return self.filter(photo__isnull=True, refused="")


class Upload(models.Model):
    """A photo promised by a tablet: the bytes follow in pieces and count only when all are in."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    workshop = models.ForeignKey("shop.Workshop", models.PROTECT, related_name="uploads")
    tablet = models.ForeignKey("shop.Tablet", models.PROTECT, null=True, related_name="uploads")
    job = models.ForeignKey("shop.Job", models.PROTECT, null=True, related_name="uploads")
    sha256 = models.CharField(max_length=64)
    size = models.PositiveIntegerField()
    name = models.CharField(max_length=100, blank=True)
    received = models.PositiveIntegerField(default=0)
    promised_at = models.DateTimeField()
    # When it was taken in by hand on the tablet; the promise may reach us days later.
    pressed_at = models.DateTimeField()
    photo = models.ForeignKey(Photo, models.PROTECT, null=True, blank=True, related_name="uploads")
    refused = models.TextField(blank=True)
    refused_code = models.CharField(max_length=30, blank=True)

    objects = UploadQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(received__lte=models.F("size")),
                name="no_more_than_promised",
                violation_error_message="More bytes than were promised.",
            )
        ]

    def __str__(self):
        return f"{self.received} of {self.size}"
