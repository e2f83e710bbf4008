"""Every document of the shop: the list, one read in words, and what differs between two versions."""

from django.shortcuts import get_object_or_404
from django.utils.module_loading import import_string

from shop.documents import drafts, reading
from shop.documents.compare import differences
from shop.documents.figures import Reader
from shop.documents.models import ONE_OF_A_KIND, Document
from shop.documents.spoken import spoken
from shop.pages import page
from shop.people.doors import staff

HERE = {"here": "shop"}
# What a paper made under a document would still lack in this place: a later room says it, `(body, workshop)`.
LACKING = {"terms": "shop.warranty.lacking.of_terms"}


@staff()
def documents(request):
    """By kind: what is in force, what is being drafted, what is over."""
    rows = list(Document.objects.for_list(request.workshop))
    kinds = [(kind.label, _in_groups([row for row in rows if row.kind == kind])) for kind in Document.Kind]
    context = {"kinds": kinds, "owner": request.person.has("owner")}
    return page(request, "documents/documents.html", HERE | context)


@staff()
def document(request, document):
    row = document_of(request, document)
    found = drafts.all_faults(row.text) if row.is_draft else []
    body = drafts.looked_at(row.text).body if row.is_draft else row.body
    reader = Reader(request.workshop.language, request.workshop.unit_system)
    context = {
        "document": row,
        "title": reader.say(body.get("title") or row.name),
        "note": reader.say(body.get("note") or ""),
        "sections": [] if found else reading.sections(body, reader),
        "faults": found,
        "versions": Document.objects.versions_of(row),
        "in_force": in_force_beside(row),
        "lacking": None if found else lacking(row, body),
        "owner": request.person.has("owner"),
    }
    return page(request, "documents/document.html", HERE | context)


@staff()
def compare(request, document):
    """This version against the one in force, or against `?with=` another of its kind."""
    row = document_of(request, document)
    others = Document.objects.of_kind(row).exclude(pk=row.pk)
    wanted = request.GET.get("with", "")
    other = (
        get_object_or_404(others, pk=int(wanted))
        if wanted.isdecimal() and len(wanted) < 18
        else in_force_beside(row)
    )
    context = {
        "document": row,
        "other": other,
        "others": others.defer("body", "text"),
        "differences": changes(request, body_of(other), body_of(row)) if other else [],
    }
    return page(request, "documents/compare.html", HERE | context)


def document_of(request, pk: int) -> Document:
    return get_object_or_404(Document, pk=pk, workshop=request.workshop)


def changes(request, before: dict, after: dict) -> list[tuple[str, str]]:
    reader = Reader(request.workshop.language, request.workshop.unit_system)
    return spoken(differences(before, after), reader)


def body_of(row: Document) -> dict:
    return drafts.looked_at(row.text).body if row.is_draft else row.body


def in_force_beside(row: Document) -> Document | None:
    """The version this one would take the place of, or did, or was replaced by; None where it stands alone."""
    found = Document.objects.published(row.workshop, row.kind).exclude(pk=row.pk)
    same = found.filter(name=row.name).first()
    return same or (found.first() if row.kind in ONE_OF_A_KIND else None)


def lacking(row: Document, body: dict):
    """`{place, sentences, note}` for a document of this kind in the shop's place; None where nothing is asked."""
    asks = LACKING.get(row.kind)
    return import_string(asks)(body, row.workshop) if asks else None


def _in_groups(rows: list[Document]) -> list[list[Document]]:
    """What is in force and then the drafts; what is over."""
    live = [row for row in rows if row.published_at and not row.retired_at]
    drafted = [row for row in rows if row.is_draft]
    return [group for group in (live + drafted, [row for row in rows if row.retired_at]) if group]
