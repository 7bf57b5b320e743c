"""Chamber shapes against quadrature and shapely."""

import doctest
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from shapely.geometry import box

from scribeline.geometry import head_shape


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(head_shape).failed == 0


@settings(deadline=None, max_examples=50)
@given(st.floats(20.0, 100.0), st.floats(0.0, 0.99), st.floats(-2.0, 3.0), st.floats(-10.0, 30.0))
def test_band_is_the_sum_of_its_rings(outer: float, share: float, gap: float, angle: float) -> None:
    inner = outer * share
    slope = math.tan(math.radians(angle))
    rings, _ = quad(lambda r: (gap + (outer / 2.0 - r) * slope) * math.tau * r, inner / 2.0, outer / 2.0)
    assert head_shape.band_volume_cc(outer, inner, gap, angle) == pytest.approx(rings / 1000.0, rel=1e-9, abs=1e-9)
    assert head_shape.band_rise_mm(outer, inner, angle) == pytest.approx((outer - inner) / 2.0 * slope, rel=1e-12)


@settings(deadline=None, max_examples=50)
@given(st.floats(10.0, 80.0), st.floats(1.0, 5.0))
def test_dome_is_the_sum_of_its_slices(mouth: float, radius_over_half_mouth: float) -> None:
    radius = mouth / 2.0 * radius_over_half_mouth
    depth = float(head_shape.spherical_cap_height_mm(mouth, radius))
    assert 0.0 < depth <= radius * (1.0 + 1e-15)
    assert (radius - depth) ** 2 + (mouth / 2.0) ** 2 == pytest.approx(radius**2, rel=1e-12)
    slices, _ = quad(lambda z: math.pi * (radius**2 - z**2), radius - depth, radius)
    assert head_shape.dome_chamber_volume_cc(depth, mouth) == pytest.approx(slices / 1000.0, rel=1e-9)


@settings(deadline=None, max_examples=50)
@given(st.floats(2.0, 30.0), st.floats(10.0, 80.0), st.floats(1.0, 80.0))
def test_bowl_is_the_sum_of_its_slices(depth: float, mouth: float, floor: float) -> None:
    slices, _ = quad(lambda z: math.pi / 4.0 * (mouth + (floor - mouth) * z / depth) ** 2, 0.0, depth)
    assert head_shape.bowl_volume_cc(depth, mouth, floor) == pytest.approx(slices / 1000.0, rel=1e-9)


@pytest.mark.parametrize(("length", "width", "radius"), [(36.0, 24.0, 8.0), (30.0, 30.0, 15.0), (40.0, 20.0, 0.0)])
def test_bathtub_plan_against_shapely(length: float, width: float, radius: float) -> None:
    core = box(radius, radius, length - radius, width - radius)
    plan = core.buffer(radius, quad_segs=4096).area if radius else core.area
    assert head_shape.bathtub_volume_cc(7.0, length, width, radius) == pytest.approx(7.0 * plan / 1000.0, rel=1e-7)


def test_a_round_bathtub_is_a_cylinder() -> None:
    assert head_shape.bathtub_volume_cc(10.0, 30.0, 30.0, 15.0) == pytest.approx(2.25 * math.pi, rel=1e-14)


def test_shapes_that_cannot_be_give_nan() -> None:
    assert np.isnan(head_shape.bathtub_volume_cc(7.0, 36.0, 24.0, [12.1, -0.1])).all()
    assert np.isnan(head_shape.spherical_cap_height_mm(30.0, 14.9))
    assert np.isnan(head_shape.band_volume_cc(30.0, 30.1, 0.8, 0.0))


def test_arrays_broadcast() -> None:
    got = head_shape.band_volume_cc(50.0, np.array([30.0, 35.0])[:, None], np.array([0.5, 1.0, 1.5]), 0.0)
    assert got.shape == (2, 3)
    assert got[0, 1] == pytest.approx(0.4 * math.pi, rel=1e-14)  # pi (25^2 - 15^2) mm^2 by 1 mm
