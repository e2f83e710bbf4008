"""A car's file as a folder: it opens without network, checks itself with Python alone, and notices one byte."""

import json
import random
import re
import shutil
import subprocess
import sys
from datetime import timedelta
from hashlib import sha256
from html.parser import HTMLParser
from pathlib import Path

import pytest

from shop import store
from shop.keep.export import Taken, export, find_job
from shop.keep.verify_folder import Folder, canonical
from shop.models import Book, Entry, Job, Photo, Revision
from shop.people.identity import Proven
from shop.record import chain


@pytest.fixture(scope="module")
def written(demo_on_disk, tmp_path_factory, django_db_blocker) -> Path:
    copy = demo_on_disk.copy(tmp_path_factory.mktemp("exported") / "data")
    folder = tmp_path_factory.mktemp("file") / "26-0001"
    with copy.opened(django_db_blocker):
        job = find_job(Job.objects.filter(hand_over__isnull=False).get().number)
        export(job, folder, now=Entry.objects.latest("pk").received_at)
    return folder


@pytest.fixture
def folder(written, tmp_path) -> Path:
    shutil.copytree(written, tmp_path / "file")
    return tmp_path / "file"


def verify(folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-I", str(folder / "verify.py")],
        cwd="/",
        env={},
        capture_output=True,
        text=True,
        check=False,
    )


def reseal(folder: Path, **changed) -> None:
    """What somebody would do who wants a change to pass: list and seal made to fit."""
    manifest = json.loads((folder / "manifest.json").read_text()) | changed
    for name, told in manifest["files"].items():
        told["sha256"] = sha256((folder / name).read_bytes()).hexdigest()
    data = json.dumps(manifest).encode()
    (folder / "manifest.json").write_bytes(data)
    (folder / "manifest.sha256").write_text(f"{sha256(data).hexdigest()}  manifest.json\n")


def test_it_checks_itself_with_python_alone(folder):
    done = verify(folder)
    assert (done.returncode, done.stderr) == (0, "")
    assert "all as they were written" in done.stdout
    assert json.loads((folder / "manifest.json").read_text())["book"]["head"] in done.stdout
    assert not list(folder.rglob("__pycache__"))
    sums = subprocess.run(
        ["sha256sum", "-c", "manifest.sha256"], cwd=folder, capture_output=True, check=False
    )
    assert sums.returncode == 0


class Addresses(HTMLParser):
    def __init__(self):
        super().__init__()
        self.found, self.tags, self.attributes = set(), set(), set()

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}
        self.found |= {
            value for name, value in attrs if name in ("href", "src", "srcset", "action", "data") and value
        }


def test_it_opens_without_network_and_every_address_is_in_the_folder(folder):
    page = Addresses()
    page.feed((folder / "index.html").read_text())
    assert {"style.css"} < page.found
    for address in page.found:
        assert not re.match(r"[a-z]+:|//|/", address), address
        assert (folder / address).is_file(), address
    css = (folder / "style.css").read_text()
    for address in re.findall(r"url\(\"?([^)\"]+)", css):
        assert address.startswith("data:") or (folder / address).is_file(), address
    assert "@import" not in css
    assert page.tags.isdisjoint({"script", "iframe", "form", "style"})
    assert page.attributes.isdisjoint({"style", "onclick", "onload"})


def test_the_page_says_what_was_done(folder, written):
    html = " ".join(re.sub(r"<[^>]+>", " ", (folder / "index.html").read_text()).split())
    for words in ("Job 26-0001", "Certificate 26-0001", "Who signed what", "Ready for film", "Marek Nowak", "lot L-",
                  "The record book", "The car came in as job 26-0001", "python3 -I verify.py"):  # fmt: skip
        assert words in html, words
    book = json.loads((folder / "book.json").read_text())
    assert (folder / "index.html").read_text().count('id="entry-') == book["length"] == len(book["entries"])


