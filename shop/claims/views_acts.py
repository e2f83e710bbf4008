"""What is done about a claim: photos, the glue side, the supplier, the decision and its letter, the repair."""

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.cache import never_cache

from shop import clock, store
from shop.claims import actions, letter
from shop.claims.clauses import clauses
from shop.claims.forms import AnswerForm, AskForm, DecideForm, GlueForm, PhotosForm, PrintForm, RepairForm
from shop.claims.judging import judge
from shop.claims.models import Claim, Decision
from shop.claims.place import certificate_of
from shop.claims.views import HERE, basics, keep, one
from shop.intake.models import Job
from shop.pages import page
from shop.people import doors
from shop.people import pin as pins
from shop.people.desk import settle
from shop.warranty import posting
from shop.warranty.forms import AddressForm
from shop.warranty.sending import owner_address_of
from shop.warranty.sendings import Sending
from shop.warranty.views_mail import mail_rows, post_written
from shop.warranty.vocabulary import terms_for


@doors.staff(posts=True)
@never_cache
def photos(request, claim):
    row, judged = _judged(request, claim)
    first = {"shot": request.GET.get("shot", ""), "taken_here": bool(request.GET.get("shot"))}
    form = PhotosForm(request.POST or None, request.FILES or None, words=judged.words, initial=first)

    def act(told, by):
        now = clock.now()
        kept = keep(request, told["photos"], by, now)
        actions.add_claim_photos(
            claim=row, photos=kept, shot=told["shot"], taken_here=told["taken_here"], by=by, now=now
        )
        return _here(row)

    return _act_page(request, row, judged, form, act, "claims/photos.html", shots=judged.words.shots.values())


@doors.staff(posts=True)
@never_cache
def glue_side(request, claim):
    row, judged = _judged(request, claim)
    form = GlueForm(request.POST or None, request.FILES or None, words=judged.words)

    def act(told, by):
        now = clock.now()
        kept = keep(request, told["photos"], by, now)
        actions.add_glue_side(
            claim=row, reading=told["reading"], photos=kept, note=told["note"], by=by, now=now
        )
        return _here(row)

    shots = [shot for shot in judged.words.shots.values() if shot.more.get("glue")]
    return _act_page(request, row, judged, form, act, "claims/glue_side.html", shots=shots)


@doors.staff(*doors.DESK, posts=True)
@never_cache
def supplier(request, claim):
    """Ask, or take the answer down, whichever comes next."""
    row, judged = _judged(request, claim)
    if row.waits:
        form = AnswerForm(request.POST or None)

        def act(told, by):
            actions.supplier_answered(
                claim=row, answer=told["answer"], note=told["note"], by=by, now=clock.now()
            )
            return _here(row)

        wait = row.supplier_waits.filter(answered_at__isnull=True).select_related("person").first()
        return _act_page(request, row, judged, form, act, "claims/supplier.html", wait=wait)
    form = AskForm(request.POST or None)

    def ask(told, by):
        actions.wait_for_supplier(claim=row, asked=told["asked"], by=by, now=clock.now())
        return _here(row)

    return _act_page(request, row, judged, form, ask, "claims/supplier.html")


@doors.staff(*doors.DESK, posts=True)
@never_cache
def decide(request, claim):
    row, judged = _judged(request, claim)
    terms = terms_for(row.workshop, certificate_of(row.line))
    language = row.line.revision.language if row.line else row.workshop.language
    passages = clauses(terms.body if terms else {}, language)
    form = DecideForm(request.POST or None, clauses=passages, initial=_shares_first(judged))

    def act(told, by):
        given = {name: value for name, value in told.items() if name not in ("key", "pin")}
        actions.decide(claim=row, **given, by=by, now=clock.now())
        return _here(row)

    def prove(told):
        return pins.prove(request.person, told["pin"], now=clock.now(), tablet=request.tablet)

    if request.method == "POST" and (done := settle(request, form, act, prove=prove)):
        _print(request, Claim.objects.for_page().get(pk=row.pk).decision())
        return done
    context = {
        **basics(row, judged),
        "judged": judged,
        "form": form,
        "terms": terms,
        "before": row.decision(),
    }
    return page(request, "claims/decide.html", HERE | context, status=form.status)


