"""A rotary disc against shapely (hole cut by the edges' wedge) and against quadrature of the open area."""

import doctest
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Point, Polygon

from scribeline.geometry import rotary_disc


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(rotary_disc).failed == 0


def drawn_open_area(theta: float, opens: float, closes: float, diameter: float, from_axis: float) -> float:
    """Turn the disc's cut-out round the axis at the origin; the hole's centre stays on the x axis."""
    half_hole = math.degrees(math.asin(diameter / 2.0 / from_axis))
    duration = (closes - opens) % 360.0
    leading = (theta - opens) % 360.0 - half_hole
    trailing = leading - (duration - 2.0 * half_hole)
    far = 4.0 * from_axis
    edge = np.radians(np.linspace(trailing, leading, 400))
    cut_out = Polygon([(0.0, 0.0), *zip(far * np.cos(edge), far * np.sin(edge), strict=True)])
    hole = Point(from_axis, 0.0).buffer(diameter / 2.0, quad_segs=2048)
    return float(hole.intersection(cut_out).area)


@pytest.mark.parametrize("theta", [229.0, 230.0, 235.0, 246.0, 300.0, 0.0, 20.0, 45.0, 60.0, 61.0, 130.0])
def test_open_area_against_shapely(theta: float) -> None:
    """Opens 130 deg before top dead centre, closes 60 deg after it: the period runs through top dead centre."""
    disc = (230.0, 60.0, 26.0, 45.0)
    assert rotary_disc.open_area_mm2(theta, *disc) == pytest.approx(drawn_open_area(theta, *disc), rel=1e-5, abs=1e-3)


def test_a_cut_out_narrower_than_the_hole_against_shapely() -> None:
    disc = (340.0, 25.0, 26.0, 45.0)  # 45 deg long, the hole alone spans 33.6 deg
    areas = [float(rotary_disc.open_area_mm2(theta, *disc)) for theta in (345.0, 2.5, 15.0)]
    assert areas == pytest.approx([drawn_open_area(theta, *disc) for theta in (345.0, 2.5, 15.0)], rel=1e-5)
    assert max(areas) < 0.6 * math.pi * 13.0**2


@settings(deadline=None, max_examples=40)
@given(st.floats(0.0, 360.0), st.floats(60.0, 300.0), st.floats(10.0, 30.0), st.floats(0.05, 0.45))
def test_angle_area_is_the_integral_of_the_open_area(
    opens: float, duration: float, diameter: float, half_over_axis: float
) -> None:
    from_axis = diameter / 2.0 / half_over_axis
    disc = (opens, (opens + duration) % 360.0, diameter, from_axis)
    theta = opens + np.linspace(0.0, duration, 20001)[1:-1]
    area = rotary_disc.open_area_mm2(theta, *disc)
    assert np.all(area >= -1e-9)
    assert np.all(area <= math.pi / 4.0 * diameter**2 * (1.0 + 1e-12))
    assert rotary_disc.angle_area_mm2_deg(*disc) == pytest.approx(area.sum() * duration / 20000.0, rel=1e-6)


@settings(deadline=None, max_examples=40)
@given(st.floats(0.0, 360.0), st.floats(60.0, 300.0), st.floats(0.001, 0.999))
def test_opening_mirrors_closing(opens: float, duration: float, share: float) -> None:
    disc = (opens, opens + duration, 20.0, 40.0)
    after, before = opens + share * duration, opens + duration - share * duration
    assert rotary_disc.open_area_mm2(after, *disc) == pytest.approx(
        float(rotary_disc.open_area_mm2(before, *disc)), rel=1e-9, abs=1e-9
    )


def test_shut_outside_its_period_and_fully_open_inside() -> None:
    disc = (230.0, 60.0, 26.0, 45.0)
    assert np.all(rotary_disc.open_area_mm2(np.linspace(60.01, 229.99, 200), *disc) == 0.0)
    whole = rotary_disc.open_area_mm2(np.linspace(230.0 + 33.6, 360.0 + 60.0 - 33.6, 50), *disc)
    np.testing.assert_allclose(whole, math.pi * 13.0**2, rtol=1e-14)


def test_a_disc_that_cannot_be_gives_nan() -> None:
    assert np.isnan(rotary_disc.hole_angle_deg(26.0, [13.0, 12.0])).all()
    assert np.isnan(rotary_disc.angle_area_mm2_deg(0.0, 30.0, 26.0, 45.0))  # shorter than the hole is wide
    assert np.isnan(rotary_disc.open_area_mm2(10.0, 0.0, 30.0, 26.0, 45.0))


def test_durations_round_the_circle() -> None:
    np.testing.assert_array_equal(rotary_disc.duration_deg([230.0, 10.0, -130.0], [60.0, 200.0, 60.0]), [190, 190, 190])
