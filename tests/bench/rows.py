"""A demo shop to measure on: one car at work for ticks, one certificate to print again and again."""

import json
import uuid
from datetime import date

from django.test import Client

from shop import clock, models
from shop.demo.scenario import Story
from shop.people.identity import Proven
from shop.people.tablets import cookie_of
from shop.printing import render
from shop.warranty import actions
from shop.warranty.paper import print_revision, put_together

ORIGIN = "http://testserver"


class Shop:
    def __init__(self):
        self.story = Story(seed=1, as_of=date(2026, 6, 3)).tell()
        self.job = self.story.jobs[-1]
        self.tablet, self.desk = Client(), Client()
        self.tablet.cookies["tablet"] = cookie_of(self.story.tablets[0])
        self.desk.force_login(self.story.owner.user)
        self.seq = models.Tablet.objects.get(pk=self.story.tablets[0].pk).last_seq
        self.certificate_row = self.story.revisions[0].certificate

    def tick(self) -> None:
        self.seq += 1
        now = round(clock.now().timestamp() * 1000)
        entry = {
            "v": 1,
            "key": str(uuid.uuid4()),
            "seq": self.seq,
            "kind": "tick",
            "job": self.job.pk,
            "who": self.story.ines.pk,
            "at": now,
            "body": {"line": "decontaminate.clay", "panels": ["hood.1"], "edges": [], "answer": "done"},
        }
        answer = self.tablet.post(
            "/sync/entries",
            json.dumps({"now": now, "entries": [entry]}),
            content_type="application/json",
            headers={"Origin": ORIGIN},
        )
        outcome = answer.json()["results"][0]["outcome"]
        if outcome not in ("applied", "same"):
            raise RuntimeError(answer.content.decode())

    def floor_of_a_tick(self) -> None:
        if self.desk.post("/bench/least/").status_code != 200:
            raise RuntimeError("The floor was not reached.")

    def certificate(self) -> None:
        """A correction costs what an issue does: facts, rows, entry, and the paper in the press."""
        by = Proven(self.story.dora, "pin")
        revision = actions.correct(
            certificate=self.certificate_row, reason="Measured again.", by=by, now=clock.now()
        )
        self.revision = print_revision(revision)
        if not self.revision.pdf_sha256:
            raise RuntimeError("The paper was not printed.")

    def floor_of_a_certificate(self) -> None:
        render(put_together(self.revision))
