"""The written picture of the bore, read back in millimetres."""

import doctest
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon, box

from scribeline.marking import bore_view as module
from scribeline.marking.bore_view import Bore, after_or_before, bore_view, seam
from scribeline.marking.drafting import text_box, texts
from scribeline.marking.port_outline import PortOutline
from scribeline.marking.svg import write_svg
from tests.marking.demonstrations import BARE_BORE, CROWDED_BORE, KART_BORE, KART_EXHAUST
from tests.marking.svg_reading import Picture

AROUND_MM = math.pi * 50.02


def picture(bore: Bore) -> Picture:
    return Picture(write_svg(bore_view(bore)))


KART = picture(KART_BORE)


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(module).failed == 0


def test_the_drawing_is_full_size() -> None:
    assert bore_view(KART_BORE).scale == 1.0
    left, top, right, bottom = KART.strokes(KART.group_about("seam"))[1].box
    assert (left, top) == pytest.approx((AROUND_MM, 0.0), abs=0.001)
    assert (right, bottom) == (left, 77.0)


def test_a_port_of_32_mm_chord_is_34_7_mm_of_arc_at_its_depth() -> None:
    """50.02 asin(32/50.02) = 34.7221 with mpmath."""
    (exhaust,) = KART.strokes(KART.group_about("exhaust, at 0°"))
    left, top, right, bottom = exhaust.box
    assert exhaust.closed
    assert (top, bottom) == pytest.approx((29.1, 50.5), abs=0.001)
    assert right - left == pytest.approx(34.7221, abs=0.002)
    assert sorted(edge.radius for edge in exhaust.edges if edge.radius) == [6.0, 6.0, 7.0, 7.0]
    assert all(edge.turn_deg == pytest.approx(90.0, abs=0.1) for edge in exhaust.edges if edge.radius)


@pytest.mark.parametrize(
    ("words", "clock_deg"),
    [
        ("exhaust, at 0°", 0.0),
        ("main transfer, at 75°", 75.0),
        ("main transfer, at 285°", 285.0),
        ("rear transfer, at 125°", 125.0),
        ("rear transfer, at 235°", 235.0),
        ("intake, at 180°", 180.0),
    ],
)
def test_every_port_stands_at_its_clock_position_seen_from_inside(words: str, clock_deg: float) -> None:
    """From inside, facing the wall, clockwise from above is to the right."""
    left, _, right, _ = KART.strokes(KART.group_about(words))[0].box
    expected = (clock_deg - seam(KART_BORE)) % 360.0 / 360.0 * AROUND_MM
    assert 0.5 * (left + right) == pytest.approx(expected, abs=0.002)


def test_the_crown_and_the_skirts_are_lines_at_their_depth() -> None:
    found = [(stroke.box[0], stroke.box[1], stroke.box[2]) for stroke in KART.strokes(KART.group_about("edges of"))]
    for depth in (0.62, 50.63):
        assert (0.0, depth, pytest.approx(AROUND_MM, abs=0.001)) in found
    halves = {depth: sum(right - left for left, y, right in found if y == depth) for depth in (59.62, 52.62)}
    assert halves == pytest.approx({59.62: 0.5 * AROUND_MM, 52.62: 0.5 * AROUND_MM}, abs=0.002)


def test_the_skirt_lies_on_its_own_side() -> None:
    quarter = 0.25 * AROUND_MM
    middle = (0.0 - seam(KART_BORE)) % 360.0 / 360.0 * AROUND_MM
    strokes = [stroke.box for stroke in KART.strokes(KART.group_about("edges of"))]
    exhaust = [one for one in strokes if one[1] == 59.62]
    assert exhaust == [
        (pytest.approx(middle - quarter, abs=0.002), 59.62, pytest.approx(middle + quarter, abs=0.002), 59.62)
    ]


def test_the_ring_ends_are_ticks_at_the_crown() -> None:
    found = [stroke.box for stroke in KART.strokes(KART.group_about("ring ends"))]
    expected = [(clock - seam(KART_BORE)) % 360.0 / 360.0 * AROUND_MM for clock in (160.0, 200.0)]
    assert [one[0] for one in found] == pytest.approx(expected, abs=0.001)
    assert [one[1] for one in found] == [0.62, 0.62]


