"""Set-out at the desk: panels chosen on the sheet, then one panel edge by edge."""

from django.contrib import messages
from django.db import transaction
from django.http import Http404
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.safestring import mark_safe

from shop import clock
from shop.intake.drawing import draw_panel, draw_sheet
from shop.intake.forms import ReasonForm
from shop.intake.mirror import other_side
from shop.intake.names import body_of, edge_names, panel_name, panel_of
from shop.intake.sheet_states import EDGE_WORDS, EdgeMark, EdgeState, PanelMark, PanelState
from shop.intake.stripes import MOST_STRIPES
from shop.intake.views_arrival import job_for
from shop.pages import page
from shop.people.desk import settle
from shop.people.doors import DESK, staff
from shop.people.identity import Proven, SignedIn
from shop.people.pin import prove
from shop.reasons import Reason, Refused
from shop.units import format_mm
from shop.work import film_choice, kinds, leaving, need_words
from shop.work.forms_setout import ManyForm, PanelForm, start
from shop.work.models.fitting import Fitting
from shop.work.pieces import MOST_PIECES, default_piece, least_return_mm
from shop.work.setout import mirror_set_out, set_out, set_out_many, take_off_set_out
from shop.work.setout_rows import as_set

PARTS = frozenset({"drawing"})


@staff(*DESK, posts=True)
def set_out_page(request, job):
    """Which panels take film; the same for all that are chosen."""
    job = job_for(request, job)
    body, language = body_of(job.body), job.workshop.language
    names = {code: panel_name(body, code, language) for code in _offered(job, body)}
    form = ManyForm(request.POST or None, workshop=job.workshop, panels=list(names.items()))

    def act(told, by):
        _let_pass(job, told, by)
        desk = SignedIn(request.person, request.tablet)
        set_out_many(job=job, panels=told["panels"], by=desk, now=clock.now(), **form.same())
        return reverse("set-out", args=[job.pk])

    if request.method == "POST" and (done := settle(request, form, act, prove=_owner(request))):
        return done
    rows = list(Fitting.objects.live().of_job(job).for_work())
    chosen = set(form["panels"].value() or ())
    panels = [_panel_row(code, name, rows, code in chosen) for code, name in names.items()]
    context = {
        "here": "cars",
        "job": job,
        "form": form,
        "panels": panels,
        "set_out": [panel for panel in panels if panel["rows"]],
        "svg": mark_safe(
            draw_sheet(
                body,
                panels=_sheet(panels),
                size="large",
                width=600,
                labels=True,
                selectable=True,
                ids="sheet",
                title="Body sheet: choose the panels",
                language=language,
            )
        ),
    }
    return page(request, "work/set_out.html", context, status=form.status)


def _offered(job, body) -> list[str]:
    """The car's panels, the stripes it has, and one more."""
    here = set(
        Fitting.objects.live().of_job(job).filter(panel__kind="stripe").values_list("panel__code", flat=True)
    )
    stripes = [f"stripe-{number}" for number in range(1, MOST_STRIPES + 1)]
    fresh = next(([code] for code in stripes if code not in here), [])
    return [panel.code for panel in body.panels] + [code for code in stripes if code in here or code in fresh]


def _panel_row(code: str, name: str, rows: list[Fitting], chosen: bool) -> dict:
    here = [row for row in rows if row.panel.code == code]
    return {"code": code, "name": name, "rows": here, "chosen": chosen, "said": _said(here)}


def _said(rows: list[Fitting]) -> str:
    """A panel's set-out in a line."""
    if not rows:
        return ""
    first = rows[0]
    people = " and ".join(named.person.name for named in first.people.all())
    parts = [
        kinds.title(kinds.Cut(first.cut))["en"].lower(),
        kinds.title(kinds.Cover(first.cover))["en"].lower(),
        f"roll {first.roll.code}, lot {first.roll.lot.code}" if first.roll else "no roll yet",
        people or "nobody named yet",
    ]
    pieces = [f"{len(rows)} pieces"] if len(rows) > 1 else []
    return ", ".join(pieces + parts)


def _sheet(panels: list[dict]) -> dict[str, PanelState]:
    return {
        panel["code"]: PanelState(
            PanelMark.NOT_STARTED if panel["rows"] else PanelMark.NOT_IN_JOB,
            note="set out" if panel["rows"] else "",
            # Set out already and not chosen is neither: it keeps its own outline.
            chosen=True if panel["chosen"] else None if panel["rows"] else False,
        )
        for panel in panels
    }


@staff(*DESK, posts=True)
def set_out_panel(request, job, panel):
    """One panel: its edges on the zoomed drawing and beside it, and what is asked of each."""
    job = job_for(request, job)
    body = body_of(job.body)
    shape = panel_of(body, panel)
    if shape is None:
        raise Http404("This car has no such panel.")
    if request.POST.get("act") == "take_off":
        return _take_off(request, job, panel)
    rows = list(Fitting.objects.live().of_job(job).filter(panel__code=panel).for_work())
    sheet = rows[0].sheet if rows else film_choice.default_sheet(job.workshop)
    pieces = [as_set(row) for row in rows] or [default_piece(shape, sheet.body if sheet else {})]
    words = edge_names(body, panel, job.workshop.language)
    form = PanelForm(
        request.POST or None,
        workshop=job.workshop,
        edges=words,
        split=len(rows),
        initial=start(pieces, job.workshop.unit_system) | {"roll": rows[0].roll_id if rows else None},
    )

    def act(told, by):
        _let_pass(job, told, by)
        desk, now = SignedIn(request.person, request.tablet), clock.now()
        set_out(job=job, panel=panel, pieces=form.asked(), by=desk, now=now)
        if told["mirror"]:
            mirror_set_out(job=job, panel=panel, by=desk, now=now)
        messages.success(request, f"{panel_name(body, panel, job.workshop.language)} is set out.")
        return reverse("set-out-panel", args=[job.pk, panel])

    if request.method == "POST" and (done := settle(request, form, act, prove=_owner(request))):
        return done
    least = least_return_mm(sheet.body if sheet else {}, job.plan.body)
    context = {
        "here": "cars",
        "job": job,
        "panel": shape,
        "name": panel_name(body, panel, job.workshop.language),
        "form": form,
        "rows": rows,
        "edges": _with_questions(form.edge_rows(), rows, least, job.workshop.unit_system),
        "other": panel_name(body, other_side(panel), job.workshop.language)
        if other_side(panel) != panel
        else "",
        "notes": _notes(rows) + need_words.reserve_notes(rows, job.workshop.unit_system),
        "needs": need_words.need_said(rows, job.workshop.unit_system),
        "svg": mark_safe(_zoomed(request, job, body, shape, form)),
        "unit": _unit(job),
        "seams": form.seam_rows(),
        "off_form": ReasonForm(prefix="off"),
    }
    return page(request, "work/set_out_panel.html", context, parts=PARTS, status=form.status)


