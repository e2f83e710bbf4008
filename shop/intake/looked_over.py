"""What was measured and tried on a car: paint at spots, and lamps, sensors, cameras and washers."""

from django.db import models
from django.db.models import Q


class PaintSpotQuerySet(models.QuerySet):
    def standing(self, job):
        return self.filter(job=job, struck_at__isnull=True).select_related("panel", "person").order_by("pk")


class PaintSpot(models.Model):
    """Paint measured at one spot of a metal panel: every reading of the gauge as it was, and their mean."""

    job = models.ForeignKey("shop.Job", models.PROTECT, related_name="paint_spots")
    panel = models.ForeignKey("shop.Panel", models.PROTECT, related_name="paint_spots")
    readings_um10 = models.JSONField()
    thickness_um10 = models.PositiveIntegerField()
    note = models.CharField(max_length=100, blank=True)
    person = models.ForeignKey("shop.Person", models.PROTECT, related_name="paint_spots")
    made_at = models.DateTimeField()
    struck_at = models.DateTimeField(null=True, blank=True)

    objects = PaintSpotQuerySet.as_manager()

    def __str__(self):
        return f"{self.thickness_um10} on {self.panel}"


class DeviceTry(models.Model):
    """A lamp, sensor, camera or washer tried when the car came or before it goes. The last try of each counts."""

    class Device(models.TextChoices):
        HEADLAMPS = "headlamps", "Headlamps and front lamps"
        REAR_LAMPS = "rear_lamps", "Rear lamps and plate lamp"
        INDICATORS = "indicators", "Indicators"
        WASHERS = "washers", "Washers and wipers"
        PARKING_SENSORS = "parking_sensors", "Parking sensors"
        CAMERAS = "cameras", "Cameras"
        RADAR = "radar", "Radar and distance sensors"
        OTHER = "other", "Something else"

    class When(models.TextChoices):
        BEFORE = "before", "when the car came"
        AFTER = "after", "before it goes"

    class Found(models.TextChoices):
        WORKS = "works", "Works"
        FAULTY = "faulty", "Faulty"
        NONE = "none", "Not on this car"

    job = models.ForeignKey("shop.Job", models.PROTECT, related_name="device_tries")
    device = models.CharField(max_length=20, choices=Device)
    when = models.CharField(max_length=10, choices=When)
    found = models.CharField(max_length=10, choices=Found)
    note = models.CharField(max_length=200, blank=True)
    person = models.ForeignKey("shop.Person", models.PROTECT, related_name="device_tries")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=~Q(found="faulty", note=""),
                name="faulty_device_is_described",
                violation_error_message="Say what is wrong with it.",
            )
        ]

    def __str__(self):
        return f"{self.device} {self.when}: {self.found}"
