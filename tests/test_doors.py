"""Every address by every kind of person: what is shown to whom, and that a refused sending changes nothing."""

from dataclasses import replace
from datetime import timedelta
from hashlib import sha256

import pytest
from django.conf import settings
from django.db import connection
from django.test import Client
from django.urls import reverse

from shop import models
from shop.documents import actions as documents
from shop.documents import drafts
from shop.management.commands.routes import door_of, doorless, patterns, routes
from shop.people import actions as people
from shop.people import tablets
from shop.people.doors import PEOPLE
from shop.people.identity import Claimed, Proven, SignedIn
from shop.warranty import actions as warranty
from shop.work import actions as work
from tests import make

# Tries are counted, misses and locks kept, sessions come and go; nothing else may move.
MOVES = {
    "shop_throttle": "*",
    "shop_receipt": "*",
    "django_session": "*",
    "shop_person": {"misses", "locked_until"},
    "shop_tablet": {"misses", "locked_until", "seen_at", "unsent"},
    "auth_user": {"last_login"},
}
ROUTES = {row["name"]: row for row in routes()}
DOORS = {pattern.name: door_of(pattern) for _, pattern in patterns()}
REFUSED = (400, 403, 409, 415, 422)
# Leaving needs no form.
OLD_TABLE = (
    "Number,VIN,Model,Colour,Panels,First day,Last day\n"
    "S-17,1M8GDM9AXKP042788,Sedan,red,Hood,2024-05-01,2029-05-01\n"
)
DONE = {"sign-out": (302,)}
FORMS = [{}, {"key": "not a key", "act": "strike", "pin": "000000", "name": "\0", "panel": "hood.1"}]


