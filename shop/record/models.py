"""The record book: one per job and one per workshop, entries chained, never changed."""

from django.db import models
from django.db.models import Q


class Book(models.Model):
    workshop = models.ForeignKey("shop.Workshop", models.PROTECT, related_name="books")
    job = models.ForeignKey("shop.Job", models.PROTECT, null=True, blank=True, related_name="books")
    length = models.PositiveIntegerField(default=0)
    head = models.CharField(max_length=64, default="", blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["job"], condition=Q(job__isnull=False), name="one_book_a_job"),
            models.UniqueConstraint(
                fields=["workshop"], condition=Q(job__isnull=True), name="one_book_a_workshop"
            ),
        ]

    def __str__(self):
        return f"book of job {self.job_id}" if self.job_id else f"book of workshop {self.workshop_id}"


class EntryQuerySet(models.QuerySet):
    def of(self, book):
        return self.filter(book=book).order_by("number")

    def with_people(self):
        return self.select_related("person", "tablet")


class Entry(models.Model):
    book = models.ForeignKey(Book, models.PROTECT, related_name="entries")
    number = models.PositiveIntegerField()
    received_at = models.DateTimeField()
    happened_at = models.DateTimeField()
    device_at = models.DateTimeField(null=True, blank=True)
    sure = models.BooleanField(default=True)
    person = models.ForeignKey("shop.Person", models.PROTECT, null=True, related_name="entries")
    proven = models.CharField(max_length=20)
    tablet = models.ForeignKey("shop.Tablet", models.PROTECT, null=True, related_name="entries")
    verb = models.CharField(max_length=40)
    schema = models.PositiveSmallIntegerField(default=1)
    # Canonical JSON as text: a JSON column may hand back other bytes than were digested.
    body = models.TextField()
    body_digest = models.CharField(max_length=64)
    previous = models.CharField(max_length=64, blank=True)
    digest = models.CharField(max_length=64)

    objects = EntryQuerySet.as_manager()

    class Meta:
        verbose_name_plural = "entries"
        constraints = [
            models.UniqueConstraint(fields=["book", "number"], name="entry_number_once_a_book"),
            models.CheckConstraint(
                condition=Q(number__gte=1),
                name="entry_numbers_start_at_one",
                violation_error_message="Entries are numbered from 1.",
            ),
        ]

    def __str__(self):
        return f"{self.number} {self.verb}"


class Receipt(models.Model):
    """What was answered to a key, so that the same act sent twice is done once."""

    key = models.CharField(primary_key=True, max_length=64)
    workshop = models.ForeignKey("shop.Workshop", models.PROTECT, related_name="receipts")
    tablet = models.ForeignKey("shop.Tablet", models.PROTECT, null=True, related_name="receipts")
    seq = models.PositiveBigIntegerField(null=True)
    body_digest = models.CharField(max_length=64)
    answer = models.JSONField()
    entry = models.ForeignKey(Entry, models.PROTECT, null=True, related_name="receipts")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["tablet", "seq"], condition=Q(tablet__isnull=False), name="tablet_number_once"
            ),
        ]

    def __str__(self):
        return self.key


class Private(models.Model):
    """A value about a person, kept out of hashed bodies; erasing it leaves the digests standing."""

    workshop = models.ForeignKey("shop.Workshop", models.PROTECT, related_name="privates")
    salt = models.CharField(max_length=64, blank=True)
    value = models.TextField(blank=True)
    commit = models.CharField(max_length=64)
    erased_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(erased_at__isnull=True) | Q(value="", salt=""),
                name="erased_means_gone",
                violation_error_message="An erased value keeps neither its text nor its salt.",
            ),
        ]

    def __str__(self):
        return "erased" if self.erased_at else f"private {self.pk}"
