"""The sheet as SVG: every state is drawn as it is specified, and nothing in it needs a style attribute."""

import itertools
import re
from xml.etree import ElementTree

import pytest

from shop.intake.drawing import EdgeMark, EdgeState, Mark, PanelMark, PanelState, draw_sheet
from shop.intake.sheet import read_body
from shop.intake.svg import PAINTS
from tests.intake.sheets import NAMES, body, document

SVG = "{http://www.w3.org/2000/svg}"
INK, SHEET, LINE, SOLID, TAPE = (PAINTS[name] for name in ("ink", "sheet", "line", "solid", "tape"))
DECOR = {piece["kind"] for piece in document("sedan")["decor"]}


def drawn(name="sedan", **said):
    said.setdefault("panels", {})
    return ElementTree.fromstring(draw_sheet(body(name), **said))


def group(root, panel):
    return next(each for each in root.iter() if each.get("data-panel") == panel and "panel" in classes(each))


def classes(element):
    return (element.get("class") or "").split()


def of_class(root, name):
    return [each for each in root.iter() if name in classes(each)]


def hood(mark, **more):
    return group(drawn(panels={"hood": PanelState(mark, **more)}, size="large"), "hood")


def fills(panel):
    return [each.get("fill") for each in of_class(panel, "fill")]


def lines_of(path):
    return path.get("d").count("M")


def test_not_in_the_job_is_a_thin_line_without_nodes():
    panel = group(drawn(), "hood")
    outline = panel[1]
    assert (outline.get("stroke"), outline.get("stroke-width"), outline.get("fill")) == (LINE, "1.1", "none")
    assert not of_class(panel, "node") and not of_class(panel, "hatch")


def test_not_started_is_an_ink_outline_with_nodes():
    panel = hood(PanelMark.NOT_STARTED)
    edges = of_class(panel, "edge")
    assert {edge.get("data-edge") for edge in edges} == {"front", "left", "cowl", "right"}
    assert {(edge.get("stroke"), edge.get("stroke-width")) for edge in edges} == {(INK, "1.7")}
    assert {node.get("data-edge") for node in of_class(panel, "node")} == {
        "front-left", "cowl-left", "cowl-right", "front-right",
    }  # fmt: skip
    assert fills(panel) == [SHEET]


def test_worked_is_hatched_one_way_and_ready_both_ways():
    worked, ready = (of_class(hood(mark), "hatch")[0] for mark in (PanelMark.WORKING, PanelMark.READY))
    assert worked.get("stroke") == ready.get("stroke") == INK
    slopes = [
        re.findall(r"M(-?[\d.]+),(-?[\d.]+)L(-?[\d.]+),(-?[\d.]+)", path.get("d")) for path in (worked, ready)
    ]
    signs = [{(float(d) - float(b)) * (float(c) - float(a)) > 0 for a, b, c, d in lines} for lines in slopes]
    assert signs == [{False}, {False, True}]
    assert lines_of(ready) > 1.5 * lines_of(worked)


def test_hatch_keeps_its_pitch_at_any_width():
    for width in (640, 1100):
        path = of_class(
            group(drawn(panels={"hood": PanelState(PanelMark.WORKING)}, width=width), "hood"), "hatch"
        )[0]
        starts = re.findall(r"M(-?[\d.]+),(-?[\d.]+)", path.get("d"))
        rows = sorted({round((float(x) + float(y)) / 2**0.5) for x, y in starts})
        assert {b - a for a, b in itertools.pairwise(rows)} == {8}


def test_signed_is_solid_and_its_creases_turn_to_sheet():
    panel = hood(PanelMark.SIGNED)
    assert fills(panel) == [SOLID]
    assert {each.get("stroke") for each in panel if each.get("stroke") not in (INK, None)} == {SHEET}


def test_held_is_a_thick_broken_outline_with_a_square_mark():
    panel = hood(PanelMark.HELD)
    outline = of_class(panel, "held")[0]
    assert (outline.get("stroke-width"), outline.get("stroke-dasharray")) == ("4.4", "9 5")
    squares = [each for each in panel.iter(f"{SVG}rect") if each.get("width") == each.get("height") == "20"]
    assert len(squares) == 1


