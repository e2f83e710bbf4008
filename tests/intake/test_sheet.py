"""The body sheet as geometry: closed outlines, no panel on another, both sides alike, sizes of a real car."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.intake.curves import area, bounds, contains, flattened, length, shortened
from shop.intake.shapes import locate, panel_at, place
from shop.intake.sheet import BodyError, read_body
from tests.intake.sheets import NAMES, body, document

BOTH = ("fender", "quarter", "rocker", "pillar-a", "mirror")
MIDDLE = {"hood", "roof", "bumper-front", "bumper-rear"}
PANELS = {
    "sedan": (MIDDLE | {"trunk-lid"}, (*BOTH, "door-front", "door-rear")),
    "coupe": (MIDDLE | {"trunk-lid"}, (*BOTH, "door-front")),
    "hatchback": (MIDDLE | {"tailgate"}, (*BOTH, "door-front", "door-rear")),
    "estate": (MIDDLE | {"tailgate"}, (*BOTH, "door-front", "door-rear")),
    "van": (MIDDLE | {"tailgate"}, (*BOTH, "door-front", "door-rear")),
    "pickup": (MIDDLE | {"tailgate"}, (*BOTH, "door-front", "door-rear", "pillar-c")),
}
FLAT = {"hood", "roof", "trunk-lid", "tailgate", "bumper", "fender", "door", "quarter", "rocker", "mirror"}


def shapes(of):
    return [(panel, shape) for panel in of.panels for shape in panel.shapes]


def points(chain):
    return flattened(chain, 8)


@pytest.mark.parametrize("name", NAMES)
def test_a_body_has_the_panels_of_its_style(name):
    middle, sides = PANELS[name]
    wanted = middle | {f"{side}-{hand}" for side in sides for hand in ("left", "right")}
    assert {panel.code for panel in body(name).panels} == wanted


@pytest.mark.parametrize("name", NAMES)
def test_every_outline_is_closed_and_runs_through_its_edges(name):
    for panel, shape in shapes(body(name)):
        sides = [edge.curves for edge in shape.edges if not edge.closed]
        for before, after in itertools.pairwise([*sides, sides[0]]):
            assert abs(before[-1][3] - after[0][0]) < 0.01, panel.code
        for curve, following in itertools.pairwise([*shape.outline, shape.outline[0]]):
            assert abs(curve[3] - following[0]) < 0.1, panel.code
        assert abs(area(shape.outline)) > 20, panel.code


@pytest.mark.parametrize("name", NAMES)
def test_an_outline_never_crosses_itself(name):
    for panel, shape in shapes(body(name)):
        line = points(shape.outline)
        steps = list(itertools.pairwise(line))
        for (i, (a, b)), (j, (c, d)) in itertools.combinations(enumerate(steps), 2):
            if j - i > 1 and j - i < len(steps) - 1 and abs(a - c) < 30:
                assert not crosses(a, b, c, d), f"{panel.code} near {a:.0f}"


def crosses(a, b, c, d):
    def side(p, q, r):
        return ((q - p).conjugate() * (r - p)).imag

    return side(a, b, c) * side(a, b, d) < -1e-6 and side(c, d, a) * side(c, d, b) < -1e-6


@pytest.mark.parametrize("name", NAMES)
def test_no_panel_lies_on_another(name):
    drawn = [(panel.code, points(shape.outline)) for panel, shape in shapes(body(name))]
    for (one, first), (other, second) in itertools.combinations(drawn, 2):
        if not apart(bounds(first), bounds(second)):
            assert not any(contains(second, point) for point in first), f"{one} on {other}"
            assert not any(contains(first, point) for point in second), f"{other} on {one}"


def apart(a, b):
    return a[2] < b[0] or b[2] < a[0] or a[3] < b[1] or b[3] < a[1]


def test_neighbours_keep_two_gaps_apart():
    sedan = body()
    gap = 2 * 13 * 1000 / sedan.length_mm
    for one, other in (
        ("door-front-left", "door-rear-left"),
        ("fender-left", "door-front-left"),
        ("door-rear-left", "quarter-left"),
        ("quarter-left", "bumper-rear"),
    ):
        nearest = min(
            abs(a - b)
            for first in sedan.panel(one).shapes
            for second in sedan.panel(other).shapes
            for a in flattened(first.outline)
            for b in flattened(second.outline)
        )
        assert nearest == pytest.approx(gap, abs=0.6), f"{one}, {other}"


@pytest.mark.parametrize("name", NAMES)
def test_nothing_lies_outside_the_sheet(name):
    this = body(name)
    left, top = this.box.x - 0.5, this.box.y - 0.5
    right, bottom = left + this.box.width + 1, top + this.box.height + 1
    for chain in [shape.outline for _, shape in shapes(this)] + [
        piece.curves for piece in this.decor if piece.view != "flat"
    ]:
        a, b, c, d = bounds(points(chain))
        assert left <= a and top <= b and c <= right and d <= bottom
    assert 0.6 < this.box.width / this.box.height < 0.85


@pytest.mark.parametrize("name", NAMES)
def test_the_right_side_is_the_mirror_of_the_left(name):
    this = body(name)
    for left in this.panels:
        if not left.code.endswith("-left"):
            continue
        right = this.panel(left.code.removesuffix("left") + "right")
        assert [edge.code for edge in right.edges] == [edge.code for edge in left.edges]
        assert right.title != left.title
        for one, other in zip(left.shapes, right.shapes, strict=True):
            for a, b in zip(points(one.outline), points(other.outline), strict=True):
                assert b == pytest.approx(complex(-a.real, a.imag), abs=1e-9)


@pytest.mark.parametrize("name", NAMES)
def test_a_central_panel_is_alike_on_both_sides(name):
    for panel in body(name).panels:
        if not panel.code.endswith(("left", "right")):
            assert panel.box.x == pytest.approx(-panel.box.x - panel.box.width, abs=0.01)
            codes = {edge.code for edge in panel.edges}
            swapped = {
                "-".join({"left": "right", "right": "left"}.get(w, w) for w in c.split("-")) for c in codes
            }
            assert swapped == codes


@pytest.mark.parametrize("name", NAMES)
def test_every_panel_draws_all_its_edges_and_corners(name):
    for panel in body(name).panels:
        edges = {edge.code for edge in panel.edges if edge.kind == "edge"}
        corners = {edge.code for edge in panel.edges if edge.kind == "corner"}
        for drawn in (panel.shapes, [panel.flat]):
            assert {edge.code for shape in drawn for edge in shape.edges} - {""} == edges, panel.code
            assert {node.code for shape in drawn for node in shape.nodes} == corners, panel.code
        places = [node.code for node in panel.flat.nodes]
        assert len(places) == len(set(places)), panel.code


@pytest.mark.parametrize("name", NAMES)
def test_corners_stand_at_the_ends_of_edges(name):
    for panel, shape in shapes(body(name)):
        ends = [edge.curves[end][3 * -end] for edge in shape.edges for end in (0, -1)]
        for node in shape.nodes:
            assert min(abs(node.at - end) for end in ends) < 0.01, f"{panel.code} {node.code}"


@pytest.mark.parametrize("name", NAMES)
def test_drawn_size_is_near_the_nominal_one(name):
    this = body(name)
    per_th = this.length_mm / 1000
    for panel in this.panels:
        if panel.kind not in FLAT:
            continue
        left, top, right, bottom = bounds(points(panel.flat.outline))
        gap = 26  # two gaps in mm, near enough for every body
        drawn = ((right - left) * per_th + gap) * ((bottom - top) * per_th + gap)
        width, height = panel.nominal_mm
        assert 0.85 < drawn / (width * height) < 1.15, f"{panel.code}: {drawn / width / height:.2f}"


@pytest.mark.parametrize("name", NAMES)
def test_only_hood_and_roof_corners_are_primed_from_the_start(name):
    for panel in body(name).panels:
        for edge in panel.edges:
            assert edge.primer == (edge.kind == "corner" and panel.code in ("hood", "roof")), panel.code


@pytest.mark.parametrize("name", NAMES)
def test_a_return_depth_stands_where_film_is_wrapped(name):
    for panel in body(name).panels:
        for edge in panel.edges:
            if edge.kind == "edge":
                assert (edge.return_mm is not None) == (edge.finish == "wrapped"), f"{panel.code} {edge.code}"
                assert edge.return_mm is None or edge.return_mm >= 6


@given(x=st.integers(0, 1000), y=st.integers(0, 1000))
def test_a_place_in_thousandths_comes_back(x, y):
    for panel in body().panels:
        assert locate(panel, place(panel, x, y)) == (x, y)


def test_the_panel_under_a_point_is_found():
    sedan = body()
    for panel in sedan.panels:
        if panel.kind in ("hood", "roof", "door"):
            assert panel_at(sedan, panel.box.centre) == panel.code
    assert panel_at(sedan, complex(0, 360)) is None  # windshield


def test_a_point_outside_is_held_to_the_box():
    assert locate(body().panel("hood"), complex(-9999, 9999)) == (0, 1000)


def faulty(change):
    wrong = document("sedan")
    change(wrong["panels"][0])
    with pytest.raises(BodyError) as refused:
        read_body(wrong)
    return str(refused.value)


def test_a_body_that_cannot_be_drawn_is_refused_by_name():
    def part(panel, index):
        return panel["shapes"][0]["outline"][index]

    assert "hood" in faulty(lambda panel: panel["edges"].pop(2))
    assert "does not close" in faulty(
        lambda panel: part(panel, 1).update(path="57,125 119,143 213,153 312,158")
    )
    assert "centre line" in faulty(lambda panel: part(panel, 2).update(path="302,158 286,111 271,58 271,9"))
    assert "middle of a curve" in faulty(lambda panel: part(panel, 0).update(path="32,0 32,43 40,91"))
    assert "not a point" in faulty(lambda panel: part(panel, 0).update(path="32,0 x,43 40,91 57,125"))
    assert "no view" in faulty(lambda panel: panel["shapes"][0].update(view="above"))
    assert "share a code" in faulty(lambda panel: panel["edges"][0].update(code="left"))
    assert "lacks" in faulty(lambda panel: panel.pop("material"))
    with pytest.raises(BodyError, match="Two panels"):
        twice = document("sedan")
        read_body({**twice, "panels": [*twice["panels"], twice["panels"][0]]})


@given(cut=st.floats(0, 60))
def test_a_shortened_edge_loses_just_what_was_cut(cut):
    chain = body().panel("fender-left").shapes[0].edges[0].curves
    assert length(shortened(chain, cut, cut)) == pytest.approx(length(chain) - 2 * cut, abs=0.2)
