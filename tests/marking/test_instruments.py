"""Instruments touch what they measure."""

import pytest
from shapely.geometry import Polygon

from scribeline.marking.instruments import burette, caliper, depth_gauge, moved, turned
from scribeline.marking.shapes import Group, Polyline, line


def tools(groups: list[Group]) -> list[Polyline]:
    return [shape for one in groups if one.role == "tool" for shape in one.shapes if isinstance(shape, Polyline)]


@pytest.mark.parametrize(
    ("turns", "expected"), [(0, (1.0, 2.0)), (1, (-2.0, 1.0)), (2, (-1.0, -2.0)), (3, (2.0, -1.0))]
)
def test_quarter_turns_go_counter_clockwise(turns: int, expected: tuple[float, float]) -> None:
    assert turned(line((0.0, 0.0), (1.0, 2.0)), turns).points[1] == expected
    assert moved(line((0.0, 0.0), (1.0, 2.0)), 5.0, -1.0).points == ((5.0, -1.0), (6.0, 1.0))


def test_the_jaws_of_a_caliper_stand_at_both_ends_of_what_is_measured() -> None:
    fixed, sliding, *_ = tools(caliper((10.0, 5.0), 40.0))
    assert Polygon(fixed.points).bounds[2] == 10.0
    assert Polygon(sliding.points).bounds[0] == 50.0
    fixed, sliding, *_ = tools(caliper((10.0, 5.0), 40.0, quarter_turns=3))
    assert Polygon(fixed.points).bounds[1] == 5.0
    assert Polygon(sliding.points).bounds[3] == -35.0


def test_the_rod_of_a_depth_gauge_reaches_its_depth_below_its_base() -> None:
    blade, base, _ = tools(depth_gauge((2.0, 30.0), 17.5))
    assert Polygon(blade.points).bounds[1] == 12.5
    assert Polygon(base.points).bounds[1] == 30.0


def test_the_tip_of_a_burette_is_where_it_should_be() -> None:
    assert min(y for shape in tools(burette((4.0, 2.5))) for _, y in shape.points) == 2.5
