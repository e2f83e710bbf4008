"""After the paper: rechecks due and done, film that comes off, a new owner."""

from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.cache import never_cache

from shop import clock
from shop.documents.rights import may, roles_of
from shop.intake.models import Ownership, Vehicle
from shop.intake.names import body_of, edge_names
from shop.pages import page
from shop.people import doors
from shop.people.desk import settle
from shop.photos.actions import shelve
from shop.photos.models import Photo
from shop.templatetags.words import day
from shop.warranty import actions
from shop.warranty.cover import cover_of
from shop.warranty.due import rechecks_due, rechecks_of
from shop.warranty.findings import films_of, name_of
from shop.warranty.forms_after import FilmOffForm, OwnerForm, PlanForm, RecheckForm
from shop.warranty.models import Certificate
from shop.warranty.rechecks import EXTRA
from shop.warranty.vocabulary import terms_for, vocabulary

HERE = {"here": "claims"}
AHEAD_DAYS = 31


@doors.staff()
@never_cache
def rechecks(request):
    """Cars to be looked over by now or within a month, and those missed while their cover runs."""
    today = _today(request)
    due = rechecks_due(request.workshop, today=today, ahead_days=AHEAD_DAYS)
    owners = {
        row.vehicle_id: row.customer
        for row in Ownership.objects.filter(
            vehicle__in={one.certificate.job.vehicle_id for one in due}, until__isnull=True
        ).select_related("customer__name", "customer__phone")
    }
    groups = {
        "due": [one for one in due if one.state == "due"],
        "coming": [one for one in due if one.state == "coming"],
        "missed": [one for one in due if one.state == "missed"],
    }
    rows = {
        name: [(one, owners.get(one.certificate.job.vehicle_id)) for one in found]
        for name, found in groups.items()
    }
    return page(request, "warranty/rechecks.html", HERE | {"rows": rows, "count": len(groups["due"])})


@doors.staff(posts=True)
@never_cache
def recheck(request, certificate, key):
    """One recheck: agree on a day, or take down what was seen. What is done is shown."""
    row = _certificate(request, certificate)
    today = _today(request)
    due = next((one for one in rechecks_of([row], today=today) if one.asked.key == key), None)
    if due is None and key != EXTRA:
        raise Http404("No such recheck.")
    key = "" if due is None else key
    plan = PlanForm(None, initial={"on": due.planned_on if due else None})
    vehicle = row.job.vehicle
    words = _words(request, row)
    asked = {"places": _places(vehicle), "kinds": list(words.symptoms.values()), "sound": True}
    form = RecheckForm(None, initial={"on": today}, **asked)
    here = reverse("recheck", args=[row.pk, key or EXTRA])

    def act_plan(told, by):
        kept = actions.plan_recheck(certificate=row, key=key, on=told["on"], by=by, now=clock.now())
        messages.success(request, f"The car is expected on {day(kept.planned_on)}.")
        return reverse("recheck", args=[row.pk, kept.key])

    def act(told, by):
        now = clock.now()
        kept = actions.record_recheck(
            certificate=row,
            key=key,
            on=told["on"],
            findings=form.findings(lambda examined: _keep(request, examined, by, now)),
            odometer_km=told["odometer_km"],
            by=by,
            now=now,
        )
        messages.success(request, "The recheck is on record.")
        return reverse("recheck", args=[row.pk, kept.key])

    if request.method == "POST":
        if request.POST.get("act") == "plan":
            plan = PlanForm(request.POST)
            done = settle(request, plan, act_plan)
        else:
            form = RecheckForm(request.POST, request.FILES, **asked)
            done = settle(request, form, act)
        if done:
            return done
    context = {
        "certificate": row,
        "vehicle": vehicle,
        "due": due,
        "here_url": here,
        "plan": plan,
        "form": form,
        "found": [(one, _where(one), words.title(one.kind)) for one in _findings(due)],
        "touch_up": _touch_up_until(vehicle, today),
        "may_plan": may(request.person, "plan_recheck", roles=roles_of(request.workshop)),
    }
    return page(request, "warranty/recheck.html", HERE | context, status=max(form.status, plan.status))


def _findings(due) -> list:
    """What was seen at this recheck, where it was done."""
    if due is None or due.row is None:
        return []
    rows = due.row.findings.prefetch_related("photos__photo").order_by("pk")
    return list(rows.select_related("fitting__panel", "fitting__job__body", "fitting__job__workshop", "edge"))


