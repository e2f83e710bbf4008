"""The certificate at the desk: issue it, read it, print it, correct it, withdraw it."""

from base64 import b64encode

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.cache import never_cache

from shop import clock, store
from shop.documents.rights import may, roles_of
from shop.intake.models import Job
from shop.pages import page
from shop.people import doors
from shop.people import pin as pins
from shop.people.desk import settle
from shop.people.identity import SignedIn
from shop.warranty import actions, paper
from shop.warranty.drawing import covered_sheet
from shop.warranty.forms import CorrectForm, IssueForm, PrintForm, WithdrawForm
from shop.warranty.models import Certificate, Revision
from shop.warranty.preview import preview
from shop.warranty.sendings import Sending
from shop.warranty.shown import photo_ids, read_facts, shown
from shop.work import places
from shop.work.floor import Floor

SHEET_PX = 420


@doors.staff(posts=True)
@never_cache
def certificate(request, job):
    """Before it is issued: what stands in the way, or what it will promise. After: the revision in force."""
    row = _job(request, job)
    issued = Certificate.objects.of_job(row)
    # A form to issue that is sent again has to meet its own receipt, so it is told by the method alone.
    if issued and request.method != "POST":
        return page(request, "warranty/certificate.html", _context(request, row, issued, issued.current()))
    return _to_issue(request, row)


def _to_issue(request, job):
    form = IssueForm(request.POST or None)

    def act(told, by):
        actions.issue(job=job, by=by, now=clock.now(), language=request.workshop.language)
        return reverse("certificate", args=[job.pk])

    if request.method == "POST" and (done := settle(request, form, act, prove=_prover(request))):
        _print(request, Certificate.objects.of_job(job).current())
        return done
    floor = Floor(job)
    by = SignedIn(request.person, request.tablet)
    reasons = actions.issue_reasons(job=job, by=by, floor=floor, language=request.workshop.language)
    context = {
        "here": "cars",
        "job": job,
        "form": form,
        "reasons": places.shown(reasons, job),
        "promise": None if reasons else preview(floor, actions.terms_in_force(job.workshop)),
    }
    return page(request, "warranty/issue.html", context, status=form.status)


@doors.staff(posts=True)
@never_cache
def print_again(request, job):
    """For a revision whose paper was not printed when it was issued."""
    row = _job(request, job)
    issued = get_object_or_404(Certificate.objects.with_revisions(), job=row)
    wanted = issued.current()
    form = PrintForm(request.POST or None)
    if request.method == "POST" and (done := settle(request, form, lambda *_: _here(row))):
        _print(request, wanted)
        return done
    return page(
        request, "warranty/certificate.html", _context(request, row, issued, wanted), status=form.status
    )


@doors.staff()
@never_cache
def revision(request, job, n):
    row = _job(request, job)
    issued = get_object_or_404(Certificate.objects.with_revisions(), job=row)
    return page(request, "warranty/certificate.html", _context(request, row, issued, _nth(issued, n)))


@doors.staff()
@never_cache
def pdf(request, job, n):
    """The paper as it was printed, byte for byte."""
    row = _job(request, job)
    wanted = _nth(get_object_or_404(Certificate.objects.with_revisions(), job=row), n)
    try:
        data = store.open_pdf(wanted.pdf_sha256) if wanted.pdf_sha256 else None
    except store.Missing:
        data = None
    if data is None:
        raise Http404("Not printed yet.")
    name = f"certificate-{wanted.certificate.number}" + (f"-{wanted.n}" if wanted.n > 1 else "")
    return HttpResponse(
        data,
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{name}.pdf"'},
    )


@doors.staff(*doors.DESK, posts=True)
@never_cache
def correct(request, job):
    row = _job(request, job)
    issued = get_object_or_404(Certificate.objects.with_revisions(), job=row)
    form = CorrectForm(request.POST or None)

    def act(told, by):
        actions.correct(certificate=issued, reason=told["reason"], by=by, now=clock.now())
        return _here(row)

    if request.method == "POST" and (done := settle(request, form, act, prove=_prover(request))):
        _print(request, Certificate.objects.of_job(row).current())
        return done
    context = {"here": "cars", "job": row, "certificate": issued, "form": form}
    return page(request, "warranty/correct.html", context, status=form.status)


@doors.staff(*doors.OWNER, posts=True)
@never_cache
def withdraw(request, job):
    row = _job(request, job)
    issued = get_object_or_404(Certificate.objects.with_revisions(), job=row)
    form = WithdrawForm(request.POST or None)

    def act(told, by):
        actions.withdraw(certificate=issued, why=told["why"], by=by, now=clock.now())
        messages.success(request, f"Certificate {issued.number} is withdrawn. Its page says so from now on.")
        return _here(row)

    if request.method == "POST" and (done := settle(request, form, act, prove=_prover(request))):
        return done
    context = {"here": "cars", "job": row, "certificate": issued, "form": form}
    return page(request, "warranty/withdraw.html", context, status=form.status)


def _job(request, pk: int) -> Job:
    return get_object_or_404(Job.objects.for_page(), pk=pk, workshop=request.workshop)


def _here(job) -> str:
    return reverse("certificate", args=[job.pk])


def _nth(issued: Certificate, n: int) -> Revision:
    for row in issued.revisions.all():
        if row.n == n:
            return row
    raise Http404("No such revision.")


def _prover(request):
    return lambda told: pins.prove(request.person, told["pin"], now=clock.now(), tablet=request.tablet)


def _print(request, wanted: Revision) -> None:
    if paper.is_printed(paper.print_revision(wanted)):
        messages.success(request, f"Certificate {wanted.certificate.number} is printed.")
    else:
        messages.error(request, "The paper is not printed yet. The certificate stands; print it again.")


def _context(request, job, issued: Certificate, wanted: Revision) -> dict:
    facts = read_facts(wanted.facts)
    ready = shown(facts)
    _photo_addresses(ready["photos"], job.workshop)
    roles = roles_of(job.workshop)
    current = issued.current()
    return {
        **ready,
        "here": "cars",
        "job": job,
        "certificate": issued,
        "revision": wanted,
        "revisions": sorted(issued.revisions.all(), key=lambda row: -row.n),
        "current": current,
        "is_printed": paper.is_printed(wanted),
        "digest": wanted.facts_digest,
        "drawing": covered_sheet(facts, job.workshop, size="medium", width=SHEET_PX),
        "qr": f"data:image/svg+xml;base64,{b64encode(paper.qr_svg(facts)).decode()}",
        "print_form": PrintForm(),
        "may_correct": may(request.person, "correct_certificate", roles=roles) and not current.withdrawn_at,
        "may_send": may(request.person, "send_papers", roles=roles) and not current.withdrawn_at,
        "sent": list(
            Sending.objects.for_log(job.workshop)
            .filter(certificate=issued, kind=Sending.Kind.PAPERS)
            .exclude(sent_at=None)[:3]
        ),
        "may_withdraw": may(request.person, "withdraw", roles=roles) and not current.withdrawn_at,
    }


def _photo_addresses(photos: list[dict], workshop) -> None:
    ids = photo_ids(workshop, [photo["sha256"] for photo in photos])
    for photo in photos:
        pk = ids.get(photo["sha256"])
        photo["src"] = reverse("photo", args=[pk, store.SCREEN]) if pk else ""
