"""Certificates, their revisions as frozen facts, and the cover each revision promises."""

from django.db import models
from django.db.models import Q
from django.db.models.functions import Length

from shop.warranty.numbers import CODE_LENGTH, new_token


class CertificateQuerySet(models.QuerySet):
    def of(self, workshop):
        return self.filter(workshop=workshop)

    def of_job(self, job):
        """The job's certificate with its revisions, or None."""
        return self.filter(job=job).select_related("workshop").with_revisions().first()

    def to_check(self):
        """Those a stranger may look up; of one brought in from before, the page says that there is no evidence."""
        return self.select_related("workshop").with_revisions()

    def brought_in(self, workshop):
        """Older papers, those brought in last on top."""
        rows = self.of(workshop).filter(imported=True).select_related("vehicle__plate", "vehicle__workshop")
        return rows.prefetch_related("revisions__cover", "revisions__issued_by").order_by("-pk")

    def by_token(self, token: str):
        """The certificate behind a whole token, whatever workshop gave it, or None."""
        return self.to_check().filter(token=token).first()

    def by_code(self, code: str):
        """The certificate whose token begins with the short code; None where that is not exactly one."""
        found = list(self.to_check().filter(token__startswith=code)[:2])
        return found[0] if len(found) == 1 else None

    def with_revisions(self):
        return self.prefetch_related("revisions__issued_by")

    def last_number(self, workshop, year: str) -> str | None:
        """The highest number given in a year (`26`); longer numbers come after shorter ones."""
        given = self.filter(workshop=workshop, imported=False, number__startswith=f"{year}-")
        return (
            given.annotate(long=Length("number"))
            .order_by("-long", "-number")
            .values_list("number", flat=True)
            .first()
        )


class Certificate(models.Model):
    """A paper about a car: of a job done here, or brought in from before without any evidence."""

    workshop = models.ForeignKey("shop.Workshop", models.PROTECT, related_name="certificates")
    number = models.CharField(max_length=20)
    token = models.CharField(max_length=64)
    vehicle = models.ForeignKey("shop.Vehicle", models.PROTECT, related_name="certificates")
    job = models.OneToOneField("shop.Job", models.PROTECT, null=True, blank=True, related_name="certificate")
    imported = models.BooleanField(default=False)

    objects = CertificateQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["workshop", "number"], name="certificate_number_once"),
            models.UniqueConstraint(fields=["token"], name="certificate_token_once"),
            models.CheckConstraint(
                condition=Q(imported=True, job__isnull=True) | Q(imported=False, job__isnull=False),
                name="certificate_of_a_job",
                violation_error_message="A certificate belongs to a job, or was brought in; never both.",
            ),
        ]

    def __str__(self):
        return self.number

    def current(self) -> "Revision":
        """The revision in force: the last one. Whether it was withdrawn is its own matter."""
        return max(self.revisions.all(), key=lambda revision: revision.n)


def free_token() -> str:
    """A token whose first signs, which are printed for typing, belong to no other certificate."""
    while True:
        token = new_token()
        if not Certificate.objects.filter(token__startswith=token[:CODE_LENGTH]).exists():
            return token


class RevisionQuerySet(models.QuerySet):
    def printed_as(self, sha256: str):
        """The revision whose paper has these bytes, or None."""
        return self.filter(pdf_sha256=sha256).select_related("certificate__workshop").first()

    def in_order(self):
        return self.select_related("issued_by").order_by("n")


class Revision(models.Model):
    certificate = models.ForeignKey(Certificate, models.PROTECT, related_name="revisions")
    n = models.PositiveSmallIntegerField()
    entry = models.OneToOneField("shop.Entry", models.PROTECT, related_name="revision")
    terms = models.ForeignKey("shop.Document", models.PROTECT, null=True, related_name="+")
    language = models.CharField(max_length=10)
    # Canonical JSON as text, so that what was digested is what is read.
    facts = models.TextField()
    facts_digest = models.CharField(max_length=64)
    head = models.CharField(max_length=64)
    head_number = models.PositiveIntegerField()
    zone = models.CharField(max_length=60)
    pdf_sha256 = models.CharField(max_length=64, blank=True)
    printed_at = models.DateTimeField(null=True, blank=True)
    reason = models.CharField(max_length=300, blank=True)
    issued_by = models.ForeignKey("shop.Person", models.PROTECT, related_name="issued")
    issued_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_why = models.CharField(max_length=300, blank=True)

    objects = RevisionQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["certificate", "n"], name="revision_number_once"),
            models.CheckConstraint(
                condition=Q(n=1) | ~Q(reason=""),
                name="correction_has_a_reason",
                violation_error_message="A correction says what it corrects.",
            ),
        ]

    def __str__(self):
        return f"{self.certificate} revision {self.n}"


class CoverLineQuerySet(models.QuerySet):
    def of_vehicles(self, vehicles):
        return self.filter(revision__certificate__vehicle__in=vehicles)


class CoverLine(models.Model):
    class Kind(models.TextChoices):
        MATERIAL = "material", "Film"
        WORKMANSHIP = "workmanship", "Our work"
        TOUCH_UP = "touch_up", "Free touch-up"

    revision = models.ForeignKey(Revision, models.PROTECT, related_name="cover")
    fitting = models.ForeignKey(
        "shop.Fitting", models.PROTECT, null=True, blank=True, related_name="cover_lines"
    )
    panel = models.CharField(max_length=30)
    label = models.CharField(max_length=80)
    kind = models.CharField(max_length=12, choices=Kind)
    months = models.PositiveSmallIntegerField(null=True, blank=True)
    days = models.PositiveSmallIntegerField(null=True, blank=True)
    counting = models.CharField(max_length=20)
    first_day = models.DateField()
    last_day = models.DateField()

    objects = CoverLineQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(last_day__gte=models.F("first_day")),
                name="cover_ends_after_it_starts",
                violation_error_message="Cover cannot end before it starts.",
            ),
            models.CheckConstraint(
                condition=Q(months__isnull=False, days__isnull=True)
                | Q(months__isnull=True, days__isnull=False),
                name="cover_in_months_or_days",
                violation_error_message="A cover is promised in months or in days.",
            ),
        ]

    def __str__(self):
        return f"{self.label} {self.kind} until {self.last_day}"
