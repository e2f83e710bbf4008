"""Mails: the row of each stands before the mail leaves."""

from django.db import models


class SendingQuerySet(models.QuerySet):
    def of(self, workshop):
        return self.filter(workshop=workshop)

    def for_log(self, workshop):
        """Newest first, with all a list of them shows."""
        rows = self.of(workshop).select_related(
            "address", "person", "certificate__vehicle__plate", "certificate__job"
        )
        return rows.order_by("-made_at", "-pk")


class Sending(models.Model):
    """A mail about to leave, written down before it leaves; `key` is what it is about, so that it leaves once.

    How it stands is read off: never tried, sent, failed with a fault, or tried and nobody knows whether it left.
    `person` is empty for what the program wrote by itself.
    """

    class Kind(models.TextChoices):
        PAPERS = "papers", "Certificate and care sheet"
        RECHECK = "recheck", "Recheck due"
        CLAIM = "claim", "Claim decided"
        TRIAL = "trial", "Test mail"

    workshop = models.ForeignKey("shop.Workshop", models.PROTECT, related_name="sendings")
    key = models.CharField(max_length=120)
    kind = models.CharField(max_length=10, choices=Kind, default=Kind.RECHECK)
    certificate = models.ForeignKey(
        "shop.Certificate", models.PROTECT, null=True, blank=True, related_name="sendings"
    )
    revision = models.ForeignKey(
        "shop.Revision", models.PROTECT, null=True, blank=True, related_name="sendings"
    )
    address = models.ForeignKey("shop.Private", models.PROTECT, related_name="+")
    subject = models.CharField(max_length=200)
    person = models.ForeignKey("shop.Person", models.PROTECT, null=True, blank=True, related_name="sendings")
    made_at = models.DateTimeField()
    tries = models.PositiveSmallIntegerField(default=0)
    sent_at = models.DateTimeField(null=True, blank=True)
    fault = models.CharField(max_length=300, blank=True)

    objects = SendingQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["workshop", "key"],
                name="mail_written_once",
                violation_error_message="This mail was written already.",
            ),
        ]

    def __str__(self):
        return self.key

    @property
    def about(self) -> str:
        """The key without its count: the same for a mail and those that repeat it."""
        return self.key.partition(" #")[0]

    @property
    def state(self) -> str:
        if self.sent_at:
            return "sent"
        if self.fault:
            return "failed"
        return "unclear" if self.tries else "waiting"

    def is_to_try(self) -> bool:
        """Whether the next try may use this row: it did not leave, and that is certain."""
        return self.state in ("failed", "waiting")