def _zoomed(request, job, body, shape, form) -> str:
    """The panel with its finishes along the edges: as sent, as shown in the form, or as it stands."""
    states = {}
    for row in form.edge_rows():
        code = row["code"]
        finish = request.GET.get(f"finish-{code}") or row["finish"].value() or ""
        depth = request.GET.get(f"return-{code}", row["return_mm"].value() or "")
        primed = f"primer-{code}" in request.GET if request.GET.get("part") else bool(row["primer"].value())
        deep = (
            f" {depth} {_unit(job)}" if finish == kinds.Finish.WRAPPED and depth.isascii() and depth else ""
        )
        open_ = finish == kinds.Finish.OPEN
        states[code] = EdgeState(
            EdgeMark.OPEN if open_ else EdgeMark.UNANSWERED,
            primed=primed and not open_,
            finish=f"{_finish_words(finish)}{deep}",
        )
    pieces = _pieces_shown(request, form)
    for number in range(1, pieces):
        primed = f"primer-seam-{number}" in (request.GET if request.GET.get("part") else request.POST)
        states[f"seam-{number}"] = EdgeState(EdgeMark.UNANSWERED, primed=primed)
    facts = " · ".join(
        [shape.material, *(feature.replace("_", " ") for feature in shape.features if feature != "large")][:4]
    )
    drawn = draw_panel(
        body,
        shape.code,
        edges=states,
        ids="panel",
        facts=facts,
        language=job.workshop.language,
        pieces=pieces,
    )
    # Nothing is answered at set-out, so nothing is said to be unanswered.
    return drawn.replace(f", {EDGE_WORDS[EdgeMark.UNANSWERED]}", "")


def _pieces_shown(request, form) -> int:
    asked = request.GET.get("pieces") or str(form["pieces"].value() or 1)
    return int(asked) if asked in map(str, range(1, MOST_PIECES + 1)) else 1


def _unit(job) -> str:
    return "in" if job.workshop.unit_system == "us" else "mm"


def _finish_words(finish: str) -> str:
    known = finish in set(kinds.Finish)
    return kinds.title(kinds.Finish(finish))["en"].lower() if known else ""


def _with_questions(edges: list[dict], rows: list[Fitting], least: int, system: str) -> list[dict]:
    """A return less deep than the least that holds is asked about, not refused."""
    shallow = {
        edge.code: edge.return_mm
        for row in rows
        for edge in row.edges.all()
        if edge.finish == kinds.Finish.WRAPPED and edge.return_mm is not None and edge.return_mm < least
    }
    for edge in edges:
        if edge["code"] in shallow:
            depth = format_mm(shallow[edge["code"]], system)
            edge["question"] = (
                f"{depth} seldom holds; the least is {format_mm(least, system)}. Better cut it flush?"
            )
    return edges


def _notes(rows: list[Fitting]) -> list[Reason]:
    notes = []
    large = [row for row in rows if kinds.Feature.LARGE in row.features and len(row.people.all()) < 2]
    if large:
        notes.append(
            Reason("two_people_missing", "A large panel takes two people: name both before it is laid.")
        )
    if any(row.roll is None for row in rows):
        notes.append(Reason("lot_missing", "The roll is still to be chosen: it is needed before flooding."))
    return notes


def _owner(request):
    """A PIN, asked only where what the shelf says is let pass; else the desk's own session is enough."""

    def proven(told):
        if not told["mixed_why"]:
            return SignedIn(request.person, request.tablet)
        if told["mixed_by"] is None:
            raise Refused(Reason("field_missing", "Pick who lets it pass.", where="#mixed_by"))
        return prove(told["mixed_by"], told["mixed_pin"], now=clock.now(), tablet=request.tablet)

    return proven


def _let_pass(job, told, by) -> None:
    for code in told["passes"] if isinstance(by, Proven) else ():
        leaving.waive(job=job, code=code, why=told["mixed_why"], by=by, now=clock.now())


def _take_off(request, job, panel):
    form = ReasonForm(request.POST, prefix="off")

    def act(told, by):
        with transaction.atomic():
            take_off_set_out(job=job, panel=panel, by=by, now=clock.now())
        messages.success(request, "Taken off the set-out.")
        return reverse("set-out", args=[job.pk])

    done = settle(request, form, act)
    if done:
        return done
    if not form.reasons:
        return redirect("set-out-panel", job=job.pk, panel=panel)
    context = {"here": "cars", "job": job, "form": form, "title": "The panel stays on the set-out"}
    return page(request, "intake/not_done.html", context, status=form.status)
