"""Lanes round a zoomed panel: one for every edge and a disc for every corner, in one ring outside the outline.

The ring runs at an even distance from the panel. Corners keep their place on it where they can and give way
where an edge between two of them would be too short for a finger.
"""

import cmath
import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from shop.intake.curves import Chain, flattened

_STEP = 4.0  # px between points of the ring
_DRAWN = 7.0  # px between points of a lane as drawn
_BEND = math.radians(15)  # over 12 px: more than this and letters run into each other


@dataclass(frozen=True)
class Ring:
    """Closed line of points, `_STEP` px apart, with the place of each corner on it."""

    points: tuple[complex, ...]
    corners: tuple[float, ...]  # px along the ring

    @property
    def length(self) -> float:
        return len(self.points) * self.step

    @property
    def step(self) -> float:
        return abs(self.points[1] - self.points[0]) or _STEP

    def at(self, along: float) -> complex:
        place = along / self.step
        index = math.floor(place)
        a, b = self.points[index % len(self.points)], self.points[(index + 1) % len(self.points)]
        return a + (b - a) * (place - index)

    def way(self, along: float) -> complex:
        """Unit direction of the ring."""
        step = self.at(along + self.step) - self.at(along - self.step)
        return step / (abs(step) or 1)


@dataclass(frozen=True)
class Lane:
    """A strip along the ring; its middle line runs as the outline does."""

    middle: tuple[complex, ...]
    border: tuple[complex, ...]
    length: float

    def along(self, px: float) -> complex:
        """Point of the middle line, counted in the direction in which it is read."""
        points = self.reading
        place = max(0.0, min(1.0, px / (self.length or 1))) * (len(points) - 1)
        index = min(int(place), len(points) - 2)
        return points[index] + (points[index + 1] - points[index]) * (place - index)

    @property
    def reading(self) -> tuple[complex, ...]:
        """The middle line so that words along it never stand upside down: up the left, down the right."""
        span = self.middle[-1] - self.middle[0]
        return self.middle[::-1] if span.real < -0.25 * abs(span) else self.middle

    def straightest(self, start: float, end: float) -> tuple[float, float]:
        """The longest stretch between two places on which words can be read: no sharp bend in it."""
        count = max(1, round((end - start) / 12))
        marks = [start + (end - start) * index / count for index in range(count + 1)]
        points = [self.along(mark) for mark in marks]
        breaks = [0, count]
        for index in range(1, count):
            before, after = points[index] - points[index - 1], points[index + 1] - points[index]
            if abs(cmath.phase(after / before)) > _BEND:
                breaks.append(index)
        breaks.sort()
        first, last = max(itertools.pairwise(breaks), key=lambda pair: pair[1] - pair[0])
        return marks[first], marks[last]


def ring_round(sides: Sequence[Chain], distance: float) -> Ring:
    """Ring at `distance` px outside a closed outline, given clockwise as its sides in px, each ending at a corner."""
    points, ends = _sampled(sides)
    count = len(points)
    coarse = points[::2]
    kept: list[tuple[int, complex]] = []
    for index, point in enumerate(points):
        before, after = points[index - 1], points[(index + 1) % count]
        way = after - before
        moved = point + way / (abs(way) or 1) * -1j * distance
        if min(abs(moved - other) for other in coarse) > distance - 0.8:
            kept.append((index, moved))
    ring = _even(_smoothed([point for _, point in kept]))
    corners = [_nearest(ring, _kept_at(kept, end, count)) for end in ends]
    return Ring(tuple(ring), tuple(_in_order(corners, ring)))


def _sampled(sides: Sequence[Chain]) -> tuple[list[complex], list[int]]:
    points: list[complex] = []
    ends: list[int] = []
    for side in sides:
        line = _resampled(flattened(side, 12), 5.0)
        points.extend(line[:-1])
        ends.append(len(points))
    return points, [end % len(points) for end in ends]


def _kept_at(kept: Sequence[tuple[int, complex]], wanted: int, count: int) -> complex:
    def apart(entry: tuple[int, complex]) -> int:
        gap = abs(entry[0] - wanted)
        return min(gap, count - gap)

    return min(kept, key=apart)[1]


