"""The bay on a tablet: cars here now, one car, one stage of one piece."""

from django.http import Http404
from django.shortcuts import get_object_or_404, redirect

from shop import clock
from shop.intake.drawing import draw_panel, draw_sheet
from shop.intake.models import Job
from shop.intake.names import panel_of
from shop.intake.sheet_states import Mark
from shop.pages import page
from shop.people import doors
from shop.people.models import Person, Tablet
from shop.templatetags.words import in_language
from shop.work import bay, leaving, places, progress, states, told
from shop.work.floor import Floor, floors
from shop.work.kinds import Meaning, Stage, title
from shop.work.waits import waits_for


def job_for(request, pk: int) -> Job:
    """Fetched and authorised in one call: another workshop's job is not there."""
    return get_object_or_404(Job.objects.for_page(), pk=pk, workshop=request.workshop)


def piece_for(floor: Floor, place: str):
    piece = floor.piece(place)
    if piece is None:
        raise Http404("Not set out in this job.")
    return piece


def car_words(job: Job) -> str:
    plate = job.vehicle.plate_text
    return f"{plate}, {job.vehicle.colour} {job.vehicle.model}".strip(", ") if plate else str(job.vehicle)


@doors.bay
def in_the_bay(request):
    jobs = list(Job.objects.in_the_shop(request.workshop).for_page())
    now = clock.now()
    cars = [_column(floor, now) for floor in floors(jobs).values()]
    cars.sort(key=lambda car: (car["wait"].rank, car["job"].promised_at or now, car["job"].pk))
    tablets = [t for t in Tablet.objects.enrolled(request.workshop) if t.unsent]
    return page(
        request, "work/in_the_bay.html", {"here": "bay", "cars": cars, "tablets": tablets, "now": now}
    )


def _column(floor: Floor, now) -> dict:
    facts = states.facts_of(floor)
    wait = waits_for(floor, now)
    svg = draw_sheet(
        floor.body, panels=states.sheet_states(floor, facts), size="small", ids=f"car{floor.job.pk}"
    )
    return {
        "job": floor.job,
        "floor": floor,
        "svg": svg,
        "wait": wait,
        "ladder": _car_ladder(floor, facts, wait.stage),
        "who": sorted({f.person.name for p in floor.pieces for f in p.row.people.all()}),
    }


def _car_ladder(floor: Floor, facts, stage_now: str) -> list[dict]:
    """One rung a stage for the whole car: the state furthest behind, wrong before all."""
    order = ["wrong", "worked", "open", "ready", "signed", "none"]
    rungs = []
    for stage in Stage:
        found = {states.stage_state(piece, facts[piece.place], stage) for piece in floor.pieces} or {"open"}
        if found > {"open"} and found & {"ready", "signed"}:
            found = (found - {"open"}) | {"worked"}
        state = next(s for s in order if s in found)
        rungs.append(
            {
                "code": str(stage),
                "name": title(stage)["en"],
                "state": state,
                "word": states.WORDS[state],
                "now": stage == stage_now,
            }
        )
    return rungs


@doors.bay
def car_in_the_bay(request, job):
    """The tablet's page of one car: every piece with its stages, what is in the way, and the sheet."""
    job = job_for(request, job)
    floor = Floor(job)
    return page(request, "work/bay_car.html", car_context(request, floor, base="/bay"))


def car_context(request, floor: Floor, base: str) -> dict:
    job, now = floor.job, clock.now()
    facts = states.facts_of(floor)
    reasons = places.shown(leaving.in_the_way(floor, now), job) if floor.pieces else []
    sheet = draw_sheet(
        floor.body,
        panels=states.sheet_states(floor, facts),
        edges={
            f"{piece.place}.{code}": state
            for piece in floor.pieces
            for code, state in states.edge_states(
                piece, states.current_stage(piece, facts[piece.place])
            ).items()
        },
        marks=_numbers(floor, reasons),
        size="medium",
        labels=True,
        links={
            piece.spec.panel: f"/bay/{job.pk}/{piece.place}/"
            + f"{states.current_stage(piece, facts[piece.place])}/"
            for piece in floor.pieces
        },
        title=f"{car_words(job)}: body sheet",
        language=job.workshop.language,
    )
    return {
        "job": job,
        "car": car_words(job),
        "floor": floor,
        "svg": sheet,
        "reasons": reasons,
        "obstacles": places.by_piece(reasons),
        "wait": waits_for(floor, now),
        "grid": _grid(floor, facts),
        "stages": [{"code": str(s), "name": title(s)["en"]} for s in Stage],
        "signings": [
            {"name": "ready for film", "span": 4},
            {"name": "laid and sealed", "span": 3},
            {"name": "released", "span": 1},
        ],
        "sign_for": {str(m): _panels_to_sign(floor, facts, m) for m in Meaning},
        "base": base,
        "back_url": "/bay/",
        "back_word": "All cars",
        "now": now,
    }