def edge_drawn(state, code="cowl"):
    root = drawn(panels={"hood": PanelState()}, edges={f"hood.1.{code}": state}, size="large")
    return root, next(each for each in of_class(root, "edge") if each.get("data-edge") == code)


def test_the_asked_edge_is_tape_cased_in_ink_and_drawn_last():
    root, edge = edge_drawn(EdgeState(EdgeMark.ASKED))
    casing = of_class(root, "casing")[0]
    assert (edge.get("stroke"), edge.get("stroke-width")) == (TAPE, "6")
    assert (casing.get("stroke"), casing.get("stroke-width"), casing.get("d")) == (INK, "10", edge.get("d"))
    assert of_class(group(root, "hood"), "edge")[-1] is edge


def test_edges_by_state():
    wanted = {
        EdgeMark.UNANSWERED: ("1.7", None),
        EdgeMark.ANSWERED: ("5", None),
        EdgeMark.WRONG: ("5", "8 5"),
        EdgeMark.NOT_HERE: ("1.7", "1.5 3.5"),
        EdgeMark.OPEN: ("1.7", "1.5 3.5"),
    }
    for mark, (width, dash) in wanted.items():
        _, edge = edge_drawn(EdgeState(mark))
        assert (edge.get("stroke-width"), edge.get("stroke-dasharray")) == (width, dash), mark


def test_an_edge_is_found_by_piece_or_by_panel():
    one = draw_sheet(
        body(), panels={"hood": PanelState()}, edges={"hood.1.left": EdgeState(EdgeMark.ANSWERED)}
    )
    other = draw_sheet(
        body(), panels={"hood": PanelState()}, edges={"hood.left": EdgeState(EdgeMark.ANSWERED)}
    )
    none = draw_sheet(body(), panels={"hood": PanelState()})
    assert one == other != none


def test_a_photo_kept_adds_a_view_finder_to_the_edge():
    plain, _ = edge_drawn(EdgeState(EdgeMark.ANSWERED))
    kept, _ = edge_drawn(EdgeState(EdgeMark.ANSWERED, photo=True))
    assert len(list(kept.iter())) == len(list(plain.iter())) + 3  # ground, brackets, dot


def test_corners_by_state():
    def node(state):
        root = drawn(panels={"hood": PanelState()}, edges={"hood.front-left": state}, size="large")
        return [
            (part.get("fill"), part.get("stroke"), part.get("stroke-dasharray"))
            for each in of_class(root, "node")
            if each.get("data-edge") == "front-left"
            for part in each
        ]

    assert node(EdgeState()) == [(SHEET, INK, None)]
    assert node(EdgeState(EdgeMark.ANSWERED)) == [(INK, None, None)]
    assert node(EdgeState(EdgeMark.ASKED)) == [(TAPE, INK, None)]
    assert node(EdgeState(EdgeMark.WRONG)) == [(SHEET, INK, "3 2")]
    assert node(EdgeState(primed=True)) == [(SHEET, INK, None), (INK, None, None)]


def test_a_small_sheet_has_no_nodes_and_thin_edges():
    root = drawn(panels={"hood": PanelState()}, size="small")
    assert not of_class(root, "node")
    assert group(root, "hood")[1].get("stroke-width") == "1"


def test_the_locator_fills_one_panel_with_tape():
    root = drawn(size="small", here="hood")
    taped = [each for each in root.iter() if each.get("fill") == TAPE]
    assert len(taped) == 1 and taped[0] in list(group(root, "hood"))


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("size", ["large", "medium", "small", "print"])
def test_no_style_no_script_and_every_paint_known(name, size):
    panels = {
        panel.code: PanelState(mark)
        for panel, mark in zip(body(name).panels, list(PanelMark) * 5, strict=False)
    }
    root = drawn(name, panels=panels, size=size, labels=True)
    assert float(root.get("width")) > 200
    for each in root.iter():
        assert not {key for key in each.attrib if key == "style" or key.startswith("on")}
        assert each.tag not in (f"{SVG}style", f"{SVG}script")
        for key in ("fill", "stroke"):
            assert each.get(key) in (None, "none", "transparent", *PAINTS.values())
    said = draw_sheet(body(name), panels=panels, size=size)
    assert "nan" not in said and "inf" not in said and "var(" not in said


