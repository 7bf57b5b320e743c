"""Kinematics in workshop units: round trips, monotony, what a base gasket does, the piston stop, shapes, examples.

The kernels behind are held to the definition in tests/kernels/test_crank.py, published values in tests/reference.
"""

import doctest

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribeline.geometry import kinematics as kin
from tests.kernels.exact import ExactCrank

Crank = tuple[float, float, float]

cranks = st.tuples(st.floats(15.0, 120.0), st.floats(1.05, 4.0), st.just(0.0) | st.floats(-0.8, 0.8)).map(
    lambda c: (c[0], c[0] * c[1] / 2.0 + c[0] / 4.0, c[2] * (c[0] * c[1] / 2.0 - c[0] / 4.0))
)
"""Stroke, rod and offset, mm; the rod at least 1.05 throws, the offset up to 0.8 of what lets the crank turn."""

shares = st.floats(0.0, 1.0)


@given(cranks, shares)
@settings(deadline=None)
def test_height_to_angle_to_height(crank: Crank, share: float) -> None:
    travel = float(kin.true_stroke_mm(*crank))
    depth = share * travel
    for angle in (kin.angle_down_deg(depth, *crank), kin.angle_up_deg(depth, *crank)):
        assert kin.depth_mm(angle, *crank) == pytest.approx(depth, rel=1e-12, abs=1e-13 * travel)


@given(cranks, shares)
@settings(deadline=None)
def test_angle_to_height_to_angle(crank: Crank, share: float) -> None:
    bdc = float(kin.bdc_after_tdc_deg(*crank))
    travel = float(kin.true_stroke_mm(*crank))
    for theta, inverse in ((share * bdc, kin.angle_down_deg), (bdc + share * (360.0 - bdc), kin.angle_up_deg)):
        depth = kin.depth_mm(theta, *crank)
        slope = abs(float(kin.velocity_m_s(theta, *crank, 30.0 / np.pi))) * 1e3  # mm per rad
        # at a dead centre the depth's own last digit hides the angle: d(theta) = d(depth)/slope, or its square root
        hidden = min(1e-15 * travel / max(slope, 1e-300), 3e-7)
        assert np.deg2rad(inverse(depth, *crank)) == pytest.approx(np.deg2rad(theta), abs=1e-9 + hidden)


@given(cranks, shares)
@settings(deadline=None)
def test_duration_to_height_to_duration(crank: Crank, share: float) -> None:
    duration = 360.0 * share
    below = kin.depth_for_duration_below_mm(duration, *crank)
    assert kin.duration_below_deg(below, *crank) == pytest.approx(duration, abs=3e-5)
    above = kin.depth_for_duration_above_mm(duration, *crank)
    assert kin.duration_above_deg(above, *crank) == pytest.approx(duration, abs=3e-5)
    if 1.0 < duration < 359.0:
        assert kin.duration_below_deg(below, *crank) == pytest.approx(duration, abs=1e-9)
        assert kin.duration_above_deg(above, *crank) == pytest.approx(duration, abs=1e-9)


@given(cranks, shares, shares)
@settings(deadline=None)
def test_durations_are_monotone_in_height_and_make_a_turn(crank: Crank, first: float, second: float) -> None:
    low, high = sorted((first, second))
    travel = float(kin.true_stroke_mm(*crank))
    depths = np.array([low, high]) * travel
    below, above = kin.duration_below_deg(depths, *crank), kin.duration_above_deg(depths, *crank)
    np.testing.assert_allclose(below + above, 360.0, rtol=1e-14)
    assert below[0] >= below[1]
    assert above[0] <= above[1]
    if high - low > 1e-9:
        assert below[0] > below[1]


@given(cranks, st.floats(0.1, 0.9), st.floats(1e-4, 0.09))
@settings(deadline=None, max_examples=25)
def test_base_gasket_lengthens_ports_of_the_crown_and_shortens_the_intake(
    crank: Crank, edge: float, gasket: float
) -> None:
    """The barrel rises by t: every edge's depth falls by t. The amounts are those of the definition at 40 digits."""
    travel = float(kin.true_stroke_mm(*crank))
    before, after = edge * travel, (edge - gasket) * travel
    exact = ExactCrank(*crank)
    gained = float(exact.angle_down(before) - exact.angle_down(after) + exact.angle_up(after) - exact.angle_up(before))
    crown = kin.duration_below_deg(after, *crank) - kin.duration_below_deg(before, *crank)
    skirt = kin.duration_above_deg(after, *crank) - kin.duration_above_deg(before, *crank)
    assert crown > 0.0 > skirt
    assert np.deg2rad(crown) == pytest.approx(gained, abs=1e-12)
    assert np.deg2rad(skirt) == pytest.approx(-gained, abs=1e-12)


@given(cranks, st.floats(0.02, 0.98), st.floats(-179.9, 180.0), st.integers(-2, 2))
@settings(deadline=None)
def test_piston_stop_finds_the_error_of_the_wheel(crank: Crank, share: float, error: float, turns: int) -> None:
    depth = share * float(kin.true_stroke_mm(*crank))
    rising = float(kin.angle_up_deg(depth, *crank)) + error + 360.0 * turns
    after = float(kin.angle_down_deg(depth, *crank)) + error
    got = float(kin.piston_stop_wheel_error_deg(rising, after, *crank))
    assert abs(got) <= 180.0 + 1e-9
    assert (got - error + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=1e-7)


