"""What can be said of film under cover: symptoms, shots, glue sides, what is found when film comes off.

The words stand in the terms a paper was issued under; where those are older than a list, or not here at all, the
built-in terms lend it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from shop.documents import built_in
from shop.documents.models import Document
from shop.templatetags.words import in_language

SOUND = "sound"
SOUND_WORDS = "Sound"


@dataclass(frozen=True)
class Word:
    """One entry of a list: its key, its title, and the rest of it as it stands in the terms."""

    key: str
    title: str
    text: str
    more: Mapping[str, Any]


@dataclass(frozen=True)
class Vocabulary:
    symptoms: Mapping[str, Word]
    shots: Mapping[str, Word]
    glue_side: Mapping[str, Word]
    removal: Mapping[str, Word]

    def title(self, key: str) -> str:
        """The words of a symptom or finding; the key itself where no list has it any more."""
        if key == SOUND:
            return SOUND_WORDS
        word = self.symptoms.get(key) or self.removal.get(key)
        return word.title if word else key.replace("_", " ").capitalize()

    def covers(self, symptom: str) -> tuple[str, ...]:
        """The promises that can answer for this symptom, in order."""
        return tuple(self.symptoms[symptom].more.get("covers", ())) if symptom in self.symptoms else ()


def vocabulary(terms: Mapping[str, Any] | None, language: str) -> Vocabulary:
    own, usual = terms or {}, built_in_terms()

    def words(*path: str) -> dict[str, Word]:
        rows = _at(own, path) or _at(usual, path)
        return {
            row["key"]: Word(
                row["key"],
                in_language(row["title"], language),
                in_language(row.get("text"), language),
                row,
            )
            for row in rows
        }

    return Vocabulary(
        symptoms=words("claim", "symptoms"),
        shots=words("claim", "shots"),
        glue_side=words("claim", "glue_side"),
        removal=words("removal"),
    )


def terms_for(workshop, certificate=None) -> Document | None:
    """The terms a paper was issued under; those in force where there is no paper, or it came without terms."""
    revision = certificate.current() if certificate else None
    if revision and revision.terms_id:
        return revision.terms
    return Document.objects.in_force(workshop, Document.Kind.TERMS)


def first_words(terms: Mapping[str, Any] | None, language: str) -> list[str]:
    """What is said at the first call, before anybody touches the film: the first steps of a claim."""
    steps = _at(terms or {}, ("claim", "steps")) or _at(built_in_terms(), ("claim", "steps"))
    return [in_language(step["text"], language) for step in steps[:2]]


@cache
def built_in_terms() -> dict[str, Any]:
    return built_in.read(built_in.folder() / "terms" / "builtin.toml")


def _at(document: Mapping[str, Any], path: tuple[str, ...]) -> list[Mapping[str, Any]]:
    found: Any = document
    for step in path:
        found = found.get(step, {}) if isinstance(found, Mapping) else {}
    return list(found) if found else []