def test_the_bytes_are_those_of_the_shop(demo_on_disk, tmp_path, django_db_blocker):
    with demo_on_disk.copy(tmp_path / "data").opened(django_db_blocker):
        job = Job.objects.filter(hand_over__isnull=False).get()
        manifest = export(
            find_job(str(job.pk)), tmp_path / "file", now=Entry.objects.latest("pk").received_at
        )
        revision = Revision.objects.get()
        assert (tmp_path / "file" / manifest["papers"][0]["pdf"]).read_bytes() == store.open_pdf(
            revision.pdf_sha256
        )
        originals = sorted((tmp_path / "file" / "photos" / "original").iterdir())
        assert (
            len(originals) == Photo.objects.filter(proves__checklist__fitting__job=job).distinct().count() > 5
        )
        for path in originals:
            assert path.read_bytes() == store.open_bytes(path.stem)
        assert manifest["book"]["head"] == Book.objects.get(job=job).head
        with pytest.raises(Taken):
            export(find_job(job.number), tmp_path / "file", now=job.arrived_at)


def test_one_flipped_byte_anywhere_is_found(folder):
    """Three places in every file, the last byte among them."""
    chance = random.Random(5)
    names = sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file())
    assert len(names) > 30 and Folder(folder).check().wrong == []
    for name in names:
        path = folder / name
        whole = path.read_bytes()
        for at in {0, chance.randrange(len(whole)), len(whole) - 1}:
            path.write_bytes(whole[:at] + bytes([whole[at] ^ (1 << chance.randrange(8))]) + whole[at + 1 :])
            found = Folder(folder).check().wrong
            assert found, f"{name}, byte {at}"
            assert any(name in text for text in found) or name.startswith("manifest"), (name, found)
        path.write_bytes(whole)
    assert Folder(folder).check().wrong == []


def test_a_flipped_byte_ends_with_one_and_names_the_file(folder):
    path = next((folder / "photos" / "original").iterdir())
    whole = path.read_bytes()
    path.write_bytes(whole[:500] + bytes([whole[500] ^ 1]) + whole[501:])
    done = verify(folder)
    assert done.returncode == 1
    assert f"photos/original/{path.name} was changed" in done.stdout


def entries_changed(folder, change):
    told = json.loads((folder / "book.json").read_text())
    change(told)
    (folder / "book.json").write_text(json.dumps(told))


def relinked(told):
    """A whole new chain, as somebody with a program of their own would write it."""
    previous = ""
    for entry in told["entries"]:
        entry["body_digest"] = sha256(entry["body"].encode()).hexdigest()
        entry["previous"] = previous
        columns = {name: value for name, value in entry.items() if name not in ("body", "digest")}
        entry["digest"] = previous = sha256(canonical(columns)).hexdigest()
    told["length"], told["head"] = len(told["entries"]), previous


def body(told):
    entry = next(e for e in told["entries"] if e["verb"] == "answer")
    entry["body"] = entry["body"].replace('"done"', '"na"')


def time_of(told):
    told["entries"][3]["happened_at"] = "2020-01-01T00:00:00.000000Z"


def swapped(told):
    told["entries"][4], told["entries"][5] = told["entries"][5], told["entries"][4]


def cut_off(told):
    told["entries"].pop()


def cut_off_with_its_length(told):
    told["entries"].pop()
    told["length"] -= 1
    told["head"] = told["entries"][-1]["digest"]


def whole_new_chain(told):
    body(told)
    relinked(told)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (body, "its content was changed"),
        (time_of, "Entry 4 was changed"),
        (swapped, "is missing"),
        (cut_off, "does not end with the entry"),
        (cut_off_with_its_length, "not the one this folder was made with"),
        (whole_new_chain, "is not entry"),
    ],
)
def test_a_book_made_to_fit_its_list_is_still_found_out(folder, change, said):
    entries_changed(folder, change)
    manifest = json.loads((folder / "manifest.json").read_text())
    book = json.loads((folder / "book.json").read_text())
    own = change is whole_new_chain  # the list may lie as well: the papers still know the old head
    reseal(
        folder,
        **({"book": {"length": book["length"], "head": book["head"]}} if own else {"book": manifest["book"]}),
    )
    done = verify(folder)
    assert done.returncode == 1
    assert said in done.stdout, done.stdout


