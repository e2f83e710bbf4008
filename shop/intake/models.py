"""Customer, vehicle, panels and edges, the job, and what was seen and agreed when the car came in."""

from django.db import models
from django.db.models import Q


class Customer(models.Model):
    """Values about a person live in Private; here are only the references."""

    workshop = models.ForeignKey("shop.Workshop", models.PROTECT, related_name="customers")
    name = models.ForeignKey("shop.Private", models.PROTECT, related_name="+")
    phone = models.ForeignKey("shop.Private", models.PROTECT, null=True, blank=True, related_name="+")
    mail = models.ForeignKey("shop.Private", models.PROTECT, null=True, blank=True, related_name="+")
    address = models.ForeignKey("shop.Private", models.PROTECT, null=True, blank=True, related_name="+")
    language = models.CharField(max_length=10, default="en")
    since = models.DateTimeField()

    def __str__(self):
        return self.name.value or "erased"


class VehicleQuerySet(models.QuerySet):
    def for_page(self):
        return self.select_related("plate")

    def known(self, workshop, *, vin="", chassis=""):
        """The car of this number that was here before, or None."""
        if vin:
            return self.filter(workshop=workshop, vin=vin).select_related("workshop", "plate").first()
        number = " ".join(str(chassis or "").split()).upper()
        if number:
            return self.filter(workshop=workshop, chassis=number).select_related("workshop", "plate").first()
        return None


class Vehicle(models.Model):
    workshop = models.ForeignKey("shop.Workshop", models.PROTECT, related_name="vehicles")
    vin = models.CharField(max_length=17, null=True, blank=True)
    vin_note = models.CharField(max_length=200, blank=True)
    vin_private = models.ForeignKey("shop.Private", models.PROTECT, null=True, related_name="+")
    chassis = models.CharField(max_length=40, blank=True)
    chassis_reason = models.CharField(max_length=200, blank=True)
    plate = models.ForeignKey("shop.Private", models.PROTECT, null=True, blank=True, related_name="+")
    model = models.CharField(max_length=80)
    colour = models.CharField(max_length=60)
    colour_code = models.CharField(max_length=30, blank=True)
    body = models.CharField(max_length=20, default="sedan")

    objects = VehicleQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["workshop", "vin"],
                name="vin_once_a_workshop",
                violation_error_message="This VIN is already here; open that car instead.",
            ),
            models.CheckConstraint(
                condition=(Q(vin__isnull=False) & ~Q(vin="") & Q(chassis=""))
                | (Q(vin__isnull=True) & ~Q(chassis="") & ~Q(chassis_reason="")),
                name="vin_or_chassis_with_reason",
                violation_error_message="A car has a VIN, or a chassis number and the reason it has no VIN.",
            ),
        ]

    def __str__(self):
        return f"{self.model}, {self.colour}"

    @property
    def identity(self) -> str:
        return self.vin or self.chassis

    @property
    def plate_text(self) -> str:
        return self.plate.value if self.plate else ""

    def last_odometer_km(self) -> int | None:
        return self.jobs.aggregate(models.Max("odometer_km"))["odometer_km__max"]


class Ownership(models.Model):
    vehicle = models.ForeignKey(Vehicle, models.PROTECT, related_name="ownerships")
    customer = models.ForeignKey(Customer, models.PROTECT, related_name="ownerships")
    since = models.DateField()
    until = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["vehicle"], condition=Q(until__isnull=True), name="one_owner_at_a_time"
            ),
            models.CheckConstraint(
                condition=Q(until__isnull=True) | Q(until__gte=models.F("since")),
                name="owned_until_after_since",
                violation_error_message="Ownership cannot end before it starts.",
            ),
        ]

    def __str__(self):
        return f"{self.customer_id} owns {self.vehicle_id} since {self.since}"


class Panel(models.Model):
    """A body panel of one car. A replaced panel keeps its rows; the new one starts a life of its own."""

    vehicle = models.ForeignKey(Vehicle, models.PROTECT, related_name="panels")
    code = models.CharField(max_length=30)
    kind = models.CharField(max_length=30)
    material = models.CharField(max_length=20)
    features = models.JSONField(default=list)
    replaced_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["vehicle", "code"], condition=Q(replaced_at__isnull=True), name="panel_once_a_vehicle"
            )
        ]

    def __str__(self):
        return self.code


class Edge(models.Model):
    panel = models.ForeignKey(Panel, models.PROTECT, related_name="edges")
    code = models.CharField(max_length=30)
    kind = models.CharField(max_length=10)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["panel", "code"], name="edge_once_a_panel")]

    def __str__(self):
        return self.code


class JobQuerySet(models.QuerySet):
    def for_page(self):
        return self.select_related(
            "vehicle", "vehicle__plate", "customer", "customer__name", "plan", "body", "workshop"
        )

    def in_the_shop(self, workshop):
        return self.filter(workshop=workshop, hand_over__isnull=True, cancelled_at__isnull=True).order_by(
            "promised_at", "pk"
        )

    def gone(self, workshop):
        """Handed over or called off, latest first."""
        return (
            self.filter(workshop=workshop)
            .filter(Q(hand_over__isnull=False) | Q(cancelled_at__isnull=False))
            .select_related("hand_over")
            .order_by("-pk")
        )


