"""Checklists, what was answered on them, and who signed."""

from django.db import models
from django.db.models import Q


class Checklist(models.Model):
    """One stage of one fitting, one round. Its lines are computed, never stored as rows."""

    fitting = models.ForeignKey("shop.Fitting", models.PROTECT, related_name="checklists")
    stage = models.CharField(max_length=20)
    round = models.PositiveSmallIntegerField(default=1)
    opened_at = models.DateTimeField()
    redone_at = models.DateTimeField(null=True, blank=True)
    redone_why = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["fitting", "stage", "round"], name="round_once_a_stage"),
            models.UniqueConstraint(
                fields=["fitting", "stage"], condition=Q(redone_at__isnull=True), name="one_live_round"
            ),
        ]

    def __str__(self):
        return f"{self.fitting_id}/{self.stage}#{self.round}"


class Outcome(models.Model):
    """One act of answering; the places it covers are its rows in OutcomeOn."""

    entry = models.OneToOneField("shop.Entry", models.PROTECT, related_name="outcome")
    person = models.ForeignKey("shop.Person", models.PROTECT, related_name="outcomes")
    key = models.CharField(max_length=60)
    answer = models.CharField(max_length=6)
    value = models.JSONField(null=True, blank=True)
    typed = models.CharField(max_length=200, blank=True)
    reason = models.CharField(max_length=300, blank=True)
    lot = models.ForeignKey("shop.Lot", models.PROTECT, null=True, blank=True, related_name="outcomes")
    at = models.DateTimeField()
    sure = models.BooleanField(default=True)
    late = models.BooleanField(default=False)
    interval_ms = models.PositiveIntegerField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(answer__in=["done", "na", "value", "start", "wrong"]),
                name="answer_is_one_of_five",
                violation_error_message="An answer is done, not here, a value, a start or wrong.",
            ),
            models.CheckConstraint(
                condition=~Q(answer="na") | ~Q(reason=""),
                name="not_here_has_a_reason",
                violation_error_message="Say why it is not here.",
            ),
        ]

    def __str__(self):
        return f"{self.key}: {self.answer}"


class OutcomeOnQuerySet(models.QuerySet):
    def live(self):
        return self.filter(replaced_by__isnull=True, late=False)

    def with_outcome(self):
        return self.select_related("outcome", "outcome__entry").defer("outcome__entry__body")


class OutcomeOn(models.Model):
    outcome = models.ForeignKey(Outcome, models.PROTECT, related_name="on")
    checklist = models.ForeignKey(Checklist, models.PROTECT, related_name="outcomes")
    edge = models.ForeignKey(
        "shop.FittingEdge", models.PROTECT, null=True, blank=True, related_name="outcomes"
    )
    key = models.CharField(max_length=60)
    late = models.BooleanField(default=False)
    replaced_by = models.ForeignKey(Outcome, models.PROTECT, null=True, blank=True, related_name="replaced")

    objects = OutcomeOnQuerySet.as_manager()

    class Meta:
        # Two partial uniques: SQLite ignores nulls_distinct.
        constraints = [
            models.UniqueConstraint(
                fields=["checklist", "key"],
                condition=Q(edge__isnull=True, replaced_by__isnull=True, late=False),
                name="one_live_answer_a_line",
            ),
            models.UniqueConstraint(
                fields=["checklist", "key", "edge"],
                condition=Q(edge__isnull=False, replaced_by__isnull=True, late=False),
                name="one_live_answer_an_edge",
            ),
        ]

    def __str__(self):
        return f"{self.checklist_id} {self.key}"


class OutcomePhoto(models.Model):
    """A photo as proof of one line at one place. Promised first, its bytes may come later."""

    entry = models.ForeignKey("shop.Entry", models.PROTECT, related_name="photos")
    person = models.ForeignKey("shop.Person", models.PROTECT, related_name="photos_taken")
    checklist = models.ForeignKey(Checklist, models.PROTECT, related_name="photos")
    edge = models.ForeignKey("shop.FittingEdge", models.PROTECT, null=True, blank=True, related_name="photos")
    key = models.CharField(max_length=60)
    photo = models.ForeignKey("shop.Photo", models.PROTECT, null=True, blank=True, related_name="proves")
    upload = models.ForeignKey("shop.Upload", models.PROTECT, null=True, blank=True, related_name="proves")
    at = models.DateTimeField()
    late = models.BooleanField(default=False)
    set_aside = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(photo__isnull=False) | Q(upload__isnull=False),
                name="photo_or_promise",
                violation_error_message="Proof is a photo, or the promise of one.",
            )
        ]

    def __str__(self):
        return f"photo for {self.key}"


class Signing(models.Model):
    """One person, one PIN, one sentence, over as many checklists as that sentence names."""

    entry = models.OneToOneField("shop.Entry", models.PROTECT, related_name="signing")
    person = models.ForeignKey("shop.Person", models.PROTECT, related_name="signings")
    meaning = models.CharField(max_length=10)
    language = models.CharField(max_length=10)
    sentence = models.TextField()
    lines = models.JSONField()
    digest = models.CharField(max_length=64)
    at = models.DateTimeField()

    def __str__(self):
        return f"{self.meaning} by {self.person}"


class SignOffQuerySet(models.QuerySet):
    def live(self):
        return self.filter(replaced_by__isnull=True)


class SignOff(models.Model):
    signing = models.ForeignKey(Signing, models.PROTECT, related_name="signoffs")
    checklist = models.ForeignKey(Checklist, models.PROTECT, related_name="signoffs")
    meaning = models.CharField(max_length=10)
    replaced_by = models.ForeignKey(
        "shop.Entry", models.PROTECT, null=True, blank=True, related_name="replaced_signoffs"
    )

    objects = SignOffQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["checklist", "meaning"],
                condition=Q(replaced_by__isnull=True),
                name="signed_once",
                violation_error_message="This is already signed.",
            )
        ]

    def __str__(self):
        return f"{self.meaning} of {self.checklist_id}"
