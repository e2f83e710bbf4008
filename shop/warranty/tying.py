"""Whether a text ties cover to a brand or to somebody's service (16 CFR 700.10, 15 USC 2302 (c)). English only.

Excluding damage *caused by* wrong care stays allowed, so such sentences pass. A hint for whoever writes terms,
not a judgement: no list of words knows every way of saying it.
"""

import re
from typing import Final

_ONLY: Final = re.compile(
    r"\b(?:use|using|apply|with)\s+only\b|\bonly\s+(?:use|apply)\b|\bexclusively\b", re.I
)
_OWN: Final = re.compile(r"[®™]|\b(?:our|genuine|original|approved|authori[sz]ed|branded|makers?')\b", re.I)
# A capital inside a sentence is taken for a brand; short ones like UV or pH are not.
_BRAND: Final = re.compile(r"\b[A-Z][a-z]\w+|\b[A-Z]{4,}\b")
_SERVICE: Final = re.compile(
    r"\bvoid(?:ed|s)?\b.*\b(?:authori[sz]ed|approved|dealer|anyone|anybody)\b"
    r"|\b(?:authori[sz]ed|approved|dealer|anyone|anybody)\b.*\bvoid(?:ed|s)?\b"
    r"|\bonly\s+(?:be\s+)?(?:serviced|washed|cleaned|treated|repaired)\s+(?:by|at)\b"
    r"|\bmust\s+be\s+(?:serviced|washed|cleaned|treated|repaired)\s+(?:by|at)\b",
    re.I,
)


def ties(text: str) -> list[str]:
    """The sentences that tie.

    >>> ties("Use only Bright soap. Use only a soft cloth. Damage caused by polish is excluded.")
    ['Use only Bright soap.']
    """
    sentences = re.findall(r"[^.;!?\n]+[.;!?]?", text)
    return [sentence.strip() for sentence in sentences if _tied(sentence)]


def _tied(sentence: str) -> bool:
    if re.search(r"\bcaused by\b", sentence, re.I):
        return False
    only = _ONLY.search(sentence)
    behind = sentence[only.end() :] if only else ""
    return bool(_OWN.search(behind) or _BRAND.search(behind) or _SERVICE.search(sentence))
