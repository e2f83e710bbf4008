"""Proof of the demo's shop: green as it was told, red at every single thing changed behind its back."""

import json
import os
from contextlib import contextmanager
from pathlib import Path

import pytest
from django.db import connection, transaction

from shop import folder, models, store
from shop.keep import checks
from shop.keep.prove import prove
from shop.record import triggers


@pytest.fixture(scope="module", autouse=True)
def shop(demo_on_disk, tmp_path_factory, django_db_blocker):
    copy = demo_on_disk.copy(tmp_path_factory.mktemp("proved") / "data")
    with copy.opened(django_db_blocker):
        yield copy


@contextmanager
def undone():
    """Whatever is done to the rows inside is rolled back, the triggers that were dropped among it."""
    try:
        with transaction.atomic():
            triggers.drop()
            yield
            raise ZeroDivisionError
    except ZeroDivisionError:
        pass


def sql(text, *values):
    with connection.cursor() as cursor:
        cursor.execute(text, values)
        assert cursor.rowcount, f"nothing changed by {text}"


def wrong() -> dict[str, list[dict]]:
    """What is wrong by check, the dropped triggers aside: every fault here had to take them away first."""
    told = prove()
    found = {check["name"]: check["wrong"] for check in told["checks"] if check["wrong"]}
    assert told["ok"] == (not found)
    found.pop("triggers", None)
    return found


def entry(verb, nth=0):
    return models.Entry.objects.filter(verb=verb).order_by("pk")[nth]


# ------------------------------------------------------------------ green


def test_the_demo_proves(shop):
    told = prove()
    assert told["ok"], [wrong for check in told["checks"] for wrong in check["wrong"]]
    looked = {check["name"]: check["checked"] for check in told["checks"]}
    assert looked["entries"] == models.Entry.objects.count() > 100
    assert looked["photos"] == 3 * models.Photo.objects.count()
    assert looked["outcomes"] == models.Outcome.objects.count()
    for name in ("triggers", "books", "private values", "documents", "sign-offs", "photos as proof", "cover lines",
                 "certificates", "printed papers", "consents"):  # fmt: skip
        assert looked[name] > 0, name


def test_progress_is_told(monkeypatch):
    monkeypatch.setattr(checks, "EVERY", 10)
    heard = []
    prove(tell=lambda name, checked: heard.append((name, checked)))
    assert {("entries", 10), ("entries", 110), ("outcomes", 70), ("photos", 30)} <= set(heard)


# ------------------------------------------------------------------ rows


def row_changed():
    row = entry("answer", 3)
    sql("UPDATE shop_entry SET body = replace(body, 'done', 'wrong') WHERE id = %s", row.pk)
    return "entries", row.pk, f"The content of entry {row.number} was changed"


def row_changed_with_its_digest():
    row = entry("take_in")
    sql("UPDATE shop_entry SET body_digest = %s WHERE id = %s", "0" * 64, row.pk)
    return "entries", row.pk, f"The content of entry {row.number} was changed"


def who_changed():
    row = entry("answer")
    sql("UPDATE shop_entry SET person_id = person_id + 1 WHERE id = %s", row.pk)
    return "entries", row.pk, f"Entry {row.number} was changed"


def time_changed():
    row = entry("sign_released")
    sql("UPDATE shop_entry SET happened_at = datetime(happened_at, '-1 day') WHERE id = %s", row.pk)
    return "entries", row.pk, f"Entry {row.number} was changed"


def last_entry_removed():
    book = models.Book.objects.filter(job__isnull=False).order_by("pk")[1]
    sql("DELETE FROM shop_outcomeon WHERE outcome_id IN (SELECT id FROM shop_outcome WHERE entry_id = "
        "(SELECT id FROM shop_entry WHERE book_id = %s ORDER BY number DESC LIMIT 1))", book.pk)  # fmt: skip
    sql("DELETE FROM shop_outcome WHERE entry_id = (SELECT id FROM shop_entry WHERE book_id = %s "
        "ORDER BY number DESC LIMIT 1)", book.pk)  # fmt: skip
    sql("DELETE FROM shop_entry WHERE book_id = %s AND number = %s", book.pk, book.length)
    return "books", book.pk, f"The book says {book.length} entries, its last one is number {book.length - 1}"