class Job(models.Model):
    workshop = models.ForeignKey("shop.Workshop", models.PROTECT, related_name="jobs")
    number = models.CharField(max_length=20)
    vehicle = models.ForeignKey(Vehicle, models.PROTECT, related_name="jobs")
    customer = models.ForeignKey(Customer, models.PROTECT, related_name="jobs")
    plan = models.ForeignKey("shop.Document", models.PROTECT, related_name="+")
    body = models.ForeignKey("shop.Document", models.PROTECT, related_name="+")
    odometer_km = models.PositiveIntegerField(null=True, blank=True)
    arrived_at = models.DateTimeField()
    promised_at = models.DateTimeField(null=True, blank=True)
    cancelled_at = models.DateTimeField(null=True, blank=True)

    objects = JobQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["workshop", "number"],
                name="job_number_once",
                violation_error_message="This job number is taken.",
            )
        ]

    def __str__(self):
        return self.number


class MarkQuerySet(models.QuerySet):
    def standing(self, job):
        return (
            self.filter(job=job, struck_at__isnull=True)
            .select_related("panel")
            .prefetch_related("photos__photo")
            .order_by("pk")
        )


class Mark(models.Model):
    """Damage found on the car, placed in thousandths of the panel's box on one version of the body."""

    class Kind(models.TextChoices):
        SCRATCH = "scratch", "Scratch"
        CHIP = "chip", "Stone chip"
        DENT = "dent", "Dent"
        SCUFF = "scuff", "Scuff"
        CRACK = "crack", "Crack"
        STAIN = "stain", "Stain"
        RUST = "rust", "Rust"
        PEELING = "peeling", "Peeling coat"
        OTHER = "other", "Something else"

    job = models.ForeignKey(Job, models.PROTECT, related_name="marks")
    panel = models.ForeignKey(Panel, models.PROTECT, related_name="marks")
    kind = models.CharField(max_length=20, choices=Kind)
    x_mil = models.PositiveSmallIntegerField()
    y_mil = models.PositiveSmallIntegerField()
    note = models.CharField(max_length=300, blank=True)
    made_at = models.DateTimeField()
    struck_at = models.DateTimeField(null=True, blank=True)

    objects = MarkQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(x_mil__lte=1000, y_mil__lte=1000),
                name="mark_inside_the_panel",
                violation_error_message="A mark lies inside its panel.",
            )
        ]

    def __str__(self):
        return f"{self.kind} on {self.panel}"


class MarkPhoto(models.Model):
    mark = models.ForeignKey(Mark, models.PROTECT, related_name="photos")
    photo = models.ForeignKey("shop.Photo", models.PROTECT, related_name="marks")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["mark", "photo"], name="photo_once_a_mark")]

    def __str__(self):
        return f"{self.photo} of {self.mark}"


class PaintNoteQuerySet(models.QuerySet):
    def standing(self, job):
        return self.filter(job=job, struck_at__isnull=True).select_related("panel").order_by("pk")

    def unaccepted(self, job):
        """Notes the customer has not accepted since they were made: their panels are held."""
        accepted = Consent.objects.filter(
            job=job,
            kind=Consent.Kind.PAINT,
            panel=models.OuterRef("panel"),
            given_at__gte=models.OuterRef("made_at"),
        )
        return self.standing(job).filter(~models.Exists(accepted))


class PaintNote(models.Model):
    """Fresh or suspect paint, told or found: the panel is held until the customer accepts in writing."""

    class Kind(models.TextChoices):
        FRESH = "fresh", "Fresh paint"
        REPAINTED = "repainted", "Repainted"
        SUSPECT = "suspect", "Suspect paint"

    job = models.ForeignKey(Job, models.PROTECT, related_name="paint_notes")
    panel = models.ForeignKey(Panel, models.PROTECT, related_name="paint_notes")
    kind = models.CharField(max_length=10, choices=Kind)
    dried = models.CharField(max_length=10, blank=True)
    painted_on = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)
    made_at = models.DateTimeField()
    struck_at = models.DateTimeField(null=True, blank=True)

    objects = PaintNoteQuerySet.as_manager()

    def __str__(self):
        return f"{self.get_kind_display()} on {self.panel}"


class Consent(models.Model):
    """What the customer agreed to, in the words shown, with the strokes of the hand that signed."""

    class Kind(models.TextChoices):
        INTAKE = "intake", "Car taken in as described"
        PAINT = "paint", "Film on fresh or suspect paint"
        DEFECT = "defect", "Defect accepted"
        HAND_OVER = "hand_over", "Car handed over"

    job = models.ForeignKey(Job, models.PROTECT, related_name="consents")
    kind = models.CharField(max_length=12, choices=Kind)
    panel = models.ForeignKey(Panel, models.PROTECT, null=True, blank=True, related_name="consents")
    text = models.TextField()
    strokes = models.ForeignKey("shop.Private", models.PROTECT, related_name="+")
    # Whoever took the car in signs beside the customer.
    counter_strokes = models.ForeignKey(
        "shop.Private", models.PROTECT, null=True, blank=True, related_name="+"
    )
    person = models.ForeignKey(
        "shop.Person", models.PROTECT, null=True, blank=True, related_name="consents_taken"
    )
    given_at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["job", "kind"])]

    def __str__(self):
        return self.get_kind_display()


class SearchKey(models.Model):
    workshop = models.ForeignKey("shop.Workshop", models.PROTECT, related_name="search_keys")
    key = models.CharField(max_length=80)
    kind = models.CharField(max_length=12)
    vehicle = models.ForeignKey(Vehicle, models.CASCADE, related_name="search_keys")

    class Meta:
        indexes = [models.Index(fields=["workshop", "key"])]
        constraints = [
            models.UniqueConstraint(fields=["workshop", "key", "kind", "vehicle"], name="search_key_once")
        ]

    def __str__(self):
        return f"{self.kind}: {self.key}"
