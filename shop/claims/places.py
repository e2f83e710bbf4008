"""Where on a car a claim can land, for the form that takes it down: every piece with its edges."""

from shop.claims.place import edge_label, label
from shop.warranty.cover import cover_of
from shop.work.models.fitting import Fitting

WHOLE = "the whole of it"


def choices(vehicle, *, today, panel: str = "") -> list[tuple[str, list[tuple[str, str]]]]:
    """Groups of places: `("Left fender", [("fender-left.1", "the whole of it"), ("fender-left.1@arch", "arch")])`.

    Film that is on the car, film that came off under cover, and panels only a paper knows. `panel` picks one.
    """
    films = list(
        Fitting.objects.filter(panel__vehicle=vehicle, job__hand_over__isnull=False)
        .exclude(ended_as__in=("taken_off", "called_off"))
        .select_related("panel", "job__body", "job__workshop")
        .prefetch_related("edges")
        .order_by("panel__code", "piece", "-pk")
    )
    found: dict[str, tuple[str, list[tuple[str, str]]]] = {}
    for film in films:
        if panel in ("", film.panel.code):
            found.setdefault(film.place, (label(film, film.panel.code), _of_film(film)))
    for line in cover_of(vehicle, today=today).lines.values():
        if line.fitting_id is None and panel in ("", line.panel):
            found.setdefault(line.panel, (line.label, [(line.panel, WHOLE)]))
    return list(found.values())


def _of_film(film: Fitting) -> list[tuple[str, str]]:
    edges = [
        (f"{film.place}@{edge.code}", edge_label(film, edge))
        for edge in film.edges.all()
        if edge.finish != "open"
    ]
    return [(film.place, WHOLE), *edges]


def parted(place: str) -> dict[str, str]:
    """The chosen place as the verb takes it.

    >>> parted("fender-left.1@arch"), parted("hood.1")
    ({'panel': 'fender-left.1', 'edge': 'arch'}, {'panel': 'hood.1', 'edge': ''})
    """
    panel, _, edge = place.partition("@")
    return {"panel": panel, "edge": edge}
