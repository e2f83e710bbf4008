"""Photos by digest, and the uploads that have not arrived whole yet."""

import uuid

from django.db import models
from django.db.models import Q


class Photo(models.Model):
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


class Upload(models.Model):
    """A photo promised by a tablet: the bytes follow in pieces and count only when all are in."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    workshop = models.ForeignKey("shop.Workshop", models.PROTECT, related_name="uploads")
    tablet = models.ForeignKey("shop.Tablet", models.PROTECT, null=True, related_name="uploads")
    job = models.ForeignKey("shop.Job", models.PROTECT, null=True, related_name="uploads")
    sha256 = models.CharField(max_length=64)
    size = models.PositiveIntegerField()
    received = models.PositiveIntegerField(default=0)
    promised_at = models.DateTimeField()
    photo = models.ForeignKey(Photo, models.PROTECT, null=True, related_name="uploads")
    refused = models.TextField(blank=True)

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
