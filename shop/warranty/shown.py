"""A certificate's facts made ready to be read: the page and the paper are both filled from this and nothing else.

Values about a person are looked up by their reference; one that was erased reads "erased".
"""

import json
from collections import defaultdict
from datetime import date, datetime
from fractions import Fraction
from typing import Any

from shop.intake.strokes import read_strokes, strokes_path
from shop.papers import paper_size
from shop.photos.models import Photo
from shop.reasons import Refused
from shop.record.models import Private
from shop.templatetags.words import day
from shop.units import US, format_mm, format_um10, half_up
from shop.work.progress import listed

ERASED = "erased"
PAGE_ONE_MM, LETTER_ONE_MM = 269, 253
MILE_KM = Fraction("1.609344")  # NIST Handbook 44, Appendix C
Facts = dict[str, Any]


def read_facts(text: str) -> Facts:
    return json.loads(text)


def shown(facts: Facts) -> dict[str, Any]:
    """Template context of one revision: dates as dates, lengths in words, rows grouped as they are printed."""
    values = private_values(facts)
    us = facts["workshop"]["units"]
    letter = paper_size(facts["workshop"]["country"]) == "letter"
    panels, films, covered = (
        [_panel(facts, panel, us) for panel in facts["panels"]],
        _films(facts, us),
        _covered(facts),
    )

    def said(reference) -> str:
        return values.get(reference["private"], ERASED) if reference else ""

    return {
        "facts": facts,
        "issued_at": datetime.fromisoformat(facts["issued_at"]),
        "handed_over": date.fromisoformat(facts["hand_over"]["on"]),
        "customer": said(facts["customer"]["name"]),
        "identity": said(facts["vehicle"]["identity"]),
        "odometer": distance(facts["vehicle"]["odometer_km"], us),
        "plate": said(facts["vehicle"]["plate"]),
        "hand": _hand(said(facts["hand_over"]["strokes"])),
        "films": films,
        "panels": panels,
        "piece_count": sum(len(panel["pieces"]) for panel in facts["panels"]),
        "cover": cover_rows(facts["cover"], {panel["code"]: panel["label"] for panel in facts["panels"]}),
        "covered": covered,
        "short": page_one_mm(facts, films, panels, covered) <= (LETTER_ONE_MM if letter else PAGE_ONE_MM),
        "letter": letter,
        "care": [_care(entry) for entry in facts["care"]],
        "signings": [_signing(signing) for signing in facts["signings"]],
        "photos": [_photo(photo) for photo in facts["photos"]],
        "fitted_by": _names(facts, "fitted_by"),
        "checked_by": sorted({piece["checked_by"] for panel in facts["panels"] for piece in panel["pieces"]}),
        "self_checked": self_checked(facts),
    }


def self_checked(facts: Facts) -> bool:
    """Whether any piece was checked by somebody who had worked on it."""
    return any(piece["checked_by_installer"] for panel in facts["panels"] for piece in panel["pieces"])


def references(facts: Any) -> list[int]:
    """Every private value the facts point to."""
    if isinstance(facts, dict):
        if set(facts) == {"private", "commit"}:
            return [facts["private"]]
        return [found for inner in facts.values() for found in references(inner)]
    if isinstance(facts, list):
        return [found for inner in facts for found in references(inner)]
    return []


def photo_ids(workshop, digests: list[str]) -> dict[str, int]:
    """Rows of these photos by the digest of their bytes, for the page's addresses."""
    return dict(Photo.objects.of(workshop).filter(sha256__in=digests).values_list("sha256", "pk"))


def private_values(facts: Facts) -> dict[int, str]:
    """The personal values the facts point to, those that were erased left out."""
    rows = Private.objects.in_bulk(references(facts))
    return {pk: row.value for pk, row in rows.items() if not row.erased_at}


def _hand(strokes: str) -> str:
    """The customer's signature as a path; nothing where it was erased."""
    try:
        return strokes_path(read_strokes(strokes))
    except Refused:
        return ""


