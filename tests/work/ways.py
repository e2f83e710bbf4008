"""The ways an act can be done: a line of a rehearsal, an entry from a tablet, a form of a page."""

import json
import re
import uuid
from datetime import datetime
from zoneinfo import ZoneInfo

from django.conf import settings
from django.test import Client

from shop import clock, models
from shop.documents import built_in
from shop.people import tablets
from tests.demo.practice import line, rehearse
from tests.work.world import STROKES, World

SYNC_KINDS = {"done": "tick", "wrong": "tick", "na": "na", "value": "reading", "start": "timer"}
SHOWN = re.compile(r'class="reason-(?:stop|waivable)" data-reason="([a-z_]+)"')


class Failed(AssertionError):
    """A way answered as none of its answers may look."""


def codes_of(found) -> set[str]:
    """Those that stand in the way; what is only noted does not."""
    weights = built_in.roles()["reasons"]
    return {code for code in found if weights[code]["weight"] != "note"}


def by_rehearsal(world: World, act: str, who, args: dict, *, pin: str, tablet) -> set[str]:
    beside = ({"pin": pin} if pin else {}) | ({"tablet": tablet.pk} if tablet else {})
    (answer,) = rehearse(line(act, who, at=world.now.isoformat(), **beside, **args))
    assert answer["ok"] == (not answer["reasons"])
    return set(answer["reasons"])


# ------------------------------------------------------------------ a tablet


def by_sync(world: World, act: str, who, args: dict, *, pin: str, tablet) -> set[str]:
    kind, body = entry_of(act, args)
    tablet = models.Tablet.objects.get(pk=(tablet or world.tablet).pk)
    ms = round(world.now.timestamp() * 1000)
    entry = {
        "v": 1, "key": str(uuid.uuid4()), "seq": tablet.last_seq + 1, "kind": kind, "job": args["job"], "who": who.pk,
        "at": ms, "body": body,
    }  # fmt: skip
    client = client_with(tablet)
    with clock.held_at(world.now):
        answer = client.post(
            "/sync/entries", json.dumps({"now": ms, "entries": [entry]}), content_type="application/json",
            headers={"Origin": "http://testserver"},
        )  # fmt: skip
    told = answer.json()
    if answer.status_code == 401:
        return {reason["code"] for reason in told["reasons"]}
    (result,) = told["results"]
    codes = codes_of(reason["code"] for reason in result["reasons"])
    if bool(codes) != (result["outcome"] in ("refused", "conflict")):
        raise Failed(result)
    return codes


def entry_of(act: str, args: dict) -> tuple[str, dict]:
    body = {name: value for name, value in args.items() if name != "job"}
    if act == "answer":
        body["line"] = body.pop("key")
        return SYNC_KINDS[body["answer"]], body
    if act == "keep_photo":
        told = {"upload": str(uuid.uuid4()), "sha256": uuid.uuid4().hex * 2, "size": 90_000}
        return "photo", {"places": body["places"], **told}
    return {"note": "note", "raise_defect": "defect"}[act], body


def client_with(tablet) -> Client:
    client = Client()
    client.cookies[settings.TABLET_COOKIE] = tablets.cookie_of(tablet)
    return client


# ------------------------------------------------------------------ a page


def by_page(world: World, act: str, who, args: dict, *, pin: str, tablet) -> set[str]:
    if act.startswith("sign_"):
        client, (address, form) = client_with(tablet or world.tablet), sign_form(act, who, args, pin)
    else:
        client, (address, form) = Client(), PAGES[act](args, pin)
        client.force_login(who.user)
        form |= {"person": who.pk} if act == "put_right" else {}
    with clock.held_at(world.now):
        answer = client.post(address, form | {"key": str(uuid.uuid4())} if "key" not in form else form)
    return page_codes(answer)


def page_codes(answer) -> set[str]:
    """A door that is shut says no more than that; a page lists its reasons."""
    if answer.status_code in (301, 302):
        return set()
    if answer.status_code == 403:
        return {"not_allowed"}
    if answer.status_code == 404:
        return {"other_workshop"}
    if answer.status_code == 422:
        return {"form"}
    if answer.status_code != 409:
        raise Failed(answer.status_code)
    return codes_of(SHOWN.findall(answer.content.decode()))


def sign_form(act: str, who, args: dict, pin: str) -> tuple[str, dict]:
    address = f"/bay/{args['job']}/sign/{act.removeprefix('sign_')}/"
    form = {"person": who.pk, "pin": pin, "panel": args.get("panels", [])}
    return address, form | {"seen": args.get("screen", ""), "unsent": args.get("unsent", 0)}


def _take_in(args: dict, pin: str) -> tuple[str, dict]:
    form = {"body": "sedan", **args}
    if "odometer_km" in form:
        form["odometer"] = str(form.pop("odometer_km"))
    return "/cars/new/", form


