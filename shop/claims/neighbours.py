"""What happened elsewhere: other cars of the same lot, the same edge on the other side, other places of this car."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Q

from shop.claims.facts import Fact
from shop.claims.models import Claim
from shop.claims.place import edge_label, label, where
from shop.intake.mirror import other_side
from shop.warranty.aftercare import Finding
from shop.warranty.vocabulary import SOUND, Vocabulary
from shop.work.models.fitting import Fitting

NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


@dataclass(frozen=True)
class OtherCar:
    """One car that carries, or carried, film of the same lot; `wrong` are sentences about what was found on it."""

    vehicle: int
    name: str
    panels: int
    wrong: tuple[str, ...]


def cars_of_lot(film: Fitting, words: Vocabulary) -> list[OtherCar]:
    """Every car with film of this lot, this one among them, those with something wrong first."""
    if film.roll is None:
        return []
    films = list(
        Fitting.objects.filter(roll__lot=film.roll.lot_id, job__workshop=film.job.workshop_id)
        .exclude(ended_as__in=("taken_off", "called_off"))
        .select_related("panel__vehicle__plate", "job")
    )
    wrong: dict[int, list[str]] = {}
    for fitting, sentence in _wrong_on(films, words):
        wrong.setdefault(fitting.panel.vehicle_id, []).append(sentence)
    cars: dict[int, list[Fitting]] = {}
    for fitting in films:
        cars.setdefault(fitting.panel.vehicle_id, []).append(fitting)
    found = [
        OtherCar(
            vehicle,
            fittings[0].panel.vehicle.plate_text or fittings[0].job.number,
            len({fitting.panel_id for fitting in fittings}),
            tuple(dict.fromkeys(wrong.get(vehicle, ()))),
        )
        for vehicle, fittings in cars.items()
    ]
    return sorted(found, key=lambda car: (-len(car.wrong), car.name))


def lot_fact(film: Fitting, cars: list[OtherCar]) -> Fact | None:
    if film.roll is None:
        return None
    panels = sum(car.panels for car in cars)
    faults = sum(len(car.wrong) for car in cars)
    if faults:
        with_faults = sum(bool(car.wrong) for car in cars)
        end = f"{_counted(faults, 'fault')} on {_counted(with_faults, 'car')}"
    else:
        end = "no fault"
    code = film.roll.lot.code
    text = f"{code}: {_counted(len(cars), 'car')}, {_counted(panels, 'panel')}, {end}."
    return Fact("Lot", text, odd=sum(bool(car.wrong) for car in cars) > 1)


def pattern_fact(claim: Claim, words: Vocabulary) -> Fact:
    """One spot, both sides alike, or several places: what this car tells besides the place itself."""
    others = [
        other
        for other in Claim.objects.filter(vehicle=claim.vehicle).exclude(pk=claim.pk).for_page()
        if (other.panel, other.edge_id) != (claim.panel, claim.edge_id)
    ]
    mirrored = _other_side(claim)
    if mirrored and (said := _said_there(claim, mirrored, others, words)):
        alike = f"{len(others)} more reported on this car" if others else "one spot"
        return Fact("Pattern", f"{alike}; {said}.", odd="wrong" in said)
    if not others:
        return Fact("Pattern", "one spot; nothing else is reported on this car.")
    places = "; ".join(f"{where(other)}: {words.title(other.symptom).lower()}" for other in others[:4])
    return Fact("Pattern", f"{_counted(len(others), 'other place')} reported. {places}.", odd=True)


def _other_side(claim: Claim) -> Fitting | None:
    if claim.fitting is None:
        return None
    panel, edge = other_side(claim.panel), claim.edge.code if claim.edge else ""
    if panel == claim.panel and other_side(edge) == edge:
        return None
    return (
        Fitting.objects.live()
        .filter(panel__vehicle=claim.vehicle, panel__code=panel, piece=claim.fitting.piece)
        .select_related("panel", "job__body", "job__workshop")
        .prefetch_related("edges")
        .first()
    )


def _said_there(claim: Claim, film: Fitting, others: list[Claim], words: Vocabulary) -> str:
    """What is known of the same edge on the other side: reported, looked at and sound, or nothing."""
    code = other_side(claim.edge.code) if claim.edge else ""
    if film.panel.code == claim.panel:
        name = edge_label(film, next((edge for edge in film.edges.all() if edge.code == code), None))
    else:
        name = label(film, film.panel.code).lower()
    for other in others:
        if other.panel == film.panel.code and (not code or (other.edge and other.edge.code == code)):
            return f"both sides alike: {name} is wrong too"
    looked = Finding.objects.filter(fitting=film).filter(Q(edge__code=code) | Q(edge__isnull=True))
    last = looked.order_by("-at", "-pk").first()
    if last is None:
        return ""
    if last.kind == SOUND:
        return f"{name} was sound when last looked at"
    return f"{name} is wrong too: {words.title(last.kind).lower()}"


def _wrong_on(films: list[Fitting], words: Vocabulary) -> Iterable[tuple[Fitting, str]]:
    """Claims and findings on these films, as sentences."""
    by_pk = {film.pk: film for film in films}
    for claim in Claim.objects.filter(fitting__in=by_pk).for_page():
        yield by_pk[claim.fitting_id], f"{where(claim)}: {words.title(claim.symptom).lower()}"
    seen = Finding.objects.filter(fitting__in=by_pk, recheck__isnull=False).exclude(kind=SOUND)
    for finding in seen.select_related(
        "fitting__panel", "fitting__job__body", "fitting__job__workshop", "edge"
    ):
        film = finding.fitting
        edge = edge_label(film, finding.edge)
        place = label(film, finding.panel) + (f", {edge}" if edge else "")
        yield by_pk[film.pk], f"{place}: {words.title(finding.kind).lower()}"


def _counted(count: int, unit: str) -> str:
    number = NUMBERS[count] if count < len(NUMBERS) else str(count)
    return f"{number} {unit}" + ("" if count == 1 else "s")
