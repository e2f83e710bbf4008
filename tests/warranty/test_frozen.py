"""After issue, renaming customer, panel, film or person changes neither page nor paper nor digest."""

from datetime import timedelta

import pytest

from shop import models, printing
from shop.intake.names import body_of
from shop.people.identity import Proven
from shop.record.actions import keep_private
from shop.warranty import actions, paper
from tests import make, make_finished

pytestmark = pytest.mark.django_db

NOW = make_finished.HANDED_OVER + timedelta(minutes=10)


def rename_everything(done):
    customer = done.job.customer
    customer.name = keep_private(done.shop, "Zora Other")
    customer.save()
    car = done.job.vehicle
    car.plate = keep_private(done.shop, "NEW 1")
    car.colour, car.model = "pink", "Something else"
    car.save()
    models.Material.objects.update(name="Renamed film", colour="beige", finish="matt")
    models.Lot.objects.update(code="L-RENAMED")
    models.Roll.objects.update(code="R-RENAMED")
    models.Person.objects.filter(pk=done.ines.pk).update(name="Ines Married")
    models.Person.objects.filter(pk=done.marek.pk).update(name="Marek Renamed")
    models.Workshop.objects.filter(pk=done.shop.pk).update(
        name="Renamed Works", address="Elsewhere", phone="1", public_url="https://moved.example"
    )
    models.Panel.objects.update(kind="other", material="carbon")
    models.FittingEdge.objects.update(finish="flush", return_mm=None)
    for kind in ("body", "terms", "plan"):
        old = models.Document.objects.get(workshop=done.shop, kind=kind)
        body = old.body | {"version": "2", "title": {"en": "Renamed"}}
        if kind == "body":
            body["panels"] = [panel | {"title": {"en": "Lid"}} for panel in body["panels"]]
        if kind == "terms":
            body["heading"] = {"text": {"en": "Another warranty"}}
        old.retired_at = NOW
        old.save()
        models.Document.objects.create(
            workshop=done.shop,
            kind=kind,
            name=old.name,
            version="2",
            body=body,
            digest="2" * 64,
            published_at=NOW,
        )
        if kind == "body":
            assert body_of(models.Document.objects.get(workshop=done.shop, kind=kind, version="2"))


def state(pk: int) -> tuple:
    revision = models.Revision.objects.get(pk=pk)
    put = paper.put_together(revision)
    return revision.facts, revision.facts_digest, put.html, put, printing.render(put)


def test_renaming_changes_nothing_of_an_issued_certificate(client):
    shop = make.workshop()
    desk = make.person(shop, "Dora Lind", "desk", password="a long password")
    done = make_finished.finished_job(shop, panels=(("hood", 1),))
    revision = actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=NOW)
    client.force_login(desk.user)
    address = f"/cars/{done.job.pk}/certificate/"
    before, page = state(revision.pk), paper_of(client.get(address))

    rename_everything(done)

    assert state(revision.pk) == before
    assert paper_of(client.get(address)) == page
    assert "Ana Berg" in page
    assert "Zora Other" not in page


def paper_of(response) -> str:
    """The certificate on the page, without the shop's own frame round it."""
    html = response.content.decode()
    return html[html.index('<article class="certificate"') : html.index("</article>")]


def test_a_correction_states_the_new_names():
    done = make_finished.finished_job(panels=(("hood", 1),), with_photos=False)
    first = actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=NOW)
    done.job.customer.name = keep_private(done.shop, "Zora Other")
    done.job.customer.save()
    second = actions.correct(
        certificate=first.certificate, reason="The name was wrong.", by=Proven(done.dora, "pin"), now=NOW
    )
    assert "Ana Berg" in paper.put_together(first).html
    assert "Zora Other" in paper.put_together(second).html


def test_an_erased_value_reads_erased_and_leaves_the_digest():
    done = make_finished.finished_job(panels=(("hood", 1),), with_photos=False)
    revision = actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=NOW)
    name = done.job.customer.name
    name.value = name.salt = ""
    name.erased_at = NOW
    name.save()
    again = models.Revision.objects.get(pk=revision.pk)
    assert again.facts_digest == revision.facts_digest
    html = paper.put_together(again).html
    assert "Ana Berg" not in html
    assert "erased" in html
