"""The owner's desk for documents: draft from one that is there, edit, publish, retire."""

from django.contrib import messages
from django.http import Http404
from django.urls import reverse
from django.views.decorators.cache import never_cache

from shop import clock
from shop.documents import actions, drafts, film_form, toml
from shop.documents.forms import CopyForm, ProvenForm, PublishForm, TextForm
from shop.documents.models import Document
from shop.documents.views_documents import HERE, changes, document_of, in_force_beside, lacking
from shop.pages import page
from shop.people.desk import settle
from shop.people.doors import OWNER, staff
from shop.people.proof import prover

SPARE_LINES = 6


@staff(*OWNER, posts=True)
@never_cache
def copy(request, document):
    """A new draft with the same words."""
    row = document_of(request, document)
    form = CopyForm(request.POST or None, initial={"name": row.name, "version": drafts.next_version(row)})

    def act(told, by):
        text = drafts.copied(row, name=told["name"], version=told["version"])
        draft = actions.save_draft(workshop=request.workshop, text=text, by=by, now=clock.now())
        return reverse("document-edit", args=[draft.pk])

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    return page(request, "documents/copy.html", HERE | {"document": row, "form": form}, status=form.status)


@staff(*OWNER, posts=True)
@never_cache
def edit(request, document):
    """A draft as text; a film sheet as a form, unless `?as=text` asks for the text."""
    row = _draft(request, document)
    body = drafts.looked_at(row.text).body
    if row.kind == Document.Kind.FILM and request.GET.get("as") != "text" and film_form.fits(body):
        return _edit_sheet(request, row, body)
    form = TextForm(request.POST or None, initial={"text": row.text})

    def act(told, by):
        actions.save_draft(workshop=request.workshop, text=told["text"], document=row, by=by, now=clock.now())
        messages.success(request, "The draft is kept.")
        return request.get_full_path()

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    text = form["text"].value() or ""
    lines = text.count("\n") + 1
    form.fields["text"].widget.attrs["rows"] = lines + SPARE_LINES
    context = {
        "document": row,
        "form": form,
        "faults": drafts.all_faults(text)[: drafts.FIRST_SHOWN],
        "numbers": range(1, lines + SPARE_LINES + 1),
        "reasons": [reason for reason in form.reasons if reason["code"] != "document_faulty"],
    }
    return page(request, "documents/edit.html", HERE | context, status=form.status)


def _edit_sheet(request, row, body):
    system = request.workshop.unit_system
    form = film_form.FilmSheetForm(request.POST or None, body=body, system=system)

    def act(told, by):
        text = toml.written(form.new_body())
        actions.save_draft(workshop=request.workshop, text=text, document=row, by=by, now=clock.now())
        messages.success(request, "The draft is kept.")
        return request.get_full_path()

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    context = {"document": row, "form": form, "faults": drafts.all_faults(row.text)}
    return page(request, "documents/film_sheet.html", HERE | context, status=form.status)


@staff(*OWNER, posts=True)
@never_cache
def publish(request, document):
    """What would change, what a paper would still lack, and the owner's word for it."""
    row = _draft(request, document)
    form = PublishForm(request.POST or None, initial={"seen": actions.text_digest(row.text)})

    def act(told, by):
        actions.publish_document(document=row, seen=told["seen"], by=by, now=clock.now())
        messages.success(
            request, f"{row.get_kind_display()} {row} is in force. What began before keeps its version."
        )
        return reverse("document", args=[row.pk])

    if request.method == "POST" and (done := settle(request, form, act, prove=prover(request))):
        return done
    faults = drafts.faults_to_publish(row)
    body, before = drafts.looked_at(row.text).body, in_force_beside(row)
    context = {
        "document": row,
        "form": form,
        "faults": faults,
        "before": before,
        "differences": changes(request, before.body, body) if before else [],
        "lacking": None if faults else lacking(row, body),
    }
    return page(request, "documents/publish.html", HERE | context, status=form.status)


@staff(*OWNER, posts=True)
@never_cache
def retire(request, document):
    row = document_of(request, document)
    form = ProvenForm(request.POST or None)

    def act(told, by):
        actions.retire_document(document=row, by=by, now=clock.now())
        messages.success(request, f"{row} is {'thrown away' if row.is_draft else 'retired'}.")
        return reverse("documents")

    if request.method == "POST" and (done := settle(request, form, act, prove=prover(request))):
        return done
    return page(request, "documents/retire.html", HERE | {"document": row, "form": form}, status=form.status)


def _draft(request, pk: int) -> Document:
    row = document_of(request, pk)
    if not row.is_draft:
        raise Http404("No draft.")
    return row
