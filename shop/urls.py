"""Every address of the program. Each view carries its door (shop.people.doors)."""

from django.urls import include, path

from shop.public import health, living

ROOMS = (
    "people",
    "documents",
    "photos",
    "intake",
    "film",
    "work",
    "offline",
    "warranty",
    "claims",
    "public",
    "find",
    "insights",
    "keep",
)

urlpatterns = [
    path("health/", health.health, name="health"),
    path("parts/", living.parts, name="parts"),
    *(path("", include(f"shop.{room}.urls")) for room in ROOMS),
]

handler500 = "shop.refusals.broken"
