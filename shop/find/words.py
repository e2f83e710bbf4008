"""The record book read aloud with the words of a job's own plan and body, in short: edges are left out."""

from collections.abc import Mapping
from typing import Any

from shop.intake.names import panel_name
from shop.record.telling import Names
from shop.record.words import tell
from shop.templatetags.words import in_language

# Lists of the plan with the name each of their entries goes by.
LISTS = {
    "defects": "code",
    "causes": "code",
    "dispositions": "code",
    "stages": "key",
    "signings": "meaning",
}


class Reader(Names):
    """Turns entries of one job into sentences."""

    def __init__(self, plan: Mapping[str, Any], body: Any, language: str) -> None:
        self.body, self.language = body, language
        self.lines = {line["key"]: in_language(line["text"], language) for line in plan.get("lines", ())}
        self.words = {
            name: {one[key]: in_language(one["title"], language) for one in plan.get(name, ())}
            for name, key in LISTS.items()
        }
        self.kinds, self.meanings = self.words["defects"], self.words["signings"]

    def sentence(self, verb: str, text: str) -> str:
        return tell(verb, text, self).sentence

    def place(self, place: str) -> str:
        code, _, piece = place.partition(".")
        name = panel_name(self.body, code, self.language)
        return name if piece in ("", "1") else f"{name}, piece {piece}"

    def edge(self, place: str, edge: str) -> str:
        return ""

    def line(self, key: str) -> str:
        return self.lines.get(key, key)

    def of_plan(self, kind: str, code: str) -> str:
        return self.words[kind].get(code, code.replace("_", " ")).lower()
