"""The slider-crank kernels against the definition at 40 digits (mpmath), in metres and radians."""

import math

import mpmath as mp
import numpy as np
import pytest

from scribeline.kernels import crank
from tests.kernels.exact import ExactCrank, random_cranks

CRANKS = [tuple(1e-3 * length for length in lengths) for lengths in random_cranks(40)]
USUAL = (0.042, 0.085, 0.001)


@pytest.mark.parametrize("lengths", CRANKS)
def test_motion_equals_the_definition(lengths: tuple[float, float, float]) -> None:
    exact, r = ExactCrank(*lengths), 0.5 * lengths[0]
    for theta in np.linspace(-3.0, 7.0, 7):
        assert crank.depth_at(theta, *lengths) == pytest.approx(float(exact.depth(theta)), rel=3e-15)
        for order, function in enumerate((crank.velocity_at, crank.acceleration_at, crank.jerk_at), start=1):
            expected = float(exact.derivative(theta, order))
            assert function(theta, *lengths) == pytest.approx(expected, rel=1e-13, abs=1e-14 * r)


@pytest.mark.parametrize("lengths", CRANKS)
def test_dead_centres_and_travel(lengths: tuple[float, float, float]) -> None:
    exact = ExactCrank(*lengths)
    assert crank.tdc_phi_at(*lengths) == pytest.approx(float(exact.tdc_phi), rel=1e-15, abs=1e-300)
    assert crank.bdc_phi_at(*lengths) == pytest.approx(float(exact.bdc + exact.tdc_phi), rel=1e-15)
    assert crank.true_stroke_at(*lengths) == pytest.approx(float(exact.depth(exact.bdc)), rel=1e-15)


@pytest.mark.parametrize("lengths", CRANKS)
def test_inverse_is_exact_to_the_last_digits(lengths: tuple[float, float, float]) -> None:
    exact = ExactCrank(*lengths)
    travel = crank.true_stroke_at(*lengths)
    for share in (1e-12, 1e-6, 0.01, 0.3, 0.7, 0.99, 1.0 - 1e-6):
        depth = share * travel
        down, up = float(exact.angle_down(depth)), float(exact.angle_up(depth))
        # near the bottom the last digit of the depth itself moves the angle; nothing can undo that
        unsure = 4e-16 * travel / abs(crank.velocity_at(down, *lengths))
        assert crank.angle_down_at(depth, *lengths) == pytest.approx(down, rel=1e-14, abs=unsure)
        assert crank.angle_up_at(depth, *lengths) == pytest.approx(up, rel=1e-14, abs=unsure)
        assert crank.angle_below_at(depth, *lengths) == pytest.approx(up - down, rel=1e-13, abs=2.0 * unsure)
        above = 2.0 * math.pi - (up - down)
        assert crank.angle_above_at(depth, *lengths) == pytest.approx(above, rel=1e-13, abs=2.0 * unsure + 1e-15)
        assert crank.depth_for_angle_above_at(crank.angle_above_at(depth, *lengths), *lengths) == pytest.approx(
            depth, rel=1e-14
        )


def test_a_shallow_depth_keeps_its_digits() -> None:
    exact = ExactCrank(*USUAL)
    assert crank.depth_at(1e-8, *USUAL) == pytest.approx(float(exact.depth(mp.mpf(1e-8))), rel=1e-15)
    assert crank.angle_down_at(1e-18, *USUAL) == pytest.approx(float(exact.angle_down(1e-18)), rel=1e-14)


def test_rod_of_a_million_kilometres_is_simple_harmonic_motion() -> None:
    theta = np.linspace(0.1, 6.2, 50)
    expected = 0.02 * (1.0 - np.cos(theta))
    got = [crank.depth_at(angle, 0.04, 1e9, 0.0) for angle in theta]
    np.testing.assert_allclose(got, expected, rtol=1e-10)
    down = [crank.angle_down_at(depth, 0.04, 1e9, 0.0) for depth in expected[theta < math.pi]]
    np.testing.assert_allclose(down, theta[theta < math.pi], rtol=1e-9)


def test_ends_of_the_travel() -> None:
    travel = crank.true_stroke_at(*USUAL)
    bdc = crank.bdc_phi_at(*USUAL) - crank.tdc_phi_at(*USUAL)
    assert crank.angle_down_at(0.0, *USUAL) == 0.0
    assert crank.angle_up_at(0.0, *USUAL) == 2.0 * math.pi
    for almost_nothing in (5e-324, 1e-322, 1e-321, 1e-300):
        assert crank.angle_down_at(almost_nothing, *USUAL) < 1e-140
    for depth in (travel, travel * (1.0 + 1e-15)):
        assert crank.angle_down_at(depth, *USUAL) == pytest.approx(bdc, rel=1e-15)
        assert crank.angle_below_at(depth, *USUAL) == 0.0
    for outside in (-1e-9, travel * 1.000001, math.nan):
        for function in (crank.angle_down_at, crank.angle_up_at, crank.angle_above_at, crank.angle_below_at):
            assert math.isnan(function(outside, *USUAL))
    for outside in (-1e-9, 2.0 * math.pi + 1e-9, math.nan):
        assert math.isnan(crank.depth_for_angle_above_at(outside, *USUAL))


