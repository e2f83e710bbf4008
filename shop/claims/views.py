"""Claims at the desk: the open ones, a new one, and one whole."""

from zoneinfo import ZoneInfo

from django.contrib import messages
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.cache import never_cache

from shop import clock
from shop.claims import actions, places
from shop.claims.account import account_of
from shop.claims.drawing import choosing_sheet, claim_sheet
from shop.claims.forms import ReportForm
from shop.claims.judging import CLOSED, RULER, WAITS, answer_due, judge, running_repair, waits_for
from shop.claims.models import Claim
from shop.claims.place import certificate_of, where
from shop.documents.rights import may, roles_of
from shop.intake.models import Vehicle
from shop.pages import page
from shop.people import doors
from shop.people.desk import settle
from shop.photos.actions import shelve
from shop.photos.models import Photo
from shop.warranty.cover import cover_of
from shop.warranty.vocabulary import first_words, terms_for, vocabulary

HERE = {"here": "claims"}
MOST_CLOSED = 30


@doors.staff()
@never_cache
def claims(request):
    """Open ones by what they wait for, those put right or refused below."""
    rows = list(Claim.objects.of(request.workshop).for_list())
    usual = terms_for(request.workshop)
    shown = [_row(claim, usual) for claim in rows]
    open_ones = [row for row in shown if row["waits"] not in CLOSED]
    closed = [row for row in shown if row["waits"] in CLOSED][::-1]
    context = {
        "open": open_ones,
        "closed": closed[:MOST_CLOSED],
        "more": max(0, len(closed) - MOST_CLOSED),
        "may": _may(request, "report_claim"),
    }
    return page(request, "claims/claims.html", HERE | context)


def _row(claim: Claim, usual) -> dict:
    """`usual` are the terms in force, for claims whose paper has none."""
    code = waits_for(claim, list(claim.photos.all()), list(claim.glue_readings.all()))
    certificate = certificate_of(claim.line)
    terms = (certificate.current().terms if certificate else None) or usual
    body = terms.body if terms else {}
    words = vocabulary(body, claim.workshop.language)
    return {
        "claim": claim,
        "where": where(claim),
        "symptom": words.title(claim.symptom).lower(),
        "waits": code,
        "waits_words": WAITS[code],
        "due": answer_due(claim, body) if code not in CLOSED and not claim.decisions.all() else None,
    }


@doors.staff(*doors.DESK, posts=True)
@never_cache
def new_claim(request):
    """Take a call down. The car comes by `?vehicle=`; `?panel=` picks one panel from the drawing."""
    wanted = request.GET.get("vehicle", "")
    if not (wanted.isascii() and wanted.isdigit()):
        status = 400 if request.method == "POST" else 200
        return page(request, "claims/which_car.html", HERE, status=status)
    vehicle = get_object_or_404(Vehicle.objects.for_page(), pk=wanted, workshop=request.workshop)
    today = _today(request)
    panel = request.GET.get("panel", "")
    every = places.choices(vehicle, today=today)
    chosen = places.choices(vehicle, today=today, panel=panel) or every
    certificate = _paper_of(vehicle, today)
    terms = terms_for(request.workshop, certificate)
    body = terms.body if terms else None
    form = ReportForm(
        request.POST or None,
        request.FILES or None,
        places=every if request.method == "POST" else chosen,
        words=vocabulary(body, request.workshop.language),
        initial={"told_on": today, "noticed_on": today},
    )

    def act(told, by):
        now = clock.now()
        claim = actions.report_claim(
            vehicle=vehicle,
            **places.parted(told["place"]),
            symptom=told["symptom"],
            noticed_on=told["noticed_on"],
            told_on=told["told_on"],
            told_how=told["told_how"],
            said=told["caller"],
            photos=keep(request, told["photos"], by, now),
            by=by,
            now=now,
        )
        messages.success(request, f"Claim {claim.number} is taken down.")
        return reverse("claim", args=[claim.pk])

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    filmed = {place.partition(".")[0] for _, group in every for place, _ in group}
    address = reverse("new-claim")
    context = {
        "vehicle": vehicle,
        "form": form,
        "first_words": first_words(body, request.workshop.language),
        "nothing": not every,
        "sheet": choosing_sheet(
            vehicle,
            filmed,
            lambda code: f"{address}?vehicle={vehicle.pk}&panel={code}",
            here=panel,
        ),
    }
    return page(request, "claims/new.html", HERE | context, status=form.status)


def _paper_of(vehicle, today):
    lines = cover_of(vehicle, today=today).lines.values()
    last = max(lines, key=lambda line: line.pk, default=None)
    return certificate_of(last)


@doors.staff()
@never_cache
def claim(request, claim):
    """Left what is reported, right what the record says; `?then=` and `?now=` choose the photos compared."""
    row = one(request, claim)
    now = clock.now()
    judged = judge(row, now=now)
    told = account_of(row, judged)
    photos = list(row.photos.select_related("photo", "person").order_by("pk"))
    readings = list(row.glue_readings.select_related("person").order_by("pk"))
    code = waits_for(row, photos, readings)
    context = {
        **basics(row, judged),
        "judged": judged,
        "told": told,
        "photos": [(shown, judged.words.shots.get(shown.shot)) for shown in photos],
        "readings": [(reading, judged.words.glue_side.get(reading.reading)) for reading in readings],
        "waits_list": list(row.supplier_waits.select_related("person").order_by("pk")),
        "decisions": sorted(row.decisions.all(), key=lambda decision: -decision.n),
        "then": _picked(told.then, request.GET.get("then")),
        "now_photo": _picked(_ruler_first(photos), request.GET.get("now")),
        "waits": code,
        "waits_words": WAITS[code],
        "due": answer_due(row, judged.terms) if not row.decisions.all() else None,
        "repair": running_repair(row),
        "sheet": claim_sheet(row),
        "may": {verb: _may(request, verb) for verb in VERBS},
    }
    return page(request, "claims/claim.html", HERE | context)


VERBS = (
    "add_claim_photos",
    "add_glue_side",
    "wait_for_supplier",
    "supplier_answered",
    "decide",
    "send_letter",
    "link_repair",
)


def one(request, pk: int) -> Claim:
    return get_object_or_404(Claim.objects.of(request.workshop).for_page(), pk=pk)


def basics(row: Claim, judged) -> dict:
    """What every page about one claim says at its head."""
    return {
        "claim": row,
        "where": where(row),
        "symptom": judged.words.title(row.symptom),
        "certificate": certificate_of(row.line),
        "first_words": first_words(judged.terms, row.workshop.language),
    }


def keep(request, examined, by, now) -> list[Photo]:
    """Examined photos, shelved inside the act."""
    return [
        shelve(found, workshop=request.workshop, by=by, now=now, klass=Photo.Klass.EVIDENCE)
        for found in examined
    ]


def _ruler_first(photos: list) -> list:
    """The customer's photo with a ruler, else the first there is."""
    return sorted(photos, key=lambda shown: (shown.shot != RULER, shown.pk))


def _picked(shown: list, wanted: str | None):
    """The photo asked for by its id, else the first."""
    for one_shown in shown:
        if wanted and str(one_shown.photo.pk) == wanted:
            return one_shown
    return shown[0] if shown else None


def _today(request):
    return clock.now().astimezone(ZoneInfo(request.workshop.zone)).date()


def _may(request, verb: str) -> bool:
    return may(request.person, verb, roles=roles_of(request.workshop))
