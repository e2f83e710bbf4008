"""Erasing a customer: every trace of the person goes, every digest stands, and the proof says what went."""

import io
import json
import zipfile
from datetime import date, timedelta

import pytest
from django.apps import apps
from django.db import models as fields
from django.test import Client

from shop import clock, store
from shop.intake import actions as intake
from shop.keep import actions, belongings, erased, giving
from shop.keep.belongings import belongings_of
from shop.keep.prove import prove
from shop.keep.retention import due
from shop.models import (
    Consent,
    Customer,
    Entry,
    Job,
    Mark,
    MarkPhoto,
    Ownership,
    Person,
    Photo,
    Private,
    Revision,
    SearchKey,
    Vehicle,
    Workshop,
)
from shop.people.identity import Claimed, Proven, SignedIn
from shop.reasons import Refused
from shop.warranty.owners import transfer_cover
from tests import make_finished

EARLIER = "Quorra Aldringham"


@pytest.fixture
def now(opened):
    return Entry.objects.latest("pk").received_at + timedelta(hours=1)


@pytest.fixture
def owner(opened) -> Proven:
    return Proven(Person.objects.get(roles__role="owner"), "pin")


@pytest.fixture
def customer(opened, owner, now) -> Customer:
    """The one whose car is done, once known by another name, with a photo of a registration paper."""
    job = Job.objects.filter(hand_over__isnull=False).get()
    name = job.customer.name.value
    intake.change_customer(customer=job.customer, name=EARLIER, by=owner, now=now)
    intake.change_customer(customer=job.customer, name=name, phone="+34 699 999 111", by=owner, now=now)
    mark = Mark.objects.filter(job=job).first()
    for text, klass in (("registration", Photo.Klass.DOCUMENT), ("scratch", Photo.Klass.EVIDENCE)):
        MarkPhoto.objects.create(mark=mark, photo=photo_of(job.workshop, text, klass, now))
    return Customer.objects.select_related("name", "workshop").get(pk=job.customer_id)


def photo_of(workshop, text, klass, now) -> Photo:
    data = make_finished.picture(text)
    digest = store.digest_of(data)
    store.put(data, digest)
    for variant in (store.SCREEN, store.PRINT):
        store.put(data, digest, variant)
    return Photo.objects.create(
        workshop=workshop, sha256=digest, size=len(data), type="jpeg", w=1200, h=900, klass=klass, kept_at=now
    )


def personal(customer) -> list[str]:
    return [private.value for private in belongings_of(customer).standing_values()]


def only_theirs(customer) -> list[str]:
    """Without what the demo gives to other customers as well: everybody signs with the same hand there."""
    found = belongings_of(customer)
    others = Private.objects.exclude(pk__in=found.values).values_list("value", flat=True)
    return [value for value in personal(customer) if value not in set(others)]


def erase(customer, owner, now, why="request"):
    return actions.erase_customer(customer=customer, why=why, by=owner, now=now + timedelta(minutes=1))


def test_every_way_to_a_value_about_a_person_is_decided():
    """A new column that points to a value about a person has to be found by `belongings`."""
    found = {
        (model.__name__, field.name)
        for model in apps.get_app_config("shop").get_models()
        for field in model._meta.local_fields
        if isinstance(field, fields.ForeignKey) and field.related_model is Private
    }
    assert found == {
        ("Customer", "name"), ("Customer", "phone"), ("Customer", "mail"), ("Customer", "address"),
        ("Vehicle", "vin_private"), ("Vehicle", "plate"), ("Consent", "strokes"), ("Claim", "said"),
        ("Decision", "reason"), ("Sending", "address"), ("Consent", "counter_strokes"),
    }  # fmt: skip


def test_every_table_that_shows_a_photo_is_decided():
    found = {field.name for field in Photo._meta.get_fields() if field.auto_created and not field.concrete}
    decided = {path.partition("__")[0] for path in belongings.TO_A_JOB} | {"claims"}
    assert found == decided


def test_everything_of_the_person_goes(customer, owner, now, opened):
    values = belongings_of(customer).values
    assert len(values) >= 8 and EARLIER in personal(customer)
    car = Job.objects.get(customer=customer).vehicle
    vin = car.vin
    paper = Revision.objects.get()
    erase(customer, owner, now)
    assert (
        set(
            Private.objects.filter(pk__in=values, value="", salt="", erased_at__isnull=False).values_list(
                "pk", flat=True
            )
        )
        == values
    )
    assert not Vehicle.objects.filter(vin=vin).exists()
    assert not SearchKey.objects.filter(vehicle=car).exclude(kind="certificate").exists()
    assert Consent.objects.filter(job__customer=customer, strokes__erased_at__isnull=True).count() == 0
    assert not store.has(paper.pdf_sha256, shelf="papers")
    gone, kept = Photo.objects.filter(marks__mark__job__customer=customer).order_by("klass")
    assert gone.klass == "document" and not store.has(gone.sha256) and not store.has(gone.sha256, "print")
    assert kept.klass == "evidence" and store.has(kept.sha256)