def examples() -> dict[str, dict]:
    """A thing to visit for every address, by its name. A new address has to say here what it is tried with."""
    done, work_job = models.Job.objects.order_by("pk")[:2]
    photo = models.Photo.objects.first().pk
    person = models.Person.objects.get(name="Jonas Weber").pk
    tablet = models.Tablet.objects.get(name="Bay tablet")
    certificate = models.Certificate.objects.get(imported=False)
    old = {"certificate": models.Certificate.objects.get(imported=True).pk}
    lot = models.Lot.objects.filter(material__kind="primer").get().pk
    held = models.Lot.objects.get(quarantined_at__isnull=False).pk
    a_draft = {"document": models.Document.objects.get(published_at=None).pk}
    a_roll, an_offcut = {"roll": models.Roll.objects.first().pk}, {"offcut": models.Offcut.objects.first().pk}
    film_lot = models.Roll.objects.first().lot_id
    at_work, finished = {"job": work_job.pk}, {"job": done.pk}
    a_claim = {"claim": models.Claim.objects.get().pk}
    return {
        "health": {}, "parts": {}, "home": {}, "first-start": {}, "sign-in": {}, "sign-out": {},
        "enrol": {"token": tablets.link_token(tablet)},
        "people": {}, "new-person": {},
        "person": {"person": person}, "reset-pin": {"person": person}, "reset-password": {"person": person},
        "leave": {"person": person},
        "me": {}, "own-password": {}, "own-pin": {},
        "tablets": {}, "tablet": {"tablet": tablet.pk}, "revoke": {"tablet": tablet.pk},
        "shop": {}, "settings": {}, "pace": {},
        "document": {"document": models.Document.objects.filter(kind="plan").first().pk},
        "documents": {}, "document-compare": a_draft, "document-copy": a_draft, "document-edit": a_draft,
        "document-publish": a_draft, "document-retire": a_draft,
        "photo-original": {"pk": photo}, "photo": {"pk": photo, "variant": "screen"},
        "expect-car": {}, "expected": {"expected": models.Expected.objects.latest("pk").pk},
        "promise": at_work, "wall": {},
        "take-in": {}, "change-car": at_work, "call-off": at_work, "intake": at_work, "gauge": at_work,
        "devices-before": at_work, "devices-after": at_work, "intake-sheet": at_work,
        "mark": {**at_work, "mark": work_job.marks.first().pk}, "paint": {**at_work, "panel": "bumper-front"},
        "film-room": {}, "new-roll": {}, "new-lot": {}, "lot": {"lot": lot}, "quarantine": {"lot": lot},
        "free-lot": {"lot": held}, "open-lot": {"lot": lot}, "open-roll": a_roll, "roll": a_roll,
        "cut-film": a_roll, "scrap-roll": a_roll, "keep-offcut": a_roll, "reserve": {"lot": film_lot},
        "change-film": {"material": models.Material.objects.filter(kind="film").first().pk},
        "offcuts": {}, "lay-offcut": an_offcut, "scrap-offcut": an_offcut, "mixes": {}, "new-mix": {},
        "roll-label": a_roll, "read-roll": {}, "read-vin": {}, "read-codes": {},
        "bay": {}, "bay-car": at_work, "bay-sign": {**at_work, "meaning": "ready"},
        "defect": {**at_work, "defect": models.Defect.objects.first().pk},
        "bay-piece": {**at_work, "place": "hood.1"}, "bay-stage": {**at_work, "place": "hood.1", "stage": "wash"},
        "wrong": {**at_work, "place": "hood.1", "stage": "wash"},
        "cars": {}, "car": at_work, "job-card": at_work, "hand-over": at_work, "set-out": at_work,
        "set-out-panel": {**at_work, "panel": "hood"},
        "sync-entries": {}, "sync-upload": {"pk": models.Upload.objects.first().pk},
        "certificate": finished, "certificate-revision": {**finished, "n": 1}, "certificate-pdf": {**finished, "n": 1},
        "certificate-print": finished, "certificate-correct": finished, "certificate-withdraw": finished,
        "care": finished, "care-pdf": finished, "care-calendar": finished, "send-papers": finished,
        "mails": {}, "test-mail": {}, "send-again": {"sending": models.Sending.objects.first().pk},
        "check-any": {}, "check": {"token": certificate.token}, "check-scanned": {"token": certificate.token},
        "old-papers": {}, "old-paper": old, "old-paper-withdraw": old,
        "last-time": at_work, "find": {}, "life": {"vehicle": done.vehicle_id},
        "film-off": {"vehicle": done.vehicle_id}, "new-owner": {"vehicle": done.vehicle_id},
        "rechecks": {}, "recheck": {"certificate": certificate.pk, "key": "next_recheck"},
        "claims": {}, "new-claim": {}, "claim": a_claim, "claim-photos": a_claim, "claim-glue-side": a_claim,
        "claim-supplier": a_claim, "claim-decide": a_claim, "claim-repair": a_claim,
        "claim-send": a_claim, "claim-letter": {**a_claim, "n": 1}, "claim-letter-pdf": {**a_claim, "n": 1},
        "car-book": at_work, "shop-book": {}, "safe": {}, "customers": {}, "customer": {"customer": done.customer_id},
        "customer-data": {"customer": done.customer_id}, "customer-erase": {"customer": done.customer_id},
    }  # fmt: skip


@pytest.fixture(scope="module", autouse=True)
def shop(demo_on_disk, tmp_path_factory, django_db_blocker):
    copy = demo_on_disk.copy(tmp_path_factory.mktemp("doors") / "data")
    with copy.opened(django_db_blocker):
        furnish()
        yield copy


