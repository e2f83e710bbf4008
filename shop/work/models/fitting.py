"""One piece of film on one panel in one job, and how each of its edges ends."""

from django.db import models
from django.db.models import Q


class FittingQuerySet(models.QuerySet):
    def live(self):
        return self.filter(ended_at__isnull=True)

    def of_job(self, job):
        return self.filter(job=job).order_by("panel__code", "piece", "pk")

    def for_work(self):
        return self.select_related(
            "panel",
            "job",
            "job__plan",
            "roll",
            "roll__lot",
            "roll__lot__material",
            "roll__lot__material__sheet",
            "sheet",
        ).prefetch_related("edges", "people__person", "checklists")

    def for_floor(self):
        """For the floor, which knows the job, and reads sheets and people once for all its rows."""
        return self.select_related("panel", "roll", "roll__lot", "roll__lot__material").prefetch_related(
            "edges", "people", "checklists"
        )


class Fitting(models.Model):
    job = models.ForeignKey("shop.Job", models.PROTECT, related_name="fittings")
    panel = models.ForeignKey("shop.Panel", models.PROTECT, related_name="fittings")
    piece = models.PositiveSmallIntegerField(default=1)
    replaces = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="replaced_by")
    from_stage = models.CharField(max_length=20, default="wash")
    cut = models.CharField(max_length=10)
    cover = models.CharField(max_length=10)
    roll = models.ForeignKey("shop.Roll", models.PROTECT, null=True, blank=True, related_name="fittings")
    sheet = models.ForeignKey("shop.Document", models.PROTECT, related_name="+")
    features = models.JSONField(default=list)
    material = models.CharField(max_length=20)
    # Directional film laid across its run; other film has no direction.
    turned = models.BooleanField(default=False)
    set_out_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_as = models.CharField(max_length=20, blank=True)

    objects = FittingQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["panel", "piece"],
                condition=Q(ended_at__isnull=True),
                name="one_live_film_a_piece",
                violation_error_message="This piece of the panel already carries film.",
            ),
            models.CheckConstraint(
                condition=Q(piece__gte=1),
                name="pieces_start_at_one",
                violation_error_message="Pieces are numbered from 1.",
            ),
        ]

    def __str__(self):
        return self.place

    @property
    def place(self) -> str:
        return f"{self.panel.code}.{self.piece}"


class FittingPerson(models.Model):
    fitting = models.ForeignKey(Fitting, models.CASCADE, related_name="people")
    person = models.ForeignKey("shop.Person", models.PROTECT, related_name="fittings")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["fitting", "person"], name="named_once_a_fitting")]

    def __str__(self):
        return f"{self.person} on {self.fitting}"


class FittingEdge(models.Model):
    fitting = models.ForeignKey(Fitting, models.PROTECT, related_name="edges")
    code = models.CharField(max_length=30)
    kind = models.CharField(max_length=10)
    edge = models.ForeignKey("shop.Edge", models.PROTECT, null=True, blank=True, related_name="fitted")
    finish = models.CharField(max_length=10)
    return_mm = models.PositiveSmallIntegerField(null=True, blank=True)
    primer = models.BooleanField(default=False)
    position = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["position", "pk"]
        constraints = [models.UniqueConstraint(fields=["fitting", "code"], name="edge_once_a_fitting")]

    def __str__(self):
        return self.code