def test_no_trace_of_it_is_left_in_the_files_of_the_database(customer, owner, now, opened):
    short = 6  # a number of three digits may stand anywhere
    values = [value for value in only_theirs(customer) if len(value) > short]
    vin = Job.objects.get(customer=customer).vehicle.vin
    assert any(_in_files(opened.data, value) for value in (EARLIER, vin))
    erase(customer, owner, now)
    for value in [*values, vin]:
        assert not _in_files(opened.data, value), value


def _in_files(data, text):
    return any(text.encode() in path.read_bytes() for path in data.glob("shop.sqlite3*"))


def test_chains_and_digests_stand_and_the_proof_says_what_went(customer, owner, now):
    entry = erase(customer, owner, now)
    told = prove()
    assert told["ok"], [one for check in told["checks"] for one in check["wrong"]]
    said = next(check["said"] for check in told["checks"] if check["name"] == "erased")
    assert len(said) == 1
    assert (
        f"Customer {customer.pk} was erased on {entry.received_at:%Y-%m-%d} by Petra Lindqvist (request)"
        in said[0]
    )


@pytest.mark.parametrize("harm", ["value put back", "blanked without an entry", "file put back"])
def test_nothing_else_passes_for_erased(customer, owner, now, harm):
    paper = Revision.objects.get()
    data = store.open_pdf(paper.pdf_sha256)
    erase(customer, owner, now)
    if harm == "value put back":
        Private.objects.filter(pk=customer.name_id).update(erased_at=None, value="x", salt="y")
    elif harm == "blanked without an entry":
        other = Customer.objects.exclude(pk=customer.pk).first()
        Private.objects.filter(pk=other.name_id).update(value="", salt="", erased_at=now)
    else:
        store.put_pdf(data)
    told = prove()
    wrong = [one["text"] for check in told["checks"] if check["name"] == "erased" for one in check["wrong"]]
    assert len(wrong) == 1, wrong


def test_bytes_left_by_a_machine_that_stopped_go_with_the_next_backup(
    customer, owner, now, tmp_path, monkeypatch
):
    from shop.keep.backup import back_up

    paper = Revision.objects.get()
    with monkeypatch.context() as patched:
        patched.setattr(erased, "finish_all", lambda: 0)
        erase(customer, owner, now)
    assert store.has(paper.pdf_sha256, shelf="papers")
    made = back_up(tmp_path / "disk", now=now)
    assert not store.has(paper.pdf_sha256, shelf="papers")
    assert made.wrong == []
    assert prove()["ok"]


def test_a_file_another_workshop_has_as_well_stays(customer, owner, now):
    from tests import make

    photo = Photo.objects.get(klass="document")
    other = make.workshop(name="Another")
    Photo.objects.create(
        workshop=other, sha256=photo.sha256, size=1, type="jpeg", w=1, h=1, kept_at=now, klass="document"
    )
    erase(customer, owner, now)
    assert store.has(photo.sha256)
    assert not [one for check in prove()["checks"] if check["name"] == "erased" for one in check["wrong"]]


def test_the_public_page_says_the_same_of_the_film(customer, owner, now):
    revision = Revision.objects.select_related("certificate").get()
    pdf = store.open_pdf(revision.pdf_sha256)
    address = f"/check/{revision.certificate.token}/"
    car = Job.objects.get(customer=customer).vehicle
    before = Client().get(address).content.decode()
    erase(customer, owner, now)
    after = Client().get(address).content.decode()
    for text in ("Real, and in force", car.model, car.colour, revision.certificate.number):
        assert text in before and text in after
    answer = Client().post(address, {"number": car.vin})
    assert "was erased" in answer.content.decode()
    from shop.public.papers import examine

    assert examine([pdf]).ours, "the customer's own copy is still told by its digest"


def test_the_pages_say_erased_where_a_value_was(customer, owner, now):
    values = only_theirs(customer)
    job = Job.objects.get(customer=customer)
    erase(customer, owner, now)
    client = Client()
    client.force_login(owner.person.user)
    for address in (
        f"/cars/{job.pk}/", f"/cars/{job.pk}/certificate/", f"/cars/{job.pk}/book/?print=1", f"/life/{job.vehicle_id}/",
        f"/shop/customers/{customer.pk}/", "/shop/customers/", "/shop/book/", "/cars/", f"/bay/{job.pk}/",
        f"/cars/{job.pk}/intake/",
    ):  # fmt: skip
        answer = client.get(address)
        assert answer.status_code == 200, address
        html = answer.content.decode()
        assert not [value for value in values if len(value) > 4 and value in html], address
    assert "erased" in client.get(f"/cars/{job.pk}/certificate/").content.decode()
    assert client.get(f"/cars/{job.pk}/certificate/1/pdf/").status_code in (404, 410)
    assert client.get("/find/", {"q": EARLIER}).status_code == 200
    assert EARLIER not in client.get("/find/", {"q": EARLIER.split()[0]}).content.decode().replace(
        "value=", ""
    )