def two_swapped():
    book = models.Book.objects.filter(job__isnull=True).get()
    for was, becomes in ((2, 99), (3, 2), (99, 3)):
        sql("UPDATE shop_entry SET number = %s WHERE book_id = %s AND number = %s", becomes, book.pk, was)
    row = models.Entry.objects.get(book=book, number=2)
    return "entries", row.pk, "Entry 2 does not follow from the one before it"


def one_taken_out():
    book = models.Book.objects.filter(job__isnull=True).get()
    sql("DELETE FROM shop_entry WHERE book_id = %s AND number = 3", book.pk)
    row = models.Entry.objects.get(book=book, number=4)
    return "entries", row.pk, "Entry 3 is missing: the next one is number 4"


def head_changed():
    book = models.Book.objects.first()
    sql("UPDATE shop_book SET head = %s WHERE id = %s", "0" * 64, book.pk)
    return "books", book.pk, "The book's head is not the digest of its last entry"


def private_changed():
    row = models.Customer.objects.first().name
    sql("UPDATE shop_private SET value = 'Somebody Else' WHERE id = %s", row.pk)
    return "private values", row.pk, "A value kept about somebody was changed"


def private_exchanged():
    """A new value with a digest that fits it: the book knows the old one."""
    from hashlib import sha256

    row = models.Customer.objects.first().name
    commit = sha256(f"{row.salt}Somebody Else".encode()).hexdigest()
    sql("UPDATE shop_private SET value = 'Somebody Else', \"commit\" = %s WHERE id = %s", commit, row.pk)
    return "private values", row.pk, "is not the one kept"


def document_changed():
    row = models.Document.objects.filter(kind="plan").get()
    sql("UPDATE shop_document SET body = replace(body, 'wash', 'rinse') WHERE id = %s", row.pk)
    return "documents", row.pk, "was changed after it was published"


def outcome_without_entry():
    row = models.Outcome.objects.first()
    other = models.Entry.objects.filter(verb="take_in").first()
    sql("UPDATE shop_outcome SET entry_id = %s WHERE id = %s", other.pk, row.pk)
    return "outcomes", row.pk, "has no entry that made it"


def entry_without_outcome():
    row = entry("answer", 5)
    sql(
        "DELETE FROM shop_outcomeon WHERE outcome_id = (SELECT id FROM shop_outcome WHERE entry_id = %s)",
        row.pk,
    )
    sql("DELETE FROM shop_outcome WHERE entry_id = %s", row.pk)
    return "outcomes", row.pk, "and no outcome of it is there"


def outcome_changed():
    row = models.Outcome.objects.filter(answer="value").first()
    sql("UPDATE shop_outcome SET value = replace(value, '1', '2') WHERE id = %s", row.pk)
    return "outcomes", row.pk, "says: value"


def answer_moved_to_another_edge():
    on = models.OutcomeOn.objects.filter(edge__isnull=False).first()
    other = models.FittingEdge.objects.filter(fitting=on.edge.fitting).exclude(
        pk__in=models.OutcomeOn.objects.filter(key=on.key).values("edge")
    )
    edge = other.first() or models.FittingEdge.objects.exclude(fitting=on.edge.fitting).first()
    sql("UPDATE shop_outcomeon SET edge_id = %s WHERE id = %s", edge.pk, on.pk)
    return "outcomes", on.outcome_id, "says: places"


def answer_replaced_by_nothing():
    on = models.OutcomeOn.objects.filter(replaced_by__isnull=True, late=False).first()
    sql("UPDATE shop_outcomeon SET replaced_by_id = %s WHERE id = %s", on.outcome_id + 1, on.pk)
    return "answers that stand", on.checklist_id, "do not replace each other as they came"