def test_the_depth_scale_has_a_tick_to_every_millimetre() -> None:
    ticks = [stroke.box[1] for stroke in KART.strokes(KART.group_about("depth below the deck"))]
    assert ticks == [float(mm) for mm in range(78)]
    numbers = {one.words: one.y for one in KART.lettering if one.words in ("0", "10", "50", "70")}
    assert {words: round(y) for words, y in numbers.items()} == {"0": 1, "10": 11, "50": 51, "70": 71}


def test_every_port_carries_its_name_roof_and_opening_angle() -> None:
    words = KART.words
    assert words.count("exhaust") == 1
    assert words.count("main transfer") == words.count("rear transfer") == 2
    for expected in ("roof 29.1", "opens 89.0°", "roof 55.0", "opens 78.5°", "before TDC"):
        assert words.count(expected) == 1


def test_a_port_that_nothing_opens_has_no_opening_angle() -> None:
    blind = PortOutline("blind", "transfer", 90.0, 30.0, 40.0, 8.0)
    words = picture(replace(BARE_BORE, ports=(blind,))).words
    assert "blind" in words
    assert not any(one.startswith("opens") for one in words)


def test_the_words_for_those_who_cannot_see_it_name_every_port() -> None:
    description = bore_view(KART_BORE).description
    assert "exhaust, at 0°, roof 29.1 mm and floor 50.5 mm below the deck, opens 89.0° after TDC." in description
    assert description.count("transfer, at") == 4
    assert "0.62 mm below" in description


@pytest.mark.parametrize("bore", [KART_BORE, CROWDED_BORE], ids=["kart", "crowded"])
def test_no_label_lies_on_a_port(bore: Bore) -> None:
    read = picture(bore)
    ports = [
        Polygon([(x, -y) for x, y in stroke.samples])
        for role in ("exhaust", "transfer", "intake")
        for one in read.groups(role)
        for stroke in read.strokes(one)
    ]
    rooms = [text_box(one) for one in texts(bore_view(bore))]
    assert not any(port.intersects(box(r.left, r.bottom, r.right, r.top)) for port in ports for r in rooms)


@pytest.mark.parametrize("bore", [KART_BORE, CROWDED_BORE], ids=["kart", "crowded"])
def test_every_leader_ends_in_the_port_it_names(bore: Bore) -> None:
    read = picture(bore)
    dots = [centre for (centre, radius) in read.circles() if radius == 0.4]
    for role in ("exhaust", "transfer", "intake"):
        for one in read.groups(role):
            areas = [Polygon(stroke.samples) for stroke in read.strokes(one)]
            assert sum(area.contains(box(x, y, x, y)) for area in areas for x, y in dots) == 1


def test_a_leader_goes_round_a_port_on_its_way() -> None:
    """The intake of the crowded engine lies under its boost port."""
    read = picture(CROWDED_BORE)
    boost = Polygon(read.strokes(read.group_about("boost"))[0].samples)
    leaders = [LineString(stroke.samples) for one in read.groups("note") for stroke in read.strokes(one)]
    crossing = [one for one in leaders if one.intersects(boost)]
    assert len(crossing) == 1  # its own


def test_planned_outlines_are_drawn_over_the_ports_as_they_are() -> None:
    planned = replace(KART_EXHAUST, roof_depth_mm=28.1)
    read = picture(replace(KART_BORE, planned=(planned,)))
    assert len(read.groups("today")) == 1
    assert read.groups("exhaust") == []
    assert len(read.groups("transfer")) + len(read.groups("intake")) == 5  # what nobody cuts stays a full line
    (target,) = read.groups("target")
    assert read.strokes(target)[0].box[1] == pytest.approx(28.1)


# --- the seam ----------------------------------------------------------------------------------------------------


def spans_deg(bore: Bore, margin_mm: float) -> list[tuple[float, float]]:
    per_mm = 360.0 / (math.pi * bore.bore_mm)
    clocks = [
        (p, c) for p in bore.ports for c in ({p.clock_deg, -p.clock_deg % 360.0} if p.mirrored else {p.clock_deg})
    ]
    return [(c, (0.5 * p.width_arc_mm + margin_mm) * per_mm) for p, c in clocks]


def clear_places(bore: Bore, margin_mm: float) -> np.ndarray:
    """By brute force: clock positions that far from every port."""
    places = np.arange(0.0, 360.0, 0.05)
    clear = np.ones(places.size, dtype=bool)
    for clock, reach in spans_deg(bore, margin_mm):
        clear &= np.abs((places - clock + 180.0) % 360.0 - 180.0) >= reach
    return places[clear]


