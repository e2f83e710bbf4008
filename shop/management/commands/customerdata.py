"""Writes everything kept of one customer to a file that can be given to them."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from shop import clock
from shop.intake.models import Customer
from shop.keep import actions, giving
from shop.keep.belongings import belongings_of
from shop.keep.command import MISUSED, owner_of


class Command(BaseCommand):
    help = "Write what is kept of a customer to a zip file: data as JSON, photos, printed papers. Noted in the book."

    def add_arguments(self, parser):
        parser.add_argument("customer", type=int)
        parser.add_argument("file", type=Path)
        parser.add_argument("--by", type=int, metavar="PERSON", help="the owner who answers for it")

    def handle(self, *, customer, file, by, **options):
        row = Customer.objects.select_related("workshop", "name").filter(pk=customer).first()
        if row is None:
            raise CommandError(f"There is no customer {customer}.", returncode=MISUSED)
        if file.exists():
            raise CommandError(f"{file} is there already.", returncode=MISUSED)
        now = clock.now()
        who = owner_of(row.workshop, by)
        with file.open("xb") as out:
            photos, papers = giving.write_zip(belongings_of(row), out, now=now)
        file.chmod(0o600)
        actions.give_data(customer=row, photos=photos, papers=papers, by=who, now=now)
        self.stdout.write(f"{file}: {photos} photos, {papers} papers.")
