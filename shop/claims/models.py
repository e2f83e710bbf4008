"""Claims: what was reported, the photos, the wait for a supplier, and what was decided."""

from django.db import models
from django.db.models import Exists, F, OuterRef, Q
from django.db.models.functions import Length

from shop.work.models.fitting import Fitting
from shop.work.models.outcome import Release
from shop.work.models.proof import SignOff


class ClaimQuerySet(models.QuerySet):
    def of(self, workshop):
        return self.filter(workshop=workshop)

    def for_page(self):
        return self.select_related(
            "workshop",
            "vehicle__plate",
            "vehicle__workshop",
            "line__revision__certificate",
            "line__revision__terms",
            "fitting__panel",
            "fitting__job__body",
            "fitting__job__plan",
            "fitting__job__workshop",
            "edge",
            "person",
            "said",
            "repair_job",
        ).with_state()

    def for_list(self):
        """With all that a list of them shows, in a fixed number of questions; longest told first."""
        return (
            self.for_page()
            .prefetch_related("photos", "glue_readings", "line__revision__certificate__revisions__terms")
            .order_by("told_on", "pk")
        )

    def with_state(self):
        """`waits` and `repaired` as the rows say now; nothing of it is stored."""
        unsigned = (
            Fitting.objects.live()
            .filter(job=OuterRef("repair_job"))
            .filter(
                ~Exists(SignOff.objects.live().filter(checklist__fitting=OuterRef("pk"), meaning="released"))
            )
        )
        return self.annotate(
            waits=Exists(SupplierWait.objects.filter(claim=OuterRef("pk"), answered_at__isnull=True)),
            repaired=Exists(Release.objects.filter(job=OuterRef("repair_job"))) & ~Exists(unsigned),
        ).prefetch_related("decisions__person")

    def last_number(self, workshop, year: str) -> str | None:
        given = self.filter(workshop=workshop, number__startswith=f"{year}-")
        return given.order_by(Length("number").desc(), "-number").values_list("number", flat=True).first()


class Claim(models.Model):
    """One fault at one place, as it was reported. Whether it is put right is read off its repair."""

    class Way(models.TextChoices):
        PHONE = "phone", "By phone"
        MAIL = "mail", "By mail"
        HERE = "here", "Here, with the car"
        LETTER = "letter", "By letter"

    workshop = models.ForeignKey("shop.Workshop", models.PROTECT, related_name="claims")
    number = models.CharField(max_length=20)
    vehicle = models.ForeignKey("shop.Vehicle", models.PROTECT, related_name="claims")
    line = models.ForeignKey("shop.CoverLine", models.PROTECT, null=True, blank=True, related_name="claims")
    fitting = models.ForeignKey("shop.Fitting", models.PROTECT, null=True, blank=True, related_name="claims")
    panel = models.CharField(max_length=30)
    edge = models.ForeignKey("shop.FittingEdge", models.PROTECT, null=True, blank=True, related_name="claims")
    symptom = models.CharField(max_length=30)
    noticed_on = models.DateField()
    told_on = models.DateField()
    told_how = models.CharField(max_length=10, choices=Way, default=Way.PHONE)
    said = models.ForeignKey("shop.Private", models.PROTECT, null=True, blank=True, related_name="+")
    repair_job = models.ForeignKey("shop.Job", models.PROTECT, null=True, blank=True, related_name="repairs")
    entry = models.OneToOneField("shop.Entry", models.PROTECT, related_name="claim")
    person = models.ForeignKey("shop.Person", models.PROTECT, related_name="claims_taken")
    reported_at = models.DateTimeField()

    objects = ClaimQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["workshop", "number"],
                name="claim_number_once",
                violation_error_message="This claim number is taken.",
            ),
            models.CheckConstraint(
                condition=Q(told_on__gte=F("noticed_on")),
                name="told_after_it_was_noticed",
                violation_error_message="Nobody can tell of a fault before it was noticed.",
            ),
        ]

    def __str__(self):
        return self.number

    def decision(self) -> "Decision | None":
        """The decision that stands: the last one."""
        return max(self.decisions.all(), key=lambda decision: decision.n, default=None)


