"""Defects, waivers, the release and the hand-over."""

from django.db import models
from django.db.models import Q


class DefectQuerySet(models.QuerySet):
    def open(self):
        return self.filter(closed_at__isnull=True)


class Defect(models.Model):
    fitting = models.ForeignKey("shop.Fitting", models.PROTECT, related_name="defects")
    edge = models.ForeignKey(
        "shop.FittingEdge", models.PROTECT, null=True, blank=True, related_name="defects"
    )
    x_mil = models.PositiveSmallIntegerField(null=True, blank=True)
    y_mil = models.PositiveSmallIntegerField(null=True, blank=True)
    kind = models.CharField(max_length=30)
    found_at = models.CharField(max_length=20)
    line = models.CharField(max_length=60, blank=True)
    comes_from = models.CharField(max_length=20, blank=True)
    cause = models.CharField(max_length=30, blank=True)
    severity = models.CharField(max_length=10, default="minor")
    note = models.CharField(max_length=500, blank=True)
    disposition = models.CharField(max_length=20, blank=True)
    raised_by = models.ForeignKey("shop.Person", models.PROTECT, related_name="defects_raised")
    raised_at = models.DateTimeField()
    closed_by = models.ForeignKey(
        "shop.Person", models.PROTECT, null=True, blank=True, related_name="defects_closed"
    )
    closed_at = models.DateTimeField(null=True, blank=True)
    closing_note = models.CharField(max_length=500, blank=True)
    agreed = models.ForeignKey(
        "shop.Consent", models.PROTECT, null=True, blank=True, related_name="defects_accepted"
    )

    objects = DefectQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(closed_at__isnull=True) | (Q(closed_by__isnull=False) & ~Q(disposition="")),
                name="closed_by_someone_somehow",
                violation_error_message="A defect is closed by someone, and in a stated way.",
            ),
            models.CheckConstraint(
                condition=(Q(x_mil__isnull=True) | Q(x_mil__lte=1000))
                & (Q(y_mil__isnull=True) | Q(y_mil__lte=1000)),
                name="defect_inside_the_panel",
                violation_error_message="A defect lies inside its panel.",
            ),
        ]

    def __str__(self):
        return f"{self.kind} on {self.fitting_id}"


class DefectPhoto(models.Model):
    defect = models.ForeignKey(Defect, models.PROTECT, related_name="photos")
    photo = models.ForeignKey("shop.Photo", models.PROTECT, null=True, blank=True, related_name="defects")
    upload = models.ForeignKey("shop.Upload", models.PROTECT, null=True, blank=True, related_name="defects")
    after = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(photo__isnull=False) | Q(upload__isnull=False),
                name="defect_photo_or_promise",
                violation_error_message="Proof is a photo, or the promise of one.",
            )
        ]

    def __str__(self):
        return f"photo of defect {self.defect_id}"


class Waiver(models.Model):
    entry = models.OneToOneField("shop.Entry", models.PROTECT, related_name="waiver")
    job = models.ForeignKey("shop.Job", models.PROTECT, related_name="waivers")
    fitting = models.ForeignKey("shop.Fitting", models.PROTECT, null=True, blank=True, related_name="waivers")
    code = models.CharField(max_length=30)
    why = models.CharField(max_length=300)
    person = models.ForeignKey("shop.Person", models.PROTECT, related_name="waivers")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=~Q(why=""), name="waiver_says_why", violation_error_message="Say why it is waived."
            )
        ]

    def __str__(self):
        return f"{self.code} waived"


class Release(models.Model):
    entry = models.OneToOneField("shop.Entry", models.PROTECT, related_name="release")
    job = models.OneToOneField("shop.Job", models.PROTECT, related_name="release")
    person = models.ForeignKey("shop.Person", models.PROTECT, related_name="releases")
    by_installer = models.BooleanField(default=False)
    at = models.DateTimeField()

    def __str__(self):
        return f"release of {self.job}"


class HandOver(models.Model):
    entry = models.OneToOneField("shop.Entry", models.PROTECT, related_name="hand_over")
    job = models.OneToOneField("shop.Job", models.PROTECT, related_name="hand_over")
    person = models.ForeignKey("shop.Person", models.PROTECT, related_name="hand_overs")
    consent = models.ForeignKey("shop.Consent", models.PROTECT, related_name="+")
    on = models.DateField()
    odometer_km = models.PositiveIntegerField(null=True, blank=True)
    at = models.DateTimeField()

    def __str__(self):
        return f"hand-over of {self.job} on {self.on}"
