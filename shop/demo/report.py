"""What the demo tells about itself: one plain object, for people and for programs."""

from django.conf import settings

from shop import store
from shop.demo import names
from shop.papers import base_of
from shop.people import tablets
from shop.warranty.address import check_url
from shop.work.models.fitting import Fitting


def report(story, seed: int) -> dict:
    base = story.public_url.rstrip("/")
    secrets = {name: (pin, password) for name, _, pin, password in names.PEOPLE}
    return {
        "seed": seed,
        "as_of": story.as_of.isoformat(),
        "people": [_person(person, *secrets[person.name]) for person in story.people.values()],
        "tablets": [
            {
                "id": tablet.pk,
                "name": tablet.name,
                "enrol_url": f"{base}/enrol/{tablets.link_token(tablet)}/",
            }
            for tablet in story.tablets
        ],
        "cars": [_car(job, base) for job in story.jobs],
        "certificates": [_paper(revision) for revision in story.revisions],
    }


def _person(person, pin: str, password: str | None) -> dict:
    row = {"id": person.pk, "name": person.name, "roles": sorted(person.role_set), "pin": pin}
    return row | ({"password": password} if password else {})


def _car(job, base: str) -> dict:
    fittings = Fitting.objects.filter(job=job, ended_at__isnull=True).select_related("panel")
    return {
        "job": job.pk,
        "number": job.number,
        "vin": job.vehicle.vin,
        "plate": job.vehicle.plate_text,
        "panels": [fitting.place for fitting in fittings.order_by("pk")],
        "bay_url": f"{base}/bay/{job.pk}/",
    }


def _paper(revision) -> dict:
    revision.refresh_from_db()
    return {
        "number": revision.certificate.number,
        "pdf": str(_pdf_path(revision)),
        "pdf_sha256": revision.pdf_sha256,
        "check_url": check_url(base_of(revision.certificate.workshop), revision.certificate.token),
        "facts_digest": revision.facts_digest,
        "cover": [
            {
                "panel": line.panel,
                "kind": line.kind,
                "start": line.first_day.isoformat(),
                "months": line.months,
                "days": line.days,
                "counting": line.counting,
                "first_day": line.first_day.isoformat(),
                "last_day": line.last_day.isoformat(),
            }
            for line in revision.cover.order_by("pk")
        ],
    }


def _pdf_path(revision):
    """The printed paper, copied under its number: the store's own names are digests."""
    folder = settings.SHOP_DATA / "demo-papers"
    folder.mkdir(exist_ok=True)
    path = folder / f"{revision.certificate.number}.pdf"
    path.write_bytes(store.open_pdf(revision.pdf_sha256))
    return path
