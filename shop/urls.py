"""Every address of the program. Each view carries its door (shop.people.doors)."""

from django.urls import path

from shop.public import health

urlpatterns = [
    path("health/", health.health, name="health"),
]
