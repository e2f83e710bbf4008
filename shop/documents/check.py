"""Whether a document can be obeyed: every fault, each a sentence with the path to it."""

from collections.abc import Callable, Mapping
from typing import Any

from shop.documents import plan_shape, terms_shape
from shop.documents.shape import (
    Faults,
    Shape,
    flag,
    floats,
    list_of,
    matching,
    one_of,
    table,
    table_of,
    text,
    whole,
    words,
)
from shop.documents.words import Cover, Cut, Feature, Finish, Material

KINDS = ("plan", "terms", "film", "body", "roles")
NEVER_WAIVED = ("same_person", "hold_unsigned", "photo_missing", "paint_cut_not_agreed")
"""What no workshop may write out of its rules."""

_CODE = matching(r"[a-z][a-z0-9_]*", "code such as “line_open”")
_HEAD: Mapping[str, Shape] = {
    "kind": one_of(KINDS),
    "name": matching(r"[a-z0-9][a-z0-9-]*", "name of small letters, digits and dashes"),
    "version": text,
    "title": words(),
}

_FILM = {
    "thickness": table(
        {
            "typical_um10": whole(least=1),
            "question_below_um10": whole(least=1),
            "question_above_um10": whole(least=1),
            "source": text,
        }
    ),
    "limits": plan_shape.LIMITS,
    "stale": table({"minutes": whole(least=1), "source": text}),
    "reading": plan_shape.READING,
    "primer": plan_shape.PRIMER,
    "cure": plan_shape.CURE,
}

_FILM_ITSELF = {
    "film": table(
        {"source": text},
        {"widths_mm": list_of(whole(least=1), least=1), "finish": text, "directional": flag},
    )
}

_VERB = table(
    {"roles": list_of(text, least=1), "identity": one_of(["claimed", "signed_in", "proven"])},
    {"named": flag, "second": flag},
)
_REASON = table({"weight": one_of(["stop", "waivable", "note"])}, {"waive": list_of(text), "never": flag})
_ROLES = {
    "roles": table_of(_CODE, table({"title": words()})),
    "verbs": table_of(_CODE, _VERB),
    "reasons": table_of(_CODE, _REASON),
}


def faults(document: Any) -> Faults:
    """Every fault of a plan, film sheet, roles, body or terms document; an empty list means it can be obeyed.

    Shape comes first; what must agree between the parts is looked at once each part has its shape.
    """
    head = _head(document)
    if head:
        return head
    kind = document["kind"]
    found = floats(document, "")
    if kind == "body":
        return found + _texts(document, "") + _body_agreement(document)
    required, optional, agreement = _PARTS[kind]
    found += table({**_HEAD, **required}, {"note": words(), **optional})(document, "")
    return found or agreement(document)


def _head(document: Any) -> Faults:
    if not isinstance(document, Mapping):
        return ["The document: should be a table with kind, name, version and title."]
    missing = [f"{name}: is missing." for name in _HEAD if name not in document]
    return missing + [
        fault for name, shape in _HEAD.items() if name in document for fault in shape(document[name], name)
    ]


def _film_agreement(film: Mapping[str, Any]) -> Faults:
    found = plan_shape.bands(film["cure"]) + plan_shape.window(film["primer"])
    thick = film["thickness"]
    if not thick["question_below_um10"] <= thick["typical_um10"] <= thick["question_above_um10"]:
        found.append(
            "thickness.typical_um10: lies outside what is believable; a thousandth of an inch is 254 of these."
        )
    return found


def _roles_agreement(roles: Mapping[str, Any]) -> Faults:
    known = set(roles["roles"])
    found = [
        f"verbs.{verb}.roles: there is no role “{role}”."
        for verb, rule in roles["verbs"].items()
        for role in rule["roles"]
        if role not in known
    ]
    for code, rule in roles["reasons"].items():
        found += _waiving(code, rule, known)
    return found + [
        f"reasons.{code}: is missing; nothing may leave it out."
        for code in NEVER_WAIVED
        if code not in roles["reasons"]
    ]


def _waiving(code: str, rule: Mapping[str, Any], known: set[str]) -> Faults:
    path = f"reasons.{code}"
    if (code in NEVER_WAIVED or rule.get("never")) and rule["weight"] != "stop":
        return [f"{path}.weight: this can never be waived or only noted; it stays a stop."]
    if (rule["weight"] == "waivable") != bool(rule.get("waive")):
        return [f"{path}.waive: names who may waive a reason that is waivable, and stands nowhere else."]
    return [
        f"{path}.waive: there is no role “{role}”." for role in rule.get("waive", ()) if role not in known
    ]


def _body_agreement(body: Mapping[str, Any]) -> Faults:
    """The words of set-out; whether it can be drawn is asked of the sheet."""
    return list_of(_panel, least=1)(body.get("panels"), "panels")


def _panel(panel: Any, path: str) -> Faults:
    if not isinstance(panel, Mapping):
        return [f"{path}: should be a table."]
    found = [
        fault
        for name, shape in _PANEL_WORDS.items()
        for fault in (shape(panel[name], f"{path}.{name}") if name in panel else ())
    ]
    return found + list_of(_edge)(panel.get("edges", []), f"{path}.edges")


def _edge(edge: Any, path: str) -> Faults:
    if not isinstance(edge, Mapping):
        return [f"{path}: should be a table."]
    return one_of(Finish)(edge.get("finish"), f"{path}.finish")


_PANEL_WORDS: Mapping[str, Shape] = {
    "material": one_of(Material),
    "features": list_of(one_of(Feature)),
    "cut": one_of(Cut),
    "cover": one_of(Cover),
}
_TEXTS = ("title", "text", "why", "caution", "note", "sentence", "label")
"""Names that always hold words for a reader, in whatever document."""


def _texts(value: Any, path: str) -> Faults:
    found: Faults = []
    if isinstance(value, Mapping):
        for key, part in value.items():
            here = f"{path}.{key}" if path else str(key)
            # A label may be a place on a drawing; then it says where it is.
            is_place = key == "label" and isinstance(part, Mapping) and "at" in part
            found += words()(part, here) if key in _TEXTS and not is_place else _texts(part, here)
    elif isinstance(value, list | tuple):
        for n, part in enumerate(value):
            found += _texts(part, f"{path}[{n}]")
    return found


_NONE: Mapping[str, Shape] = {}
_PARTS: Mapping[
    str, tuple[Mapping[str, Shape], Mapping[str, Shape], Callable[[Mapping[str, Any]], Faults]]
] = {
    "plan": (plan_shape.PARTS, plan_shape.OPTIONAL, plan_shape.agreement),
    "film": (_FILM, _FILM_ITSELF, _film_agreement),
    "roles": (_ROLES, _NONE, _roles_agreement),
    "terms": (terms_shape.REQUIRED, terms_shape.OPTIONAL, terms_shape.agreement),
}
