"""The words of the terms a decision can rest on, in the language of the paper."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from shop.warranty.disclosure import said

SECTIONS = ("remedy", "starts", "ends", "again", "transfer", "territory")


@dataclass(frozen=True)
class Clause:
    """One passage: `key` is `covered.edges`, `excluded.shade`, `cover.material` or the name of a section."""

    key: str
    group: str
    words: str


def clauses(terms: Mapping[str, Any], language: str) -> list[Clause]:
    """Every passage a decision may name: what is covered, what is not, the promises, and the rules around them."""
    found = [
        Clause(f"{name}.{row['key']}", group, words)
        for name, group in (("covered", "Covered"), ("excluded", "Not covered"))
        for n, row in enumerate(terms.get(name, ()))
        if (words := said(terms, f"{name}.{n}", language))
    ]
    found += [
        Clause(f"cover.{kind}", "The promise", words)
        for kind in terms.get("cover", {})
        if (words := said(terms, f"cover.{kind}", language))
    ]
    found += [Clause(name, "The rules", words) for name in SECTIONS if (words := said(terms, name, language))]
    return found


def clause_of(terms: Mapping[str, Any], key: str, language: str) -> Clause | None:
    return next((clause for clause in clauses(terms, language) if clause.key == key), None)