def signing_digest():
    row = models.Signing.objects.first()
    sql("UPDATE shop_signing SET digest = %s WHERE id = %s", "0" * 64, row.pk)
    return "sign-offs", row.pk, "digest"


def signed_lines():
    row = models.Signing.objects.first()
    sql("UPDATE shop_signing SET lines = replace(lines, 'done', 'na') WHERE id = %s", row.pk)
    return "sign-offs", row.pk, "lines"


def signed_sentence():
    row = models.Signing.objects.first()
    sql("UPDATE shop_signing SET sentence = 'I signed nothing.' WHERE id = %s", row.pk)
    return "sign-offs", row.pk, "sentence"


def signer():
    row = models.Signing.objects.filter(meaning="released").first()
    sql("UPDATE shop_signing SET person_id = person_id - 1 WHERE id = %s", row.pk)
    return "sign-offs", row.pk, "person_id"


def signoff_removed():
    row = models.SignOff.objects.filter(meaning="laid").first()
    sql("DELETE FROM shop_signoff WHERE id = %s", row.pk)
    return "sign-offs", row.signing_id, "sign-offs"


def signoff_of_another_meaning():
    row = models.SignOff.objects.filter(meaning="ready").first()
    sql("UPDATE shop_signoff SET meaning = 'released' WHERE id = %s", row.pk)
    return "sign-offs", row.pk, "is not part of what signing"


def signing_removed():
    row = (
        entry("sign_hidden")
        if models.Entry.objects.filter(verb="sign_hidden").exists()
        else entry("sign_laid")
    )
    sql(
        "DELETE FROM shop_signoff WHERE signing_id = (SELECT id FROM shop_signing WHERE entry_id = %s)",
        row.pk,
    )
    sql("DELETE FROM shop_signing WHERE entry_id = %s", row.pk)
    return "sign-offs", row.pk, "and its signing is not there"


def proof_of_another_place():
    row = models.OutcomePhoto.objects.filter(edge__isnull=False).first()
    sql("UPDATE shop_outcomephoto SET edge_id = NULL WHERE id = %s", row.pk)
    return "photos as proof", row.entry_id, "kept a photo of other places"


def proof_exchanged():
    first, last = models.OutcomePhoto.objects.first(), models.OutcomePhoto.objects.last()
    sql("UPDATE shop_outcomephoto SET photo_id = %s WHERE id = %s", last.photo_id, first.pk)
    return "photos as proof", first.entry_id, "kept another photo"


def proof_removed():
    row = models.OutcomePhoto.objects.first()
    sql("DELETE FROM shop_outcomephoto WHERE entry_id = %s", row.entry_id)
    return "photos as proof", row.entry_id, "and it stands nowhere"


def hand_over_moved():
    row = models.HandOver.objects.get()
    sql('UPDATE shop_handover SET "on" = date("on", \'-3 days\') WHERE id = %s', row.pk)
    return "waivers, releases, hand-overs", row.pk, "is not what entry"


def hand_over_removed():
    row = models.HandOver.objects.get()
    sql("DELETE FROM shop_handover WHERE id = %s", row.pk)
    return "waivers, releases, hand-overs", row.entry_id, "and nothing of it is there"


def release_by_somebody_else():
    row = models.Release.objects.get()
    sql("UPDATE shop_release SET person_id = person_id - 1 WHERE id = %s", row.pk)
    return "waivers, releases, hand-overs", row.pk, "is not what entry"


def consent_reworded():
    row = models.Consent.objects.filter(kind="hand_over").get()
    sql("UPDATE shop_consent SET text = 'I am very happy.' WHERE id = %s", row.pk)
    return "consents", row.pk, "are not those of entry"


def facts_changed():
    row = models.Revision.objects.get()
    sql("UPDATE shop_revision SET facts = replace(facts, 'hood', 'roof') WHERE id = %s", row.pk)
    return "certificates", row.pk, "the facts were changed"