def test_paint_on_screen_is_the_paint_on_paper():
    """Each fill and stroke has the class that the theme colours, and no other."""
    for each in drawn(panels={"hood": PanelState(PanelMark.READY)}, labels=True).iter():
        for key in ("fill", "stroke"):
            named = [name for name in classes(each) if name.startswith(f"{key}-")]
            if each.get(key) in (None, "none", "transparent"):
                assert not named
            else:
                assert [PAINTS[name.removeprefix(f"{key}-")] for name in named] == [each.get(key)]


def test_text_and_names_are_escaped():
    nasty = '<b onload="x">&"\''
    said = draw_sheet(
        body(),
        panels={"hood": PanelState(note=nasty)},
        marks=[Mark("hood", 1, title=nasty, href='/x?"><script>')],
        labels=True,
        title=nasty,
        width=1100,
    )
    root = ElementTree.fromstring(said)
    assert "<b " not in said and "<script" not in said
    assert any(text.text == nasty for text in root.iter(f"{SVG}text"))
    assert root.get("aria-label") == nasty
    assert of_class(root, "mark")[0].get("aria-label") == f"1. {nasty}"


def test_panels_can_be_links_or_check_boxes_with_a_name_that_says_the_state():
    linked = group(drawn(panels={"hood": PanelState(PanelMark.HELD)}, links={"hood": "/bay/1/"}), "hood")
    assert linked.tag == f"{SVG}a" and linked.get("href") == "/bay/1/"
    assert linked.get("aria-label") == "Hood: held"
    boxes = drawn(panels={"hood": PanelState(chosen=True), "roof": PanelState(chosen=False)}, selectable=True)
    assert boxes.get("role") == "group"
    for code, checked in (("hood", "true"), ("roof", "false")):
        box = group(boxes, code)
        assert (box.get("role"), box.get("aria-checked"), box.get("tabindex")) == ("checkbox", checked, "0")
    assert group(boxes, "hood").get("aria-label") == "Hood: chosen"
    quiet = drawn(panels={"hood": PanelState()})
    assert quiet.get("role") == "img" and group(quiet, "hood").get("role") is None


def test_a_panel_tells_its_box_in_the_drawing_s_own_pixels():
    root = drawn(width=640)
    x, y, width, height = (float(word) for word in group(root, "roof").get("data-box").split())
    roof, whole = body().panel("roof").box, body().box
    scale = (640 - 16) / whole.width
    assert (width, height) == pytest.approx((roof.width * scale, roof.height * scale), abs=0.1)
    assert x + width / 2 == pytest.approx(320, abs=0.1)
    assert y == pytest.approx((roof.y - whole.y) * scale + 8, abs=0.1)


def test_marks_stand_where_they_are_put():
    root = drawn(
        panels={"hood": PanelState()},
        marks=[
            Mark("hood", 1, x_th=500, y_th=500),
            Mark("hood", 2, edge="left"),
            Mark("roof", 3),
            Mark("roof", 4),
        ],
        width=640,
    )
    discs = {
        each.get("data-mark"): complex(float(each[0].get("cx")), float(each[0].get("cy")))
        for each in of_class(root, "mark")
    }
    x, y, width, height = (float(word) for word in group(root, "hood").get("data-box").split())
    assert abs(discs["1"] - complex(x + width / 2, y + height / 2)) < 0.2
    assert abs(discs["2"].real - x) < width * 0.15
    assert discs["4"].real - discs["3"].real == pytest.approx(28.6, abs=0.1)


def test_a_damage_mark_is_not_a_numbered_disc():
    root = drawn(marks=[Mark("hood", 1, kind="damage", x_th=10, y_th=10)])
    mark = of_class(root, "mark-damage")[0]
    assert mark.find(f"{SVG}circle").get("fill") == SHEET


def test_every_kind_of_decor_is_drawn():
    assert {"glass", "lamp", "handle", "plate", "sensor", "crease"} <= DECOR
    without = {**document("sedan"), "decor": []}
    bare = draw_sheet(read_body(without), panels={})
    full = draw_sheet(body(), panels={})
    assert full.count("<path") - bare.count("<path") >= len(document("sedan")["decor"])
