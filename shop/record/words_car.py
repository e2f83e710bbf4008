"""Sentences for what stands in the book of a job."""

from collections.abc import Mapping
from typing import Any

from shop.record.telling import Body, Change, Names, Sentence, Told, changes, listed, moment
from shop.units import format_um10

ANSWERS = {
    "done": "done",
    "na": "not here",
    "value": "read",
    "start": "started",
    "wrong": "something is wrong",
}
LATE = "It came in after the signature and changes nothing"


def take_in(body: Body, names: Names) -> Told:
    car, again = body.get("vehicle") or {}, "again " if body.get("returning") else ""
    what = f"The car came in {again}as job {body['number']}: {car['model']}, {car['colour']}"
    owner = body.get("customer") or {}
    told = (
        ("customer", None, owner.get("name")),
        ("number of the car", None, car.get("number")),
        ("plate", None, car.get("plate")),
        ("odometer, km", None, body.get("odometer_km")),
        ("a new owner", None, body.get("new_owner") or None),
    )
    reason = car.get("confirmed") or car.get("chassis_reason") or body.get("odometer_note") or ""
    return Told(what, reason, changes(names, *told))


def promise_time(body: Body, names: Names) -> Told:
    rows = (("promised for", moment(body.get("before")), moment(body.get("promised_at"))),)
    what = "It was promised for a time" if not body.get("before") else "The promised time was changed"
    what = what if body.get("promised_at") else "The promised time was taken back"
    return Told(what, body.get("why", ""), changes(names, *rows))


def answer(body: Body, names: Names) -> Told:
    places = body.get("places") or []
    where = names.places([place for place, _ in places]) if places else ""
    said = ANSWERS.get(body["answer"], body["answer"])
    reason = f" ({body['reason']})" if body.get("reason") else ""
    head = f"{where}: " if where else ""
    late = f". {LATE}" if body.get("late") else ""
    value = body.get("value")
    before = names.past.get("said", "")
    now = f"{said}{reason}" + (f", {names.measured(value)}" if value else "")
    what = f"{head}“{names.line(body['line'])}” {said}{reason}"
    if value:
        what += f": {names.measured(value)}"
    edges = _edges(names, [(place, edge) for place, spots in places for edge in spots])
    if edges:
        what += f" at {edges}"
    change = changes(names, ("answer", before, now)) if before else ()
    return Told(what + late, changes=change)


def _edges(names: Names, spots: list[tuple[str, str]]) -> str:
    said = (names.edge(place, edge) for place, edge in spots if edge)
    return listed(list(dict.fromkeys(filter(None, said))))


def keep_photo(body: Body, names: Names) -> Told:
    places = body.get("places") or []
    late = f". {LATE}" if body.get("late") else ""
    if not places:
        after = any(after for _, after in body["defects"])
        return Told(f"Photo of a defect, {'put right' if after else 'as found'}{late}")
    where = names.places([place for place, _, _ in places])
    edges = _edges(names, [(place, edge) for place, _, edge in places])
    at = f", {edges}" if edges else ""
    coming = "" if body.get("arrived", True) else ". The picture itself follows"
    return Told(f"Photo for {where}{at}: “{names.line(places[0][1])}”{coming}{late}")


def photo_arrived(body: Body, names: Names) -> Told:
    if body.get("refused"):
        return Told("A promised photo was refused", body["refused"].rstrip("."))
    return Told("A promised photo arrived whole")


def _quoted(text: str) -> str:
    return f"“{text.rstrip('.')}”"


def signed(body: Body, names: Names, meaning: str) -> Told:
    where = names.places(body["panels"]) if body.get("panels") else "the panels shown"
    sentence = f". {_quoted(body['sentence'])}" if body.get("sentence") else ""
    return Told(f"Signed {where} as {names.of_plan('signings', meaning)}{sentence}")


def raise_defect(body: Body, names: Names) -> Told:
    edge = f", {names.edge(body['panel'], body['edge'])}" if body.get("edge") else ""
    what = f"{names.place(body['panel'])}{edge}: {names.of_plan('defects', body['kind'])} found"
    return Told(what, note=body.get("note", ""))


def put_right(body: Body, names: Names) -> Told:
    kind, way = names.of_plan("defects", body["kind"]), names.of_plan("dispositions", body["disposition"])
    return Told(f"{names.place(body['panel'])}: {kind}, {way}", note=body.get("note", ""))


def set_out(body: Body, names: Names) -> Told:
    pieces = body["pieces"]
    where = names.places([piece.get("place") or piece.get("panel", "") for piece in pieces])
    off = f". Taken off: {names.places(body['taken_off'])}" if body.get("taken_off") else ""
    found = [change for piece in pieces for change in _set_out_piece(piece, names)]
    return Told(f"Set out: {where}{off}", changes=tuple(found))


def _set_out_piece(piece: Body, names: Names) -> tuple[Change, ...]:
    place = piece["place"]
    was = [(name, one["from"], one["to"]) for name, one in (piece.get("changed") or {}).items()]
    fresh = piece.get("set") or {}
    was += [(name, None, fresh.get(name)) for name in ("roll", "people", "cut", "cover") if fresh]
    rows = [(name, _named(name, before, names), _named(name, after, names)) for name, before, after in was]
    if not fresh:
        rows += [
            (names.edge(place, code), _edge(one["from"]), _edge(one["to"]))
            for code, one in (piece.get("edges") or {}).items()
        ]
    head = names.place(place)
    return changes(names, *((f"{head}, {name}", before, after) for name, before, after in rows))


def _edge(edge: Body | None) -> str:
    if not edge:
        return ""
    depth = f", {edge['return_mm']} mm" if edge.get("return_mm") else ""
    return f"{edge['finish']}{depth}{', primer' if edge.get('primer') else ''}"