def facts_and_digest_changed():
    from hashlib import sha256

    row = models.Revision.objects.get()
    facts = row.facts.replace("hood", "roof")
    digest = sha256(facts.encode()).hexdigest()
    sql("UPDATE shop_revision SET facts = %s, facts_digest = %s WHERE id = %s", facts, digest, row.pk)
    return "certificates", row.pk, "is not what entry"


def head_absent():
    row = models.Revision.objects.get()
    sql("UPDATE shop_revision SET head = %s WHERE id = %s", "0" * 64, row.pk)
    return "certificates", row.pk, "its head is not entry"


def head_at_another_number():
    row = models.Revision.objects.get()
    sql("UPDATE shop_revision SET head_number = head_number - 1 WHERE id = %s", row.pk)
    return "certificates", row.pk, "its head is not entry"


def withdrawn_behind_the_book():
    row = models.Revision.objects.get()
    sql("UPDATE shop_revision SET withdrawn_at = issued_at WHERE id = %s", row.pk)
    return "certificates", row.pk, "otherwise about its withdrawal"


def paper_removed():
    row = models.Revision.objects.get()
    sql("DELETE FROM shop_coverline WHERE revision_id = %s", row.pk)
    sql("DELETE FROM shop_revision WHERE id = %s", row.pk)
    return "certificates", row.entry_id, "and that paper is not there"


def cover_longer():
    row = models.CoverLine.objects.first()
    sql("UPDATE shop_coverline SET last_day = date(last_day, '+1 day') WHERE id = %s", row.pk)
    return "cover lines", row.revision_id, "its cover is not what it says"


def cover_removed():
    row = models.CoverLine.objects.last()
    sql("DELETE FROM shop_coverline WHERE id = %s", row.pk)
    return "cover lines", row.revision_id, "its cover is not what it says"


def receipt_pointing_elsewhere():
    row = models.Tablet.objects.first()
    about = entry("answer", 1)
    models.Receipt.objects.create(
        key="k" * 20, workshop=row.workshop, tablet=row, seq=7, body_digest="0" * 64, entry=about,
        answer={"outcome": "applied", "outcome_id": about.outcome.pk + 1}, at=about.received_at,
    )  # fmt: skip
    return "receipts", "k" * 20, "points at an entry it was not given for"


FAULTS = [
    row_changed, row_changed_with_its_digest, who_changed, time_changed, last_entry_removed, two_swapped,
    one_taken_out, head_changed, private_changed, private_exchanged, document_changed, outcome_without_entry,
    entry_without_outcome, outcome_changed, answer_moved_to_another_edge, answer_replaced_by_nothing, signing_digest,
    signed_lines, signed_sentence, signer, signoff_removed, signoff_of_another_meaning, signing_removed,
    proof_of_another_place, proof_exchanged, proof_removed, hand_over_moved, hand_over_removed,
    release_by_somebody_else, consent_reworded, facts_changed, facts_and_digest_changed, head_absent,
    head_at_another_number, withdrawn_behind_the_book, paper_removed, cover_longer, cover_removed,
    receipt_pointing_elsewhere,
]  # fmt: skip


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.__name__)
def test_a_change_behind_the_book_is_named(fault):
    with undone():
        name, pk, text = fault()
        found = wrong().get(name, [])
        assert any(one["id"] == pk and text in one["text"] for one in found), found
    assert wrong() == {}


def test_a_receipt_of_the_right_entry_is_right():
    with undone():
        tablet, about = models.Tablet.objects.first(), entry("answer", 1)
        receipt = {
            "workshop": tablet.workshop, "tablet": tablet, "body_digest": "0" * 64, "entry": about,
            "answer": {"outcome": "applied", "outcome_id": about.outcome.pk}, "at": about.received_at,
        }  # fmt: skip
        models.Receipt.objects.create(key="k" * 20, seq=7, **receipt)
        assert wrong() == {}
        models.Receipt.objects.create(key="l" * 20, seq=8, **receipt)
        assert [one["id"] for one in wrong()["receipts"]] == ["l" * 20]


