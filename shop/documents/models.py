"""Versioned documents that the program obeys: plan, terms, film sheet, care, body, roles."""

from django.db import models
from django.db.models import Q

ONE_OF_A_KIND = ("plan", "terms", "roles")
"""Kinds of which one document is in force at a time, whatever its name."""


class DocumentQuerySet(models.QuerySet):
    def published(self, workshop, kind):
        return self.filter(
            workshop=workshop, kind=kind, published_at__isnull=False, retired_at__isnull=True
        ).order_by("-published_at", "-pk")

    def for_list(self, workshop):
        """Without the texts: they are long, and a list shows none of them."""
        return self.filter(workshop=workshop).defer("body", "text").order_by("kind", "name", "-pk")

    def of_kind(self, row):
        """All versions of all documents of the same kind."""
        return self.filter(workshop=row.workshop_id, kind=row.kind).order_by("name", "-pk")

    def versions_of(self, row):
        return self.of_kind(row).filter(name=row.name).defer("body", "text")

    def in_force(self, workshop, kind, name=None):
        rows = self.published(workshop, kind)
        return (rows.filter(name=name) if name else rows).first()


class Document(models.Model):
    class Kind(models.TextChoices):
        PLAN = "plan", "Plan"
        TERMS = "terms", "Terms"
        FILM = "film", "Film sheet"
        BODY = "body", "Body"
        ROLES = "roles", "Roles"

    workshop = models.ForeignKey("shop.Workshop", models.PROTECT, related_name="documents")
    kind = models.CharField(max_length=10, choices=Kind)
    name = models.CharField(max_length=80)
    version = models.CharField(max_length=30)
    # A draft is this text alone: it may be wrong, so nothing reads a body from it before it is published.
    text = models.TextField(blank=True)
    body = models.JSONField(default=dict)
    digest = models.CharField(max_length=64, blank=True)
    published_at = models.DateTimeField(null=True, blank=True)
    retired_at = models.DateTimeField(null=True, blank=True)

    objects = DocumentQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["workshop", "kind", "name", "version"],
                name="document_version_once",
                violation_error_message="This version is taken; a new text needs a new version.",
            ),
            models.CheckConstraint(
                condition=Q(published_at__isnull=True, digest="")
                | (Q(published_at__isnull=False) & ~Q(digest="")),
                name="document_digest_once_published",
                violation_error_message="A published document has its digest, a draft has none.",
            ),
        ]

    def __str__(self):
        return f"{self.name} {self.version}"

    @property
    def is_draft(self) -> bool:
        return self.published_at is None
