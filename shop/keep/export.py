"""A car's file as a folder that opens anywhere, without network and without this program, and checks itself.

Written into a folder of another name and renamed when it is whole, so that one cut off is never taken for one.
"""

import json
import shutil
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

from django.conf import settings
from django.template.loader import render_to_string

from shop import store
from shop.intake.models import Job
from shop.keep import book as books
from shop.keep import program, verify_folder
from shop.keep.export_rows import Rows
from shop.keep.names import references
from shop.keep.writing import UNFINISHED, make_folder, sync_folder, write_whole
from shop.photos.views import ENDINGS
from shop.record.chain import instant
from shop.record.models import Book, Entry, Private
from shop.warranty.models import Revision
from shop.warranty.shown import read_facts, shown
from shop.warranty.shown import references as references_in_facts

FORMAT = 1
SHEETS = (
    "fonts", "tokens", "type", "base", "columns", "parts", "facts", "lists", "sheet", "keep", "export"
)  # fmt: skip


class Taken(Exception):
    """There is something at the place the folder should go."""


def export(job: Job, to: Path, *, now: datetime) -> dict[str, Any]:
    """Write the folder; its manifest. Taken where anything is there already."""
    if to.exists() and (not to.is_dir() or any(to.iterdir())):
        raise Taken(f"{to} is there already, with something in it.")
    half = to.with_name(f"{UNFINISHED}{to.name}")
    shutil.rmtree(half, ignore_errors=True)
    make_folder(half)
    try:
        manifest = _Folder(job, half, now).write()
    except BaseException:
        shutil.rmtree(half, ignore_errors=True)
        raise
    if to.exists():
        to.rmdir()
    half.rename(to)
    sync_folder(to.parent)
    return manifest


class _Folder:
    def __init__(self, job: Job, root: Path, now: datetime) -> None:
        self.job, self.root, self.now = job, root, now
        self.language = job.workshop.language
        self.files: dict[str, dict[str, Any]] = {}
        self.missing: list[str] = []
        self.rows = Rows(job, self.language)
        self.book = Book.objects.select_related("workshop", "job").get(job=job)
        self.book.job = job
        self.entries = list(Entry.objects.of(self.book).with_people())

    def write(self) -> dict[str, Any]:
        shots, revisions = self.rows.shots(), self.rows.revisions()
        for shot in shots:
            self._photo(shot)
        papers = [self._paper(revision) for revision in revisions]
        self._put("book.json", _json(self._told_book()))
        self._put("values.json", _json(self._values(revisions)))
        self._put("verify.py", Path(verify_folder.__file__).read_bytes())
        self._style()
        self._put("index.html", self._page(shots, revisions).encode())
        manifest = {
            "bayproof_export": FORMAT,
            "job": self.job.number,
            "made_at": instant(self.now),
            "program": {"version": program.version(), "revision": program.revision()},
            "book": {"length": self.book.length, "head": self.book.head},
            "papers": papers,
            "missing": sorted(set(self.missing)),
            "files": self.files,
        }
        data = _json(manifest)
        write_whole(self.root / verify_folder.MANIFEST, data, mode=0o644)
        seal = f"{sha256(data).hexdigest()}  {verify_folder.MANIFEST}\n"
        write_whole(self.root / verify_folder.SEAL, seal.encode(), mode=0o644)
        return manifest

    def _put(self, name: str, data: bytes) -> None:
        write_whole(self.root / name, data, mode=0o644)
        self.files[name] = {"sha256": sha256(data).hexdigest(), "size": len(data)}

    def _photo(self, shot) -> None:
        """The bytes as they came, and the small picture for the page."""
        photo = shot.photo
        shot.original = f"photos/original/{photo.sha256}.{ENDINGS.get(photo.type, 'bin')}"
        shot.small = f"photos/print/{photo.sha256}.jpg"
        for name, variant in ((shot.original, store.ORIGINAL), (shot.small, store.PRINT)):
            try:
                self._put(name, store.open_bytes(photo.sha256, variant))
            except store.Missing:
                self.missing.append(photo.sha256)
        shot.here = shot.original in self.files

    def _paper(self, revision: Revision) -> dict[str, Any]:
        name = f"{revision.certificate.number}-{revision.n}"
        facts, pdf = f"papers/{name}.json", f"papers/{name}.pdf"
        self._put(facts, revision.facts.encode())
        if revision.pdf_sha256:
            try:
                self._put(pdf, store.open_pdf(revision.pdf_sha256))
            except store.Missing:
                self.missing.append(revision.pdf_sha256)
        revision.file = pdf if pdf in self.files else ""
        return {
            "number": revision.certificate.number,
            "revision": revision.n,
            "entry": revision.entry.number,
            "facts": facts,
            "pdf": revision.file,
            "pdf_sha256": revision.pdf_sha256,
        }

    def _told_book(self) -> dict[str, Any]:
        return {
            "length": self.book.length,
            "head": self.book.head,
            "entries": [
                {
                    "book": entry.book_id,
                    "number": entry.number,
                    "received_at": instant(entry.received_at),
                    "happened_at": instant(entry.happened_at),
                    "device_at": instant(entry.device_at) if entry.device_at else None,
                    "sure": entry.sure,
                    "person": entry.person_id,
                    "proven": entry.proven,
                    "tablet": entry.tablet_id,
                    "verb": entry.verb,
                    "schema": entry.schema,
                    "body": entry.body,
                    "body_digest": entry.body_digest,
                    "previous": entry.previous,
                    "digest": entry.digest,
                }
                for entry in self.entries
            ],
        }

    def _values(self, revisions: list[Revision]) -> dict[str, dict[str, str]]:
        """What the book and the papers hold by reference only, so that here it can be compared."""
        wanted = set(references(entry.body for entry in self.entries))
        for revision in revisions:
            wanted |= set(references_in_facts(read_facts(revision.facts)))
        rows = Private.objects.filter(pk__in=wanted, erased_at__isnull=True).order_by("pk")
        return {str(row.pk): {"salt": row.salt, "value": row.value} for row in rows}

    def _style(self) -> None:
        css = settings.BASE_DIR / "static" / "css"
        text = "\n".join((css / f"{name}.css").read_text(encoding="utf-8") for name in SHEETS)
        self._put("style.css", text.replace("../fonts/", "fonts/").encode())
        for font in sorted((settings.BASE_DIR / "static" / "fonts").iterdir()):
            self._put(f"fonts/{font.name}", font.read_bytes())

    def _page(self, shots, revisions: list[Revision]) -> str:
        last = revisions[-1] if revisions else None
        context = {
            "job": self.job,
            "workshop": self.job.workshop,
            "zone": self.job.workshop.zone,
            "made_at": self.now,
            "book": self.book,
            "rows": books.shown(self.entries, self.book, values=True, language=self.language),
            "films": self.rows.films(),
            "signings": self.rows.signings(),
            "found": self.rows.found(),
            "defects": self.rows.defects(),
            "shots": shots,
            "revisions": revisions,
            "paper": shown(read_facts(last.facts)) if last else None,
            "plan": self.rows.plan_title(),
            "program": program.in_words(),
        }
        return render_to_string("keep/export.html", context)


def _json(value: Any) -> bytes:
    return json.dumps(value, ensure_ascii=False, indent=1).encode()


def find_job(text: str) -> Job | None:
    """A job by its number, or by the id it has here."""
    jobs = Job.objects.for_page()
    found = list(jobs.filter(number=text)[:2])
    if len(found) == 1:
        return found[0]
    return jobs.filter(pk=int(text)).first() if text.isdecimal() and len(text) < 19 else None
