"""The written section, its heights read back and held to the reference kinematics."""

import doctest
import math
from dataclasses import replace

import numpy as np
import pytest

from scribeline.marking import section_view as module
from scribeline.marking import squish_detail
from scribeline.marking.section_view import Section, section_view
from scribeline.marking.squish_detail import SquishBand, detail_scale
from scribeline.marking.svg import write_svg
from tests.marking.demonstrations import KART_SECTION, PLAIN_SECTION, SMALL_SECTION
from tests.marking.svg_reading import Picture
from tests.reference.checks import load


def picture(section: Section) -> Picture:
    return Picture(write_svg(section_view(section)))


KART = picture(KART_SECTION)
SCALE = 0.5  # the kart's section is drawn at half size


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(module).failed == 0
    assert doctest.testmod(squish_detail).failed == 0


@pytest.mark.parametrize("table", ["A", "C", "D", "E"])
def test_the_piston_stands_where_the_reference_says(table: str) -> None:
    """Depth of the piston below top dead centre, engines with and without offset."""
    check = load("01_kinematics")[f"kin-table-{table}"]
    engine = replace(
        KART_SECTION,
        stroke_mm=check.inputs["stroke"],
        rod_length_mm=check.inputs["rod"],
        pin_offset_mm=check.inputs["e"],
    )
    theta, depth = check.expected["theta_deg"], check.expected["depth_mm"]
    for deg, expected in list(zip(theta, depth, strict=True))[:: max(1, len(theta) // 12)]:
        turned = replace(engine, crank_deg_atdc=float(deg))
        crown = turned.gudgeon_pin[1] + turned.compression_height_mm
        assert turned.crown_mm("top") - crown == pytest.approx(expected, abs=1e-9)
        assert math.dist(turned.crank_pin, turned.gudgeon_pin) == pytest.approx(engine.rod_length_mm)
    assert engine.crown_mm("top") - engine.crown_mm("bottom") == pytest.approx(float(np.max(depth)), abs=1e-2)


def test_the_section_is_drawn_half_size_and_says_so() -> None:
    assert section_view(KART_SECTION).scale == SCALE
    assert "Section, half full size (1:2)." in KART.words


def test_the_crank_pin_runs_on_a_circle_of_half_the_stroke_and_is_on_it() -> None:
    circles = KART.circles(KART.group_about("circle of the crank pin"))
    assert circles == [((0.0, 0.0), 12.5)]
    (pin, _) = KART.circles()[[r for _, r in KART.circles()].index(0.6 * 0.2 * 50.0 * SCALE)]
    assert math.hypot(*pin) == pytest.approx(12.5, abs=0.002)
    assert pin[0] > 0  # a crank turning clockwise, on its way down


def test_the_piston_has_its_heights() -> None:
    piston = KART.strokes(KART.group_about("piston"))[0]
    left, top, right, bottom = piston.box
    assert right - left == pytest.approx(50.02 * SCALE, abs=0.002)
    crown = -SCALE * (KART_SECTION.gudgeon_pin[1] + 31.0)
    assert top == pytest.approx(crown - 2.5 * SCALE, abs=0.02)  # the dome over the crown's edge
    assert bottom == pytest.approx(crown + 59.0 * SCALE, abs=0.002)
    on_the_left = [y for x, y in piston.samples if x < left + 0.01]
    assert max(on_the_left) == pytest.approx(crown + 52.0 * SCALE, abs=0.002)


def test_the_walls_leave_the_ports_open_at_their_depth() -> None:
    deck = -SCALE * (math.sqrt(125.0**2 - 0.5**2) + 31.0 + 0.62)
    blocks = [stroke.box for stroke in KART.strokes(KART.group_about("cylinder wall"))]
    axis = 0.5 * SCALE
    right = sorted((top - deck, bottom - deck) for left, top, _, bottom in blocks if left > axis)
    left = sorted((top - deck, bottom - deck) for _, top, right_edge, bottom in blocks if right_edge < axis)
    assert right[0] == pytest.approx((0.0, 29.1 * SCALE), abs=0.002)
    assert right[1][0] == pytest.approx(50.5 * SCALE, abs=0.002)
    assert left[0] == pytest.approx((0.0, 55.0 * SCALE), abs=0.002)
    assert left[1][0] == pytest.approx(72.8 * SCALE, abs=0.002)


@pytest.mark.parametrize("depth", [6.0, 16.0, 21.0])
def test_the_head_has_its_band_and_its_chamber(depth: float) -> None:
    read = picture(replace(KART_SECTION, chamber_depth_mm=depth))
    crown, axis = -SCALE * KART_SECTION.crown_mm("top"), 0.5 * SCALE
    right, left = (stroke.samples for stroke in read.strokes(read.group_about("cylinder head")))
    under = [(x - axis, crown - y) for x, y in right]
    assert (25.01 * SCALE, 1.42 * SCALE) in [pytest.approx(point, abs=0.002) for point in under]
    mouth = 1.42 + 8.01 * math.tan(math.radians(9.0))
    assert any(point == pytest.approx((17.0 * SCALE, mouth * SCALE), abs=0.002) for point in under)
    # A dome over a mouth of 34: sphere of radius (17^2 + depth^2)/(2 depth); the plug hole of 14 cuts it off.
    radius = (17.0**2 + depth**2) / (2.0 * depth)
    hole = mouth + depth - radius + math.sqrt(radius**2 - 7.0**2)
    assert any(point == pytest.approx((7.0 * SCALE, hole * SCALE), abs=0.002) for point in under)
    assert sorted(-(x - axis) for x, _ in left) == pytest.approx(sorted(x for x, _ in under), abs=0.003)


def test_a_flat_chamber_roof_stands_at_its_depth() -> None:
    read = picture(SMALL_SECTION)
    crown = -SMALL_SECTION.crown_mm("top")
    points = [(x, crown - y) for x, y in read.strokes(read.group_about("cylinder head"))[0].samples]
    assert any(point == pytest.approx((8.0, 0.7 + 9.0), abs=0.002) for point in points)


def test_a_head_without_a_band_has_no_detail() -> None:
    read = picture(PLAIN_SECTION)
    assert not any(words.startswith("A: squish") for words in read.words)
    assert read.groups("measured") == []
    assert "squish" not in section_view(PLAIN_SECTION).description


def test_what_was_not_measured_is_said() -> None:
    words = " ".join(KART.words)
    assert "Not measured, drawn at a typical size: compression height, chamber shape." in words
    assert "compression height, chamber shape." in section_view(KART_SECTION).description
    assert "Not measured" not in " ".join(picture(PLAIN_SECTION).words)


# --- the detail --------------------------------------------------------------------------------------------------


def test_the_detail_is_five_times_full_size_and_says_so() -> None:
    assert "five times full size (5:1)" in KART.words
    gap, inner_gap = "1.42", "1.56"  # 1.42 + 8.01 (tan 9 deg - tan 8 deg) = 1.563
    assert KART.words.count(gap) == KART.words.count(inner_gap) == 1
    assert "gap 1.42 at the wall, 1.56 at the band's inner edge," in KART.words


def test_the_gap_in_the_detail_is_true_to_its_scale() -> None:
    """Crown, barrel and head are the last three open outlines; heights are read from the crown's edge at the wall."""
    outlines = [stroke for one in KART.groups("outline") for stroke in KART.strokes(one) if not stroke.closed]
    crown, cylinder, head = outlines[-3:]
    wall, crown_edge = crown.edges[0].end
    assert crown_edge - cylinder.edges[0].end[1] == pytest.approx(0.62 * 5, abs=0.002)
    face, _, band, chamber = head.edges
    assert crown_edge - face.start[1] == pytest.approx((0.62 + 0.7) * 5, abs=0.002)
    assert (band.start[0], crown_edge - band.start[1]) == pytest.approx((wall, 1.42 * 5), abs=0.002)
    rise = 8.01 * math.tan(math.radians(9.0))
    assert (band.end[0], crown_edge - band.end[1]) == pytest.approx((wall - 8.01 * 5, (1.42 + rise) * 5), abs=0.002)
    assert chamber.start == band.end
    _, slope = crown.edges
    fall = (slope.start[1] - slope.end[1]) / (slope.start[0] - slope.end[0])
    assert math.degrees(math.atan(fall)) == pytest.approx(8.0, abs=0.01)


@pytest.mark.parametrize(("inner", "scale"), [(48.0, 10.0), (34.0, 5.0), (20.0, 5.0)])
def test_the_detail_is_as_large_as_there_is_room(inner: float, scale: float) -> None:
    assert detail_scale(SquishBand(1.0, inner, 50.0)) == scale


def test_of_a_wide_band_only_the_outer_part_is_shown_and_said() -> None:
    read = picture(SMALL_SECTION)
    assert "outer 10 mm of the band only" in read.words
    assert read.words.count("0.70") == 1  # no inner edge, no dimension there


@pytest.mark.parametrize(("clearance", "shown"), [(0.62, 1), (0.0, 0), (-0.3, 1)])
def test_the_deck_clearance_is_dimensioned_where_there_is_one(clearance: float, shown: int) -> None:
    words = picture(replace(KART_SECTION, deck_clearance_mm=clearance)).words
    assert words.count(f"{clearance:.2f}") == shown