@pytest.mark.parametrize(
    "lengths", [(0.042, 0.021, 0.0), (0.042, 0.03, 0.009), (0.042, 0.03, -0.009), (0.04, 0.01, 0.0)]
)
def test_a_crank_that_cannot_turn_gives_nan(lengths: tuple[float, float, float]) -> None:
    assert math.isnan(crank.tdc_phi_at(*lengths))
    assert math.isnan(crank.bdc_phi_at(*lengths))
    assert math.isnan(crank.true_stroke_at(*lengths))
    assert math.isnan(crank.peak_down_angle_at(*lengths))
    assert math.isnan(crank.peak_acceleration_angle_at(*lengths))
    for function in (
        crank.depth_at,
        crank.velocity_at,
        crank.acceleration_at,
        crank.jerk_at,
        crank.angle_above_at,
        crank.angle_below_at,
        crank.angle_down_at,
        crank.angle_up_at,
        crank.depth_for_angle_above_at,
    ):
        assert math.isnan(function(0.01, *lengths)), function
    assert math.isnan(crank.piston_stop_zero_at(6.0, 0.5, *lengths))


@pytest.mark.parametrize("lengths", CRANKS)
def test_peaks_against_a_fine_search(lengths: tuple[float, float, float]) -> None:
    exact = ExactCrank(*lengths)
    fine = np.linspace(0.0, float(exact.bdc), 4001)
    speed = np.empty_like(fine)
    crank.velocity(fine, *(np.full_like(fine, length) for length in lengths), speed)
    angle = crank.peak_down_angle_at(*lengths)
    assert crank.velocity_at(angle, *lengths) >= speed.max()
    assert angle == pytest.approx(fine[speed.argmax()], abs=1.5 * fine[1])
    assert abs(float(exact.derivative(angle, 2))) < 1e-12 * abs(float(exact.derivative(angle, 3)))

    if 0.5 * lengths[0] + abs(lengths[2]) > 0.9 * lengths[1]:
        return
    fine = np.linspace(-math.pi, math.pi, 40001)
    size = np.empty_like(fine)
    crank.acceleration(fine, *(np.full_like(fine, length) for length in lengths), size)
    angle = crank.peak_acceleration_angle_at(*lengths)
    assert -math.pi <= angle <= math.pi
    assert abs(crank.acceleration_at(angle, *lengths)) == pytest.approx(np.abs(size).max(), rel=1e-7)
    assert abs(crank.acceleration_at(angle, *lengths)) >= np.abs(size).max() * (1.0 - 1e-15)


@pytest.mark.parametrize("lengths", CRANKS[:10])
def test_piston_stop(lengths: tuple[float, float, float]) -> None:
    exact = ExactCrank(*lengths)
    depth = 0.3 * crank.true_stroke_at(*lengths)
    for error in (-3.0, -0.2, 0.0, 1.0, 3.1):
        before = (float(exact.angle_up(depth)) + error) % (2.0 * math.pi)
        after = (float(exact.angle_down(depth)) + error) % (2.0 * math.pi)
        assert crank.piston_stop_zero_at(before, after, *lengths) == pytest.approx(error, abs=1e-13)
    assert math.isnan(crank.piston_stop_zero_at(1.0, 1.0, *lengths))


def test_array_forms_run_the_scalar_ones() -> None:
    columns = [np.array(column) for column in zip(*CRANKS, strict=True)]
    first = np.linspace(0.001, 0.009, len(CRANKS))
    out = np.empty(len(CRANKS))
    for name in ("tdc_phi", "bdc_phi", "true_stroke", "peak_down_angle", "peak_acceleration_angle"):
        getattr(crank, name)(*columns, out)
        scalar = getattr(crank, f"{name}_at")
        np.testing.assert_array_equal(out, [scalar(*lengths) for lengths in CRANKS])
    for name in (
        "depth",
        "velocity",
        "acceleration",
        "angle_above",
        "angle_below",
        "angle_down",
        "angle_up",
        "depth_for_angle_above",
    ):
        getattr(crank, name)(first, *columns, out)
        scalar = getattr(crank, f"{name}_at")
        np.testing.assert_array_equal(out, [scalar(x, *c) for x, c in zip(first, CRANKS, strict=True)])
    second = first + 0.5
    crank.piston_stop_zero(first, second, *columns, out)
    expected = [crank.piston_stop_zero_at(x, y, *c) for x, y, c in zip(first, second, CRANKS, strict=True)]
    np.testing.assert_array_equal(out, expected)
