"""Something stays as it is because the customer agrees: signed on the glass, in the words that were read."""

import uuid

import pytest
from django.test import Client

from shop import clock, models
from shop.people.identity import Claimed
from shop.reasons import Refused
from shop.record.actions import body_of
from shop.work import actions
from shop.work.agreeing import agreement_text
from shop.work.floor import Floor
from tests.work.world import PLACE, STROKES, World

pytestmark = pytest.mark.django_db


@pytest.fixture
def world():
    found = World()
    found.go_to("set_out")
    return found


def settle(world, defect, **rest):
    given = {"disposition": "accept", "photos": [world.photo()], "strokes": STROKES}
    return actions.put_right(
        job=world.fresh(), defect=models.Defect.objects.get(pk=defect.pk), by=Claimed(world.ines),
        now=world.tick_clock(), **(given | rest),
    )  # fmt: skip


def words(world, defect, kind) -> str:
    floor = Floor(world.fresh())
    return agreement_text(floor, floor.piece(PLACE), models.Defect.objects.get(pk=defect.pk), kind)


def codes(act) -> set[str]:
    with pytest.raises(Refused) as refused:
        act()
    return {reason.code for reason in refused.value.reasons}


@pytest.mark.parametrize("kind", ["speck", "cut_in_paint"])
def test_it_stays_as_it_is_with_a_signature_and_a_photo(world, kind):
    defect = world.defect(kind=kind)
    assert codes(lambda: settle(world, defect, strokes=())) >= {"agreement_missing"}
    assert "photo_missing" in codes(lambda: settle(world, defect, photos=[]))
    closed = settle(world, defect, text_seen=words(world, defect, kind))
    assert (closed.disposition, closed.agreed.kind) == ("accept", "defect")
    assert closed.agreed.text == words(world, defect, kind)
    body = body_of(models.Entry.objects.filter(verb="put_right").get())
    assert body["agreed"]["private"] == closed.agreed.strokes_id and body["agreed_text"] == closed.agreed.text


def test_a_refused_settling_keeps_no_signature(world):
    defect = world.defect()
    codes(lambda: settle(world, defect, photos=[]))
    assert not models.Consent.objects.filter(kind="defect").exists()


def test_the_customer_signs_what_was_read(world):
    defect = world.defect(kind="speck")
    seen = words(world, defect, "speck")
    assert codes(lambda: settle(world, defect, kind="scratch", text_seen=seen)) == {"screen_changed"}
    assert settle(world, defect, kind="scratch", text_seen=words(world, defect, "scratch")).kind == "scratch"


def test_a_dot_is_no_signature(world):
    assert codes(lambda: settle(world, world.defect(), strokes=[[[5, 5]]])) == {"customer_unsigned"}


def test_the_page_shows_the_words_for_what_is_chosen_and_keeps_the_signature(world):
    defect = world.defect(kind="speck")
    client = Client()
    client.force_login(world.ines.user)
    here = f"/bay/{world.job.pk}/defects/{defect.pk}/"
    with clock.held_at(world.tick_clock()):
        assert "speck. I have seen it" in client.get(here).text
        part = client.get(f"{here}?part=agreement&kind=stain").text
        assert "stain. I have seen it" in part and "<html" not in part
        models.DefectPhoto.objects.create(defect=defect, photo=world.photo(), after=True)
        told = {"key": uuid.uuid4().hex, "kind": "stain", "disposition": "accept", "person": world.ines.pk,
                "text_seen": words(world, defect, "stain")}  # fmt: skip
        assert client.post(here, told | {"strokes": "[]"}).status_code == 409
        told["key"] = uuid.uuid4().hex
        assert client.post(here, told | {"strokes": str(STROKES)}).status_code == 302
        assert "Signed by the customer." in client.get(here).text
        assert client.get(f"{here}?part=other").status_code == 400


def test_the_page_of_what_is_wrong_asks_which_stage_it_comes_from(world):
    client = Client()
    client.force_login(world.ines.user)
    text = client.get(f"/bay/{world.job.pk}/{PLACE}/seal/wrong/").text
    assert 'name="comes_from"' in text and 'value="degrease"' in text
