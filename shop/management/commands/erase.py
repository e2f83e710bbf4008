"""Erases a customer who asked for it, or all whose time is over. What it would do is told first."""

import json
from zoneinfo import ZoneInfo

from django.core.management.base import BaseCommand, CommandError

from shop import clock
from shop.intake.models import Customer
from shop.keep import actions, erased
from shop.keep.belongings import belongings_of
from shop.keep.command import MISUSED, WRONG, owner_of
from shop.keep.retention import due, years_kept
from shop.people.models import Workshop
from shop.reasons import Refused, blocking


class Command(BaseCommand):
    help = (
        "Erase what is known of a customer (their number, as on the owner's page). With --due: of everybody whose "
        "time is over, and then only told unless --for-good. It cannot be undone. Exit 0, 1 refused, 2 wrong use."
    )

    def add_arguments(self, parser):
        parser.add_argument("customer", type=int, nargs="?")
        parser.add_argument(
            "--due", action="store_true", help="everybody whose time is over, by the shop's setting"
        )
        parser.add_argument("--dry-run", action="store_true", help="tell what would go, and change nothing")
        parser.add_argument("--for-good", action="store_true", help="with --due: erase, and do not only tell")
        parser.add_argument("--by", type=int, metavar="PERSON", help="the owner who answers for it")
        parser.add_argument("--json", action="store_true", help="one JSON list")

    def handle(self, *, customer, **options):
        if (customer is None) != options["due"]:
            raise CommandError("Name one customer, or give --due.", returncode=MISUSED)
        now = clock.now()
        dry = options["dry_run"] or (options["due"] and not options["for_good"])
        wanted = _due(now) if options["due"] else [_customer(customer)]
        why = "retention" if options["due"] else "request"
        told = [self._one(row, why, dry, options["by"], now) for row in wanted]
        if not dry:
            erased.finish_all()
        self.stdout.write(
            json.dumps(told, ensure_ascii=False) if options["json"] else _words(told, dry, options["due"])
        )
        if any(one["reasons"] for one in told):
            raise SystemExit(WRONG)

    def _one(self, customer: Customer, why: str, dry: bool, by: int | None, now) -> dict:
        found = belongings_of(customer)
        today = now.astimezone(ZoneInfo(customer.workshop.zone)).date()
        reasons = actions.reasons_to_keep(found, today)
        stops = blocking(reasons)
        told = {
            "customer": customer.pk,
            "jobs": [job.number for job in found.jobs],
            "values": len(found.standing_values()),
            "photos": len(found.photos),
            "papers": len(found.papers | found.letters),
            "reasons": [reason.text for reason in stops],
            "notes": [reason.text for reason in reasons if reason not in stops],
            "erased": False,
        }
        if not dry and not stops:
            try:
                actions.erase_customer(
                    customer=customer, why=why, by=owner_of(customer.workshop, by), now=now
                )
            except Refused as refused:
                told["reasons"] = [reason.text for reason in refused.reasons]
            else:
                told["erased"] = True
        return told


def _customer(pk: int) -> Customer:
    row = Customer.objects.select_related("workshop", "name").filter(pk=pk).first()
    if row is None:
        raise CommandError(f"There is no customer {pk}.", returncode=MISUSED)
    return row


def _due(now) -> list[Customer]:
    shops = list(Workshop.objects.order_by("pk"))
    if not any(years_kept(shop) for shop in shops):
        text = (
            "No time is set for how long customers' data stay: the owner sets it under Shop, Customers' data."
        )
        raise CommandError(text, returncode=MISUSED)
    return [customer for shop in shops for customer, _ in due(shop, now)]


def _words(told: list[dict], dry: bool, due_only: bool) -> str:
    lines = []
    for one in told:
        counts = f"{one['values']} values, {one['photos']} photos, {one['papers']} printed papers"
        state = "not erased" if one["reasons"] else "erased" if one["erased"] else "would be erased"
        lines.append(
            f"Customer {one['customer']} (jobs {', '.join(one['jobs']) or 'none'}): {counts}: {state}."
        )
        lines += [f"    {text}" for text in [*one["reasons"], *one["notes"]]]
    if not told:
        lines.append("Nobody's time is over.")
    elif dry:
        lines.append("Nothing was changed." + (" Run it with --for-good to erase them." if due_only else ""))
    lines.append("Backups made before hold all of it until they go by their own rules.")
    return "\n".join(lines)
