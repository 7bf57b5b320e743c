"""Round shapes against closed forms and shapely."""

import doctest
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from scribeline.marking import shapes
from scribeline.marking.drafting import edge_circle, flattened
from scribeline.marking.shapes import arc, joined, line, path, polar, ring_sector, rounded_rectangle

angles = st.floats(-360.0, 360.0)
turns = st.one_of(st.floats(1.0, 350.0), st.floats(-350.0, -1.0))
radii = st.floats(0.1, 500.0)
places = st.tuples(st.floats(-300.0, 300.0), st.floats(-300.0, 300.0))


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(shapes).failed == 0


@settings(deadline=None)
@given(places, radii, angles, turns)
def test_an_arc_keeps_its_centre_radius_and_turn(
    centre: shapes.Point, radius: float, start_deg: float, turn_deg: float
) -> None:
    ((start, end, bulged),) = arc(centre, radius, start_deg, start_deg + turn_deg).edges()
    found, found_radius, from_deg, found_turn = edge_circle(start, end, bulged)
    assert found == pytest.approx(centre, abs=1e-6 * (radius + 1.0))
    assert found_radius == pytest.approx(radius, rel=1e-6)
    assert found_turn == pytest.approx(turn_deg, abs=1e-6)
    assert math.cos(math.radians(from_deg - start_deg)) == pytest.approx(1.0, abs=1e-9)


@settings(deadline=None)
@given(places, radii, angles, turns)
def test_every_point_of_an_arc_lies_on_its_circle(
    centre: shapes.Point, radius: float, start_deg: float, turn_deg: float
) -> None:
    points = flattened(arc(centre, radius, start_deg, start_deg + turn_deg))
    assert all(math.dist(point, centre) == pytest.approx(radius, rel=1e-6) for point in points)
    middle = points[len(points) // 2]
    if len(points) % 2:
        assert middle == pytest.approx(polar(centre, radius, start_deg + 0.5 * turn_deg), abs=1e-6 * (radius + 1.0))


@pytest.mark.parametrize("turn_deg", [30.0, 182.0, 300.0])
def test_a_ring_sector_has_its_share_of_the_ring(turn_deg: float) -> None:
    sector = Polygon(flattened(ring_sector((3.0, -2.0), 17.0, 25.0, 40.0, 40.0 + turn_deg), 0.1))
    assert sector.is_valid
    assert sector.area == pytest.approx(math.pi * (25.0**2 - 17.0**2) * turn_deg / 360.0, rel=1e-5)


def test_a_rounded_rectangle_lacks_what_its_corners_lack() -> None:
    outline = Polygon(flattened(rounded_rectangle(-17.0, -50.5, 17.7, -29.1, (6.0, 5.0, 7.0, 0.0)), 0.1))
    assert outline.bounds == pytest.approx((-17.0, -50.5, 17.7, -29.1))
    lacking = (1.0 - 0.25 * math.pi) * (6.0**2 + 5.0**2 + 7.0**2)
    assert outline.area == pytest.approx(34.7 * 21.4 - lacking, rel=1e-6)
    assert outline.exterior.is_ccw


def test_joined_parts_share_the_point_where_they_meet() -> None:
    bow = arc((0.0, 0.0), 5.0, 180.0, 360.0)
    whole = joined(line((-5.0, 9.0), (-5.0, 0.0)), bow, path((5.0, 0.0), (5.0, 9.0)), closed=True)
    assert len(whole.points) == 4
    assert Polygon(flattened(whole, 0.1)).area == pytest.approx(90.0 + 12.5 * math.pi, rel=1e-5)


def test_joined_parts_that_do_not_meet_get_a_straight_edge() -> None:
    whole = joined(line((0.0, 0.0), (1.0, 0.0)), line((1.0, 4.0), (0.0, 4.0)), closed=True)
    assert Polygon(flattened(whole)).area == pytest.approx(4.0)
