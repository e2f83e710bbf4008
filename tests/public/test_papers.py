"""A file handed in: exactly ours, changed, or unknown."""

import io
import json
from datetime import timedelta

import pikepdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command

from shop import models, printing, store
from shop.people.identity import Proven
from shop.public import papers
from shop.warranty import actions, paper
from shop.warranty import models as certificates
from tests import make_finished

pytestmark = pytest.mark.django_db

NOW = make_finished.HANDED_OVER + timedelta(minutes=10)


@pytest.fixture(scope="module")
def bytes_of_a_paper(django_db_setup, django_db_blocker):
    """Printed once; each test puts the same certificate down again under the token of this one."""
    from django.db import transaction

    with django_db_blocker.unblock(), transaction.atomic():
        done = make_finished.finished_job(panels=(("hood", 1),), with_photos=False)
        revision = actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=NOW)
        data = printing.render(paper.put_together(revision))
        token = revision.certificate.token
        transaction.set_rollback(True)
    return token, data


@pytest.fixture
def done():
    return make_finished.finished_job(panels=(("hood", 1),), with_photos=False)


@pytest.fixture
def revision(done, bytes_of_a_paper, monkeypatch):
    token, data = bytes_of_a_paper
    monkeypatch.setattr(certificates, "new_token", lambda: token)
    revision = actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=NOW)
    revision.pdf_sha256 = store.put_pdf(data)
    revision.save()
    return revision


@pytest.fixture
def data(bytes_of_a_paper) -> bytes:
    return bytes_of_a_paper[1]


def verdict(data: bytes, size: int = 4096) -> papers.Verdict:
    return papers.examine(data[start : start + size] for start in range(0, len(data), size))


def test_ours_unchanged(revision, data):
    found = verdict(data)
    assert (found.code, found.revision) == ("current", revision)


@pytest.mark.parametrize("size", [7, 64, 1 << 20])
def test_the_mark_is_found_across_pieces(revision, data, size):
    assert verdict(data + b"\n", size).code == "changed"


def test_one_changed_byte_anywhere(revision, data):
    for at in range(0, len(data), len(data) // 25):
        changed = bytearray(data)
        changed[at] ^= 1
        found = verdict(bytes(changed))
        assert found.code in ("changed", "unknown")
        assert not found.ours


def test_junk_at_the_end(revision, data):
    found = verdict(data + b"junk")
    assert found.code == "changed"
    assert "26-0001" in found.text


def test_saved_again_by_another_program(revision, data):
    with pikepdf.open(io.BytesIO(data)) as pdf:
        out = io.BytesIO()
        pdf.save(out)
    assert out.getvalue() != data
    assert verdict(out.getvalue()).code == "changed"


def test_replaced(revision, done, data):
    actions.correct(certificate=revision.certificate, reason="Colour.", by=Proven(done.dora, "pin"), now=NOW)
    found = verdict(data)
    assert (found.code, found.revision.n, found.current.n) == ("superseded", 1, 2)
    assert "Revision 2 has taken its place" in found.text


def test_withdrawn(revision, done, data):
    actions.withdraw(certificate=revision.certificate, why="No.", by=Proven(done.petra, "pin"), now=NOW)
    assert verdict(data).code == "withdrawn"


@pytest.mark.parametrize(
    "junk", [b"", b"%PDF-1.7", b"\x00" * 5000, b"<" + b"63" * 90 + b">", b"<" + b"6" * 91 + b">"]
)
def test_not_ours(revision, junk):
    assert verdict(junk).code == "unknown"


def test_a_mark_nobody_gave(revision):
    assert verdict(b"%PDF-1.7 (certificate." + b"0" * 26 + b".1)").code == "unknown"


def test_whatever_goes_wrong_is_not_ours(revision):
    def broken():
        yield b"%PDF-1.7"
        raise OSError("gone")

    assert papers.examine(broken()).code == "unknown"


def test_too_large_is_not_ours(revision, monkeypatch):
    monkeypatch.setattr(papers, "MOST_BYTES", 1000)
    assert verdict(b"x" * 2000).code == "unknown"


def post(client, data: bytes, name="paper.pdf"):
    return client.post("/check/", {"file": SimpleUploadedFile(name, data, "application/pdf")})


def test_handed_in_on_the_page(client, revision, data):
    page = post(client, data)
    assert page.status_code == 200
    assert "Ours, unchanged" in page.content.decode()
    assert f"/check/{revision.certificate.token}/" in page.content.decode()


def test_a_changed_file_on_the_page(client, revision, data):
    assert "Do not rely on it" in post(client, data + b" ").content.decode()


@pytest.mark.parametrize("name", ["paper.pdf", "x" * 300 + ".exe", "../../etc/passwd", "\u202efdp.exe"])
def test_a_strangers_file_is_not_ours_and_not_kept(client, revision, name):
    page = post(client, b"GIF89a whatever", name)
    assert page.status_code == 200
    assert "Not ours" in page.content.decode()
    assert not models.Photo.objects.exists()


def test_no_file_gets_a_sentence(client):
    assert client.post("/check/", {}).status_code == 422
    page = post(client, b"")
    assert page.status_code == 422
    assert "This file is empty." in page.content.decode()


def test_from_the_command_line(revision, data, tmp_path, capsys):
    file = tmp_path / "paper.pdf"
    file.write_bytes(data)
    call_command("verify", str(file), "--json")
    assert json.loads(capsys.readouterr().out) == {
        "ok": True,
        "verdict": "current",
        "text": "This is certificate 26-0001, revision 1, exactly as we printed it.",
        "number": "26-0001",
        "revision": 1,
    }
    file.write_bytes(data + b" ")
    with pytest.raises(SystemExit) as left:
        call_command("verify", str(file))
    assert left.value.code == 1
    assert "Do not rely on it" in capsys.readouterr().out