def test_a_car_that_is_still_here_or_a_claim_still_open_stops_it(owner, now):
    job = Job.objects.in_the_shop(owner.person.workshop).first()
    before = Private.objects.filter(erased_at__isnull=False).count()
    with pytest.raises(Refused) as refused:
        erase(job.customer, owner, now)
    assert {reason.code for reason in refused.value.reasons} == {"job_open"}
    assert Private.objects.filter(erased_at__isnull=False).count() == before
    assert not Entry.objects.filter(verb="erase_customer").exists()


def test_only_the_owner_and_only_proven(customer, now):
    desk, petra = Person.objects.get(name="Dora Kaya"), Person.objects.get(roles__role="owner")
    for by in (Proven(desk, "pin"), SignedIn(petra), Claimed(petra)):
        with pytest.raises(Refused) as refused:
            erase(customer, by, now)
        assert refused.value.reasons[0].code == "not_allowed"


def test_it_is_done_once(customer, owner, now):
    erase(customer, owner, now)
    with pytest.raises(Refused) as refused:
        erase(customer, owner, now)
    assert "already_erased" in {reason.code for reason in refused.value.reasons}
    assert Entry.objects.filter(verb="erase_customer").count() == 1


def test_a_car_sold_on_keeps_its_number_and_the_new_owner(customer, owner, now):
    car = Job.objects.get(customer=customer).vehicle
    transfer_cover(
        vehicle=car, name="Nadja Brandt", phone="+34 611 222 333", sold_on=now.date(), accept_end=True,
        by=owner, now=now + timedelta(days=1),
    )  # fmt: skip
    seller = belongings_of(customer).values
    erase(customer, owner, now + timedelta(days=2))
    car.refresh_from_db()
    buyer = Ownership.objects.get(vehicle=car, until__isnull=True).customer
    assert car.vin and car.plate.value
    assert (buyer.name.value, buyer.phone.value) == ("Nadja Brandt", "+34 611 222 333")
    keys = {key.kind: key.key for key in SearchKey.objects.filter(vehicle=car)}
    assert keys["vin"] and keys["plate"] and keys["phone"].endswith("611222333")
    names = set(SearchKey.objects.filter(vehicle=car, kind="name").values_list("key", flat=True))
    assert names == {"nadja", "brandt"}
    assert {car.plate_id, car.vin_private_id}.isdisjoint(seller)
    assert not Private.objects.filter(pk__in=seller, erased_at__isnull=True).exists()
    assert prove()["ok"]


def test_the_copy_holds_everything_and_nothing_of_others(customer, owner, now):
    found, out = belongings_of(customer), io.BytesIO()
    photos, papers = giving.write_zip(found, out, now=now)
    packed = zipfile.ZipFile(out)
    assert packed.testzip() is None
    told = json.loads(packed.read("data.json"))
    text = packed.read("data.json").decode()
    for value in personal(customer):
        assert value in text or json.dumps(value)[1:-1] in text
    assert told["customer"]["phone"] == "+34 699 999 111" and EARLIER in told["earlier"]
    assert told["certificates"][0]["facts"]["customer"]["name"] == customer.name.value
    assert (photos, papers) == (len(told["photos"]), 1) and photos > 5
    for photo in told["photos"]:
        assert store.digest_of(packed.read(photo["file"])) in {p.sha256 for p in Photo.objects.all()}
    paper = Revision.objects.get(certificate__job__customer=customer)
    assert store.digest_of(packed.read(told["certificates"][0]["file"])) == paper.pdf_sha256
    for other in Customer.objects.exclude(pk=customer.pk):
        assert other.name.value not in text and other.phone.value not in text


# --- the owner's page ----------------------------------------------------------------------------