def test_a_value_that_no_entry_erased_is_no_erased_one():
    with undone():
        row = models.Customer.objects.first().name
        sql("UPDATE shop_private SET value = '', salt = '', erased_at = '2026-05-01' WHERE id = %s", row.pk)
        assert [one["text"] for one in wrong()["erased"]] == [
            f"Value {row.pk} is gone, and no entry of the book erased it."
        ]


def test_each_missing_trigger_is_named():
    for name in triggers.names():
        with transaction.atomic():
            sql_of = f"DROP TRIGGER {name}"
            with connection.cursor() as cursor:
                cursor.execute(sql_of)
            told = next(check for check in prove()["checks"] if check["name"] == "triggers")
            transaction.set_rollback(True)
        assert [one["id"] for one in told["wrong"]] == [name]


def test_a_head_known_from_elsewhere_is_looked_for():
    class Head:
        def __init__(self, row, head=""):
            self.book, self.number, self.head = row.book_id, row.number, head or row.digest
            self.source = "the backup of 3 May"

    row = entry("issue")
    assert prove(heads=[Head(row)])["ok"]
    told = prove(heads=[Head(row), Head(row, "0" * 64)])
    assert [one["text"] for check in told["checks"] for one in check["wrong"]] == [
        f"Entry {row.number} of book {row.book_id} is not the one known from the backup of 3 May."
    ]


# ------------------------------------------------------------------ bytes


@contextmanager
def bytes_changed(path: Path, change):
    before = path.read_bytes()
    os.chmod(path, 0o640)
    change(path, before)
    yield
    path.write_bytes(before)
    os.chmod(path, folder.READ_ONLY)


def flip(path, before):
    path.write_bytes(bytes([before[0] ^ 1]) + before[1:])


def cut(path, before):
    path.write_bytes(before[:-1])


def gone(path, before):
    path.unlink()


@pytest.mark.parametrize(
    ("change", "state"),
    [(flip, "was changed in the store"), (cut, "was changed in the store"), (gone, "is not in the store")],
)
@pytest.mark.parametrize("variant", [store.ORIGINAL, store.SCREEN, store.PRINT])
def test_a_photo_is_read_again_in_every_size(change, state, variant):
    photo = models.Photo.objects.order_by("pk")[2]
    with bytes_changed(folder.path(store.address_of(photo.sha256, variant, "photos")), change):
        found = wrong()
    assert list(found) == ["photos"]
    assert [one["id"] for one in found["photos"]] == [photo.pk]
    assert state in found["photos"][0]["text"]


@pytest.mark.parametrize(
    ("change", "state"), [(flip, "was changed in the store"), (gone, "is not in the store")]
)
def test_a_printed_paper_is_read_again(change, state):
    revision = models.Revision.objects.get()
    with bytes_changed(folder.path(store.address_of(revision.pdf_sha256, store.ORIGINAL, "papers")), change):
        found = wrong()
    assert list(found) == ["printed papers"]
    assert state in found["printed papers"][0]["text"]
    assert revision.certificate.number in found["printed papers"][0]["text"]


# ------------------------------------------------------------------ the command


def test_the_command_ends_with_nought_or_one(shop, tmp_path):
    good = shop.manage("prove", "--json")
    assert (good.returncode, json.loads(good.stdout)["ok"]) == (0, True)

    copy = shop.copy(tmp_path / "data")
    photo = next((copy.data / "photos").rglob("*.print"))
    os.chmod(photo, 0o640)
    flip(photo, photo.read_bytes())
    bad = copy.manage("prove")
    assert bad.returncode == 1
    assert "was changed in the store" in bad.stdout
    assert bad.stdout.splitlines()[-1] == "Something was changed."
    assert "Traceback" not in bad.stderr