def test_piston_stop_is_the_midpoint_only_without_offset() -> None:
    assert kin.piston_stop_wheel_error_deg(331.0, 35.0, 42.0, 85.0, 0.0) == pytest.approx(3.0, abs=1e-12)
    # stop 30 mm deep, pin offset 2 mm: the middle misses by atan(e d / (e^2 + y ytop)), worked out by hand
    top = np.sqrt((85.0 + 21.0) ** 2 - 4.0)
    lean = np.rad2deg(np.arctan(2.0 * 30.0 / (4.0 + (top - 30.0) * top)))
    up, down = kin.angle_up_deg(30.0, 42.0, 85.0, 2.0), kin.angle_down_deg(30.0, 42.0, 85.0, 2.0)
    assert (up - 360.0 + down) / 2.0 == pytest.approx(lean, rel=1e-12)
    assert lean > 0.4
    assert kin.piston_stop_wheel_error_deg(up, down, 42.0, 85.0, 2.0) == pytest.approx(0.0, abs=1e-12)
    assert np.isnan(kin.piston_stop_wheel_error_deg(20.0, 20.0, 42.0, 85.0, 2.0))


def test_offset_makes_the_way_up_quicker_or_the_way_down() -> None:
    for offset, quicker_down in ((1.5, False), (-1.5, True)):
        theta = np.linspace(0.0, 360.0, 72001)
        speed = kin.velocity_m_s(theta, 42.0, 85.0, offset, 9000.0)
        down = kin.peak_down_speed_m_s(42.0, 85.0, offset, 9000.0)
        assert down.value == pytest.approx(speed.max(), rel=1e-9)
        peak = kin.peak_piston_speed_m_s(42.0, 85.0, offset, 9000.0)
        assert peak.value == pytest.approx(np.abs(speed).max(), rel=1e-9)
        assert peak.angle_deg == pytest.approx(theta[np.abs(speed).argmax()], abs=0.01)
        assert (peak.angle_deg < 180.0) == quicker_down


def test_peak_acceleration_lies_beside_dead_centre_with_offset() -> None:
    theta = np.linspace(-180.0, 180.0, 360001)
    size = np.abs(kin.acceleration_m_s2(theta, 42.0, 75.0, 6.0, 9000.0))
    peak = kin.peak_acceleration_m_s2(42.0, 75.0, 6.0, 9000.0)
    assert peak.value == pytest.approx(size.max(), rel=1e-10)
    assert peak.angle_deg == pytest.approx(theta[size.argmax()], abs=0.01)
    assert abs(peak.angle_deg) > 0.5


def test_velocity_is_the_rate_of_change_of_depth() -> None:
    theta, step, rpm = np.linspace(0.0, 360.0, 50), 1e-3, 9000.0
    crank = (42.0, 85.0, 1.0)
    seconds = 2.0 * step / (6.0 * rpm)
    ahead, behind = theta + step, theta - step
    by_difference = (kin.depth_mm(ahead, *crank) - kin.depth_mm(behind, *crank)) * 1e-3 / seconds
    np.testing.assert_allclose(kin.velocity_m_s(theta, *crank, rpm), by_difference, atol=1e-6)
    by_difference = (kin.velocity_m_s(ahead, *crank, rpm) - kin.velocity_m_s(behind, *crank, rpm)) / seconds
    np.testing.assert_allclose(kin.acceleration_m_s2(theta, *crank, rpm), by_difference, atol=1e-3)


def test_angles_spread_over_variants() -> None:
    theta, strokes = np.linspace(0.0, 360.0, 7), np.array([40.0, 42.0, 54.5])
    got = kin.depth_mm(theta[:, None], strokes, 2.0 * strokes, [0.0, 1.0, -1.0])
    assert got.shape == (7, 3)
    for j, (stroke, offset) in enumerate(zip(strokes, (0.0, 1.0, -1.0), strict=True)):
        np.testing.assert_array_equal(got[:, j], kin.depth_mm(theta, stroke, 2.0 * stroke, offset))
    assert kin.peak_piston_speed_m_s(strokes, 90.0, 0.0, 9000.0).value.shape == (3,)
    assert kin.piston_stop_wheel_error_deg(330.0, [30.0, 31.0], 42.0, 85.0, 0.0).shape == (2,)


def test_outside_the_travel_there_is_no_angle() -> None:
    depths = [-0.001, 42.001, np.nan]
    for function in (kin.angle_down_deg, kin.angle_up_deg, kin.duration_below_deg, kin.duration_above_deg):
        assert np.isnan(function(depths, 42.0, 85.0, 0.0)).all()
    for durations in ([-1e-6, 360.000001],):
        assert np.isnan(kin.depth_for_duration_below_mm(durations, 42.0, 85.0, 0.0)).all()
        assert np.isnan(kin.depth_for_duration_above_mm(durations, 42.0, 85.0, 0.0)).all()
    assert kin.duration_below_deg(0.0, 42.0, 85.0, 0.0) == 360.0
    assert kin.duration_below_deg(kin.true_stroke_mm(42.0, 85.0, 1.0), 42.0, 85.0, 1.0) == pytest.approx(0.0, abs=1e-5)
    assert np.isnan(kin.depth_mm(10.0, 42.0, 20.0, 0.0))


def test_examples() -> None:
    result = doctest.testmod(kin)
    assert result.attempted > 0
    assert result.failed == 0
