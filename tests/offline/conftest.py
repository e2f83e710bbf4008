"""A hood and a left front wing set out for Ines, and a tablet that talks like one."""

import json
import uuid
from dataclasses import dataclass, field
from datetime import timedelta
from hashlib import sha256

import pytest
from django.test import Client

from shop import clock, models
from shop.intake.names import body_of
from shop.intake.panels import make_panels
from shop.people.identity import SignedIn
from shop.people.tablets import cookie_of
from shop.work.setout import set_out
from tests import make

ORIGIN = "http://testserver"
PIECE = "application/offset+octet-stream"


@dataclass
class Talk:
    """One tablet: counts its entries, knows its own clock, and posts as our page does."""

    row: models.Tablet
    job: models.Job
    who: models.Person
    ahead: timedelta = timedelta(0)
    seq: int = 0
    client: Client = field(default_factory=Client)

    def __post_init__(self):
        self.client.cookies["tablet"] = cookie_of(self.row)

    def ms(self, ago: timedelta = timedelta(0)) -> int:
        return round((clock.now() + self.ahead - ago).timestamp() * 1000)

    def entry(self, kind="tick", /, *, ago=timedelta(0), **body) -> dict:
        self.seq += 1
        if kind in ("tick", "na", "reading", "timer") and "line" not in body:
            body = {"line": "wash.washed", "panels": [], "edges": []} | body
        return {
            "v": 1, "key": str(uuid.uuid4()), "seq": self.seq, "kind": kind, "job": self.job.pk,
            "who": self.who.pk, "at": self.ms(ago), "body": body,
        }  # fmt: skip

    def post(self, *entries, headers=None, **more):
        message = {"now": self.ms(), "entries": list(entries)} | more
        return self.raw(json.dumps(message), headers)

    def raw(self, data, headers=None, content_type="application/json"):
        headers = {"Origin": ORIGIN} if headers is None else headers
        return self.client.post("/sync/entries", data, content_type=content_type, headers=headers)

    def send(self, *entries, **more) -> list[dict]:
        answer = self.post(*entries, **more)
        assert answer.status_code == 200, answer.content
        assert answer.json()["bay"] == 1
        return answer.json()["results"]

    def promise(self, data: bytes, *, places=None, **rest) -> tuple[dict, str]:
        upload = str(uuid.uuid4())
        places = places or [{"line": "wash.hardware_off", "panel": "hood.1", "edge": ""}]
        told = {"upload": upload, "sha256": sha256(data).hexdigest(), "size": len(data), "places": places}
        return self.entry("photo", **(told | rest)), upload

    def patch(self, upload, offset, piece, *, headers=None, content_type=PIECE):
        headers = {"Origin": ORIGIN, "Upload-Offset": str(offset)} if headers is None else headers
        address = f"/sync/upload/{upload}"
        # Said outright: Django's client leaves the type out where there is no body.
        return self.client.generic("PATCH", address, piece, headers=headers, CONTENT_TYPE=content_type)

    def head(self, upload):
        return self.client.head(f"/sync/upload/{upload}")

    def upload_all(self, upload, data, piece=512 * 1024):
        for at in range(0, len(data), piece):
            answer = self.patch(upload, at, data[at : at + piece])
        return answer


@dataclass
class Scene:
    shop: models.Workshop
    job: models.Job
    ines: models.Person
    marek: models.Person
    dora: models.Person

    def tablet(self, **rest) -> Talk:
        return Talk(row=make.tablet(self.shop), job=self.job, who=self.ines, **rest)


@pytest.fixture(autouse=True)
def own_data(settings, tmp_path):
    settings.SHOP_DATA = tmp_path
    settings.FILE_UPLOAD_TEMP_DIR = tmp_path / "incoming"
    settings.FILE_UPLOAD_TEMP_DIR.mkdir()
    return tmp_path


@pytest.fixture
def at_nine():
    with clock.held_at(make.NOW):
        yield make.NOW


def job_for(shop, dora, ines, number="26-0001", **rest):
    job = make.job(shop, number=number, **rest)
    make_panels(job.vehicle, body_of(job.body))
    roll = models.Roll.objects.filter(lot__material__workshop=shop).first() or make.roll(shop)
    sheet = models.Document.objects.filter(workshop=shop, kind="film").first()
    for panel in ("hood", "fender-left"):
        piece = {"piece": 1, "roll": roll, "sheet": sheet, "people": [ines]}
        set_out(job=job, panel=panel, pieces=[piece], by=SignedIn(dora), now=make.NOW - timedelta(hours=1))
    return job


@pytest.fixture
def scene(db, at_nine) -> Scene:
    shop = make.workshop()
    make.document(shop, "roles", "roles.toml")
    make.document(shop, "film", "films/defaults.toml")
    ines, marek = make.person(shop, "Ines", "installer"), make.person(shop, "Marek", "installer", "inspector")
    dora = make.person(shop, "Dora", "desk")
    return Scene(shop, job_for(shop, dora, ines), ines, marek, dora)


@pytest.fixture
def talk(scene) -> Talk:
    return scene.tablet()