@pytest.mark.parametrize(
    ("name", "change", "said"),
    [
        (
            "values.json",
            lambda text: text.replace('"value": "', '"value": "x', 1),
            "is not the one the book was promised",
        ),
        (
            "papers/26-0001-1.json",
            lambda text: text.replace('"months":60', '"months":72'),
            "are not those the book issued",
        ),
    ],
)
def test_values_and_facts_are_held_against_the_book(folder, name, change, said):
    path = folder / name
    before = path.read_text()
    path.write_text(change(before))
    assert path.read_text() != before
    reseal(folder)
    done = verify(folder)
    assert (done.returncode, said in done.stdout) == (1, True), done.stdout


def test_another_photo_under_the_same_name_is_found_out(folder):
    one, other = sorted((folder / "photos" / "original").iterdir())[:2]
    one.write_bytes(other.read_bytes())
    reseal(folder)
    assert "is not the photo its name says" in verify(folder).stdout


@pytest.mark.parametrize("harm", ["missing", "added"])
def test_a_file_too_few_or_too_many(folder, harm):
    if harm == "missing":
        next((folder / "photos" / "print").iterdir()).unlink()
    else:
        (folder / "papers" / "another.pdf").write_text("%PDF")
    done = verify(folder)
    assert done.returncode == 1
    assert ("is missing" if harm == "missing" else "papers/another.pdf does not belong") in done.stdout


def test_its_digests_are_those_of_the_book():
    """The program in the folder spells entries on its own; it has to spell them as the record does."""
    value = {"b": None, "a": [True, 7, 'é\u2028"\\\x01\x7f'], "zz": -(2**53) + 1}
    assert canonical(value) == chain.canonical(value)


def test_after_an_erasure_it_still_proves(demo_on_disk, tmp_path, django_db_blocker):
    from shop.keep.actions import erase_customer
    from shop.models import Person

    with demo_on_disk.copy(tmp_path / "data").opened(django_db_blocker):
        job = Job.objects.filter(hand_over__isnull=False).get()
        name = job.customer.name.value
        now = Entry.objects.latest("pk").received_at + timedelta(hours=1)
        owner = Proven(Person.objects.get(roles__role="owner"), "pin")
        erase_customer(customer=job.customer, why="request", by=owner, now=now)
        manifest = export(find_job(job.number), tmp_path / "file", now=now)
        assert manifest["missing"] == [Revision.objects.get().pdf_sha256]
    assert verify(tmp_path / "file").returncode == 0
    assert not any(
        name.encode() in path.read_bytes() for path in (tmp_path / "file").rglob("*") if path.is_file()
    )


def test_the_command(shop_on_disk, tmp_path):
    done = shop_on_disk.manage("export", "26-0001", str(tmp_path / "file"))
    assert done.returncode == 0, done.stderr
    assert verify(tmp_path / "file").returncode == 0
    assert shop_on_disk.manage("export", "26-0001", str(tmp_path / "file")).returncode == 2
    assert shop_on_disk.manage("export", "26-9999", str(tmp_path / "other")).returncode == 2
    assert not (tmp_path / "other").exists()


def test_a_photo_that_is_gone_is_named_and_the_rest_is_there(shop_on_disk, tmp_path, django_db_blocker):
    with shop_on_disk.opened(django_db_blocker):
        photo = Photo.objects.first()
        store.forget(photo.sha256)
    done = shop_on_disk.manage("export", "26-0001", str(tmp_path / "file"))
    assert done.returncode == 1 and photo.sha256[:12] in done.stderr
    assert verify(tmp_path / "file").returncode == 0
    assert "Its bytes are not there any more" in (tmp_path / "file" / "index.html").read_text()
