"""Places on a car said in short: `hood` for every piece of it, `all` for every edge a line is asked at."""

from typing import Any

from shop.demo.verbs import Verb
from shop.work.floor import Floor
from shop.work.models.fitting import Fitting

ALL = "all"
PLACED = ("answer", "note", "keep_photo", "raise_defect", "waive", "sign_ready", "sign_hidden", "sign_laid")
PLACED += ("sign_released", "film_again")


def spelled_out(verb: Verb, args: dict[str, Any]) -> dict[str, Any]:
    """The same arguments with every place in full; what cannot be spelled out is left for the verb to refuse."""
    job = args.get("job")
    if job is None or verb.name not in PLACED:
        return args
    live = Fitting.objects.live().of_job(job).select_related("panel")
    pieces: dict[str, list[str]] = {}
    for fitting in live:
        pieces.setdefault(fitting.panel.code, []).append(fitting.place)
    found = dict(args)
    if "panels" in args:
        found["panels"] = [place for named in args["panels"] for place in pieces.get(named, [named])]
    if args.get("panel"):
        found["panel"] = pieces.get(args["panel"], [args["panel"]])[0]
    if "places" in args:
        found["places"] = [one for place in args["places"] for one in _photo_places(job, place, pieces)]
    if args.get("edges") == [ALL]:
        found["edges"] = _edges(Floor(job), args["key"], found["panels"])
    return found


def _photo_places(job, place: dict[str, Any], pieces: dict[str, list[str]]) -> list[dict[str, Any]]:
    panel = place.get("panel") or ""
    named = [{**place, "panel": full} for full in pieces.get(panel, [panel])]
    if place.get("edge") != ALL:
        return named
    floor = Floor(job)
    return [
        {**one, "edge": edge} for one in named for edge in _edges(floor, str(one.get("line")), [one["panel"]])
    ]


def _edges(floor: Floor, key: str, places: list[str]) -> list[str]:
    found: dict[str, None] = {}
    for place in places:
        piece = floor.piece(place)
        asked = piece.find(key) if piece else None
        found |= dict.fromkeys(asked[1].edges if asked else ())
    return list(found)
