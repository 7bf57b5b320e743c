"""Port outlines on the unrolled wall against shapely."""

import doctest
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import MultiPolygon, Polygon, box
from shapely.ops import unary_union

from scribeline.marking import port_outline
from scribeline.marking.drafting import flattened
from scribeline.marking.port_outline import PortOutline, beside
from tests.reference.checks import load

PORT = PortOutline("exhaust", "exhaust", 30.0, 29.1, 50.5, 34.0, 7.0, 6.0, mirrored=True)
# A free outline that leans to the clockwise side and is hollow at the top, so that a bridge cuts it four times.
FREE = ((-9.0, 31.0), (-2.0, 36.0), (4.0, 36.0), (12.0, 30.0), (10.0, 48.0), (-8.0, 49.0))


def area(port: PortOutline, image: int = 0, x: float = 0.0) -> Polygon | MultiPolygon:
    loops = [Polygon(flattened(loop, 0.2)) for loop in port.placed()[image].loops(x)]
    assert all(loop.is_valid for loop in loops)
    return unary_union(loops)


def changed(**changes: object) -> PortOutline:
    return PortOutline(**(vars(PORT) | changes))  # type: ignore[arg-type]


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(port_outline).failed == 0


@pytest.mark.parametrize("name", [name for name in load("02_geometry") if name.startswith("geo-port-area-")])
def test_the_outline_has_the_area_and_the_edge_of_the_reference(name: str) -> None:
    check = load("02_geometry")[name]
    given_mm = check.inputs
    roof, floor = given_mm["radius_top_left"], given_mm["radius_bottom_left"]
    port = PortOutline("p", "transfer", 0.0, 30.0, 30.0 + given_mm["height"], given_mm["width"], roof, floor)
    (loop,) = port.placed()[0].loops(0.0)
    drawn = Polygon(flattened(loop, 0.1))
    assert drawn.area == pytest.approx(check.expected["area_mm2"], rel=1e-5)
    assert drawn.length == pytest.approx(check.expected["perimeter_mm"], rel=1e-5)


def test_a_mirrored_port_stands_on_both_sides() -> None:
    assert [(one.clock_deg, one.mirror) for one in PORT.placed()] == [(30.0, False), (330.0, True)]


@pytest.mark.parametrize("clock", [0.0, 180.0, 360.0])
def test_a_mirrored_port_on_the_axis_is_one_port(clock: float) -> None:
    assert len(changed(clock_deg=clock).placed()) == 1


def test_a_port_lies_at_its_depth_below_the_deck() -> None:
    assert area(PORT, x=100.0).bounds == pytest.approx((83.0, -50.5, 117.0, -29.1))


def test_a_bridge_takes_a_strip_out_of_the_middle() -> None:
    bridged = area(changed(bridge_mm=3.0))
    assert len(bridged.geoms) == 2
    strip = box(-1.5, -60.0, 1.5, 0.0)
    assert bridged.symmetric_difference(area(PORT).difference(strip)).area == pytest.approx(0.0, abs=1e-6)


def test_a_free_outline_is_drawn_as_it_was_traced_and_its_image_turned_over() -> None:
    port = changed(outline_mm=FREE)
    traced = Polygon([(across, -depth) for across, depth in FREE])
    turned = Polygon([(-across, -depth) for across, depth in FREE])
    assert area(port).equals(traced)
    assert area(port, 1).equals(turned)
    assert port.placed()[0].reach_mm == (-9.0, 12.0)
    assert port.placed()[1].reach_mm == (-12.0, 9.0)


@pytest.mark.parametrize("bridge", [1.0, 6.0, 20.0])
def test_a_bridge_divides_a_free_outline(bridge: float) -> None:
    traced = Polygon([(across, -depth) for across, depth in FREE])
    kept = traced.difference(box(-0.5 * bridge, -99.0, 0.5 * bridge, 0.0))
    bridged = [Polygon(loop.points) for loop in changed(outline_mm=FREE, bridge_mm=bridge).placed()[0].loops(0.0)]
    assert sum(one.area for one in bridged) == pytest.approx(kept.area)


@settings(deadline=None)
@given(st.floats(2.0, 40.0), st.integers(3, 30), st.floats(-30.0, 30.0))
def test_what_lies_beside_a_line_agrees_with_shapely(size: float, corners: int, x: float) -> None:
    loop = [
        (size * math.cos(2 * math.pi * i / corners), size * math.sin(2 * math.pi * i / corners)) for i in range(corners)
    ]
    side = box(x, -99.0, 99.0, 99.0) if x > 0 else box(-99.0, -99.0, x, 99.0)
    kept = beside(loop, x)
    found = Polygon(kept).area if len(kept) > 2 else 0.0
    assert found == pytest.approx(Polygon(loop).intersection(side).area, abs=1e-6)
