#!/usr/bin/env python3
"""Checks this folder: every file against its digest, the record book link by link, the papers against the book.

Needs Python 3.9 or later and nothing else:  python3 -I verify.py
Exit 0 when everything is as it was written, 1 when anything is not; each thing that is wrong has a line.
It reads what the folder says of itself. Compare the head of the book with the one printed on the certificate, and
take this program from somebody you trust: a folder made up as a whole can only be told by those.
"""

import hashlib
import json
import sys
from pathlib import Path

MANIFEST, SEAL, BOOK, VALUES = "manifest.json", "manifest.sha256", "book.json", "values.json"
COLUMNS = (
    "book", "number", "received_at", "happened_at", "device_at", "sure", "person", "proven", "tablet", "verb",
    "schema", "body_digest", "previous",
)  # fmt: skip


def digest(data):
    return hashlib.sha256(data).hexdigest()


def canonical(value):
    """RFC 8785 for what stands in the book: whole numbers, texts, yes and no, nothing."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()


class Folder:
    def __init__(self, root):
        self.root = root
        self.wrong = []
        self.checked = 0

    def say(self, text):
        self.wrong.append(text)

    def read(self, name):
        return json.loads((self.root / name).read_bytes())

    def check(self):
        manifest = self.manifest()
        if manifest is None:
            return self
        self.files(manifest)
        for step in (self.book, self.values, self.papers, self.photos):
            try:
                step(manifest)
            except (OSError, ValueError, KeyError, TypeError, AttributeError) as fault:
                self.say(f"{step.__name__}: cannot be read ({fault}).")
        return self

    def manifest(self):
        """The list of files, itself sealed by its digest."""
        try:
            data = (self.root / MANIFEST).read_bytes()
            if (self.root / SEAL).read_bytes() != f"{digest(data)}  {MANIFEST}\n".encode():
                self.say(f"{MANIFEST} does not have the digest in {SEAL}: one of them was changed.")
            return json.loads(data)
        except (OSError, ValueError) as fault:
            self.say(f"{MANIFEST} cannot be read ({fault}).")
            return None

    def files(self, manifest):
        listed = manifest["files"]
        for name, told in sorted(listed.items()):
            self.checked += 1
            path = self.root / name
            if not path.is_file():
                self.say(f"{name} is missing.")
            elif digest(path.read_bytes()) != told["sha256"]:
                self.say(f"{name} was changed: its digest does not fit.")
        here = {p.relative_to(self.root).as_posix() for p in self.root.rglob("*") if p.is_file()}
        for name in sorted(here - set(listed) - {MANIFEST, SEAL}):
            self.say(f"{name} does not belong to this folder.")

    def book(self, manifest):
        told = self.read(BOOK)
        previous = ""
        for count, entry in enumerate(told["entries"], start=1):
            self.checked += 1
            number = entry["number"]
            if number != count:
                self.say(f"Entry {count} of the book is missing.")
                return
            if digest(entry["body"].encode()) != entry["body_digest"]:
                self.say(f"Entry {number}: its content was changed.")
            if entry["previous"] != previous:
                self.say(f"Entry {number} does not follow from the one before it.")
            if digest(canonical({name: entry[name] for name in COLUMNS})) != entry["digest"]:
                self.say(f"Entry {number} was changed: its digest does not fit.")
            previous = entry["digest"]
        if (told["length"], told["head"]) != (len(told["entries"]), previous):
            self.say("The book does not end with the entry it says it ends with.")
        if manifest["book"] != {"length": told["length"], "head": told["head"]}:
            self.say("The book is not the one this folder was made with.")

    def values(self, manifest):
        """Values about people against the promise in the book; those left out or erased cannot be compared."""
        values = self.read(VALUES)
        bodies = [json.loads(entry["body"]) for entry in self.read(BOOK)["entries"]]
        facts = [json.loads((self.root / paper["facts"]).read_bytes()) for paper in manifest["papers"]]
        for told in told_values([bodies, facts]):
            kept = values.get(str(told["private"]))
            if kept is not None:
                self.checked += 1
                if digest((kept["salt"] + kept["value"]).encode()) != told["commit"]:
                    self.say(f"Value {told['private']} is not the one the book was promised.")

    def papers(self, manifest):
        entries = {entry["number"]: entry for entry in self.read(BOOK)["entries"]}
        for paper in manifest["papers"]:
            self.checked += 1
            name = f"Certificate {paper['number']}, revision {paper['revision']}"
            facts = (self.root / paper["facts"]).read_bytes()
            issued = json.loads(entries[paper["entry"]]["body"])
            if digest(facts) != issued["facts_digest"]:
                self.say(f"{name}: its facts are not those the book issued.")
            head = json.loads(facts)["book"]
            if entries[head["number"]]["digest"] != head["head"]:
                self.say(f"{name}: the head it names is not entry {head['number']} of this book.")
            if paper["pdf"] and digest((self.root / paper["pdf"]).read_bytes()) != paper["pdf_sha256"]:
                self.say(f"{name}: the paper is not the one that was printed.")

    def photos(self, manifest):
        """Every photo the book names as proof: here with those bytes, or listed as missing."""
        here = {Path(name).stem for name in manifest["files"] if name.startswith("photos/original/")}
        for entry in self.read(BOOK)["entries"]:
            if entry["verb"] == "keep_photo":
                self.checked += 1
                sha256 = json.loads(entry["body"])["sha256"]
                if sha256 not in here and sha256 not in manifest["missing"]:
                    self.say(f"Entry {entry['number']} names photo {sha256[:12]}, which is not here.")
        for name in manifest["files"]:
            if (
                name.startswith("photos/original/")
                and digest((self.root / name).read_bytes()) != Path(name).stem
            ):
                self.say(f"{name} is not the photo its name says.")


def told_values(value):
    if isinstance(value, dict):
        if set(value) == {"private", "commit"}:
            yield value
        for inner in value.values():
            yield from told_values(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from told_values(inner)


def main():
    folder = Folder(Path(__file__).resolve().parent).check()
    for text in folder.wrong:
        sys.stdout.write(f"{text}\n")
    if folder.wrong:
        sys.stdout.write(f"{len(folder.wrong)} wrong.\n")
        return 1
    book = folder.read(MANIFEST)["book"]
    sys.stdout.write(f"{folder.checked} things looked at, all as they were written.\n")
    sys.stdout.write(f"The book ends with entry {book['length']}, head {book['head']}.\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
