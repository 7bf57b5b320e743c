"""Parts in section against plain geometry."""

import pytest
from shapely.geometry import Polygon

from scribeline.marking.drafting import bounds, flattened
from scribeline.marking.parts import WALL_SHARE, barrel, piston, rod
from scribeline.marking.shapes import Circle, Group, Polyline


def outlines(groups: list[Group]) -> list[Polyline]:
    return [shape for one in groups if one.role == "outline" for shape in one.shapes if isinstance(shape, Polyline)]


def test_a_barrel_is_cut_by_ports_on_either_side() -> None:
    blocks = outlines(barrel(3.0, 10.0, 50.0, 60.0, left=[(30.0, 40.0)], right=[(20.0, 25.0), (35.0, 45.0)]))
    area = sum(Polygon(block.points).area for block in blocks)
    assert area == pytest.approx(WALL_SHARE * 50.0 * (60.0 - 10.0 + 60.0 - 5.0 - 10.0))
    box = bounds(barrel(3.0, 10.0, 50.0, 60.0))
    assert (box.left, box.bottom, box.right, box.top) == pytest.approx((-29.0, -50.0, 35.0, 10.0))


def test_a_piston_has_its_skirts_and_its_dome() -> None:
    (body,) = outlines(piston(0.0, 100.0, 50.0, 40.0, 55.0, dome=3.0))
    left, bottom, right, top = Polygon(flattened(body, 1.0)).bounds
    assert (left, right, bottom) == pytest.approx((-25.0, 25.0, 45.0))
    assert top == pytest.approx(103.0, abs=0.01)
    assert {(-25.0, 60.0), (25.0, 45.0)} <= set(body.points)


def test_the_eyes_of_a_rod_stand_at_its_ends() -> None:
    circles = [s for one in rod((0.0, 0.0), (30.0, 90.0), 12.0, 8.0) for s in one.shapes if isinstance(s, Circle)]
    assert {one.centre for one in circles} == {(0.0, 0.0), (30.0, 90.0)}
