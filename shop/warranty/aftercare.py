"""What happens to cover after its paper: film that comes off, a new owner, rechecks and what they find, mails sent."""

from django.db import models
from django.db.models import F, Q


class CoverEventQuerySet(models.QuerySet):
    def of_vehicles(self, vehicles):
        return self.filter(vehicle__in=vehicles).order_by("on", "pk")


class CoverEvent(models.Model):
    """Something that ends cover, or passes it on. What it does to which line is worked out, never stored."""

    class Kind(models.TextChoices):
        REMOVED = "removed", "Film taken off"
        PANEL_REPLACED = "panel_replaced", "Panel replaced"
        SOLD = "sold", "New owner"

    workshop = models.ForeignKey("shop.Workshop", models.PROTECT, related_name="cover_events")
    vehicle = models.ForeignKey("shop.Vehicle", models.PROTECT, related_name="cover_events")
    entry = models.ForeignKey("shop.Entry", models.PROTECT, related_name="cover_events")
    kind = models.CharField(max_length=16, choices=Kind)
    on = models.DateField()
    panel = models.CharField(max_length=30, blank=True)
    fitting = models.OneToOneField(
        "shop.Fitting", models.PROTECT, null=True, blank=True, related_name="cover_event"
    )
    ownership = models.OneToOneField(
        "shop.Ownership", models.PROTECT, null=True, blank=True, related_name="cover_event"
    )
    told_on = models.DateField(null=True, blank=True)
    person = models.ForeignKey("shop.Person", models.PROTECT, related_name="cover_events")
    at = models.DateTimeField()

    objects = CoverEventQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(kind="sold", panel="", fitting__isnull=True, ownership__isnull=False)
                | (~Q(kind="sold") & ~Q(panel="") & Q(ownership__isnull=True)),
                name="cover_event_of_car_or_panel",
                violation_error_message="A sale is of the whole car; film comes off a panel.",
            ),
            models.CheckConstraint(
                condition=Q(told_on__isnull=True) | Q(told_on__gte=F("on")),
                name="told_after_it_was_sold",
                violation_error_message="Nobody can tell of a sale before it happened.",
            ),
        ]

    def __str__(self):
        return f"{self.kind} on {self.on}"


class RecheckQuerySet(models.QuerySet):
    def of(self, workshop):
        return self.filter(workshop=workshop)


class Recheck(models.Model):
    """One recheck of one paper: asked for by its terms (`key` is their row) or agreed besides (`extra-1`).

    There is a row once it is planned or done; until then the terms alone say when it is due.
    """

    workshop = models.ForeignKey("shop.Workshop", models.PROTECT, related_name="rechecks")
    certificate = models.ForeignKey("shop.Certificate", models.PROTECT, related_name="rechecks")
    key = models.CharField(max_length=40)
    due_from = models.DateField()
    due_until = models.DateField(null=True, blank=True)
    planned_on = models.DateField(null=True, blank=True)
    done_on = models.DateField(null=True, blank=True)
    entry = models.OneToOneField("shop.Entry", models.PROTECT, null=True, blank=True, related_name="recheck")
    person = models.ForeignKey("shop.Person", models.PROTECT, null=True, blank=True, related_name="rechecks")
    odometer_km = models.PositiveIntegerField(null=True, blank=True)

    objects = RecheckQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["certificate", "key"],
                name="recheck_once_a_paper",
                violation_error_message="This recheck is in the record already.",
            ),
            models.CheckConstraint(
                condition=Q(done_on__isnull=True, entry__isnull=True, person__isnull=True)
                | Q(done_on__isnull=False, entry__isnull=False, person__isnull=False),
                name="recheck_done_by_someone",
                violation_error_message="A recheck that is done says who did it and when.",
            ),
            models.CheckConstraint(
                condition=Q(due_until__isnull=True) | Q(due_until__gte=F("due_from")),
                name="recheck_due_in_order",
                violation_error_message="A recheck cannot be over before it is due.",
            ),
        ]

    def __str__(self):
        return f"{self.key} of {self.certificate_id}"


class Finding(models.Model):
    """What was seen at one place, at a recheck or when the film came off."""

    recheck = models.ForeignKey(Recheck, models.PROTECT, null=True, blank=True, related_name="findings")
    event = models.ForeignKey(CoverEvent, models.PROTECT, null=True, blank=True, related_name="findings")
    panel = models.CharField(max_length=30)
    fitting = models.ForeignKey(
        "shop.Fitting", models.PROTECT, null=True, blank=True, related_name="findings"
    )
    edge = models.ForeignKey(
        "shop.FittingEdge", models.PROTECT, null=True, blank=True, related_name="findings"
    )
    kind = models.CharField(max_length=30)
    touched_up = models.BooleanField(default=False)
    note = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(recheck__isnull=False, event__isnull=True)
                | Q(recheck__isnull=True, event__isnull=False),
                name="finding_of_one_look",
                violation_error_message="A finding belongs to one recheck, or to film that came off.",
            ),
        ]

    def __str__(self):
        return f"{self.kind} at {self.panel}"


class FindingPhoto(models.Model):
    finding = models.ForeignKey(Finding, models.PROTECT, related_name="photos")
    photo = models.ForeignKey("shop.Photo", models.PROTECT, related_name="findings")
    after = models.BooleanField(default=False)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["finding", "photo"], name="photo_once_a_finding")]

    def __str__(self):
        return f"{self.photo} of {self.finding}"
