"""The zoomed panel: every edge and corner can be touched, nothing to be touched lies on anything else."""

import itertools
import re
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.intake.curves import contains
from shop.intake.drawing import EdgeMark, EdgeState, draw_panel
from shop.intake.hatching import hatch_lines
from shop.intake.lanes import spread
from shop.intake.svg import PAINTS
from tests.intake.sheets import NAMES, body

SVG = "{http://www.w3.org/2000/svg}"
EVERY = [
    (name, panel.code) for name in NAMES for panel in body(name).panels if not panel.code.endswith("right")
]
SIZES = [(780, 660), (440, 400)]


def zoomed(panel="hood", name="sedan", edges=None, **more):
    return ElementTree.fromstring(draw_panel(body(name), panel, edges=edges or {}, **more))


def touches(root):
    return {each.get("data-edge"): each for each in root.iter() if each.get("role") == "button"}


def surface(touch):
    """Paint of a lane or disc: fill, stroke, width, dash."""
    lane = next(
        each for each in touch if "lane" in (each.get("class") or "").split() or each.tag == f"{SVG}circle"
    )
    lane = next((each for each in touch if "lane" in (each.get("class") or "").split()), lane)
    if lane.get("display") == "none":
        lane = next(each for each in touch if each.tag == f"{SVG}circle" and each.get("display") is None)
    return tuple(lane.get(key) for key in ("fill", "stroke", "stroke-width", "stroke-dasharray"))


