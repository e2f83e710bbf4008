"""Signing: pick your name, your PIN, the sentence. Nothing else."""

import uuid

from django.http import Http404
from django.shortcuts import redirect

from shop import clock
from shop.intake.models import Job
from shop.pages import page
from shop.people import doors
from shop.people.identity import Claimed
from shop.people.models import Person
from shop.people.pin import prove
from shop.reasons import Refused, blocking
from shop.record.once import once
from shop.work import places, signing, states
from shop.work.floor import Floor
from shop.work.kinds import Meaning
from shop.work.views_bay import car_words, job_for


@doors.bay(posts=True)
def sign_page(request, job, meaning):
    if meaning not in set(Meaning):
        raise Http404("No such signing.")
    job = job_for(request, job)
    floor = Floor(job)
    data = request.POST if request.method == "POST" else request.GET
    asked = [place for place in data.getlist("panel") if floor.piece(place)]
    if request.method == "POST":
        return _sign(request, job, floor, meaning, asked)
    return _show(request, job, floor, meaning, asked)


def _sign(request, job: Job, floor: Floor, meaning: str, asked: list[str]):
    now = clock.now()
    person = Person.objects.here(request.workshop).filter(pk=_int(request.POST.get("person"))).first()
    if person is None:
        return _show(request, job, floor, meaning, asked, wrong="Pick your name first.", status=422)
    try:
        by = prove(person, request.POST.get("pin", ""), now=now, tablet=request.tablet)
    except Refused as refusal:
        return _show(
            request,
            job,
            floor,
            meaning,
            asked,
            person=person,
            reasons=refusal.reasons,
            status=409,
            wrong=refusal.reasons[0].text,
        )
    body = {"job": job.pk, "meaning": meaning, "panels": asked, "person": person.pk}
    try:
        answer = once(
            key=request.POST.get("key") or uuid.uuid4().hex,
            workshop=request.workshop,
            body=body,
            now=now,
            act=lambda: _act(request, job, meaning, asked, by, now),
        )
    except Refused as refusal:
        floor = Floor(job)
        return _show(request, job, floor, meaning, asked, person=person, reasons=refusal.reasons, status=409)
    return redirect(answer["to"])


def _act(request, job, meaning, asked, by, now) -> dict:
    signing.sign(
        job=job,
        meaning=meaning,
        panels=asked,
        by=by,
        now=now,
        screen=request.POST.get("seen", ""),
        unsent=_int(request.POST.get("unsent")) or 0,
    )
    if meaning == Meaning.RELEASED and hasattr(Job.objects.get(pk=job.pk), "release"):
        return {"to": f"/cars/{job.pk}/"}
    return {"to": _after(job, meaning, asked)}


def _after(job, meaning, asked) -> str:
    """Where the work goes on: to the stage this opened, to the car where the clock runs now."""
    floor = Floor(job)
    piece = floor.piece(asked[0]) if asked and meaning in (Meaning.READY, Meaning.HIDDEN) else None
    if piece is None:
        return f"/bay/{job.pk}/"
    stage = states.current_stage(piece, states.facts_of(floor)[piece.place])
    return f"/bay/{job.pk}/{piece.place}/{stage}/"


def _show(request, job, floor, meaning, asked, *, person=None, reasons=None, wrong="", status=200):
    now = clock.now()
    pieces = [floor.by_place[place] for place in asked]
    people = _people(request, floor, pieces, meaning, now)
    signer = person or _likely(request, pieces, meaning, people)
    open_reasons = reasons
    if reasons is None and pieces and signer:
        found = signing.reasons_to_sign(floor, pieces, meaning, Claimed(signer, request.tablet), now)
        open_reasons = [r for r in found if r.code not in ("not_allowed", "same_person")]
    open_reasons = open_reasons or []
    stops = blocking([r for r in open_reasons if r.code not in ("pin_wrong", "pin_locked")])
    context = {
        "job": job,
        "car": car_words(job),
        "meaning": meaning,
        "title": _title(floor, meaning),
        "pieces": [
            {"piece": piece, "chosen": piece.place in asked, "state": _state(floor, piece, meaning)}
            for piece in floor.pieces
        ],
        "reasons": places.shown(open_reasons, job),
        "blocked": bool(stops) and status == 200,
        "lines": _read_back(floor, pieces, meaning),
        "sign": {
            "title": _title(floor, meaning),
            "sentence": signing.sentence_of(floor, pieces, meaning, Claimed(signer))
            if pieces and signer
            else "",
            "people": people,
            "chosen": signer.pk if signer else None,
            "seen": signing.screen_of(floor, pieces, meaning) if pieces else "",
            "key": uuid.uuid4().hex,
            "wrong": wrong,
        },
        "hidden": [("panel", place) for place in asked],
        "back_url": f"/bay/{job.pk}/",
    }
    return page(request, "work/sign.html", context, status=status)


def _title(floor: Floor, meaning: str) -> str:
    from shop.templatetags.words import in_language

    entry = next(s for s in floor.plan["signings"] if s["meaning"] == meaning)
    return in_language(entry["title"], floor.job.workshop.language)


def _state(floor: Floor, piece, meaning) -> str:
    from shop.work import bay, progress

    facts = states.facts_of(floor)[piece.place]
    if progress.is_signed(facts, Meaning(meaning)) and meaning != Meaning.HIDDEN:
        return "signed"
    words = bay.missing_words(facts, Meaning(meaning)) if meaning != Meaning.HIDDEN else []
    return f"{len(words)} open" if words else "ready"


def _people(request, floor, pieces, meaning, now) -> list[dict]:
    """Everybody, with the reason beside those who may not sign this."""
    rows = []
    for person in Person.objects.who_work(request.workshop).with_roles():
        found = signing.reasons_to_sign(floor, pieces, meaning, Claimed(person), now) if pieces else []
        against = [r for r in found if r.code in ("not_allowed", "same_person", "next_day_rule")]
        rows.append(
            {
                "id": person.pk,
                "name": person.name,
                "off": bool(against),
                "why": against[0].text if against else "",
            }
        )
    return sorted(rows, key=lambda row: row["off"])


def _likely(request, pieces, meaning, people) -> Person | None:
    """The named installer for his own work; for a second pair of eyes the first who may sign it."""
    if meaning in (Meaning.READY, Meaning.LAID):
        for piece in pieces:
            for named in piece.row.people.all():
                return named.person
    known = Person.objects.who_work(request.workshop)
    free = next((row["id"] for row in people if not row["off"]), None)
    return known.filter(pk=free).first() or known.first()


def _read_back(floor: Floor, pieces, meaning) -> list[dict]:
    """What is being signed, piece by piece and stage by stage, as it will be frozen."""
    frozen = signing.frozen(floor, pieces, meaning) if pieces else {}
    names = {p.pk: p.name for p in Person.objects.filter(workshop=floor.job.workshop)}
    rows = []
    for stage in frozen.values():
        piece = floor.by_place[stage["place"]]
        answered = [row for row in stage["rows"] if row["answer"]]
        rows.append(
            {
                "piece": piece.name,
                "stage": stage["stage"],
                "count": len(stage["rows"]),
                "answered": len(answered),
                "photos": sum(len(row["photos"]) for row in stage["rows"]),
                "not_here": [
                    {"text": row["text"], "edge": piece.edge_names.get(row["edge"], ""), "why": row["reason"]}
                    for row in stage["rows"]
                    if row["answer"] == "na"
                ],
                "by": sorted({names.get(row["person"], "") for row in answered}),
            }
        )
    return rows


def _int(text) -> int | None:
    try:
        return int(text)
    except (TypeError, ValueError):
        return None