def _panels_to_sign(floor: Floor, facts, meaning: Meaning) -> str:
    """As the signing page takes them: the pieces that lack this signature alone, else all that lack it."""
    unsigned = [p.place for p in floor.pieces if not progress.is_signed(facts[p.place], meaning)]
    ready = [place for place in unsigned if not bay.missing_words(facts[place], meaning)]
    query = "&".join(f"panel={place}" for place in ready or unsigned)
    return f"?{query}" if query else ""


def _numbers(floor: Floor, reasons: list[dict]) -> list[Mark]:
    """The same numbers stand on the drawing, one disc a panel: its first piece that something stands at."""
    marks, seen = [], set()
    for number, obstacle in enumerate(places.by_piece(reasons), 1):
        reason = obstacle["first"]
        panel = reason["place"].partition(".")[0]
        if panel and panel not in seen and panel_of(floor.body, panel):
            seen.add(panel)
            marks.append(Mark(panel=panel, number=number, title=reason["text"], href=reason["where_url"]))
    return marks


def _grid(floor: Floor, facts) -> list[dict]:
    return [
        {
            "name": piece.name,
            "code": piece.place,
            "url": f"/bay/{floor.job.pk}/{piece.place}/",
            "cells": [
                {
                    "stage": str(stage),
                    "state": (state := states.stage_state(piece, facts[piece.place], stage)),
                    "word": f"{piece.name}, {title(stage)['en'].lower()}: {states.WORDS[state]}",
                    "url": f"/bay/{floor.job.pk}/{piece.place}/{stage}/",
                }
                for stage in Stage
            ],
        }
        for piece in floor.pieces
    ]


@doors.bay(answers=doors.BAY_SENDS_ON)
def piece_in_the_bay(request, job, place):
    """Straight to the stage this piece is at."""
    job = job_for(request, job)
    floor = Floor(job)
    piece = piece_for(floor, place)
    stage = states.current_stage(piece, states.facts_of(floor)[piece.place])
    return redirect("bay-stage", job=job.pk, place=place, stage=stage)


@doors.bay
def stage_at_work(request, job, place, stage):
    if stage not in set(Stage):
        raise Http404("No such stage.")
    job = job_for(request, job)
    floor = Floor(job)
    piece = piece_for(floor, place)
    now = clock.now()
    context = bay.stage_page(floor, piece, stage, now)
    focus = (context["asked_now"] or {}).get("edge", "")
    key = (context["asked_now"] or {}).get("key", "")
    line = piece.stages[stage].line(key) if key else None
    edge_key = key if line and line.scope == "edge" else ""
    facts = states.facts_of(floor)
    words = [piece.spec.material, *sorted(f.replace("_", " ") for f in piece.spec.features)][:4]
    context |= {
        "car": car_words(job),
        "place": piece.name,
        "now": now,
        "drawing": draw_panel(
            floor.body,
            piece.spec.panel,
            piece.spec.piece,
            edges=states.edge_states(piece, stage, edge_key),
            marks=states.defect_marks(piece),
            focus=focus,
            width=440,
            height=400,
            facts=" · ".join(words),
            language=job.workshop.language,
            pieces=states.pieces_on(floor, piece.spec.panel),
        )
        if panel_of(floor.body, piece.spec.panel)
        else "",
        "locator": draw_sheet(
            floor.body,
            panels=states.sheet_states(floor, facts),
            size="small",
            here=piece.spec.panel,
            ids="locator",
        ),
        "people": _people(request, floor, piece),
        "default_who": _default_who(piece),
        "back_url": f"/bay/{job.pk}/",
        "defect_kinds": _words_of(floor, "defects"),
        "lots": _lots(request.workshop, now.astimezone(told.zone(floor)).date()),
        "unsent": 0,
    }
    return page(request, "work/stage.html", context, parts={"drawing", "lines", "bar"})


def _words_of(floor: Floor, name: str) -> list[tuple[str, str]]:
    language = floor.job.workshop.language
    return [(entry["code"], in_language(entry["title"], language)) for entry in floor.plan.get(name, ())]


def _people(request, floor: Floor, piece) -> list[Person]:
    return list(Person.objects.who_work(request.workshop).with_roles())


def _default_who(piece) -> int | None:
    """Until a name is picked on this tablet, entries are claimed by the piece's first named installer."""
    named = list(piece.row.people.all())
    return named[0].person_id if named else None


def _lots(workshop, today) -> dict[str, list[str]]:
    """Codes to pick from: lots on the shelf by kind, today's mixes before the lots they are of, rolls of film."""
    from shop.film.models import Lot, Mix, Roll

    found: dict[str, list[str]] = {"film": [], "primer": [], "slip": [], "tack": [], "roll": []}
    for mix in Mix.objects.made_on(workshop, today):
        found[mix.kind].append(mix.label)
    for lot in Lot.objects.on_the_shelf(workshop, "film", "primer", "slip", "tack"):
        if lot.quarantined_at is None:
            found[lot.material.kind].append(lot.code)
    found["roll"] = [roll.code for roll in Roll.objects.on_the_shelf(workshop)]
    return found
