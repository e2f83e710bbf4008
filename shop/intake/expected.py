"""Cars that are expected: who brings which one, when, and what for."""

from django.db import models
from django.db.models import Q


class ExpectedQuerySet(models.QuerySet):
    def to_come(self, workshop):
        """Those that neither came nor were called off, soonest first: late ones stand before all others."""
        rows = self.filter(workshop=workshop, job__isnull=True, called_off_at__isnull=True)
        return rows.select_related("customer__name", "customer__phone", "vehicle__plate").order_by(
            "expected_at", "pk"
        )


class Expected(models.Model):
    """`job` is the job it became once the car came. `vehicle` where it was here before."""

    workshop = models.ForeignKey("shop.Workshop", models.PROTECT, related_name="expected")
    customer = models.ForeignKey("shop.Customer", models.PROTECT, related_name="expected")
    vehicle = models.ForeignKey(
        "shop.Vehicle", models.PROTECT, null=True, blank=True, related_name="expected"
    )
    expected_at = models.DateTimeField()
    car = models.CharField(max_length=120)
    what = models.CharField(max_length=200, blank=True)
    person = models.ForeignKey("shop.Person", models.PROTECT, related_name="expected")
    made_at = models.DateTimeField()
    job = models.OneToOneField("shop.Job", models.PROTECT, null=True, blank=True, related_name="expected")
    called_off_at = models.DateTimeField(null=True, blank=True)
    called_off_why = models.CharField(max_length=200, blank=True)

    objects = ExpectedQuerySet.as_manager()

    class Meta:
        verbose_name_plural = "expected"
        constraints = [
            models.CheckConstraint(
                condition=Q(job__isnull=True) | Q(called_off_at__isnull=True),
                name="expected_came_or_was_called_off",
                violation_error_message="A car that came is not called off any more.",
            ),
        ]

    def __str__(self):
        return f"{self.car}, {self.expected_at:%Y-%m-%d}"

    @property
    def car_words(self) -> str:
        """Plate and car where it is known here, else as it was told."""
        if self.vehicle is None:
            return self.car
        plate = self.vehicle.plate_text
        return f"{plate}, {self.vehicle}" if plate else str(self.vehicle)
