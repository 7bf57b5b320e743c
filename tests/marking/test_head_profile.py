"""The head's profile against the volume that it must enclose, and its scale said loudly where it is enlarged."""

import doctest
import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribeline.errors import SheetError
from scribeline.geometry.head_shape import band_volume_cc
from scribeline.geometry.volumes import dome_volume_cc
from scribeline.marking import head_profile
from scribeline.marking.drafting import flattened
from scribeline.marking.head_profile import (
    Chamber,
    HeadProfile,
    HeadShape,
    enlarged_drawing,
    head_drawing,
    profile,
)
from scribeline.marking.shapes import Polyline, Text

BAND = HeadShape(50.0, 34.0, 9.0, 0.1)
DOME = replace(BAND, chamber=Chamber("dome", 9.0, 34.0))


def turned_cc(half: Polyline) -> float:
    """Volume between the gasket face and a profile turned about the axis (Pappus, slice by slice)."""
    points = flattened(half, 0.05)
    total = 0.0
    for (x0, y0), (x1, y1) in pairwise(points):
        # under a straight piece: 2 pi times the integral of r y dr, exactly
        dr = x0 - x1
        if dr:
            total += 2 * math.pi * dr * (2 * x0 * y0 + 2 * x1 * y1 + x0 * y1 + x1 * y0) / 6
    return total / 1000.0


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(head_profile).failed == 0


@given(st.floats(0.0, 20.0), st.floats(0.0, 1.5), st.floats(4.0, 15.0))
def test_the_profile_encloses_band_and_dome(angle: float, recess: float, depth: float) -> None:
    """The drawn line turned once round the axis holds what the closed forms say."""
    shape = replace(BAND, band_angle_deg=angle, recess_mm=recess, chamber=Chamber("dome", depth, 34.0))
    band = float(band_volume_cc(50.0, 34.0, recess, angle))
    under = math.pi / 4 * 34.0**2 * (recess + shape.rise_mm) / 1000.0
    dome = float(dome_volume_cc(34.0, depth))
    assert turned_cc(profile(shape)) == pytest.approx(band + under + dome, rel=2e-5)


def test_a_bowl_has_its_floor_and_its_wall() -> None:
    points = profile(replace(BAND, chamber=Chamber("bowl", 9.0, 30.0, 22.0, step_mm=1.0))).points
    mouth = 0.1 + 8.0 * math.tan(math.radians(9.0))
    assert points[-4:] == (
        pytest.approx((17.0, mouth + 1.0)), pytest.approx((15.0, mouth + 1.0)),
        pytest.approx((11.0, mouth + 10.0)), pytest.approx((0.0, mouth + 10.0)),
    )  # fmt: skip


def test_an_unmeasured_chamber_is_left_open_and_said() -> None:
    made = head_drawing(HeadProfile(BAND))
    assert profile(BAND).points[-1][0] == 17.0
    words = " ".join(shape.words for one in made.groups for shape in one.shapes if isinstance(shape, Text))
    assert "measured by volume" in words


def test_today_is_dashed_where_something_is_cut() -> None:
    assert {one.role for one in head_drawing(HeadProfile(BAND)).groups} >= {"outline"}
    both = head_drawing(HeadProfile(BAND, replace(BAND, inner_mm=36.0)))
    assert [one.role for one in both.groups if one.about] == ["today", "today", "target", "target", "centre"]


def test_enlarged_it_says_that_it_is_no_template() -> None:
    made = enlarged_drawing(HeadProfile(DOME))
    assert made.scale == 5.0
    words = [shape.words for one in made.groups for shape in one.shapes if isinstance(shape, Text)]
    assert "ENLARGED, five times full size (5:1): NOT A TEMPLATE" in words
    line = next(one for one in made.groups if one.role == "outline").shapes[0]
    assert isinstance(line, Polyline)
    assert line.points[0] == pytest.approx((5 * (25.0 + head_profile.RIM_MM), 0.0))


def test_a_band_turned_inside_out_is_refused() -> None:
    with pytest.raises(SheetError, match="measure both again"):
        head_drawing(HeadProfile(replace(BAND, inner_mm=51.0)))