def _marked(act: str, prefix: str):
    def form(args: dict, pin: str) -> tuple[str, dict]:
        own = {f"{prefix}-{name}": value for name, value in args.items() if name != "job"}
        key = {f"{prefix}-key": str(uuid.uuid4()), "key": ""}
        return f"/cars/{args['job']}/intake/", {"act": act} | own | key

    return form


def _agree(args: dict, pin: str) -> tuple[str, dict]:
    form = {
        "act": "agree",
        "agree-key": str(uuid.uuid4()),
        "key": "",
        "agree-text_seen": args.get("text_seen", ""),
    }
    return f"/cars/{args['job']}/intake/", form | {"agree-strokes": json.dumps(args["strokes"])}


def _accept(args: dict, pin: str) -> tuple[str, dict]:
    form = {"accept-key": str(uuid.uuid4()), "key": "", "accept-strokes": json.dumps(args["strokes"])}
    return f"/cars/{args['job']}/intake/paint/{args['panel']}/", form


def _set_out_many(args: dict, pin: str) -> tuple[str, dict]:
    return f"/cars/{args['job']}/set-out/", {name: value for name, value in args.items() if name != "job"}


def _receive_roll(args: dict, pin: str) -> tuple[str, dict]:
    form = dict(args)
    return "/film-room/rolls/new/", form | {
        "width": f"{form.pop('width_mm')} mm", "length": f"{form.pop('length_mm')} mm"
    }  # fmt: skip


def _held(verb: str):
    def form(args: dict, pin: str) -> tuple[str, dict]:
        return f"/film-room/lots/{args['lot']}/{verb}/", {"reason": args["reason"]}

    return form


def _hand_over(args: dict, pin: str) -> tuple[str, dict]:
    form = {"on": args["on"], "strokes": json.dumps(args.get("strokes", STROKES)), "pin": pin}
    return f"/cars/{args['job']}/hand-over/", form | {"odometer_km": args.get("odometer_km", "")}


def _paper(verb: str):
    def form(args: dict, pin: str) -> tuple[str, dict]:
        job = args["job"] if "job" in args else models.Certificate.objects.get(pk=args["certificate"]).job_id
        said = {name: value for name, value in args.items() if name not in ("job", "certificate")}
        return f"/cars/{job}/certificate/{verb}", said | {"pin": pin}

    return form


def _put_right(args: dict, pin: str) -> tuple[str, dict]:
    form = {name: value for name, value in args.items() if name not in ("job", "defect")}
    return f"/bay/{args['job']}/defects/{args['defect']}/", form


def _call_off(args: dict, pin: str) -> tuple[str, dict]:
    return f"/cars/{args['job']}/call-off/", {"why": args["why"]}


def _clock(name: str, text: str) -> dict[str, str]:
    """A moment as a page asks for it: on the clock of the workshop, to the minute."""
    there = datetime.fromisoformat(text).astimezone(ZoneInfo("Europe/Madrid"))
    return {name: f"{there:%Y-%m-%dT%H:%M}"}


def _expect_car(args: dict, pin: str) -> tuple[str, dict]:
    form = dict(args)
    return "/cars/expected/new/", form | _clock("expected", form.pop("expected_at"))


def _promise_time(args: dict, pin: str) -> tuple[str, dict]:
    form = _clock("promised", args["promised_at"]) | {"why": args.get("why", "")}
    return f"/cars/{args['job']}/promise/", form


def _send_papers(args: dict, pin: str) -> tuple[str, dict]:
    job = models.Certificate.objects.get(pk=args["certificate"]).job_id
    return f"/cars/{job}/send/", {"address": args["address"]}


PAGES = {
    "take_in": _take_in,
    "mark_damage": _marked("mark", "mark"),
    "note_paint": _marked("paint", "paint"),
    "agree_intake": _agree,
    "accept_paint": _accept,
    "cancel_job": _call_off,
    "put_right": _put_right,
    "set_out_many": _set_out_many,
    "receive_roll": _receive_roll,
    "receive_lot": lambda args, pin: ("/film-room/lots/new/", args),
    "quarantine_lot": _held("quarantine"),
    "free_lot": _held("free"),
    "add_person": lambda args, pin: ("/people/new/", args),
    "hand_over": _hand_over,
    "issue": _paper(""),
    "correct_certificate": _paper("correct/"),
    "withdraw": _paper("withdraw/"),
    "expect_car": _expect_car,
    "promise_time": _promise_time,
    "send_papers": _send_papers,
    "send_test_mail": lambda args, pin: ("/shop/mail/test/", args),
}
WAYS = {"rehearsal": by_rehearsal, "tablet": by_sync, "page": by_page}
OF_THE_TABLET = ("answer", "note", "raise_defect", "keep_photo")


def ways_of(act: str) -> list[str]:
    """A rehearsal does everything; ticks, notes, defects and photos come from a tablet, the rest from pages."""
    others = (["tablet"] if act in OF_THE_TABLET else []) + (
        ["page"] if act in PAGES or act.startswith("sign_") else []
    )
    return ["rehearsal", *others]