def test_the_owner_looks_first_and_erases_with_a_pin(customer, owner, now, opened):
    pin = next(person["pin"] for person in opened.told["people"] if "owner" in person["roles"])
    client = Client()
    client.force_login(owner.person.user)
    address = f"/shop/customers/{customer.pk}/erase/"
    html = client.get(address).content.decode()
    assert "This goes, for good" in html and "Cover runs until" in html
    key = html.partition('name="key" value="')[2].partition('"')[0]
    with clock.held_at(now):
        no = client.post(address, {"key": key, "pin": pin})
        assert no.status_code == 422 and "Tick this" in no.content.decode()
        no = client.post(address, {"key": key, "pin": "000001", "sure": "on"})
        assert no.status_code == 409 and Private.objects.get(pk=customer.name_id).value
        for _ in range(2):
            yes = client.post(address, {"key": key, "pin": pin, "sure": "on"})
            assert (yes.status_code, yes["Location"]) == (302, f"/shop/customers/{customer.pk}/")
    assert Entry.objects.filter(verb="erase_customer").count() == 1
    assert "Erased" in client.get(yes["Location"]).content.decode()


def test_the_copy_is_made_on_the_page_and_noted(customer, owner):
    client = Client()
    client.force_login(owner.person.user)
    html = client.get(f"/shop/customers/{customer.pk}/").content.decode()
    key = html.partition('name="key" value="')[2].partition('"')[0]
    answer = client.post(f"/shop/customers/{customer.pk}/data/", {"key": key})
    packed = zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content)))
    assert json.loads(packed.read("data.json"))["customer"]["name"] == customer.name.value
    assert Entry.objects.filter(verb="give_data", person=owner.person).count() == 1


# --- how long data stay --------------------------------------------------------------------------


def test_nobodys_time_is_over_until_the_owner_sets_one(customer, owner, now):
    shop, far = Workshop.objects.get(), now + timedelta(days=365 * 40)
    assert due(shop, far) == []
    actions.set_retention(workshop=shop, years=3, by=owner, now=now)
    until = belongings_of(customer).covered_until()
    on = date(until.year + 3, until.month, until.day)
    assert due(shop, now) == []
    assert due(shop, now.replace(year=on.year, month=on.month, day=on.day)) == []
    day_after = now.replace(year=on.year, month=on.month, day=on.day) + timedelta(days=1)
    assert due(shop, day_after) == [(customer, on)]
    actions.set_retention(workshop=shop, years=0, by=owner, now=now)
    assert due(shop, far) == []
    assert Entry.objects.filter(verb="set_retention").count() == 2


@pytest.mark.parametrize("years", [-1, 51, True, "3"])
def test_odd_times_are_refused(owner, now, years):
    with pytest.raises(Refused):
        actions.set_retention(workshop=owner.person.workshop, years=years, by=owner, now=now)


# --- the command ---------------------------------------------------------------------------------


def test_the_command_tells_first(customer, owner, now, opened):
    name = customer.name.value
    done = opened.manage("erase", str(customer.pk), "--dry-run")
    assert done.returncode == 0 and "would be erased" in done.stdout and "Nothing was changed" in done.stdout
    assert name not in done.stdout
    assert Private.objects.get(pk=customer.name_id).value == name
    done = opened.manage("erase", str(customer.pk), "--json")
    assert done.returncode == 0 and json.loads(done.stdout)[0]["erased"] is True
    assert Private.objects.get(pk=customer.name_id).value == ""
    entry = Entry.objects.get(verb="erase_customer")
    assert (entry.person, entry.proven) == (owner.person, "command")
    assert opened.manage("prove").returncode == 0


def test_the_command_refuses_and_says_why(opened, now):
    job = Job.objects.in_the_shop(Workshop.objects.get()).first()
    done = opened.manage("erase", str(job.customer_id))
    assert done.returncode == 1 and "is not finished" in done.stdout
    assert opened.manage("erase", "99999").returncode == 2
    assert opened.manage("erase").returncode == 2
    assert opened.manage("erase", "--due").returncode == 2, "no time is set"


def test_those_whose_time_is_over_go_only_for_good(customer, owner, now, opened, monkeypatch):
    from django.core.management import call_command

    shop = Workshop.objects.get()
    actions.set_retention(workshop=shop, years=1, by=owner, now=now)
    later = now + timedelta(days=365 * 12)
    with clock.held_at(later):
        call_command("erase", "--due")
        assert Private.objects.get(pk=customer.name_id).value
        call_command("erase", "--due", "--for-good")
    assert Private.objects.get(pk=customer.name_id).value == ""
    assert json.loads(Entry.objects.get(verb="erase_customer").body)["why"] == "retention"


def test_the_copy_from_the_command(customer, opened, tmp_path):
    done = opened.manage("customerdata", str(customer.pk), str(tmp_path / "c.zip"))
    assert done.returncode == 0, done.stderr
    assert (
        json.loads(zipfile.ZipFile(tmp_path / "c.zip").read("data.json"))["customer"]["name"]
        == customer.name.value
    )
    assert opened.manage("customerdata", str(customer.pk), str(tmp_path / "c.zip")).returncode == 2
