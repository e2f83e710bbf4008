"""Changes made behind the book's back: each says which check must name it, of what, and in which words."""

from django.db import connection

from shop import models


def sql(text, *values):
    with connection.cursor() as cursor:
        cursor.execute(text, values)
        assert cursor.rowcount, f"nothing changed by {text}"


def entry(verb, nth=0):
    return models.Entry.objects.filter(verb=verb).order_by("pk")[nth]


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