def _shares_first(judged) -> dict:
    """Our work is ours to pay; nothing else is guessed."""
    ours = judged.standing.stands and judged.standing.answers != "material"
    return {"shop_pct": 100 if ours else 0, "supplier_pct": 0, "customer_pct": 0, "insurer_pct": 0}


@doors.staff(posts=True)
@never_cache
def print_letter(request, claim, n):
    """For a decision whose letter was not printed when it was taken."""
    row, judged = _judged(request, claim)
    decision = get_object_or_404(Decision, claim=row, n=n)
    form = PrintForm(request.POST or None)
    if request.method == "POST" and (done := settle(request, form, lambda *_: _here(row))):
        _print(request, decision)
        return done
    context = {**basics(row, judged), "form": form, "decision": decision}
    return page(request, "claims/print_letter.html", HERE | context, status=form.status)


@doors.staff(*doors.DESK, posts=True)
@never_cache
def send_letter(request, claim):
    """The letter of the decision that stands, to the customer."""
    row, judged = _judged(request, claim)
    known = owner_address_of(row.vehicle_id)
    form = AddressForm(request.POST or None, initial={"address": known.value if known else ""})
    written = []

    def act(told, by):
        written.append(actions.send_letter(claim=row, address=told["address"], by=by, now=clock.now()))
        return _here(row)

    if request.method == "POST" and (done := settle(request, form, act)):
        post_written(request, written)
        return done
    before = Sending.objects.for_log(request.workshop).filter(key__startswith=f"claim {row.number} ")[:5]
    context = {
        **basics(row, judged),
        "form": form,
        "before": mail_rows(before),
        "console": posting.is_console(),
    }
    return page(request, "claims/send.html", HERE | context, status=form.status)


@doors.staff()
@never_cache
def letter_pdf(request, claim, n):
    """The letter as it was printed, byte for byte."""
    decision = get_object_or_404(Decision.objects.select_related("claim"), claim=one(request, claim), n=n)
    try:
        data = store.open_pdf(decision.pdf_sha256) if decision.pdf_sha256 else None
    except store.Missing:
        data = None
    if data is None:
        raise Http404("Not printed yet.")
    name = f"claim-{decision.claim.number}-{decision.n}.pdf"
    return HttpResponse(
        data,
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{name}"'},
    )


@doors.staff(*doors.DESK, posts=True)
@never_cache
def repair(request, claim):
    row, judged = _judged(request, claim)
    jobs = list(
        Job.objects.filter(
            workshop=request.workshop, vehicle=row.vehicle, hand_over__isnull=True, cancelled_at__isnull=True
        )
        .exclude(release__isnull=False)
        .order_by("-pk")
    )
    first = {"job": jobs[0].pk} if len(jobs) == 1 else {}
    form = RepairForm(request.POST or None, jobs=jobs, initial=first)

    def act(told, by):
        job = get_object_or_404(Job, pk=told["job"], workshop=request.workshop)
        actions.link_repair(claim=row, job=job, from_stage=told["from_stage"], by=by, now=clock.now())
        messages.success(request, f"Job {job.number} puts claim {row.number} right.")
        return reverse("set-out-panel", args=[job.pk, row.panel])

    return _act_page(request, row, judged, form, act, "claims/repair.html", jobs=jobs)


def _judged(request, pk: int):
    row = one(request, pk)
    return row, judge(row, now=clock.now())


def _here(row: Claim) -> str:
    return reverse("claim", args=[row.pk])


def _act_page(request, row, judged, form, act, template, **more):
    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    return page(request, template, HERE | basics(row, judged) | {"form": form, **more}, status=form.status)


def _print(request, decision: Decision) -> None:
    if letter.print_letter(decision).pdf_sha256:
        messages.success(request, "The letter is printed.")
    else:
        messages.error(request, "The letter is not printed yet. The decision stands; print it again.")