def furnish() -> None:
    """What the demo does not have: a defect, doubtful paint, a held lot, a promised photo, a second workshop."""
    shop = models.Workshop.objects.get()
    job = models.Job.objects.order_by("pk")[1]
    by_name = {person.name: person for person in shop.people.all()}
    ines, dora = by_name["Ines Moreau"], by_name["Dora Kaya"]
    now = models.Entry.objects.latest("pk").received_at
    work.raise_defect(job=job, panel="hood.1", kind="speck", found_at="wash", by=Claimed(ines), now=now)
    from shop.film import actions as film
    from shop.intake import actions as intake

    intake.expect_car(
        workshop=shop,
        expected_at=now + timedelta(days=2),
        name="Noor Haddad",
        car="grey sedan",
        by=SignedIn(dora),
        now=now,
    )
    intake.note_paint(job=job, panel="bumper-front", kind="fresh", by=SignedIn(dora), now=now)
    lot = models.Lot.objects.get(material__kind="tack")
    film.quarantine_lot(lot=lot, reason="smells odd", by=SignedIn(dora), now=now)
    tablet = models.Tablet.objects.get(name="Bay tablet")
    models.Upload.objects.create(
        workshop=shop, tablet=tablet, job=job, sha256="0" * 64, size=9, promised_at=now, pressed_at=now
    )
    owner = Proven(by_name["Petra Lindqvist"], "pin")
    text = drafts.copied(models.Document.objects.get(kind="plan"), name="builtin", version="2")
    documents.save_draft(workshop=shop, text=text, by=owner, now=now)
    for person in shop.people.filter(user__isnull=True):
        people.set_password(person=person, password="harbour lights 7", by=owner, now=now)
    warranty.send_test_mail(workshop=shop, address="bay@mail.example", by=owner, now=now)
    claim_decided(models.Job.objects.order_by("pk")[0], SignedIn(dora), now)
    warranty.bring_in_papers(workshop=shop, text=OLD_TABLE, by=SignedIn(dora), now=now)
    make.person(make.workshop(name="Another"), "Otto", "owner", "desk", password="harbour lights 7")


def claim_decided(job, desk: SignedIn, now) -> None:
    """A lift reported on the finished car, decided, its letter printed."""
    from shop.claims import actions as claims
    from shop.claims.letter import print_letter

    claim = claims.report_claim(
        vehicle=job.vehicle,
        panel="hood.1",
        symptom="lifted_edge",
        noticed_on=now.date(),
        by=desk,
        now=now,
    )
    decision = claims.decide(
        claim=claim,
        outcome="accept",
        clause="covered.edges",
        reason="The edge was wet.",
        shop_pct=100,
        by=Proven(desk.person, "pin"),
        now=now,
    )
    print_letter(decision)


NAMES = {
    "installer": "Ines Moreau",
    "inspector": "Marek Nowak",
    "desk": "Dora Kaya",
    "owner": "Petra Lindqvist",
    "other": "Otto",
}


def signed_in(name: str) -> str:
    client = Client()
    client.force_login(models.Person.objects.get(name=name).user)
    return client.cookies[settings.SESSION_COOKIE_NAME].value


@pytest.fixture(scope="module")
def sessions(shop) -> dict[str, str]:
    return {who: signed_in(name) for who, name in NAMES.items()}


@pytest.fixture
def clients(request, sessions) -> dict[str, Client]:
    """One of each kind, fresh: an enrolment link leaves its cookie wherever it is opened."""
    found = {who: Client() for who in ("stranger", "tablet", *NAMES)}
    bay_tablet = models.Tablet.objects.get(name="Bay tablet")
    found["tablet"].cookies[settings.TABLET_COOKIE] = tablets.cookie_of(bay_tablet)
    ends = "sign-out" in request.node.name
    for who, name in NAMES.items():
        # Whoever signs out ends the session, and the next case would have none.
        found[who].cookies[settings.SESSION_COOKIE_NAME] = signed_in(name) if ends else sessions[who]
    assert set(found) == set(PEOPLE)
    return found


@pytest.fixture(scope="module")
def addresses(shop) -> dict[str, str]:
    return {name: reverse(name, kwargs=kwargs) for name, kwargs in examples().items()}


def rows() -> dict[str, str]:
    """A digest of every table, those columns left out that a refused sending may move."""
    found = {}
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            moves = MOVES.get(table, set())
            if moves == "*":
                continue
            columns = [column[1] for column in cursor.execute(f'PRAGMA table_info("{table}")').fetchall()]
            kept = ", ".join(f'"{name}"' for name in columns if name not in moves)
            cursor.execute(f'SELECT {kept} FROM "{table}" ORDER BY 1, 2')
            found[table] = sha256(repr(cursor.fetchall()).encode()).hexdigest()
    return found


