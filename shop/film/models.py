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
    # Kept for cars under cover: colour varies from lot to lot, so nothing else will ever match them.
    reserve_mm = models.PositiveIntegerField(default=0)

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
    """Film taken off a roll: laid on a car, spoiled, or kept as an offcut. `length_mm` is what the roll lost."""

    class Kind(models.TextChoices):
        LAID = "laid", "For a car"
        SCRAP = "scrap", "Scrap"
        OFFCUT = "offcut", "Kept as an offcut"

    roll = models.ForeignKey(Roll, models.PROTECT, related_name="cuts")
    fitting = models.ForeignKey("shop.Fitting", models.PROTECT, null=True, blank=True, related_name="cuts")
    kind = models.CharField(max_length=10, choices=Kind, default=Kind.LAID)
    length_mm = models.PositiveIntegerField()
    width_mm = models.PositiveIntegerField(null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)
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


class OffcutQuerySet(models.QuerySet):
    def on_the_shelf(self, workshop):
        return (
            self.filter(roll__lot__material__workshop=workshop, gone_at__isnull=True)
            .select_related("roll__lot__material__sheet")
            .order_by("shelf", "pk")
        )


class Offcut(models.Model):
    """A piece of film too good to throw away, with the place where it lies. Its roll says what it is."""

    class Gone(models.TextChoices):
        LAID = "laid", "Laid on a car"
        SCRAP = "scrap", "Scrap"

    roll = models.ForeignKey(Roll, models.PROTECT, related_name="offcuts")
    width_mm = models.PositiveIntegerField()
    length_mm = models.PositiveIntegerField()
    shelf = models.CharField(max_length=40)
    kept_at = models.DateTimeField()
    gone_at = models.DateTimeField(null=True, blank=True)
    gone_as = models.CharField(max_length=10, choices=Gone, blank=True)
    fitting = models.ForeignKey("shop.Fitting", models.PROTECT, null=True, blank=True, related_name="offcuts")

    objects = OffcutQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(width_mm__gt=0, length_mm__gt=0) & ~Q(shelf=""),
                name="offcut_has_a_size_and_a_shelf",
                violation_error_message="An offcut has a size and a shelf where it lies.",
            ),
            models.CheckConstraint(
                condition=Q(gone_at__isnull=True, gone_as="") | (Q(gone_at__isnull=False) & ~Q(gone_as="")),
                name="offcut_gone_somehow",
                violation_error_message="An offcut that is gone went somewhere.",
            ),
        ]

    def __str__(self):
        return f"{self.width_mm} × {self.length_mm} mm of {self.roll}"


class MixQuerySet(models.QuerySet):
    def of(self, workshop):
        return self.filter(workshop=workshop).select_related("lot__material", "made_by")

    def made_on(self, workshop, day):
        return self.of(workshop).filter(made_on=day).order_by("-made_at", "-pk")


class Mix(models.Model):
    """Slip or tack made up from a lot, good for its day. `label` is what stands on the sprayer.

    `ratio` is as printed on the bottle and `meant` how it is read: one part `in` the whole, or one `plus` the rest.
    """

    class Meant(models.TextChoices):
        IN = "in", "One part in the whole"
        PLUS = "plus", "One part and the rest water"
        STRENGTH = "strength", "By strength"

    workshop = models.ForeignKey("shop.Workshop", models.PROTECT, related_name="mixes")
    kind = models.CharField(
        max_length=10, choices=[(Material.Kind.SLIP, "Slip"), (Material.Kind.TACK, "Tack")]
    )
    lot = models.ForeignKey(Lot, models.PROTECT, related_name="mixes")
    ratio = models.CharField(max_length=20)
    meant = models.CharField(max_length=10, choices=Meant)
    stock_ml10 = models.PositiveIntegerField()
    total_ml10 = models.PositiveIntegerField()
    label = models.CharField(max_length=20)
    made_on = models.DateField()
    made_at = models.DateTimeField()
    made_by = models.ForeignKey("shop.Person", models.PROTECT, related_name="mixes")

    objects = MixQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["workshop", "label"],
                name="mix_label_once",
                violation_error_message="This label is on another sprayer.",
            ),
            models.CheckConstraint(
                condition=Q(stock_ml10__gt=0, total_ml10__gte=F("stock_ml10")),
                name="mix_is_more_than_its_stock",
                violation_error_message="A mix holds some concentrate, and not more than the whole.",
            ),
        ]

    def __str__(self):
        return self.label

    @property
    def quarantined_at(self):
        return self.lot.quarantined_at

    @property
    def expires_on(self):
        """Its own day, or the lot's last where that is earlier."""
        return min(filter(None, (self.made_on, self.lot.expires_on)))
