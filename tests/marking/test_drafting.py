"""Dimensions, hatches and lettering against plain geometry and shapely."""

import doctest
import math

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon, box

from scribeline.marking import drafting
from scribeline.marking.drafting import (
    ARROW_MM,
    Box,
    arrow,
    bounds,
    customary_scale,
    dimension_parts,
    extent,
    flattened,
    hatch_lines,
    scale_words,
    simplified,
    text_box,
    text_width_mm,
)
from scribeline.marking.shapes import (
    Anchor,
    Circle,
    Dimension,
    Drawing,
    Hatch,
    Polyline,
    Text,
    arc,
    group,
    line,
    polygon,
    rectangle,
    rounded_rectangle,
)

# Width in ems of DejaVu Sans 2.37, read from the font file with fontTools 4.68.
DEJAVU_EMS = {
    "exhaust closes": 7.415,
    "opens 111.9°": 6.697,
    "secondary transfer": 9.449,
    "crown's edge": 6.638,
    "mmWW@%": 5.876,
    "Ø82 to Ø21.5": 6.713,
    "Seen from inside, full size (1:1), cut open at 219°.": 24.978,
}
lengths = st.floats(0.05, 5000.0)
places = st.tuples(st.floats(-200.0, 200.0), st.floats(-200.0, 200.0))


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(drafting).failed == 0


@pytest.mark.parametrize("words", DEJAVU_EMS)
def test_lettering_gets_the_room_that_a_wide_face_needs_and_little_more(words: str) -> None:
    size = 2.0 / drafting.CAPITALS_PER_EM
    assert DEJAVU_EMS[words] * size <= text_width_mm(words, 2.0) <= 1.12 * DEJAVU_EMS[words] * size


def test_lettering_of_another_script_gets_a_full_em_and_more() -> None:
    assert text_width_mm("排気", 2.0) >= 2 * 2.0 / drafting.CAPITALS_PER_EM


@pytest.mark.parametrize(("anchor", "left"), [("start", 10.0), ("middle", 4.0), ("end", -2.0)])
def test_the_room_of_a_line_lies_where_its_anchor_says(anchor: Anchor, left: float) -> None:
    height = 12.0 * drafting.CAPITALS_PER_EM / sum(drafting._width_em(letter) for letter in "roof")
    room = text_box(Text((10.0, 5.0), "roof", height, anchor))
    assert (room.left, room.right) == pytest.approx((left, left + 12.0))
    assert room.bottom < 5.0 < 5.0 + height < room.top


def test_lettering_turned_upright_takes_the_room_on_its_side() -> None:
    flat = text_box(Text((0.0, 0.0), "open area", 2.0, "middle"))
    upright = text_box(Text((0.0, 0.0), "open area", 2.0, "middle", 90.0))
    assert (upright.width, upright.height) == pytest.approx((flat.height, flat.width))
    assert upright.bottom == pytest.approx(flat.left)
    assert upright.right == pytest.approx(-flat.bottom)


@settings(deadline=None)
@given(places, places, places, places)
def test_boxes_overlap_where_shapely_says_so(
    a: drafting.Point, b: drafting.Point, c: drafting.Point, d: drafting.Point
) -> None:
    first = Box(min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]) + 1.0, max(a[1], b[1]) + 1.0)
    other = Box(min(c[0], d[0]), min(c[1], d[1]), max(c[0], d[0]) + 1.0, max(c[1], d[1]) + 1.0)
    shapes = [box(one.left, one.bottom, one.right, one.top) for one in (first, other)]
    assert first.overlaps(other) == (shapes[0].intersects(shapes[1]) and not shapes[0].touches(shapes[1]))


@settings(deadline=None)
@given(lengths, st.floats(20.0, 300.0))
def test_the_scale_is_the_largest_customary_one_that_fits(real: float, paper: float) -> None:
    steps = [1.0, 0.5, 0.2, 0.1, 0.05]
    scale = customary_scale(real, paper)
    fitting = [step for step in steps if real * step <= paper]
    assert scale == (fitting[0] if fitting else 0.05)


def test_every_scale_has_words_that_agree_with_it() -> None:
    for scale in (20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05):
        drawn, real = scale_words(scale).rpartition("(")[2].rstrip(")").split(":")
        assert float(drawn) / float(real) == pytest.approx(scale)


# --- hatches -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("angle_deg", [0.0, 45.0, 90.0, 135.0, 20.0])
def test_a_hatch_covers_its_area_and_leaves_holes_out(angle_deg: float) -> None:
    outer, hole = rounded_rectangle(0.0, 0.0, 60.0, 40.0, (8.0, 0.0, 8.0, 3.0)), rectangle(20.0, 10.0, 35.0, 22.0)
    lines = hatch_lines(Hatch((outer, hole), 0.5, angle_deg))
    area = Polygon(flattened(outer), [flattened(hole)])
    drawn = [LineString(ends) for ends in lines]
    assert sum(one.length for one in drawn) * 0.5 == pytest.approx(area.area, rel=0.02)
    assert all(area.buffer(1e-6).contains(one) for one in drawn)
    for one in drawn[:10]:
        (x0, y0), (x1, y1) = one.coords
        assert math.degrees(math.atan2(y1 - y0, x1 - x0)) % 180.0 == pytest.approx(angle_deg % 180.0, abs=1e-6)