def changed(before: dict[str, str]) -> list[str]:
    now = rows()
    tables = [table for table, digest in now.items() if before[table] != digest]
    before.update(now)
    return tables


@pytest.fixture(scope="module")
def before(shop) -> dict[str, str]:
    """The rows as the last case left them: looking at all of them is slow, so each case looks once."""
    return rows()


# ------------------------------------------------------------------ decisions


def test_every_address_has_a_door():
    assert doorless() == []


def test_every_address_has_a_name_of_its_own_and_something_to_be_tried_with():
    named = [row["name"] for row in routes()]
    assert len(named) == len(set(named)) and "" not in named
    assert set(named) == set(examples())


# ------------------------------------------------------------------ looking


@pytest.mark.parametrize("name", ROUTES)
def test_each_kind_of_person_gets_what_was_decided(name, clients, addresses):
    got = {who: client.get(addresses[name]).status_code for who, client in clients.items()}
    assert got == ROUTES[name]["answers"]


@pytest.mark.parametrize("name", [n for n, door in DOORS.items() if door.kind in ("staff", "bay")])
def test_a_stranger_is_asked_to_sign_in_and_brought_back(name, clients, addresses):
    answer = clients["stranger"].get(addresses[name])
    assert answer["Location"] == f"/sign-in/?next={addresses[name]}"


def test_what_is_not_there_is_not_there(clients, addresses):
    """An id nobody has answers as one of another workshop does."""
    for name, kwargs in examples().items():
        numbers = {key: 999_999 for key, value in kwargs.items() if isinstance(value, int)}
        door = ROUTES[name]
        if numbers and door["answers"]["owner"] == 200 and door["answers"]["other"] == 404:
            assert clients["owner"].get(reverse(name, kwargs={**kwargs, **numbers})).status_code == 404, name


# ------------------------------------------------------------------ sending


def at_the_door(name: str, who: str) -> int:
    """The status of anything this person sends there, 0 where the form itself is what decides."""
    door = DOORS[name]
    status = replace(door, answers={}).answer(who, of_something="<" in ROUTES[name]["url"])
    if status in (302, 401, 403):
        return status
    if "POST" not in door.methods:
        return 405
    return 404 if status == 404 or name == "first-start" else 0


@pytest.mark.parametrize("name", ROUTES)
def test_a_refused_sending_changes_no_row(name, clients, addresses, before):
    for who, client in clients.items():
        for form in FORMS:
            status, expected = client.post(addresses[name], form).status_code, at_the_door(name, who)
            assert status == expected if expected else status in DONE.get(name, REFUSED), (who, form)
    assert changed(before) == []


@pytest.mark.parametrize("name", [n for n, row in ROUTES.items() if "POST" in row["methods"]])
def test_a_form_of_another_site_changes_no_row(name, addresses, sessions, before):
    """No token, no act: not even for the owner with a session."""
    client = Client(enforce_csrf_checks=True)
    client.cookies[settings.SESSION_COOKIE_NAME] = sessions["owner"]
    client.cookies[settings.TABLET_COOKIE] = tablets.cookie_of(models.Tablet.objects.get(name="Bay tablet"))
    for form in FORMS:
        answer = client.post(addresses[name], form, headers={"Sec-Fetch-Site": "cross-site"})
        assert answer.status_code in (403, 404), form
    assert changed(before) == []


def test_the_rows_are_looked_at(before):
    """The watch itself: a changed cell and a new row are both seen, and each is told once."""
    models.Lot.objects.filter(code__startswith="T").update(opened_on="2026-05-01")
    assert changed(before) == ["shop_lot"]
    tablet = models.Tablet.objects.create(
        workshop=models.Workshop.objects.first(), name="Third", secret_hash="x"
    )
    assert changed(before) == ["shop_tablet"]
    tablet.delete()
    models.Lot.objects.filter(code__startswith="T").update(opened_on=None)
    assert changed(before) == ["shop_lot", "shop_tablet"]
