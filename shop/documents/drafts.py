"""A draft looked at: what its text holds, everything wrong with it, and the text a new draft begins with."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.utils.module_loading import import_string

from shop.documents import built_in, toml
from shop.documents.check import KINDS, faults
from shop.documents.models import Document
from shop.documents.toml import Fault
from shop.reasons import Reason, Refused

FIRST_SHOWN = 30
"""A text with more faults than this is told the first of them; the rest is mostly their echo."""
# What only a later room can judge, by the kind of document: `(body) -> sentences`.
JUDGED_ELSEWHERE = {"body": "shop.intake.drawable.faults"}
# Without these the owner could not put a roles document right again.
OWNER_KEEPS = ("save_draft", "publish_document", "change_person")
LONGEST_NAME, LONGEST_VERSION = 80, 30


@dataclass(frozen=True)
class Head:
    """What a text says it is."""

    kind: str
    name: str
    version: str

    def as_columns(self) -> dict[str, str]:
        return {"kind": self.kind, "name": self.name, "version": self.version}


@dataclass(frozen=True)
class Looked:
    body: dict[str, Any]
    unreadable: tuple[Fault, ...] = ()

    def head_or_refused(self) -> Head:
        """Kind, name and version, which a draft is kept under."""
        if self.unreadable:
            raise Refused(
                [Reason("document_faulty", fault.text, where=_at(fault)) for fault in self.unreadable]
            )
        kind, name, version = (self.body.get(key) for key in ("kind", "name", "version"))
        wrong = []
        if kind not in KINDS:
            wrong.append(Fault(f"The text should say what it is: kind = one of {', '.join(KINDS)}."))
        if not _is_text(name, LONGEST_NAME) or not re.fullmatch(r"[a-z0-9][a-z0-9-]*", name):
            wrong.append(Fault("The text should have a name of small letters, digits and dashes."))
        if not _is_text(version, LONGEST_VERSION):
            wrong.append(Fault(f"The text should have a version, a text of up to {LONGEST_VERSION} signs."))
        if wrong:
            raise Refused([Reason("document_faulty", fault.text, where="#text") for fault in wrong])
        return Head(kind, name, version)


def looked_at(text: str) -> Looked:
    found = toml.parsed(text)
    return Looked(found.body, found.faults)


def all_faults(text: str) -> list[Fault]:
    """Everything that keeps a text from being obeyed, each with its line."""
    found = toml.parsed(text)
    if found.faults:
        return list(found.faults)
    return _on_lines(text, [*faults(found.body), *_of_roles(found.body), *_judged_elsewhere(found.body)])


def faults_to_publish(row: Document) -> list[Fault]:
    return all_faults(row.text)


def text_of(row: Document) -> str:
    """The document as an owner edits it, with the remarks of whoever wrote it where they are known."""
    if row.text:
        return row.text
    for path in built_in.files():
        if path.stem in (row.name, row.kind) and built_in.read(path) == row.body:
            return path.read_text(encoding="utf-8")
    return toml.written(row.body)


def copied(row: Document, *, name: str, version: str) -> str:
    """The text of a new draft: the same words under another name and version."""
    text = text_of(row)
    for key, value in (("name", name), ("version", version)):
        quoted = value.replace("\\", "\\\\").replace('"', '\\"')
        text = re.sub(
            rf"^{key}\s*=.*$",
            lambda found, said=f'{key} = "{quoted}"': said,
            text,
            count=1,
            flags=re.MULTILINE,
        )
    return text


def next_version(row: Document) -> str:
    """The next whole number no version of this name has; a version that is no number counts on from 1."""
    taken = set(
        Document.objects.filter(workshop=row.workshop, kind=row.kind, name=row.name).values_list(
            "version", flat=True
        )
    )
    number = max((int(version) for version in taken if version.isdecimal() and len(version) < 9), default=0)
    return str(number + 1)


def _on_lines(text: str, sentences: Iterable[str]) -> list[Fault]:
    lines = toml.Lines(text)
    return [Fault(sentence, lines.of(sentence.partition(": ")[0])) for sentence in sentences]


def _of_roles(body: dict[str, Any]) -> list[str]:
    """A roles document that leaves out what the program asks for, or shuts the owner out."""
    if body.get("kind") != "roles" or faults(body):
        return []
    usual = built_in.roles()
    found = [
        f"{part}.{code}: is missing; the program asks for it."
        for part in ("verbs", "reasons")
        for code in usual[part]
        if code not in body[part]
    ]
    return found + [
        f"verbs.{verb}.roles: the owner has to be among them, or nobody could put this right again."
        for verb in OWNER_KEEPS
        if "owner" not in body["verbs"].get(verb, {}).get("roles", ("owner",))
    ]


def _judged_elsewhere(body: dict[str, Any]) -> list[str]:
    judge = JUDGED_ELSEWHERE.get(str(body.get("kind")))
    return import_string(judge)(body) if judge and not faults(body) else []


def _at(fault: Fault) -> str:
    return f"#L{fault.line}" if fault.line else "#text"


def _is_text(value: Any, longest: int) -> bool:
    return isinstance(value, str) and len(value.strip()) > 0 and len(value) <= longest
