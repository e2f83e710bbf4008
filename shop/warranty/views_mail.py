"""The care sheet in its three shapes, papers sent to their owner, and what was mailed to whom."""

from django.conf import settings
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.cache import never_cache

from shop import clock, press
from shop.documents.rights import may, roles_of
from shop.intake.models import Job
from shop.pages import page
from shop.people import doors
from shop.people.desk import settle
from shop.printing import NotPrinted
from shop.reasons import Reason, Refused
from shop.warranty import actions, care_sheet, posting
from shop.warranty.forms import AddressForm, AgainForm
from shop.warranty.models import Certificate, Revision
from shop.warranty.sending import owner_address
from shop.warranty.sendings import Sending

A_PAGE = 40
STATES = {
    "sent": "sent",
    "failed": "did not leave",
    "unclear": "may have left",
    "waiting": "not tried yet",
}


@doors.staff()
@never_cache
def care(request, job):
    revision = _revision(request, job)
    sheet = care_sheet.sheet_of(revision)
    context = {"here": "cars", "job": revision.certificate.job, "certificate": revision.certificate, **sheet}
    may_send = may(request.person, "send_papers", roles=roles_of(request.workshop))
    return page(request, "warranty/care.html", context | {"may_send": may_send})


@doors.staff()
@never_cache
def care_pdf(request, job):
    revision = _revision(request, job)
    try:
        data = care_sheet.pdf_of(revision)
    except (press.PressFailed, NotPrinted) as fault:
        raise Refused(Reason("not_printed", f"The care sheet was not printed. {fault} Try again.")) from None
    return _file(data, "application/pdf", care_sheet.file_name(revision, "pdf"), "inline")


@doors.staff()
@never_cache
def care_calendar(request, job):
    revision = _revision(request, job)
    data = care_sheet.calendar_of(revision)
    return _file(data, "text/calendar; charset=utf-8", care_sheet.file_name(revision, "ics"), "attachment")


@doors.staff(*doors.DESK, posts=True)
@never_cache
def send_papers(request, job):
    revision = _revision(request, job)
    certificate = revision.certificate
    known = owner_address(certificate)
    form = AddressForm(request.POST or None, initial={"address": known.value if known else ""})
    written = []

    def act(told, by):
        written.append(
            actions.send_papers(certificate=certificate, address=told["address"], by=by, now=clock.now())
        )
        return reverse("certificate", args=[certificate.job_id])

    if request.method == "POST" and (done := settle(request, form, act)):
        post_written(request, written)
        return done
    context = {
        "here": "cars",
        "job": certificate.job,
        "certificate": certificate,
        "revision": revision,
        "form": form,
        "before": mail_rows(Sending.objects.for_log(request.workshop).filter(certificate=certificate)[:5]),
        "console": posting.is_console(),
    }
    return page(request, "warranty/send_papers.html", context, status=form.status)


@doors.staff(*doors.DESK)
@never_cache
def mails(request):
    """What was sent to whom about what, newest first; how mails leave, for the owner to try."""
    found = Paginator(Sending.objects.for_log(request.workshop), A_PAGE).get_page(request.GET.get("page"))
    roles = roles_of(request.workshop)
    context = {
        "here": "shop",
        "page": found,
        "rows": mail_rows(found),
        "stuck": Sending.objects.of(request.workshop).filter(sent_at=None).count(),
        "unready": posting.unready(request.workshop),
        "console": posting.is_console(),
        "server": _server(request.workshop),
        "may_test": may(request.person, "send_test_mail", roles=roles),
        "may_again": may(request.person, "send_again", roles=roles),
    }
    return page(request, "warranty/mails.html", context)


@doors.staff(*doors.OWNER, posts=True)
@never_cache
def test_mail(request):
    form = AddressForm(request.POST or None, initial={"address": request.workshop.mail})
    written = []

    def act(told, by):
        row = actions.send_test_mail(
            workshop=request.workshop, address=told["address"], by=by, now=clock.now()
        )
        written.append(row)
        return reverse("mails")

    if request.method == "POST" and (done := settle(request, form, act)):
        post_written(request, written)
        return done
    context = {
        "here": "shop",
        "form": form,
        "server": _server(request.workshop),
        "console": posting.is_console(),
    }
    return page(request, "warranty/test_mail.html", context, status=form.status)


@doors.staff(*doors.DESK, posts=True)
@never_cache
def send_again(request, sending):
    row = get_object_or_404(Sending.objects.for_log(request.workshop), pk=sending)
    form = AgainForm(request.POST or None)
    written = []

    def act(told, by):
        written.append(actions.send_again(sending=row, by=by, now=clock.now()))
        return reverse("mails")

    if request.method == "POST" and (done := settle(request, form, act)):
        post_written(request, written)
        return done
    context = {"here": "shop", "row": mail_rows([row])[0], "form": form, "console": posting.is_console()}
    return page(request, "warranty/send_again.html", context, status=form.status)


def post_written(request, written: list[Sending]) -> None:
    """Send what this very request wrote; a form that came twice finds nothing to send the second time."""
    for row in written:
        if posting.post(row, now=clock.now()).sent_at:
            where = " It is written where the program runs, and goes nowhere." if posting.is_console() else ""
            messages.success(request, f"The mail to {row.address.value} has left.{where}")
        else:
            messages.error(
                request,
                f"The mail to {row.address.value} did not leave: {row.fault} It stands in the list of mails.",
            )


def mail_rows(found) -> list[dict]:
    return [{"mail": row, "state": row.state, "word": STATES[row.state]} for row in found]


def _server(workshop) -> list[tuple[str, str]]:
    """How mails leave, without the password."""
    rows = [("Mails come from", posting.sender_of(workshop) or "nobody yet")]
    if posting.is_console():
        return [*rows, ("They leave by", "nothing: they are only written where the program runs")]
    if not settings.EMAIL_HOST:
        return [*rows, ("They leave by", settings.EMAIL_BACKEND)]
    tls = (
        "from the first byte"
        if settings.EMAIL_USE_SSL
        else "by STARTTLS"
        if settings.EMAIL_USE_TLS
        else "none"
    )
    return [
        *rows,
        ("Server", f"{settings.EMAIL_HOST}, port {settings.EMAIL_PORT}"),
        ("Encryption", tls),
        ("Signs in as", settings.EMAIL_HOST_USER or "nobody"),
        ("Password", "set" if settings.EMAIL_HOST_PASSWORD else "none"),
    ]


def _revision(request, pk: int) -> Revision:
    job = get_object_or_404(Job.objects.for_page(), pk=pk, workshop=request.workshop)
    certificate = Certificate.objects.of_job(job)
    if certificate is None:
        raise Http404("No certificate yet.")
    certificate.job = job
    revision = certificate.current()
    revision.certificate = certificate
    return revision


def _file(data: bytes, kind: str, name: str, how: str) -> HttpResponse:
    headers = {"Content-Disposition": f'{how}; filename="{name}"'}
    return HttpResponse(data, content_type=kind, headers=headers)