def border(touch):
    data = touch.find(f"{SVG}defs/{SVG}path").get("d")
    return [complex(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+),(-?[\d.]+)", data)]


def disc(touch):
    circle = next(each for each in touch.iter(f"{SVG}circle"))
    return complex(float(circle.get("cx")), float(circle.get("cy"))), float(circle.get("r"))


@pytest.mark.parametrize(("name", "panel"), EVERY)
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_every_edge_that_is_a_break_and_every_corner_can_be_touched(name, panel, width, height):
    root = zoomed(panel, name, width=width, height=height)
    asked = {
        edge.code for edge in body(name).panel(panel).edges if edge.kind == "corner" or edge.finish != "open"
    }
    found = touches(root)
    assert set(found) == asked
    for touch in found.values():
        assert touch.get("tabindex") == "0" and touch.get("data-panel") == f"{panel}.1"
        assert "not answered" in touch.get("aria-label")
    ids = [each.get("id") for each in root.iter() if each.get("id")]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize(("name", "panel"), EVERY)
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_discs_and_lanes_stand_clear_of_each_other_and_inside_the_drawing(name, panel, width, height):
    root = zoomed(panel, name, width=width, height=height)
    kinds = {edge.code: edge.kind for edge in body(name).panel(panel).edges}
    rims = {rim.code for rim in body(name).panel(panel).flat.rims}
    found = touches(root)
    discs = {code: disc(touch) for code, touch in found.items() if kinds[code] == "corner"}
    lanes = {
        code: border(touch) for code, touch in found.items() if kinds[code] == "edge" and code not in rims
    }
    for (one, (a, r)), (other, (b, q)) in itertools.combinations(discs.items(), 2):
        assert abs(a - b) > (r + q) * 0.98, f"{one} on {other}"
    for code, line in lanes.items():
        for corner, (at, r) in discs.items():
            assert not contains(line, at) and min(abs(point - at) for point in line) > r, (
                f"{code} on {corner}"
            )
    for point in [*itertools.chain(*lanes.values()), *(at for at, _ in discs.values())]:
        assert 0 <= point.real <= width and 0 <= point.imag <= height


def test_lanes_of_a_hood_are_as_thick_as_a_finger_needs():
    for (width, height), thick in zip(SIZES, (44, 40), strict=True):
        for code, touch in touches(zoomed(width=width, height=height)).items():
            if code in ("front", "left", "right", "cowl"):
                reach = next(each for each in touch if each.get("pointer-events") == "stroke")
                assert float(reach.get("stroke-width")) == 56
                line = border(touch)
                assert abs(line[0] - line[-1]) == pytest.approx(thick, abs=0.5)
            else:
                assert 25 <= disc(touch)[1] <= 29


def test_lanes_by_state():
    ink, sheet, tape = PAINTS["ink"], PAINTS["sheet"], PAINTS["tape"]
    wanted = {
        EdgeMark.UNANSWERED: (sheet, ink, "1.6", None),
        EdgeMark.ASKED: (tape, ink, "3.4", None),
        EdgeMark.ANSWERED: (ink, ink, "1.6", None),
        EdgeMark.WRONG: (sheet, ink, "4", "14 8"),
        EdgeMark.NOT_HERE: (sheet, ink, "1.8", "1.8 4"),
    }
    for mark, paint in wanted.items():
        touch = touches(zoomed(edges={"left": EdgeState(mark)}))["left"]
        assert surface(touch) == paint, mark
        assert touch.get("data-state") == mark.value


def test_corners_by_state():
    def drawn(state):
        return touches(zoomed(edges={"cowl-left": state}))["cowl-left"]

    assert surface(drawn(EdgeState(EdgeMark.ANSWERED)))[0] == PAINTS["ink"]
    assert surface(drawn(EdgeState(EdgeMark.ASKED)))[0] == PAINTS["tape"]
    assert surface(drawn(EdgeState(EdgeMark.WRONG)))[3] == "14 8"
    primed = drawn(EdgeState(primed=True))
    assert [text.text for text in primed.iter(f"{SVG}text")] == ["P"]
    assert primed.get("aria-label") == "Cowl left corner, not answered, primed"


def test_an_edge_without_a_break_is_no_button_but_set_out_as_a_seam_it_is():
    assert "roof" not in touches(zoomed("quarter-left"))
    seam = touches(zoomed("quarter-left", edges={"roof": EdgeState(finish="seam")}))
    assert seam["roof"].get("aria-label") == "Roof joint, seam, not answered"


def test_the_focus_is_asked_unless_it_is_answered():
    assert surface(touches(zoomed(focus="cowl"))["cowl"])[0] == PAINTS["tape"]
    assert touches(zoomed(focus="cowl"))["cowl"].get("aria-current") == "true"
    answered = touches(zoomed(focus="cowl", edges={"cowl": EdgeState(EdgeMark.ANSWERED)}))
    assert surface(answered["cowl"])[0] == PAINTS["ink"]


def test_a_lane_says_as_much_as_it_has_room_for():
    def said(width, height):
        root = zoomed(edges={"front": EdgeState(note="sealed 14:04")}, width=width, height=height)
        return touches(root)["front"].find(f".//{SVG}textPath").text

    assert said(780, 660) == "Front edge · wrapped 8 mm · sealed 14:04"
    assert said(440, 400) == "Front edge · wrapped 8 mm"
    assert said(250, 250) == "Front"


def test_names_facts_and_notes_are_escaped():
    nasty = '<b onload="x">&'
    svg = draw_panel(body(), "hood", edges={"front": EdgeState(note=nasty, finish="")}, facts=nasty)
    assert "<b " not in svg
    root = ElementTree.fromstring(svg)
    assert any(text.text == nasty for text in root.iter(f"{SVG}text"))
    assert nasty in touches(root)["front"].get("aria-label")
    for each in root.iter():
        assert not {key for key in each.attrib if key == "style" or key.startswith("on")}


def test_pieces_are_told_apart():
    root = zoomed("bumper-front", piece=2)
    assert {touch.get("data-panel") for touch in touches(root).values()} == {"bumper-front.2"}


def test_a_panel_that_is_not_there_is_a_key_error():
    with pytest.raises(KeyError):
        draw_panel(body(), "sunroof", edges={})


@given(
    natural=st.lists(st.floats(0, 990), min_size=2, max_size=12),
    least=st.floats(1, 200),
)
def test_spreading_keeps_the_order_and_gives_everybody_room(natural, least):
    natural.sort()
    places = spread(natural, [least] * len(natural), 1000)
    room = min(least, 980 / len(natural))
    for before, after in itertools.pairwise([*places, places[0] + 1000]):
        assert after - before >= room - 0.5


def test_spreading_leaves_alone_what_has_room():
    assert spread([0, 300, 600], [100, 100, 100], 1000) == [0, 300, 600]


def test_hatch_lines_stop_at_the_outline_and_at_a_hole():
    square = [0, 100, 100 + 100j, 100j]
    hole = [30 + 30j, 70 + 30j, 70 + 70j, 30 + 70j]
    lines = hatch_lines([square, hole], 8)
    for a, b in lines:
        for share in (0.001, 0.5, 0.999):
            point = a + (b - a) * share
            assert contains(square, point) and not contains(hole, point)
        assert (b - a).real == pytest.approx(-(b - a).imag)
    covered = sum(abs(b - a) for a, b in lines) * 8
    assert covered == pytest.approx(100 * 100 - 40 * 40, rel=0.03)