ports = st.lists(
    st.builds(
        PortOutline,
        st.just("port"),
        st.just("transfer"),
        st.floats(0.0, 359.0),
        st.just(30.0),
        st.just(40.0),
        st.floats(3.0, 40.0),
        mirrored=st.booleans(),
    ),
    min_size=1,
    max_size=7,
).map(tuple)


def port(clock_deg: float, width_mm: float, mirrored: bool) -> PortOutline:
    return PortOutline("port", "transfer", clock_deg, 30.0, 40.0, width_mm, mirrored=mirrored)


# Ports that leave at most 1.83 mm between them, two of them over each other where a turn begins.
CLOSE = (port(0.0, 5.0, False), port(1.0, 3.0, True), port(42.0, 28.0, True), port(84.0, 40.0, True),
         port(180.0, 40.0, False))  # fmt: skip


@settings(deadline=None, max_examples=100)
@given(ports)
@example(CLOSE)
def test_the_seam_cuts_no_port_where_it_need_not(some: tuple[PortOutline, ...]) -> None:
    bore = Bore(50.0, some, 0.5, 50.5)
    clear = clear_places(bore, 1.02)
    if clear.size:
        place = seam(bore)
        assert np.min(np.abs((clear_places(bore, 0.98) - place + 180.0) % 360.0 - 180.0)) < 0.051
        # Not further from the intake side than the nearest place with all its room to spare.
        roomy = clear_places(bore, 3.02)
        if roomy.size:
            assert abs(place - 180.0) <= np.min(np.abs(roomy - 180.0)) + 0.06
    else:
        assert seam(bore) == 180.0 or clear_places(bore, 0.98).size


def test_the_seam_is_at_the_intake_side_where_nothing_is_cut_there() -> None:
    assert seam(BARE_BORE) == 180.0
    assert seam(replace(KART_BORE, ports=(KART_EXHAUST,))) == 180.0


def test_a_port_that_the_seam_must_cut_is_drawn_at_both_ends() -> None:
    ring = tuple(PortOutline(f"port {i}", "transfer", 60.0 * i, 30.0, 40.0, 28.0) for i in range(6))
    bore = Bore(50.0, ring, 0.5, 50.5)
    assert seam(bore) == 180.0
    read = picture(bore)
    boxes = [stroke.box for stroke in read.strokes(read.group_about("port 3, at 180°"))]
    around = math.pi * 50.0
    assert [(one[0], one[2]) for one in boxes] == [
        (pytest.approx(-14.0, abs=0.001), pytest.approx(14.0, abs=0.001)),
        (pytest.approx(around - 14.0, abs=0.001), pytest.approx(around + 14.0, abs=0.001)),
    ]


@pytest.mark.parametrize(
    ("deg", "words"), [(89.04, "89.0° after TDC"), (180.0, "180.0° after TDC"), (281.5, "78.5° before TDC")]
)
def test_angles_are_spoken_of_from_the_nearer_side(deg: float, words: str) -> None:
    assert after_or_before(deg) == words


def test_in_inches_the_depth_scale_is_a_decimal_inch_rule_and_the_drawing_is_the_same() -> None:
    """25.4 mm of paper to an inch (yard-and-pound-1959); the outlines of ports do not move."""
    inches = picture(replace(KART_BORE, units="inch"))
    ticks = [stroke.box[1] for stroke in inches.strokes(inches.group_about("depth below the deck"))]
    assert ticks == pytest.approx([25.4 * i / 20 for i in range(len(ticks))], abs=1e-3)
    assert len(ticks) == math.floor(77 / 25.4 * 20) + 1
    at = {one.words: one.y - 1.0 for one in inches.lettering if one.words in ("0.5", "1", "2.5")}
    assert at == pytest.approx({"0.5": 12.7, "1": 25.4, "2.5": 63.5}, abs=0.01)
    for port in ("exhaust", "intake"):
        one, other = (each.strokes(each.group_about(f"{port}, at")) for each in (KART, inches))
        assert [stroke.box for stroke in one] == [stroke.box for stroke in other]
    assert not [one.words for one in inches.lettering if one.words.endswith("mm")]


@pytest.mark.parametrize("bore", [replace(KART_BORE, units="inch"), replace(CROWDED_BORE, units="inch")])
def test_no_label_lies_on_another_in_inches(bore: Bore) -> None:
    boxes = [text_box(one) for one in texts(bore_view(bore))]
    assert not [(one, other) for i, one in enumerate(boxes) for other in boxes[:i] if one.overlaps(other)]
