"""How this model was done last time: the last car of the same model and body, its finishes, times and faults."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop import models
from shop.claims import actions as claims
from shop.find.last_time import last_time, spoken
from shop.templatetags.words import day
from shop.warranty import actions
from tests import make
from tests.make_covered import ZONE, noon, with_passwords

pytestmark = pytest.mark.django_db
LOOK = date(2026, 3, 12)


@pytest.fixture
def covered():
    return with_passwords(panels=(("hood", 1), ("fender-left", 1)))


def another(covered, *, number="26-0100", vin="ZZZ19TV82GEU57286", **car):
    row = make.vehicle(covered.shop, vin=vin, plate="NEW 1", **car)
    return make.job(covered.shop, car=row, number=number, plan=covered.job.plan, body=covered.job.body,
                    customer=make.customer(covered.shop, "Noor Haddad"))  # fmt: skip


def test_it_is_the_last_car_of_the_same_model_and_body(covered):
    assert last_time(another(covered)).job == covered.job
    assert last_time(another(covered, number="26-0101", vin="ZZZ19TV82GEU57287", model="four-DOOR sedan"))
    assert last_time(another(covered, number="26-0102", vin="ZZZ19TV82GEU57288", model="Estate")) is None
    assert last_time(covered.job) is None


def test_a_car_of_another_workshop_is_never_shown(covered):
    elsewhere = make.workshop(name="Elsewhere")
    job = make.job(elsewhere, car=make.vehicle(elsewhere))
    assert last_time(job) is None


def test_finishes_times_and_film_are_those_of_the_record(covered):
    last = last_time(another(covered))
    hood = next(row for row in last.panels if row.place == "hood.1")
    film = covered.film("hood.1")
    edges = list(film.edges.all())
    assert len(hood.edges) == len(edges)
    assert all(then.finish.startswith(edge.finish) for then, edge in zip(hood.edges, edges, strict=True))
    assert film.roll.lot.code in hood.film
    moments = models.OutcomeOn.objects.filter(checklist__fitting=film, checklist__stage="wash")
    gone = max(m.outcome.at for m in moments) - min(m.outcome.at for m in moments)
    assert dict(hood.stages)["Wash"] == spoken(gone)


def test_days_are_those_of_the_workshops_clock_and_cure_is_not_in_them(covered):
    spans = {}
    for row in models.OutcomeOn.objects.filter(checklist__fitting__job=covered.job).exclude(
        checklist__stage="cure"
    ):
        at = row.outcome.at.astimezone(ZONE)
        first, last = spans.get(at.date(), (at, at))
        spans[at.date()] = (min(first, at), max(last, at))
    expected = [(day(on), spoken(last - first)) for on, (first, last) in sorted(spans.items())]
    found = last_time(another(covered))
    assert found.days == expected and expected
    assert found.total == spoken(sum((last - first for first, last in spans.values()), timedelta()))


def test_edges_that_lifted_are_named_with_where_it_was_found(covered):
    edge = covered.film("hood.1").edges.first()
    actions.record_recheck(
        certificate=covered.certificate, key="first_recheck", on=LOOK, by=covered.desk, now=noon(LOOK),
        findings=[{"panel": "hood.1", "edge": edge.code, "kind": "lifted_edge"},
                  {"panel": "fender-left.1", "kind": "sound"}],
    )  # fmt: skip
    claim = claims.report_claim(
        vehicle=covered.car, panel="hood.1", edge=edge.code, symptom="lifted_edge", noticed_on=LOOK, told_on=LOOK,
        by=covered.desk, now=noon(LOOK),
    )  # fmt: skip
    last = last_time(another(covered))
    hood = next(row for row in last.panels if row.place == "hood.1")
    said = next(then.found for then in hood.edges if then.found)
    assert said[0].startswith("at a recheck: ") and said[1].startswith(f"claim {claim.number}: ")
    fender = next(row for row in last.panels if row.place == "fender-left.1")
    assert not fender.found and not any(then.found for then in fender.edges)


def test_the_piece_asked_for_comes_first(covered):
    job = another(covered)
    assert last_time(job, panel="hood.1").panels[0].place == "hood.1"
    assert last_time(job, panel="fender-left.1").panels[0].place == "fender-left.1"


def test_more_panels_ask_no_more_questions(covered):
    job = another(covered)
    with CaptureQueriesContext(connection) as two:
        last_time(job)
    models.Fitting.objects.filter(panel__code="fender-left").update(job=job)
    with CaptureQueriesContext(connection) as one:
        last_time(job)
    assert len(one) == len(two) <= 10


def test_the_page_names_nobody_and_leads_back_to_the_stage(covered):
    job = another(covered)
    client = Client()
    client.force_login(covered.ines.user)
    text = client.get(f"/last-time/{job.pk}/?panel=hood.1&stage=seal").text
    assert "How we did this model last time" in text and f'href="/bay/{job.pk}/hood.1/seal/"' in text
    for word in ("Ana", "QS 12 ABC", covered.car.vin):
        assert word not in text
    first = client.get(f"/last-time/{covered.job.pk}/?stage=nonsense&panel=%3Cb%3E")
    assert first.status_code == 200 and "This is the first" in first.text