def _films(facts: Facts, us: str) -> list[dict]:
    """Each film once, with its lots; a car is usually one film of one lot."""
    found: dict[str, dict] = {}
    for panel in facts["panels"]:
        for piece in panel["pieces"]:
            film = piece["film"]
            row = found.setdefault(film["name"], {**film, "lots": [], "thickness": ""})
            if film["thickness_um10"]:
                row["thickness"] = format_um10(film["thickness_um10"], us, both=True)
            if piece["lot"] not in row["lots"]:
                row["lots"].append(piece["lot"])
    return list(found.values())


def _panel(facts: Facts, panel: dict, us: str) -> dict:
    material = [c for c in facts["cover"] if c["panel"] == panel["code"] and c["kind"] == "material"]
    until = min((c["last_day"] for c in material), default="")
    return {
        **panel,
        "until": date.fromisoformat(until) if until else None,
        "ends": edges_in_words(panel["pieces"][0]["edges"]),
        "pieces": [{**piece, "edges": _edges(piece["edges"], us)} for piece in panel["pieces"]],
    }


def edges_in_words(edges: list[dict]) -> str:
    """How a panel's edges end: the usual finish first, then the exceptions by name. Corners follow their edges.

    >>> def edge(label, finish): return {"label": label, "finish": finish, "kind": "edge"}
    >>> edges_in_words([edge("Front edge", "wrapped"), edge("Left side", "wrapped"), edge("Cowl edge", "flush")])
    'wrapped, cowl flush'
    """
    by_finish: dict[str, list[str]] = defaultdict(list)
    for edge in edges:
        if edge["kind"] != "corner" and edge["finish"] != "open":
            by_finish[edge["finish"]].append(lower_first(edge["label"]).removesuffix(" edge"))
    ordered = sorted(by_finish.items(), key=lambda found: -len(found[1]))
    rest = [f"{listed(paired(labels))} {finish}" for finish, labels in ordered[1:]]
    return ", ".join([finish for finish, _ in ordered[:1]] + rest)


def paired(labels: list[str]) -> list[str]:
    """Left and right of the same thing said once.

    >>> paired(["left ditch", "lower lip", "right ditch"])
    ['both ditches', 'lower lip']
    """
    said = []
    for label in labels:
        side, _, rest = label.partition(" ")
        other = {"left": "right", "right": "left"}.get(side)
        if other is None or f"{other} {rest}" not in labels:
            said.append(label)
        elif side == "left":
            said.append(f"both {rest}{'es' if rest.endswith(('ch', 's', 'x')) else 's'}")
    return said


def lower_first(text: str) -> str:
    return text[:1].lower() + text[1:]


def _edges(edges: list[dict], us: str) -> list[dict]:
    """Edges grouped by finish and depth of return, each group with its names."""
    groups: dict[tuple, list[str]] = defaultdict(list)
    for edge in edges:
        groups[edge["finish"], edge["return_mm"]].append(lower_first(edge["label"]))
    return [
        {
            "finish": finish,
            "depth": format_mm(depth, us, both=True) if depth else "",
            "labels": ", ".join(labels),
        }
        for (finish, depth), labels in groups.items()
    ]


def cover_rows(lines: list[dict], labels: dict[str, str]) -> list[dict]:
    """Cover lines of one kind and length together, with the panels (`labels` by code) they count for."""
    rows: dict[tuple, dict] = {}
    for line in lines:
        key = (line["kind"], line["length"], line["first_day"], line["last_day"])
        row = rows.setdefault(key, {**_dated(line), "labels": []})
        if labels[line["panel"]] not in row["labels"]:
            row["labels"].append(labels[line["panel"]])
    for row in rows.values():
        row["everywhere"] = len(row["labels"]) == len(labels)
    return list(rows.values())


