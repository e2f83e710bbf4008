"""Older papers: a table looked through, brought in as a whole, and each of its papers on a page of its own."""

from zoneinfo import ZoneInfo

from django.contrib import messages
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.cache import never_cache

from shop import clock
from shop.documents.rights import may, roles_of
from shop.pages import page
from shop.people import doors
from shop.people import pin as pins
from shop.people.desk import settle
from shop.warranty import actions
from shop.warranty.cover import cover_of
from shop.warranty.drawing import covered_sheet
from shop.warranty.forms import WithdrawForm
from shop.warranty.forms_old import TableForm
from shop.warranty.models import Certificate
from shop.warranty.old_papers import look_through
from shop.warranty.shown import private_values, read_facts

MOST_SHOWN = 12
MOST_FAULTS = 200
MOST_LISTED = 100
SHEET_PX = 420


@doors.staff(*doors.DESK, posts=True)
@never_cache
def old_papers(request):
    """Choose a file; look at what it holds; bring all of it in. `act` is bring for the last of these."""
    workshop = request.workshop
    form = TableForm(
        request.POST if request.method == "POST" else None, request.FILES or None, workshop=workshop
    )
    looked = None
    if request.method == "POST":
        if request.POST.get("act") == "bring" and (done := settle(request, form, _bring(request, form))):
            return done
        if form.is_valid():
            looked = look_through(
                workshop,
                form.table,
                columns=form.columns,
                days=form.cleaned_data["days"],
                today=_today(workshop),
            )
        elif form.status == 200:
            form.status = 422
    papers = list(Certificate.objects.brought_in(workshop)[: MOST_LISTED + 1])
    context = {
        "here": "cars",
        "form": form,
        "looked": looked,
        "first": looked.papers[:MOST_SHOWN] if looked else [],
        "faults": looked.faults[:MOST_FAULTS] if looked else [],
        "more_faults": max(0, len(looked.faults) - MOST_FAULTS) if looked else 0,
        "papers": papers[:MOST_LISTED],
        "more": len(papers) > MOST_LISTED,
    }
    return page(request, "warranty/old_papers.html", context, status=form.status)


def _bring(request, form):
    def act(told, by):
        made = actions.bring_in_papers(
            workshop=request.workshop,
            text=form.text,
            columns=form.columns,
            days=told["days"],
            by=by,
            now=clock.now(),
        )
        said = f"{len(made)} older paper{'s are' if len(made) != 1 else ' is'} brought in."
        messages.success(
            request, said if made else "Every paper of this table is here already: nothing changed."
        )
        return reverse("old-papers")

    return act


@doors.staff()
@never_cache
def old_paper(request, certificate):
    """What the older paper says, and what of it still holds."""
    row = _one(request, certificate)
    revision = row.current()
    facts = read_facts(revision.facts)
    values = private_values(facts)
    cover = cover_of(row.vehicle, today=_today(request.workshop))
    context = {
        "here": "cars",
        "certificate": row,
        "revision": revision,
        "facts": facts,
        "lines": [(line, cover.last_day(line)) for line in revision.cover.all()],
        "owner": values.get((facts["customer"]["name"] or {}).get("private"), ""),
        "drawing": covered_sheet(facts, request.workshop, size="medium", width=SHEET_PX),
        "may_withdraw": may(request.person, "withdraw", roles=roles_of(request.workshop))
        and not revision.withdrawn_at,
    }
    return page(request, "warranty/old_paper.html", context)


@doors.staff(*doors.OWNER, posts=True)
@never_cache
def withdraw_old(request, certificate):
    row = _one(request, certificate)
    form = WithdrawForm(request.POST or None)

    def act(told, by):
        actions.withdraw(certificate=row, why=told["why"], by=by, now=clock.now())
        messages.success(request, f"Certificate {row.number} is withdrawn. Its page says so from now on.")
        return reverse("old-paper", args=[row.pk])

    def prove(told):
        return pins.prove(request.person, told["pin"], now=clock.now(), tablet=request.tablet)

    if request.method == "POST" and (done := settle(request, form, act, prove=prove)):
        return done
    context = {"here": "cars", "certificate": row, "form": form}
    return page(request, "warranty/withdraw_old.html", context, status=form.status)


def _one(request, pk: int) -> Certificate:
    return get_object_or_404(Certificate.objects.brought_in(request.workshop), pk=pk)


def _today(workshop):
    return clock.now().astimezone(ZoneInfo(workshop.zone)).date()
