"""Something is wrong: said from the bay through its outbox, settled with proof."""

import uuid

from django.http import Http404
from django.shortcuts import get_object_or_404, redirect

from shop import clock
from shop.intake.drawing import draw_panel
from shop.intake.names import panel_of
from shop.pages import page
from shop.people import doors
from shop.people.identity import Claimed
from shop.people.models import Person
from shop.reasons import Refused
from shop.record.once import once
from shop.templatetags.words import in_language
from shop.work import actions, places, states
from shop.work.again import NEW_FILM, SAME_FILM
from shop.work.agreeing import agreement_text
from shop.work.floor import Floor
from shop.work.forms import SettleForm
from shop.work.kinds import Stage, title
from shop.work.models.outcome import Defect
from shop.work.views_bay import car_words, job_for, piece_for


@doors.bay
def wrong(request, job, place, stage):
    """The page to place a defect on the drawing; what is said leaves by the outbox like every tick."""
    if stage not in set(Stage):
        raise Http404("No such stage.")
    job = job_for(request, job)
    floor = Floor(job)
    piece = piece_for(floor, place)
    named = list(piece.row.people.all())
    context = {
        "job": job,
        "car": car_words(job),
        "piece": piece,
        "place": piece.name,
        "stage": {"code": stage, "title": title(Stage(stage))["en"]},
        "drawing": _drawing(floor, piece, stage),
        "edges": [(edge.code, piece.edge_names.get(edge.code, edge.code)) for edge in piece.spec.edges],
        "kinds": words_of(floor, "defects"),
        "causes": words_of(floor, "causes"),
        "severities": words_of(floor, "severities"),
        "stages": [(str(s), title(s)["en"]) for s in Stage],
        "people": list(Person.objects.who_work(request.workshop)),
        "default_who": named[0].person_id if named else None,
        "now": clock.now(),
        "back_url": f"/bay/{job.pk}/{place}/{stage}/",
        "back_word": title(Stage(stage))["en"],
    }
    return page(request, "work/wrong.html", context)


def _drawing(floor: Floor, piece, stage: str) -> str:
    if panel_of(floor.body, piece.spec.panel) is None:
        return ""
    return draw_panel(
        floor.body,
        piece.spec.panel,
        piece.spec.piece,
        edges=states.edge_states(piece, stage),
        marks=states.defect_marks(piece),
        width=440,
        height=400,
        language=floor.job.workshop.language,
        pieces=states.pieces_on(floor, piece.spec.panel),
    )


def words_of(floor: Floor, name: str) -> list[tuple[str, str]]:
    language = floor.job.workshop.language
    return [(entry["code"], in_language(entry["title"], language)) for entry in floor.plan.get(name, ())]


@doors.bay(posts=True)
def settle(request, job, defect):
    job = job_for(request, job)
    defect = get_object_or_404(
        Defect.objects.select_related("fitting__panel", "edge", "raised_by", "closed_by", "agreed"),
        pk=defect,
        fitting__job=job,
    )
    floor = Floor(job)
    form = SettleForm(
        request.POST or None,
        initial={"kind": defect.kind, "cause": defect.cause},
        kinds=words_of(floor, "defects"),
        causes=words_of(floor, "causes"),
        ways=words_of(floor, "dispositions"),
        stages=[(str(stage), title(stage)["en"]) for stage in (*NEW_FILM, *SAME_FILM)],
        people=Person.objects.who_work(request.workshop),
    )
    reasons, status = [], 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            try:
                return redirect(_settle(request, job, defect, form.cleaned_data)["to"])
            except Refused as refusal:
                reasons, status = refusal.reasons, 409
    piece = next((p for p in floor.pieces if p.row.pk == defect.fitting_id), None)
    kind = request.GET.get("kind") or request.POST.get("kind") or defect.kind
    context = {
        "job": job,
        "car": car_words(job),
        "agreement": agreement_text(floor, piece, defect, kind) if piece and not defect.closed_at else "",
        "agreed": defect.agreed.text if defect.agreed else "",
        "place": piece.name if piece else str(defect.fitting),
        "defect": defect,
        "kind_word": dict(words_of(floor, "defects")).get(defect.kind, "Something is wrong"),
        "way_word": dict(words_of(floor, "dispositions")).get(defect.disposition, ""),
        "edge_word": piece.edge_names.get(defect.edge.code, "") if piece and defect.edge else "",
        "photos": list(defect.photos.filter(photo__isnull=False)),
        "form": form,
        "reasons": places.shown(reasons, job),
        "key": request.POST.get("key") or uuid.uuid4().hex,
        "now": clock.now(),
        "back_url": f"/bay/{job.pk}/{defect.fitting.place}/",
        "back_word": "Panel",
    }
    return page(request, "work/settle.html", context, parts={"agreement"}, status=status)


def _settle(request, job, defect, said) -> dict:
    now = clock.now()
    person = get_object_or_404(Person.objects.here(request.workshop), pk=said["person"])
    by = Claimed(person, request.tablet)

    def act():
        actions.put_right(
            job=job,
            defect=defect,
            disposition=said["disposition"],
            kind=said["kind"],
            cause=said["cause"],
            note=said["note"],
            from_stage=said["from_stage"],
            strokes=said["strokes"],
            text_seen=said["text_seen"],
            by=by,
            now=now,
        )
        return {"to": f"/bay/{job.pk}/{defect.fitting.place}/"}

    key = request.POST.get("key") or uuid.uuid4().hex
    return once(key=key, workshop=request.workshop, body={"defect": defect.pk, **said}, now=now, act=act)