def test_hatches_side_by_side_line_up() -> None:
    left, right = (hatch_lines(Hatch((rectangle(x, 0.0, x + 10.0, 10.0),), 1.4)) for x in (0.0, 10.0))
    on_the_border = {round(end[1], 6) for _, end in left if abs(end[0] - 10.0) < 1e-9}
    from_the_border = {round(start[1], 6) for start, _ in right if abs(start[0] - 10.0) < 1e-9}
    assert on_the_border
    assert on_the_border == from_the_border


# --- fewer points ------------------------------------------------------------------------------------------------


@settings(deadline=None, max_examples=50)
@given(st.lists(st.floats(-20.0, 20.0), min_size=3, max_size=60), st.floats(0.01, 5.0))
@example([0.0, 2.0, -3.0], 2.0)  # nearest to an end, not to the line through both
def test_a_simplified_line_stays_within_its_tolerance(heights: list[float], tolerance: float) -> None:
    points = [(float(i), y) for i, y in enumerate(heights)]
    fewer = simplified(points, tolerance)
    assert set(fewer) <= set(points)
    assert (fewer[0], fewer[-1]) == (points[0], points[-1])
    drawn = LineString(fewer)
    assert all(drawn.distance(Point(point)) <= tolerance + 1e-9 for point in points)


def test_points_on_a_straight_line_are_all_dropped() -> None:
    assert simplified([(float(i), 2.0 * i) for i in range(100)], 0.001) == [(0.0, 0.0), (99.0, 198.0)]


# --- dimensions --------------------------------------------------------------------------------------------------


@settings(deadline=None)
@given(places, st.floats(40.0, 200.0), st.floats(-180.0, 180.0), st.floats(-40.0, 40.0))
def test_the_arrows_of_a_dimension_stand_beside_its_ends(
    start: drafting.Point, length: float, direction_deg: float, offset: float
) -> None:
    way = math.radians(direction_deg)
    end = (start[0] + length * math.cos(way), start[1] + length * math.sin(way))
    parts = dimension_parts(Dimension(start, end, "50.00", offset))
    tips = [head.points[0] for head in parts.arrows]
    for tip, place in zip(tips, (start, end), strict=True):
        assert tip == pytest.approx((place[0] - offset * math.sin(way), place[1] + offset * math.cos(way)), abs=1e-6)
    backs = [head.points[1] for head in parts.arrows]
    assert math.dist(*backs) < length  # the heads lie inside


@settings(deadline=None)
@given(places, st.floats(0.3, 200.0), st.floats(-180.0, 180.0), st.floats(-40.0, 40.0))
def test_the_words_of_a_dimension_can_be_read_without_turning_the_page(
    start: drafting.Point, length: float, direction_deg: float, offset: float
) -> None:
    way = math.radians(direction_deg)
    end = (start[0] + length * math.cos(way), start[1] + length * math.sin(way))
    (words,) = dimension_parts(Dimension(start, end, "50.00", offset)).words
    assert -90.0 - 1e-9 < words.turned_deg <= 90.0 + 1e-9


def test_a_short_dimension_has_its_arrows_outside_and_its_words_beyond() -> None:
    parts = dimension_parts(Dimension((0.0, 0.0), (3.0, 0.0), "0.62"))
    assert parts.arrows[0].points[1][0] == pytest.approx(-ARROW_MM)
    assert parts.arrows[1].points[1][0] == pytest.approx(3.0 + ARROW_MM)
    room = text_box(parts.words[0])
    assert room.left > 3.0 + 2 * ARROW_MM


def test_words_beside_an_upright_dimension_stand_upright_on_its_outer_side() -> None:
    for offset, side in ((-5.0, 1.0), (5.0, -1.0)):
        parts = dimension_parts(Dimension((0.0, 0.0), (0.0, 30.0), "roof", offset, along=False))
        room = text_box(parts.words[0])
        assert parts.words[0].turned_deg == 0.0
        assert min(side * room.left, side * room.right) > 5.0
        assert room.bottom < 15.0 < room.top


def test_an_arrow_points_where_it_should() -> None:
    head = arrow((10.0, 5.0), 90.0, 3.0)
    assert head.points[0] == (10.0, 5.0)
    assert all(y == pytest.approx(2.0) for _, y in head.points[1:])


# --- the paper ---------------------------------------------------------------------------------------------------


def test_the_paper_holds_round_shapes_and_lettering_and_a_margin() -> None:
    drawing = Drawing(
        "x",
        "t",
        "d",
        (
            group("outline", Circle((0.0, 0.0), 10.0), arc((20.0, 0.0), 10.0, -90.0, 90.0), line((0, 0), (1, 1))),
            group("note", Text((40.0, 0.0), "beyond")),
            group("hatch", Hatch((polygon((0, -12), (5, -12), (5, -11), (0, -11)),), 0.3, 0.0)),
        ),
        margin_mm=3.0,
    )
    paper = extent(drawing)
    assert (paper.left, paper.top) == pytest.approx((-13.0, 13.0))
    assert paper.right == pytest.approx(43.0 + text_width_mm("beyond", 2.0))
    assert -15.0 <= paper.bottom < -14.6
    assert bounds([group("outline", Polyline(((1.0, 2.0), (3.0, 5.0))))]) == Box(1.0, 2.0, 3.0, 5.0)
