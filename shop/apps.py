from django.apps import AppConfig
from django.db.models.signals import post_migrate


class ShopConfig(AppConfig):
    name = "shop"

    def ready(self):
        from shop import checks  # noqa: F401 - registers them
        from shop.record import triggers

        # The one signal: a migration on SQLite silently drops the triggers of every table it rebuilds.
        post_migrate.connect(triggers.make, sender=self)
