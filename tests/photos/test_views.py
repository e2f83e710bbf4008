import pytest
from django.test import Client
from django.urls import include, path

from shop.models import Photo
from shop.people.tablets import cookie_of
from shop.photos.actions import keep
from tests import make
from tests.photos import pictures

urlpatterns = [path("", include("shop.photos.urls"))]
pytestmark = [pytest.mark.django_db, pytest.mark.urls(__name__)]


@pytest.fixture(autouse=True)
def own_data(settings, tmp_path):
    settings.SHOP_DATA = tmp_path
    settings.TABLET_COOKIE_SECURE = False


@pytest.fixture
def shop():
    return make.workshop()


@pytest.fixture
def photo(shop):
    return keep(workshop=shop, data=pictures.jpeg(), by=None, now=make.NOW)


def signed_in(shop, *roles):
    person = make.person(shop, "Dora", *roles, password="a long password")
    client = Client()
    client.force_login(person.user)
    return client


def with_tablet(shop):
    client = Client()
    client.cookies["tablet"] = cookie_of(make.tablet(shop))
    return client


@pytest.mark.parametrize("variant", ["screen", "print"])
def test_the_bay_and_the_desk_see_the_sizes(shop, photo, variant):
    for client in (signed_in(shop, "installer"), with_tablet(shop)):
        answer = client.get(f"/photos/{photo.pk}/{variant}")
        assert answer.status_code == 200 and answer["Content-Type"] == "image/jpeg"
        assert answer["X-Content-Type-Options"] == "nosniff"
        assert answer["Content-Security-Policy"] == "sandbox; default-src 'none'"
        assert "private" in answer["Cache-Control"] and answer.content[:3] == b"\xff\xd8\xff"


def test_the_original_is_a_download_for_staff_alone(shop, photo):
    answer = signed_in(shop, "inspector").get(f"/photos/{photo.pk}/original")
    assert answer.content == pictures.jpeg() and answer["Content-Type"] == "application/octet-stream"
    assert answer["Content-Disposition"] == f'attachment; filename="photo-{photo.pk}.jpg"'
    assert answer["X-Content-Type-Options"] == "nosniff" and "sandbox" in answer["Content-Security-Policy"]
    assert with_tablet(shop).get(f"/photos/{photo.pk}/original").status_code == 302


@pytest.mark.parametrize(("variant", "tablet"), [("screen", 404), ("print", 404), ("original", 302)])
def test_strangers_and_other_workshops_see_nothing(photo, variant, tablet):
    other = make.workshop()
    address = f"/photos/{photo.pk}/{variant}"
    assert Client().get(address).status_code == 302
    assert signed_in(other, "owner").get(address).status_code == 404
    assert with_tablet(other).get(address).status_code == tablet


@pytest.mark.parametrize("klass", ["plate", "document", "signature"])
def test_papers_of_a_customer_are_not_for_a_tablet_alone(shop, photo, klass):
    Photo.objects.filter(pk=photo.pk).update(klass=klass)
    assert with_tablet(shop).get(f"/photos/{photo.pk}/screen").status_code == 404
    answer = signed_in(shop, "desk").get(f"/photos/{photo.pk}/screen")
    assert answer.status_code == 200 and answer["Cache-Control"] == "no-store"


@pytest.mark.parametrize("tail", ["huge", "", "../../shop.sqlite3", "screen/x"])
def test_other_sizes_are_no_addresses(shop, photo, tail):
    assert signed_in(shop, "desk").get(f"/photos/{photo.pk}/{tail}").status_code == 404


def test_a_photo_lost_from_the_store_is_not_found(shop, photo, caplog):
    from shop import store

    store.forget(photo.sha256)
    assert signed_in(shop, "desk").get(f"/photos/{photo.pk}/screen").status_code == 404
    assert "no screen in the store" in caplog.text