def _covered(facts: Facts) -> list[dict]:
    """Each kind of cover with its words and its last day, or the span where panels differ."""
    found = []
    for entry in facts["terms"]["cover"]:
        days = sorted(line["last_day"] for line in facts["cover"] if line["kind"] == entry["kind"])
        first, last = (day(date.fromisoformat(text)) for text in (days[0], days[-1]))
        found.append({**entry, "until": f"until {first}" if first == last else f"until {first} to {last}"})
    return found


def page_one_mm(facts: Facts, films: list[dict], panels: list[dict], covered: list[dict]) -> float:
    """The height of page one with everything on it, reckoned from the lengths of its texts.

    Where it is too high, panels and cover start the second page and the QR keeps its place on the first.
    """
    car = 87 + 14 * (len(films) - 1) + 5 * sum(len(film["name"]) > 34 for film in films)
    table = 6.5 + sum(2.5 + 4.6 * _lines(panel["ends"], 54) for panel in panels)
    left = sum(_lines(f"{c['title']}, {c['until']}. {c['text']}", 38) for c in covered)
    right = _lines(" ".join(facts["terms"]["excluded"]), 55)
    return 40 + car + table + 4 + 6.7 + 4.22 * max(left, right) + 3 + 35


def _lines(text: str, width: int) -> int:
    return max(1, -(-len(text) // width))


def _signing(signing: dict) -> dict:
    """Stages signed for the same pieces stand together."""
    groups: dict[tuple, list[str]] = defaultdict(list)
    for row in signing["signed"]:
        groups[tuple(row["pieces"])].append(row["stage"])
    signed = [{"stages": ", ".join(stages), "pieces": ", ".join(p)} for p, stages in groups.items()]
    return {**signing, "at": datetime.fromisoformat(signing["at"]), "signed": signed}


def _photo(photo: dict) -> dict:
    return {
        **photo,
        "at": datetime.fromisoformat(photo["at"]),
        "caption": caption([place["label"] for place in photo["places"]]),
    }


def caption(labels: list[str]) -> str:
    """Places of one photo, the panel said once.

    >>> caption(["Hood: front edge", "Hood: left side", "Roof: front edge"])
    'Hood: front edge, left side; Roof: front edge'
    """
    by_panel: dict[str, list[str]] = defaultdict(list)
    for label in labels:
        panel, _, edge = label.partition(": ")
        by_panel[panel].append(edge)
    return "; ".join(f"{panel}: {', '.join(edges)}" for panel, edges in by_panel.items())


def _care(entry: dict) -> dict:
    row = _dated(entry)
    return {**row, "when": when(row["from_day"] or None, row["until_day"] or None)}


def distance(km: int | None, system: str) -> str:
    """
    >>> distance(48210, "metric"), distance(48210, "us")
    ('48,210 km', '29,956 miles (48,210 km)')
    """
    if km is None:
        return ""
    metric = f"{km:,} km"
    if system != US:
        return metric
    miles = f"{half_up(km / MILE_KM):,} miles"
    return f"{miles} ({metric})"


def when(first: date | None, last: date | None) -> str:
    """
    >>> when(date(2026, 3, 10), None), when(None, date(2026, 4, 2)), when(None, None)
    ('from 10 March 2026', 'until 2 April 2026', 'always')
    >>> when(date(2026, 3, 10), date(2026, 3, 17))
    '10 March 2026 to 17 March 2026'
    """
    if first and last:
        return f"{day(first)} to {day(last)}"
    if first:
        return f"from {day(first)}"
    return f"until {day(last)}" if last else "always"


def _dated(entry: dict) -> dict:
    """The same entry with every `…_day` as a date."""
    return {
        key: date.fromisoformat(value) if key.endswith("_day") and value else value
        for key, value in entry.items()
    }


def _names(facts: Facts, field: str) -> list[str]:
    return sorted({name for panel in facts["panels"] for piece in panel["pieces"] for name in piece[field]})