def _smoothed(points: list[complex], passes: int = 3) -> list[complex]:
    """Takes the kink out of the ring where the panel's outline turns inwards."""
    for _ in range(passes):
        count = len(points)
        points = [(points[i - 1] + 2 * points[i] + points[(i + 1) % count]) / 4 for i in range(count)]
    return points


def _even(points: list[complex]) -> list[complex]:
    closed = [*points, points[0]]
    return _resampled(closed, _STEP)[:-1]


def _resampled(points: Sequence[complex], step: float) -> list[complex]:
    """The same line with points spaced evenly, `step` apart or a little less; both ends kept."""
    walked = [0.0]
    for a, b in itertools.pairwise(points):
        walked.append(walked[-1] + abs(b - a))
    whole = walked[-1]
    count = max(1, math.ceil(whole / step))
    said = []
    index = 0
    for number in range(count + 1):
        wanted = whole * number / count
        while index < len(walked) - 2 and walked[index + 1] < wanted:
            index += 1
        span = walked[index + 1] - walked[index]
        share = (wanted - walked[index]) / span if span else 0.0
        said.append(points[index] + (points[index + 1] - points[index]) * min(share, 1.0))
    return said


def _nearest(ring: Sequence[complex], point: complex) -> int:
    return min(range(len(ring)), key=lambda index: abs(ring[index] - point))


def _in_order(corners: Sequence[int], ring: Sequence[complex]) -> list[float]:
    """Places along the ring that only grow; the last may lie beyond one full turn."""
    step = abs(ring[1] - ring[0])
    said: list[float] = []
    for corner in corners:
        place = float(corner)
        while said and place < said[-1] - len(ring) / 2:
            place += len(ring)
        said.append(max(place, said[-1]) if said else place)
    return [place * step for place in said]


def spread(natural: Sequence[float], least: Sequence[float], whole: float) -> list[float]:
    """Places on a ring `whole` long, as near as may be to the natural ones, each `least` px before the next.

    Entry i of `least` stands between place i and the next. When all together ask for more than there is,
    everybody gets the same share less.
    """
    wanted = sum(least)
    least = [gap * min(1.0, 0.98 * whole / wanted) for gap in least] if wanted else list(least)
    places = list(natural)
    count = len(places)
    for _ in range(400):
        worst = 0.0
        for index in range(count):
            after = (index + 1) % count
            turn = whole if after <= index else 0.0
            lack = least[index] - (places[after] + turn - places[index])
            if lack > 0.05:
                places[index] -= lack / 2
                places[after] += lack / 2
                worst = max(worst, lack)
        if worst == 0.0:
            break
    return places


def lane(ring: Ring, start: float, end: float, thick: float, discs: Sequence[tuple[complex, float]]) -> Lane:
    """Strip of the ring from `start` to `end`, cut back until it stands clear of the discs at its ends."""
    half = thick / 2

    def clear(along: float) -> bool:
        aside = ring.way(along) * 1j * half
        across = [ring.at(along) + aside * share for share in (-1, -0.5, 0, 0.5, 1)]
        return all(abs(point - centre) > radius for centre, radius in discs for point in across)

    while start < end and not clear(start):
        start += 1
    while end > start and not clear(end):
        end -= 1
    count = max(2, math.ceil((end - start) / _DRAWN))
    along = [start + (end - start) * index / count for index in range(count + 1)]
    middle = tuple(ring.at(place) for place in along)
    one = _beside(ring, along, middle, half)
    other = _beside(ring, along, middle, -half)
    return Lane(middle, (*one, *reversed(other)), end - start)


def _beside(ring: Ring, along: Sequence[float], middle: Sequence[complex], aside: float) -> list[complex]:
    """Line `aside` px beside the middle one, without the spurs that the inner side of a bend would make."""
    points = [ring.at(place) + ring.way(place) * 1j * aside for place in along]
    return [point for point in points if min(abs(point - other) for other in middle) > abs(aside) - 0.8]
