"""The workshop, its people, their roles, its tablets."""

from django.conf import settings
from django.db import models
from django.db.models import Q


class Role(models.TextChoices):
    INSTALLER = "installer", "Installer"
    INSPECTOR = "inspector", "Inspector"
    DESK = "desk", "Front desk"
    OWNER = "owner", "Owner"


class Workshop(models.Model):
    class Units(models.TextChoices):
        METRIC = "metric", "Metric"
        US = "us", "US"

    name = models.CharField(max_length=120)
    address = models.TextField(help_text="As it stands on your letterhead.")
    phone = models.CharField(max_length=40, blank=True)
    mail = models.EmailField(blank=True)
    zone = models.CharField(max_length=60)
    country = models.CharField(max_length=2)
    language = models.CharField(max_length=10, default="en")
    unit_system = models.CharField(max_length=10, choices=Units, default=Units.METRIC)
    public_url = models.URLField()
    self_release = models.BooleanField(default=False)
    pin_length = models.PositiveSmallIntegerField(default=6)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(pin_length__gte=4, pin_length__lte=8),
                name="pin_four_to_eight_digits",
                violation_error_message="A PIN has four to eight digits.",
            ),
        ]

    def __str__(self):
        return self.name


class PersonQuerySet(models.QuerySet):
    def here(self, workshop):
        return self.filter(workshop=workshop, left_at__isnull=True).order_by("name")

    def with_roles(self):
        return self.prefetch_related("roles")

    def for_list(self):
        return self.with_roles().select_related("user", "workshop").order_by("name")

    def who_work(self, workshop):
        return self.here(workshop).filter(roles__role__in=[Role.INSTALLER, Role.INSPECTOR]).distinct()


class Person(models.Model):
    workshop = models.ForeignKey(Workshop, models.PROTECT, related_name="people")
    name = models.CharField(max_length=80)
    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="person"
    )
    pin_hash = models.CharField(max_length=255, blank=True)
    misses = models.PositiveSmallIntegerField(default=0)
    locked_until = models.DateTimeField(null=True, blank=True)
    left_at = models.DateTimeField(null=True, blank=True)

    objects = PersonQuerySet.as_manager()

    class Meta:
        verbose_name_plural = "people"
        constraints = [
            models.UniqueConstraint(
                fields=["workshop", "name"],
                condition=Q(left_at__isnull=True),
                name="name_once_a_workshop",
                violation_error_message="Somebody here already has this name; add an initial.",
            ),
        ]

    def __str__(self):
        return self.name

    @property
    def role_set(self) -> frozenset[str]:
        return frozenset(row.role for row in self.roles.all())

    @property
    def role_words(self) -> str:
        return ", ".join(str(role.label) for role in Role if role in self.role_set)

    def has(self, *roles: str) -> bool:
        return bool(self.role_set & set(roles))


class PersonRole(models.Model):
    person = models.ForeignKey(Person, models.CASCADE, related_name="roles")
    role = models.CharField(max_length=12, choices=Role)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["person", "role"], name="role_once_a_person")]

    def __str__(self):
        return self.get_role_display()


class TabletQuerySet(models.QuerySet):
    def of(self, workshop):
        return self.filter(workshop=workshop).order_by("name")

    def enrolled(self, workshop):
        return self.of(workshop).filter(revoked_at__isnull=True)


class Tablet(models.Model):
    workshop = models.ForeignKey(Workshop, models.PROTECT, related_name="tablets")
    name = models.CharField(max_length=60)
    secret_hash = models.CharField(max_length=64)
    last_seq = models.PositiveBigIntegerField(default=0)
    last_happened_at = models.DateTimeField(null=True, blank=True)
    unsent = models.PositiveIntegerField(default=0)
    misses = models.PositiveSmallIntegerField(default=0)
    locked_until = models.DateTimeField(null=True, blank=True)
    seen_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    objects = TabletQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["workshop", "name"],
                condition=Q(revoked_at__isnull=True),
                name="tablet_name_once",
                violation_error_message="Another tablet already has this name.",
            )
        ]

    def __str__(self):
        return self.name


class Throttle(models.Model):
    """Tries counted in a table: processes come and go, a count must not."""

    scope = models.CharField(max_length=30)
    key = models.CharField(max_length=80)
    window = models.DateTimeField()
    count = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["scope", "key", "window"], name="one_count_a_window")]

    def __str__(self):
        return f"{self.scope} {self.key}: {self.count}"