@doors.staff(posts=True)
@never_cache
def film_off(request, vehicle):
    row = _vehicle(request, vehicle)
    films = films_of(row)
    terms = terms_for(request.workshop)
    words = vocabulary(terms.body if terms else None, request.workshop.language)
    panels = list(dict.fromkeys((film.panel.code, name_of(film).partition(",")[0]) for film in films))
    form = FilmOffForm(
        request.POST or None,
        request.FILES or None,
        panels=panels,
        places=_places(row, films),
        kinds=list(words.removal.values()),
        sound=False,
        initial={"on": _today(request), "panel": request.GET.get("panel", "")},
    )

    def act(told, by):
        now = clock.now()
        actions.take_film_off(
            vehicle=row,
            panel=told["panel"],
            on=told["on"],
            why=told["why"],
            findings=form.findings(lambda examined: _keep(request, examined, by, now)),
            by=by,
            now=now,
        )
        messages.success(request, f"{dict(panels)[told['panel']]}: its cover ends with {day(told['on'])}.")
        return reverse("life", args=[row.pk])

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    context = {"vehicle": row, "form": form, "panels": panels}
    return page(request, "warranty/film_off.html", HERE | context, status=form.status)


@doors.staff(*doors.DESK, posts=True)
@never_cache
def new_owner(request, vehicle):
    row = _vehicle(request, vehicle)
    today = _today(request)
    form = OwnerForm(request.POST or None, initial={"sold_on": today, "told_on": today})

    def act(told, by):
        given = {name: value for name, value in told.items() if name != "key"}
        actions.transfer_cover(vehicle=row, **given, by=by, now=clock.now())
        messages.success(request, f"{told['name']} owns the car since {day(told['sold_on'])}.")
        return reverse("life", args=[row.pk])

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    owner = Ownership.objects.filter(vehicle=row, until__isnull=True).select_related("customer__name").first()
    context = {"vehicle": row, "form": form, "owner": owner, "rules": _rules(row, today)}
    return page(request, "warranty/new_owner.html", HERE | context, status=form.status)


def _rules(vehicle, today) -> list[tuple[str, str]]:
    """What the terms of each paper in force say of a sale, in their own words."""
    found = {}
    cover = cover_of(vehicle, today=today)
    for stretch in cover.on(today):
        revision = cover.lines[stretch.line].revision
        terms = revision.terms.body if revision.terms_id else {}
        text = terms.get("transfer", {}).get("text", {}).get(revision.language, "")
        found[revision.certificate.number] = text or "Its terms are not here: read the paper."
    return list(found.items())


def _places(vehicle, films=None) -> list:
    """Every live piece with its edges, grouped by its name."""
    groups = []
    for film in films if films is not None else films_of(vehicle):
        names = edge_names(body_of(film.job.body), film.panel.code, film.job.workshop.language)
        edges = [
            (f"{film.place}@{edge.code}", names.get(edge.code) or edge.code.replace("-", " "))
            for edge in film.edges.all()
            if edge.finish != "open"
        ]
        groups.append((name_of(film), [(film.place, "The whole of it"), *edges]))
    return groups


def _where(finding) -> str:
    film = finding.fitting
    if film is None:
        return finding.panel
    names = edge_names(body_of(film.job.body), film.panel.code, film.job.workshop.language)
    edge = names.get(finding.edge.code, finding.edge.code) if finding.edge else ""
    return f"{name_of(film)}: {edge.lower()}" if edge else name_of(film)


def _touch_up_until(vehicle, today):
    """The last day of the free touch-up, where it runs today."""
    days = [
        stretch.last_day for stretch in cover_of(vehicle, today=today).on(today) if stretch.kind == "touch_up"
    ]
    return max(days, default=None)


def _words(request, certificate):
    terms = certificate.current().terms
    return vocabulary(terms.body if terms else None, request.workshop.language)


def _keep(request, examined, by, now) -> list[Photo]:
    return [
        shelve(found, workshop=request.workshop, by=by, now=now, klass=Photo.Klass.EVIDENCE)
        for found in examined
    ]


def _certificate(request, pk: int) -> Certificate:
    rows = Certificate.objects.of(request.workshop).filter(job__isnull=False).with_revisions()
    return get_object_or_404(rows.select_related("workshop", "job__vehicle__plate", "job__workshop"), pk=pk)


def _vehicle(request, pk: int) -> Vehicle:
    return get_object_or_404(Vehicle.objects.for_page(), pk=pk, workshop=request.workshop)


def _today(request):
    return clock.now().astimezone(ZoneInfo(request.workshop.zone)).date()
