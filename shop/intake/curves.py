"""Cubic curves in the plane: reading, splitting, offsetting, rounding.

A point is a complex number, x to the right and y downwards, so that turning and scaling are products.
"""

import itertools
import math
import re
from collections.abc import Callable, Iterable, Sequence

Cubic = tuple[complex, complex, complex, complex]
Chain = tuple[Cubic, ...]

_TOKEN = re.compile(r"([L@]?)(-?\d+(?:\.\d+)?),(-?\d+(?:\.\d+)?)")
_STEPS = 16


def read_path(text: str) -> Chain:
    """Chain from "x,y x,y x,y x,y …": a start, then handle, handle, end for each cubic.

    "Lx,y" is a straight line to a point; "@x,y" gives the centre of a circle that runs over the top
    (greater second coordinate) to the next point: a wheel arch. ValueError when a token is left over.
    """
    tokens = _tokens(text)
    at = tokens[0][1]
    chain: list[Cubic] = []
    rest = tokens[1:]
    while rest:
        kind, first = rest[0]
        taken = {"L": 1, "@": 2, "": 3}[kind]
        if len(rest) < taken:
            raise ValueError(f"path ends in the middle of a curve: {text}")
        points = [point for _, point in rest[:taken]]
        if kind == "L":
            chain.append(line(at, first))
        elif kind == "@":
            chain.extend(_arch(first, at, points[1]))
        else:
            chain.append((at, points[0], points[1], points[2]))
        at = chain[-1][3]
        rest = rest[taken:]
    return tuple(chain)


def _tokens(text: str) -> list[tuple[str, complex]]:
    found = []
    for word in text.split():
        match = _TOKEN.fullmatch(word)
        if not match:
            raise ValueError(f"not a point: {word}")
        found.append((match[1], complex(float(match[2]), float(match[3]))))
    if not found:
        raise ValueError("empty path")
    return found


def line(start: complex, end: complex) -> Cubic:
    third = (end - start) / 3
    return (start, start + third, end - third, end)


def arc(centre: complex, radius: float, start: float, sweep: float) -> Chain:
    """Part of a circle from angle `start` through `sweep`, in radians, as cubics of at most an eighth."""
    count = max(1, math.ceil(abs(sweep) / (math.pi / 4) - 1e-9))
    step = sweep / count
    handle = 4 / 3 * math.tan(step / 4)
    chain = []
    for index in range(count):
        first = complex(math.cos(start + index * step), math.sin(start + index * step)) * radius
        last = first * complex(math.cos(step), math.sin(step))
        chain.append(
            (
                centre + first,
                centre + first + first * 1j * handle,
                centre + last - last * 1j * handle,
                centre + last,
            )
        )
    return tuple(chain)


def _arch(centre: complex, start: complex, end: complex) -> Chain:
    first, last = _angle(start - centre), _angle(end - centre)
    up_at = (math.pi / 2 - first) % math.tau
    sweep = (last - first) % math.tau
    if up_at > sweep:
        sweep -= math.tau
    curves = arc(centre, abs(start - centre), first, sweep)
    return (*curves[:-1], (*curves[-1][:3], end))


def _angle(vector: complex) -> float:
    return math.atan2(vector.imag, vector.real)


def moved(chain: Iterable[Cubic], where: Callable[[complex], complex]) -> Chain:
    return tuple((where(c[0]), where(c[1]), where(c[2]), where(c[3])) for c in chain)


def turned_round(chain: Sequence[Cubic]) -> Chain:
    """The same line walked the other way."""
    return tuple((c[3], c[2], c[1], c[0]) for c in reversed(chain))


def point_at(c: Cubic, t: float) -> complex:
    s = 1 - t
    return s * s * s * c[0] + 3 * s * s * t * c[1] + 3 * s * t * t * c[2] + t * t * t * c[3]


def split(c: Cubic, t: float) -> tuple[Cubic, Cubic]:
    ab, bc, cd = (_between(c[i], c[i + 1], t) for i in range(3))
    abc, bcd = _between(ab, bc, t), _between(bc, cd, t)
    middle = _between(abc, bcd, t)
    return (c[0], ab, abc, middle), (middle, bcd, cd, c[3])


def _between(a: complex, b: complex, t: float) -> complex:
    return a + (b - a) * t


def leaving(c: Cubic) -> complex:
    """Unit direction in which the curve starts."""
    return _unit(next((p - c[0] for p in c[1:] if abs(p - c[0]) > 1e-6), 1 + 0j))


def arriving(c: Cubic) -> complex:
    """Unit direction in which the curve ends."""
    return _unit(next((c[3] - p for p in (c[2], c[1], c[0]) if abs(c[3] - p) > 1e-6), 1 + 0j))


def _unit(vector: complex) -> complex:
    return vector / (abs(vector) or 1)


def flattened(chain: Iterable[Cubic], steps: int = _STEPS) -> list[complex]:
    points: list[complex] = []
    for c in chain:
        if not points:
            points.append(c[0])
        points.extend(point_at(c, index / steps) for index in range(1, steps + 1))
    return points


def length(chain: Iterable[Cubic]) -> float:
    points = flattened(chain)
    return sum(abs(b - a) for a, b in itertools.pairwise(points))


def area(chain: Iterable[Cubic]) -> float:
    """Signed area of a closed chain; positive when it runs clockwise on the screen."""
    points = flattened(chain)
    return sum((a.conjugate() * b).imag for a, b in zip(points, points[1:] + points[:1], strict=True)) / 2


def shortened(chain: Sequence[Cubic], start: float, end: float) -> Chain:
    """The chain without its first `start` and last `end` of length; empty when nothing is left."""
    return turned_round(_without_start(turned_round(_without_start(tuple(chain), start)), end))


def _without_start(chain: Chain, cut: float) -> Chain:
    while chain and cut > 0:
        whole = length(chain[:1])
        if whole > cut:
            return (split(chain[0], _t_at_length(chain[0], cut))[1], *chain[1:])
        cut -= whole
        chain = chain[1:]
    return chain


def _t_at_length(c: Cubic, wanted: float) -> float:
    points = flattened((c,), 64)
    walked = 0.0
    for index, (a, b) in enumerate(itertools.pairwise(points)):
        step = abs(b - a)
        if walked + step >= wanted:
            return (index + (wanted - walked) / (step or 1)) / 64
        walked += step
    return 1.0


def middle(chain: Sequence[Cubic]) -> complex:
    """Point half way along the chain."""
    half = shortened(chain, length(chain) / 2, 0)
    return half[0][0] if half else chain[0][0]


def bounds(points: Iterable[complex]) -> tuple[float, float, float, float]:
    """Left, top, right, bottom."""
    kept = list(points)
    across, down = [p.real for p in kept], [p.imag for p in kept]
    return min(across), min(down), max(across), max(down)


def contains(outline: Sequence[complex], at: complex) -> bool:
    """True when the point lies inside the closed polygon (even-odd)."""
    inside = False
    for a, b in zip(outline, [*outline[1:], outline[0]], strict=True):
        if (a.imag > at.imag) != (b.imag > at.imag):
            crossing = a.real + (at.imag - a.imag) * (b.real - a.real) / (b.imag - a.imag)
            inside ^= at.real < crossing
    return inside
