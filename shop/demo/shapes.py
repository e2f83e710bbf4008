"""A rehearsal is written by hand, so short forms are taken: one panel for a list of one, edges beside their line."""

from typing import Any

from shop.demo.verbs import Verb

SAME = {
    "answer": {"line": "key"},
    "waive": {"reason": "why"},
    "withdraw": {"reason": "why"},
    "cancel_job": {"reason": "why"},
    "correct_certificate": {"why": "reason"},
    "quarantine_lot": {"why": "reason"},
    "free_lot": {"why": "reason"},
    "scrap": {"why": "reason"},
    "take_in": {"odometer": "odometer_km"},
}
PLACE = ("line", "key", "panel", "panels", "edge", "edges", "defect", "after")
PIECE = ("piece", "roll", "sheet", "cut", "cover", "material", "features", "turned", "people", "edges")


def shaped(verb: Verb, given: dict[str, Any]) -> dict[str, Any]:
    """The arguments under the names the verb has for them; what nobody knows stays as it is."""
    names = {arg.name for arg in verb.args()}
    found = {}
    for name, value in given.items():
        found[_known(verb.name, name, names)] = value
    if verb.name == "keep_photo":
        return _photo(found)
    if verb.name == "set_out":
        return _set_out(found)
    return found


def listed(value: Any) -> list[Any]:
    if value is None or value == "":
        return []
    return list(value) if isinstance(value, list | tuple) else [value]


def _known(verb: str, name: str, names: set[str]) -> str:
    if name in names:
        return name
    for other in (SAME.get(verb, {}).get(name, ""), f"{name}s", name.removesuffix("s")):
        if other in names:
            return other
    return name


def _photo(given: dict[str, Any]) -> dict[str, Any]:
    """Line, panels and edges said flat are the places a photo shows."""
    flat = {name: given.pop(name) for name in PLACE if name in given}
    if not flat or "places" in given:
        return {**given, **flat}
    if "defect" in flat:
        return {**given, "places": [{"defect": flat["defect"], "after": bool(flat.get("after"))}]}
    line = flat.get("line") or flat.get("key") or ""
    panels = listed(flat.get("panels", flat.get("panel"))) or [""]
    edges = listed(flat.get("edges", flat.get("edge"))) or [""]
    places = [{"line": line, "panel": panel, "edge": edge} for panel in panels for edge in edges]
    return {**given, "places": places}


def _set_out(given: dict[str, Any]) -> dict[str, Any]:
    """One piece said flat is a list of that piece; edges may be `{"front": "tucked"}`."""
    flat = {name: given.pop(name) for name in PIECE if name in given}
    pieces = listed(given.get("pieces")) or [{}]
    given["pieces"] = [
        _piece({"piece": n, **flat, **piece}) if isinstance(piece, dict) else piece
        for n, piece in enumerate(pieces, 1)
    ]
    return given


def _piece(piece: dict[str, Any]) -> dict[str, Any]:
    edges = piece.get("edges")
    if isinstance(edges, dict):
        piece["edges"] = [
            {"code": code, **(how if isinstance(how, dict) else {"finish": how})}
            for code, how in edges.items()
        ]
    return piece
