"""Publishing documents. A published text never changes: new words are a new version."""

from django.db import transaction

from shop.documents import built_in
from shop.documents.check import faults
from shop.documents.digest import digest
from shop.documents.models import Document
from shop.documents.rights import must_be_allowed, roles_of
from shop.people.identity import By
from shop.reasons import Reason, Refused
from shop.record.actions import write

__all__ = ["adopt_built_ins", "roles_of"]


@transaction.atomic
def adopt_built_ins(*, workshop, by: By, now) -> list[Document]:
    """Publish the documents that come with the program, as far as this workshop does not have them yet.

    Jobs keep the version they began with; an earlier version of the same name is retired for new ones.
    """
    must_be_allowed(by, "publish_document", workshop=workshop)
    fresh = [row for path in built_in.files() if (row := _publish(workshop, built_in.read(path), now))]
    if fresh:
        told = [
            {"kind": row.kind, "name": row.name, "version": row.version, "digest": row.digest}
            for row in fresh
        ]
        write(workshop=workshop, verb="adopt_built_ins", body={"documents": told}, by=by, now=now)
    return fresh


def _publish(workshop, body: dict, now) -> Document | None:
    """The new row, or None where this very text is already there. Refused for a text nobody could obey."""
    wrong = faults(body)
    if wrong:
        name = body.get("name", "?")
        raise Refused([Reason("document_faulty", f"{name}: {sentence}") for sentence in wrong])
    same = {"workshop": workshop, "kind": body["kind"], "name": body["name"]}
    print_of_it = digest(body)
    there = Document.objects.filter(**same, version=body["version"]).first()
    if there:
        if there.digest != print_of_it:
            raise Refused(_taken(body))
        return None
    Document.objects.filter(**same, retired_at__isnull=True).update(retired_at=now)
    return Document.objects.create(
        **same, version=body["version"], body=body, digest=print_of_it, published_at=now
    )


def _taken(body: dict) -> Reason:
    return Reason(
        "document_version_taken",
        f"{body['kind']} “{body['name']}” already has a version {body['version']} with other words: "
        "a new text needs a new version.",
    )