class ClaimPhoto(models.Model):
    class From(models.TextChoices):
        CUSTOMER = "customer", "From the customer"
        SHOP = "shop", "Taken here"

    claim = models.ForeignKey(Claim, models.PROTECT, related_name="photos")
    photo = models.ForeignKey("shop.Photo", models.PROTECT, related_name="claims")
    entry = models.ForeignKey("shop.Entry", models.PROTECT, related_name="claim_photos")
    shot = models.CharField(max_length=30, blank=True)
    origin = models.CharField(max_length=10, choices=From, default=From.CUSTOMER)
    person = models.ForeignKey("shop.Person", models.PROTECT, related_name="claim_photos")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["claim", "photo"],
                name="photo_once_a_claim",
                violation_error_message="This photo is with the claim already.",
            )
        ]

    def __str__(self):
        return f"{self.photo} of claim {self.claim_id}"


class GlueReading(models.Model):
    """What the glue side looked like, and the first guess it gives. A later reading stands beside it."""

    claim = models.ForeignKey(Claim, models.PROTECT, related_name="glue_readings")
    entry = models.OneToOneField("shop.Entry", models.PROTECT, related_name="glue_reading")
    reading = models.CharField(max_length=30)
    causes = models.JSONField(default=list)
    note = models.CharField(max_length=300, blank=True)
    person = models.ForeignKey("shop.Person", models.PROTECT, related_name="glue_readings")
    at = models.DateTimeField()

    def __str__(self):
        return f"{self.reading} on claim {self.claim_id}"


class SupplierWait(models.Model):
    """The supplier was asked; until the answer is in, the film stays on."""

    class Answer(models.TextChoices):
        AGREED = "agreed", "The supplier agrees"
        REFUSED = "refused", "The supplier refuses"
        NONE = "none", "No answer came, we go on without"

    claim = models.ForeignKey(Claim, models.PROTECT, related_name="supplier_waits")
    entry = models.OneToOneField("shop.Entry", models.PROTECT, related_name="supplier_wait")
    asked = models.CharField(max_length=300, blank=True)
    person = models.ForeignKey("shop.Person", models.PROTECT, related_name="suppliers_asked")
    at = models.DateTimeField()
    answer = models.CharField(max_length=10, choices=Answer, blank=True)
    answer_note = models.CharField(max_length=300, blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["claim"],
                condition=Q(answered_at__isnull=True),
                name="one_wait_at_a_time",
                violation_error_message="This claim waits for the supplier already.",
            ),
            models.CheckConstraint(
                condition=Q(answered_at__isnull=True, answer="")
                | (Q(answered_at__isnull=False) & ~Q(answer="")),
                name="answered_one_way",
                violation_error_message="An answer that came says what it was.",
            ),
        ]

    def __str__(self):
        return f"claim {self.claim_id} waits for the supplier"


class Decision(models.Model):
    """What was decided, why, in which words of the terms, and who bears what. Earlier ones stay.

    Shares are whole per cent of the cost of putting it right. `facts` is what the letter states, as canonical
    JSON, so that what was digested is what is read.
    """

    class Outcome(models.TextChoices):
        ACCEPT = "accept", "Accepted"
        PART = "part", "Accepted in part"
        REFUSE = "refuse", "Refused"

    claim = models.ForeignKey(Claim, models.PROTECT, related_name="decisions")
    n = models.PositiveSmallIntegerField()
    entry = models.OneToOneField("shop.Entry", models.PROTECT, related_name="decision")
    outcome = models.CharField(max_length=10, choices=Outcome)
    reason = models.ForeignKey("shop.Private", models.PROTECT, related_name="+")
    terms = models.ForeignKey("shop.Document", models.PROTECT, null=True, related_name="+")
    clause = models.CharField(max_length=60)
    words = models.TextField()
    language = models.CharField(max_length=10)
    shop_pct = models.PositiveSmallIntegerField()
    supplier_pct = models.PositiveSmallIntegerField()
    customer_pct = models.PositiveSmallIntegerField()
    insurer_pct = models.PositiveSmallIntegerField()
    facts = models.TextField()
    facts_digest = models.CharField(max_length=64)
    pdf_sha256 = models.CharField(max_length=64, blank=True)
    printed_at = models.DateTimeField(null=True, blank=True)
    person = models.ForeignKey("shop.Person", models.PROTECT, related_name="decisions")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["claim", "n"], name="decision_number_once"),
            models.CheckConstraint(
                condition=Q(shop_pct=100 - F("supplier_pct") - F("customer_pct") - F("insurer_pct")),
                name="shares_make_a_whole",
                violation_error_message="The shares make 100 per cent together.",
            ),
            models.CheckConstraint(
                condition=~Q(words=""),
                name="decision_in_the_words_of_the_terms",
                violation_error_message="A decision names the words of the terms it rests on.",
            ),
        ]

    def __str__(self):
        return f"decision {self.n} on claim {self.claim_id}"
