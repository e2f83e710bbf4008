"""The record book read aloud: one plain sentence an entry.

Bodies are read as they are, whatever version wrote them; an entry this page does not know is named by its verb.
"""

import json
from collections.abc import Callable, Mapping
from typing import Any

from shop.intake.names import panel_name
from shop.templatetags.words import in_language
from shop.work.progress import listed

Body = Mapping[str, Any]
ANSWERS = {
    "done": "done",
    "na": "not here",
    "value": "read",
    "start": "started",
    "wrong": "something is wrong",
}


class Reader:
    """Turns entries into sentences with the words of the job's own plan and body."""

    def __init__(self, plan: Body, body: Any, language: str) -> None:
        self.body, self.language = body, language
        self.lines = {line["key"]: in_language(line["text"], language) for line in plan.get("lines", ())}
        self.kinds = {kind["code"]: in_language(kind["title"], language) for kind in plan.get("defects", ())}
        self.meanings = {s["meaning"]: in_language(s["title"], language) for s in plan.get("signings", ())}

    def sentence(self, verb: str, text: str) -> str:
        told = _SAID.get(verb)
        if told is None:
            return f"{verb.replace('_', ' ').capitalize()}."
        try:
            return told(self, json.loads(text))
        except (KeyError, TypeError, ValueError, AttributeError):
            return f"{verb.replace('_', ' ').capitalize()}."

    def place(self, place: str) -> str:
        code, _, piece = place.partition(".")
        name = panel_name(self.body, code, self.language)
        return name if piece in ("", "1") else f"{name}, piece {piece}"

    def places(self, places: list[str]) -> str:
        return listed(dict.fromkeys(map(self.place, places)))

    def line(self, key: str) -> str:
        return self.lines.get(key, key)


def _answer(reader: Reader, body: Body) -> str:
    places = body.get("places") or []
    where = reader.places([place for place, _ in places]) if places else ""
    said = ANSWERS.get(body["answer"], body["answer"])
    reason = f" ({body['reason']})" if body.get("reason") else ""
    late = " Came in after the signature and changes nothing." if body.get("late") else ""
    head = f"{where}: " if where else ""
    return f"{head}“{reader.line(body['line'])}” {said}{reason}.{late}"


def _photo(reader: Reader, body: Body) -> str:
    places = body["places"]
    return f"Photo for {reader.places([place for place, _, _ in places])}: “{reader.line(places[0][1])}”."


def _signed(meaning: str) -> Callable[[Reader, Body], str]:
    def told(reader: Reader, body: Body) -> str:
        where = reader.places(body["panels"]) if body.get("panels") else "the panels shown"
        return f"Signed {where} as {reader.meanings.get(meaning, meaning).lower()}."

    return told


def _defect(reader: Reader, body: Body) -> str:
    what = reader.kinds.get(body["kind"], "something is wrong")
    return f"{reader.place(body['panel'])}: {what.lower()} found."


def _put_right(reader: Reader, body: Body) -> str:
    ways = {
        "put_right": "put right",
        "film_again": "to be filmed again",
        "accept": "accepted by the customer",
    }
    what = reader.kinds.get(body["kind"], "the fault")
    return f"{reader.place(body['panel'])}: {what.lower()} {ways.get(body['disposition'], 'settled')}."


def _set_out(reader: Reader, body: Body) -> str:
    pieces = [piece["place"] if "place" in piece else piece.get("panel", "") for piece in body["pieces"]]
    return f"Set out: {reader.places(pieces)}."


def _marked(reader: Reader, body: Body) -> str:
    return f"{reader.place(body['panel'])}: damage marked, {body['kind']}."


def _certificate(reader: Reader, body: Body) -> str:
    if body["revision"] == 1:
        return f"Certificate {body['certificate']} issued."
    return f"Certificate {body['certificate']} corrected, revision {body['revision']}: {body['reason']}."


def _agreed(what: str) -> Callable[[Reader, Body], str]:
    return lambda reader, body: f"The customer signed: {what}."


_SAID: Mapping[str, Callable[[Reader, Body], str]] = {
    "take_in": lambda reader, body: "The car came in.",
    "answer": _answer,
    "keep_photo": _photo,
    "photo_arrived": lambda reader, body: "The bytes of a promised photo arrived.",
    "note": lambda reader, body: f"Note: {body['text']}",
    "sign_ready": _signed("ready"),
    "sign_hidden": _signed("hidden"),
    "sign_laid": _signed("laid"),
    "sign_released": _signed("released"),
    "raise_defect": _defect,
    "put_right": _put_right,
    "set_out": _set_out,
    "take_off_set_out": lambda reader, body: f"Taken off the set-out: {reader.place(body['panel'])}.",
    "mark_damage": _marked,
    "move_mark": lambda reader, body: "A damage mark was moved.",
    "strike_mark": lambda reader, body: f"A damage mark was struck: {body['why'] or 'no reason given'}.",
    "note_paint": lambda reader, body: f"{reader.place(body['panel'])}: {body['kind']} paint noted.",
    "strike_paint": lambda reader, body: (
        f"{reader.place(body['panel'])}: note about paint struck, {body['why']}."
    ),
    "accept_paint": _agreed("film on the paint as described"),
    "agree_intake": _agreed("the car came in as described"),
    "waive": lambda reader, body: f"Waived, {body['code'].replace('_', ' ')}: {body['why']}.",
    "hand_over": lambda reader, body: "The car was handed over.",
    "cancel_job": lambda reader, body: f"The job was called off: {body['why']}.",
    "issue": _certificate,
    "correct_certificate": _certificate,
    "withdraw": lambda reader, body: f"Certificate {body['certificate']} withdrawn: {body['why']}.",
}
