"""Drafting, publishing and retiring documents. A published text never changes: new words are a new version."""

from hashlib import sha256

from django.db import transaction

from shop.documents import built_in
from shop.documents.check import faults
from shop.documents.digest import digest
from shop.documents.drafts import FIRST_SHOWN, faults_to_publish, looked_at
from shop.documents.models import ONE_OF_A_KIND, Document
from shop.documents.rights import must_be_allowed, roles_of
from shop.people.identity import By, Proven, must_be_proven
from shop.people.models import Workshop
from shop.reasons import Reason, Refused
from shop.record.actions import write

__all__ = ["adopt_built_ins", "publish_document", "retire_document", "roles_of", "save_draft"]


@transaction.atomic
def adopt_built_ins(*, workshop, by: By, now) -> list[Document]:
    """Publish the documents that come with the program, as far as this workshop does not have them yet.

    Jobs keep the version they began with; an earlier version of the same name is retired for new ones.
    """
    must_be_allowed(by, "adopt_built_ins", workshop=workshop)
    fresh = [row for path in built_in.files() if (row := _adopt(workshop, path, now))]
    if fresh:
        write(
            workshop=workshop,
            verb="adopt_built_ins",
            body={"documents": [_told(row) for row in fresh]},
            by=by,
            now=now,
        )
    return fresh


@transaction.atomic
def save_draft(*, workshop, text: str, document: Document | None = None, by: By, now) -> Document:
    """Keep a text as a draft: a new one, or `document` with other words. Nothing obeys a draft.

    The text itself says kind, name and version. It may still be faulty, but it has to be readable so far.
    """
    must_be_allowed(by, "save_draft", workshop=workshop)
    _held(workshop)
    text = text.replace("\r\n", "\n")
    row = _draft_of(document, workshop) if document else Document(workshop=workshop)
    head = looked_at(text).head_or_refused()
    if document and head.kind != row.kind:
        raise Refused(
            Reason("document_frozen", f"This draft is a {row.kind}, and its text says {head.kind}.")
        )
    taken = Document.objects.filter(workshop=workshop, **head.as_columns()).exclude(pk=row.pk)
    if taken.exists():
        raise Refused(_taken(head.kind, head.name, head.version))
    row.kind, row.name, row.version, row.text = head.kind, head.name, head.version, text
    row.save()
    body = {"document": row.pk, **head.as_columns(), "text": text_digest(text)}
    write(workshop=workshop, verb="save_draft", body=body, by=by, now=now)
    return row


@transaction.atomic
def publish_document(*, document: Document, seen: str = "", by: Proven, now) -> Document:
    """Freeze a draft and obey it from now on. What began under an earlier version keeps that version.

    `seen`: the digest of the text that was read before publishing; refused where somebody changed it since.
    """
    must_be_proven(by)
    must_be_allowed(by, "publish_document", workshop=document.workshop)
    _held(document.workshop)
    row = _draft_of(document, document.workshop)
    if seen and seen != text_digest(row.text):
        raise Refused(
            Reason("screen_changed", "The draft was changed since this page was opened. Read it again.")
        )
    wrong = faults_to_publish(row)
    if wrong:
        raise Refused([Reason("document_faulty", fault.text) for fault in wrong[:FIRST_SHOWN]])
    before = _before(row)
    row.body = looked_at(row.text).body
    row.digest, row.published_at = digest(row.body), now
    before.update(retired_at=now)
    row.save()
    write(workshop=row.workshop, verb="publish_document", body={"document": _told(row)}, by=by, now=now)
    return row


@transaction.atomic
def retire_document(*, document: Document, by: Proven, now) -> Document:
    """Let nothing new begin under a document; a draft is thrown away. Refused where work could not go on without."""
    must_be_proven(by)
    must_be_allowed(by, "retire_document", workshop=document.workshop)
    _held(document.workshop)
    row = Document.objects.select_for_update(no_key=True).get(pk=document.pk)
    if row.retired_at:
        raise Refused(Reason("document_frozen", f"{row} is retired already."))
    if not row.is_draft and _is_last(row):
        kind = row.get_kind_display().lower()
        text = f"This is the only {kind} in force here. Publish another one first: it takes the place of this one."
        raise Refused(Reason("document_needed", text))
    body = {"document": _told(row), "draft": row.is_draft}
    write(workshop=row.workshop, verb="retire_document", body=body, by=by, now=now)
    if row.is_draft:
        row.delete()
    else:
        row.retired_at = now
        row.save(update_fields=["retired_at"])
    return row


def text_digest(text: str) -> str:
    return sha256(text.encode()).hexdigest()


def _adopt(workshop, path, now) -> Document | None:
    """The new row, or None where this very text is already there. Refused for a text nobody could obey."""
    body = built_in.read(path)
    wrong = faults(body)
    if wrong:
        name = body.get("name", "?")
        raise Refused([Reason("document_faulty", f"{name}: {sentence}") for sentence in wrong])
    same = {"workshop": workshop, "kind": body["kind"], "name": body["name"]}
    print_of_it = digest(body)
    there = Document.objects.filter(**same, version=body["version"]).first()
    if there:
        if there.digest != print_of_it:
            raise Refused(_taken(body["kind"], body["name"], body["version"]))
        return None
    Document.objects.filter(**same, published_at__isnull=False, retired_at__isnull=True).update(
        retired_at=now
    )
    return Document.objects.create(
        **same, version=body["version"], body=body, digest=print_of_it, published_at=now
    )


def _draft_of(document: Document, workshop) -> Document:
    """The draft, locked. A published document is never written again."""
    row = Document.objects.select_for_update(no_key=True).get(pk=document.pk)
    if row.workshop_id != workshop.pk:
        raise Refused(Reason("other_workshop", "That belongs to another workshop."))
    if not row.is_draft:
        text = f"{row} is published, and a published text never changes. Make a draft from it."
        raise Refused(Reason("document_frozen", text))
    return row


def _before(row: Document):
    """What this version takes the place of: the same name, or whatever of its kind where there is only one."""
    rows = Document.objects.filter(workshop=row.workshop, kind=row.kind, published_at__isnull=False)
    rows = rows.filter(retired_at__isnull=True).exclude(pk=row.pk)
    return rows if row.kind in ONE_OF_A_KIND else rows.filter(name=row.name)


def _is_last(row: Document) -> bool:
    return not Document.objects.published(row.workshop, row.kind).exclude(pk=row.pk).exists()


def _held(workshop) -> None:
    """Versions are given one after the other."""
    Workshop.objects.select_for_update(no_key=True).get(pk=workshop.pk)


def _told(row: Document) -> dict:
    return {"kind": row.kind, "name": row.name, "version": row.version, "digest": row.digest}


def _taken(kind: str, name: str, version: str) -> Reason:
    return Reason(
        "document_version_taken",
        f"{kind} “{name}” already has a version {version} with other words: a new text needs a new version.",
        where="#version",
    )
