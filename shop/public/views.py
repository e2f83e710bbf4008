"""What a stranger sees: is this paper real, in force, for which panels, and is it this car."""

from datetime import timedelta

from django.shortcuts import redirect

from shop import clock
from shop.intake import vin as vins
from shop.pages import page
from shop.people import doors, throttle
from shop.public import papers
from shop.public.forms import CodeForm, FileForm, VinForm
from shop.public.standing import standing
from shop.record.models import Private
from shop.warranty.drawing import covered_sheet
from shop.warranty.models import Certificate
from shop.warranty.numbers import is_code, is_token, plain

WINDOW = timedelta(minutes=10)
CODES_A_WINDOW = 30
VINS_A_WINDOW = 10
TOO_MANY = "Too many tries. Wait ten minutes, then try again."


@doors.public(posts=True)
def check(request, token):
    """One certificate. A POST compares a whole VIN and says same car or other car, nothing else."""
    certificate = Certificate.objects.by_token(plain(token)) if is_token(plain(token)) else None
    if certificate is None:
        return page(request, "public/unknown.html", {"form": CodeForm()}, status=404)
    now = clock.now()
    answer, status = "", 200
    found = standing(certificate, now=now)
    form = VinForm(request.POST or None, is_vin=found.facts["vehicle"]["identity_words"] == "VIN")
    if request.method == "POST":
        if form.is_valid():
            answer = _same_car(found, form.cleaned_data["number"], token=certificate.token, now=now)
        status = 422 if not form.is_valid() or answer == "too_many" else 200
    context = {
        "certificate": certificate,
        "standing": found,
        "drawing": covered_sheet(
            found.facts,
            certificate.workshop,
            size="medium",
            width=360,
            over=[panel.code for panel in found.panels if panel.over],
        ),
        "form": form,
        "answer": answer,
        "zone": found.revision.zone,
    }
    return page(request, "public/check.html", context, status=status)


def _same_car(found, typed: str, *, token: str, now) -> str:
    """same, other, erased or too_many."""
    if throttle.count("check-vin", token, now=now, length=WINDOW) > VINS_A_WINDOW:
        return "too_many"
    kept = Private.objects.filter(pk=found.facts["vehicle"]["identity"]["private"]).first()
    if kept is None or kept.erased_at:
        return "erased"
    return "same" if typed == vins.forgiving(kept.value) else "other"


@doors.public(posts=True)
def check_any(request):
    """Type the code that stands beside the QR, or hand in the PDF."""
    if request.method == "POST":
        return _check_file(request)
    if "code" not in request.GET:
        return page(request, "public/ask.html", {"form": CodeForm(), "file_form": FileForm()})
    form = CodeForm(request.GET)
    if form.is_valid():
        certificate = _by_code(form, request)
        if certificate:
            return redirect("check", token=certificate.token)
    return page(request, "public/ask.html", {"form": form, "file_form": FileForm()}, status=422)


def _by_code(form: CodeForm, request):
    """The certificate, or None with a sentence on the form. Only misses count against whoever types."""
    now, who = clock.now(), request.META.get("REMOTE_ADDR", "")
    if throttle.count("check-code", who, now=now, length=WINDOW) > CODES_A_WINDOW:
        form.add_error("code", TOO_MANY)
        return None
    code = form.cleaned_data["code"]
    certificate = (
        Certificate.objects.by_token(code)
        if is_token(code)
        else Certificate.objects.by_code(code)
        if is_code(code)
        else None
    )
    if certificate:
        throttle.give_back("check-code", who, now=now, length=WINDOW)
        return certificate
    form.add_error("code", form.unknown)
    return None


def _check_file(request):
    form = FileForm(request.POST, request.FILES)
    if not form.is_valid():
        return page(request, "public/ask.html", {"form": CodeForm(), "file_form": form}, status=422)
    verdict = papers.examine(form.cleaned_data["file"].chunks())
    return page(request, "public/file.html", {"verdict": verdict})
