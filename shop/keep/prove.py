"""Everything kept, held against what was entered: books, rows, photos, papers. One changed byte has a name here."""

from collections.abc import Iterable
from typing import Any

from shop.keep import prove_acts, prove_books, prove_erased, prove_files, prove_papers
from shop.keep.checks import Check, Tell, silent


def prove(*, tell: Tell = silent, heads: Iterable[Any] = ()) -> dict[str, Any]:
    """`{ok, checks: [{name, checked, wrong: [{what, id, text}], said: [text]}]}`; `said` tells what was erased.

    `tell` is called now and then with the name of the check and how far it is. `heads` are heads of books known
    from elsewhere (`book`, `number`, `head`, `source`), each to be found at its number.
    """
    checks = [check.told() for check in _checks(tell, list(heads))]
    return {"ok": not any(check["wrong"] for check in checks), "checks": checks}


def _checks(tell: Tell, heads: list[Any]) -> Iterable[Check]:
    yield prove_books.triggers_present(tell)
    yield prove_books.rows_point_somewhere(tell)
    yield from prove_books.chains(tell)
    yield prove_books.known_heads(tell, heads)
    yield prove_books.privates(tell)
    yield prove_books.documents(tell)
    yield prove_acts.answers(tell)
    yield prove_acts.order_of_answers(tell)
    yield prove_acts.signings(tell)
    yield prove_acts.photos_as_proof(tell)
    yield prove_acts.decisions(tell)
    yield prove_acts.defects(tell)
    yield prove_acts.consents(tell)
    yield prove_acts.receipts(tell)
    yield prove_papers.revisions(tell)
    yield prove_papers.cover(tell)
    yield prove_files.photos(tell)
    yield prove_files.papers(tell)
    yield prove_erased.erasures(tell)
