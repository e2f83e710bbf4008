"""What is on the shelf: film, primer, slip and tack, by lot and roll, and what was cut."""

from django.db import models
from django.db.models import F, Q, Sum
from django.db.models.functions import Coalesce


class Material(models.Model):
    class Kind(models.TextChoices):
        FILM = "film", "Film"
        PRIMER = "primer", "Primer"
        SLIP = "slip", "Slip"
        TACK = "tack", "Tack"

    workshop = models.ForeignKey("shop.Workshop", models.PROTECT, related_name="materials")
    kind = models.CharField(max_length=10, choices=Kind)
    name = models.CharField(max_length=80)
    colour = models.CharField(max_length=60, blank=True)
    finish = models.CharField(max_length=20, blank=True)
    directional = models.BooleanField(default=False)
    sheet = models.ForeignKey("shop.Document", models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["workshop", "kind", "name"],
                name="material_name_once",
                violation_error_message="This name is taken on that shelf.",
            )
        ]

    def __str__(self):
        return self.name


class LotQuerySet(models.QuerySet):
    def on_the_shelf(self, workshop, *kinds):
        return (
            self.filter(material__workshop=workshop, material__kind__in=kinds)
            .select_related("material")
            .order_by("material__name", "code")
        )

    def of(self, workshop):
        return self.filter(material__workshop=workshop).select_related(
            "material__workshop", "material__sheet"
        )


class Lot(models.Model):
    material = models.ForeignKey(Material, models.PROTECT, related_name="lots")
    code = models.CharField(max_length=40)
    received_on = models.DateField()
    opened_on = models.DateField(null=True, blank=True)
    expires_on = models.DateField(null=True, blank=True)
    quarantined_at = models.DateTimeField(null=True, blank=True)
    quarantine_reason = models.CharField(max_length=200, blank=True)

    objects = LotQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["material", "code"],
                name="lot_once_a_material",
                violation_error_message="This lot is already on the shelf.",
            )
        ]

    def __str__(self):
        return self.code


class RollQuerySet(models.QuerySet):
    def on_the_shelf(self, workshop):
        return (
            self.filter(lot__material__workshop=workshop)
            .select_related("lot", "lot__material", "lot__material__sheet")
            .order_by("lot__material__name", "lot__code", "code")
        )

    def with_left(self):
        """`left_mm`: what the cuts entered so far leave on the roll."""
        return self.annotate(left_mm=F("length_mm") - Coalesce(Sum("cuts__length_mm"), 0))


class Roll(models.Model):
    lot = models.ForeignKey(Lot, models.PROTECT, related_name="rolls")
    code = models.CharField(max_length=40)
    width_mm = models.PositiveIntegerField()
    length_mm = models.PositiveIntegerField()
    received_on = models.DateField()
    opened_on = models.DateField(null=True, blank=True)
    expires_on = models.DateField()

    objects = RollQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["lot", "code"],
                name="roll_once_a_lot",
                violation_error_message="This roll is already on the shelf.",
            ),
            models.CheckConstraint(
                condition=Q(width_mm__gt=0, length_mm__gt=0),
                name="roll_has_a_size",
                violation_error_message="A roll has a width and a length.",
            ),
        ]

    def __str__(self):
        return self.code


class Cut(models.Model):
    """Film taken off a roll: for a piece on a car, or scrapped."""

    roll = models.ForeignKey(Roll, models.PROTECT, related_name="cuts")
    fitting = models.ForeignKey("shop.Fitting", models.PROTECT, null=True, blank=True, related_name="cuts")
    length_mm = models.PositiveIntegerField()
    made_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(length_mm__gt=0),
                name="cut_has_a_length",
                violation_error_message="A cut has a length.",
            )
        ]

    def __str__(self):
        return f"{self.length_mm} mm of {self.roll}"