def _named(name: str, value: Any, names: Names) -> Any:
    """A roll as code and lot, people by name, a film sheet by the start of its digest; the rest as it is."""
    if name == "roll" and value:
        return f"{value['code']} of lot {value['lot']}"
    if name == "people" and value:
        return [names.person(pk) for pk in value]
    return value[:12] if name == "sheet" and value else value


def film_again(body: Body, names: Names) -> Told:
    stage = names.of_plan("stages", body["from_stage"])
    rolls = changes(names, ("roll", None, _named("roll", body.get("roll"), names)))
    return Told(f"{names.place(body['place'])}: filmed again, from {stage} on", changes=rolls)


def mark_damage(body: Body, names: Names) -> Told:
    return Told(f"{names.place(body['panel'])}: damage marked, {body['kind']}", note=body.get("note", ""))


def move_mark(body: Body, names: Names) -> Told:
    at = [f"{x / 10:g} % across, {y / 10:g} % down" for x, y in (body["from"], body["to"])]
    return Told("A damage mark was moved", changes=(Change("place", *at),))


def note_paint(body: Body, names: Names) -> Told:
    day = f", painted on {body['painted_on']}" if body.get("painted_on") else ""
    return Told(f"{names.place(body['panel'])}: {body['kind']} paint noted{day}", note=body.get("note", ""))


def accept_paint(body: Body, names: Names) -> Told:
    return Told(f"The customer signed: {_quoted(body['text'])}")


def waive(body: Body, names: Names) -> Told:
    where = f"{names.place(body['panel'])}: " if body.get("panel") else ""
    return Told(f"{where}let pass, {body['code'].replace('_', ' ')}", body["why"])


def hand_over(body: Body, names: Names) -> Told:
    km = changes(names, ("odometer, km", None, body.get("odometer_km")))
    return Told("The car was handed over", changes=km)


def certificate(body: Body, names: Names) -> Told:
    if body["revision"] == 1:
        return Told(f"Certificate {body['certificate']} issued")
    return Told(f"Certificate {body['certificate']} corrected, revision {body['revision']}", body["reason"])


def take_film_off(body: Body, names: Names) -> Told:
    how = "the panel was replaced" if body["why"] == "panel_replaced" else "the film was taken off"
    what = f"{names.place(body['panel'])}: {how} on {body['on']}"
    return Told(what, changes=_findings(body, names))


def record_recheck(body: Body, names: Names) -> Told:
    found = _findings(body, names)
    end = "" if found else ", nothing found"
    return Told(f"The car was looked over again on {body['on']}{end}", changes=found)


def _findings(body: Body, names: Names) -> tuple[Change, ...]:
    return tuple(_finding(one, names) for one in body.get("findings") or ())


def _finding(one: Body, names: Names) -> Change:
    edge = names.edge(one["place"], one["edge"]) if one.get("edge") else ""
    said = one["kind"].replace("_", " ") + (", touched up" if one.get("touched_up") else "")
    return Change(
        ", ".join(filter(None, (names.place(one["place"]), edge))),
        "",
        f"{said}: {one['note']}" if one.get("note") else said,
    )


def measure_paint(body: Body, names: Names) -> Told:
    readings = ", ".join(format_um10(reading) for reading in body["readings_um10"])
    what = f"{names.place(body['panel'])}: paint measured, {format_um10(body['thickness_um10'])}"
    return Told(what, f"mean of {readings}")


def try_devices(body: Body, names: Names) -> Told:
    when = "when the car came" if body["when"] == "before" else "before it goes"
    faulty = [one["device"].replace("_", " ") for one in body["found"] if one["found"] == "faulty"]
    return Told(
        f"{len(body['found'])} lamps, sensors and the like tried {when}",
        f"faulty: {', '.join(faulty)}" if faulty else "",
    )


CAR: Mapping[str, Sentence] = {
    "promise_time": promise_time,
    "take_in": take_in,
    "answer": answer,
    "keep_photo": keep_photo,
    "photo_arrived": photo_arrived,
    "note": lambda body, names: Told(f"Note: {body['text'].rstrip('.')}"),
    "sign_ready": lambda body, names: signed(body, names, "ready"),
    "sign_hidden": lambda body, names: signed(body, names, "hidden"),
    "sign_laid": lambda body, names: signed(body, names, "laid"),
    "sign_released": lambda body, names: signed(body, names, "released"),
    "raise_defect": raise_defect,
    "put_right": put_right,
    "set_out": set_out,
    "take_off_set_out": lambda body, names: Told(f"Taken off the set-out: {names.place(body['panel'])}"),
    "film_again": film_again,
    "take_film_off": take_film_off,
    "plan_recheck": lambda body, names: Told(f"The car is expected again on {body['on']}, to be looked over"),
    "record_recheck": record_recheck,
    "mark_damage": mark_damage,
    "move_mark": move_mark,
    "strike_mark": lambda body, names: Told("A damage mark was struck", body["why"] or "no reason given"),
    "note_paint": note_paint,
    "strike_paint": lambda body, names: Told(
        f"{names.place(body['panel'])}: note about paint struck", body["why"]
    ),
    "measure_paint": measure_paint,
    "strike_spot": lambda body, names: Told(
        f"{names.place(body['panel'])}: a measured spot was struck", body["why"] or "no reason given"
    ),
    "try_devices": try_devices,
    "accept_paint": accept_paint,
    "agree_intake": accept_paint,
    "waive": waive,
    "hand_over": hand_over,
    "cancel_job": lambda body, names: Told("The job was called off", body["why"]),
    "issue": certificate,
    "correct_certificate": certificate,
    "withdraw": lambda body, names: Told(f"Certificate {body['certificate']} withdrawn", body["why"]),
}
