"""The window kernels against integrals at 30 digits (mpmath) and closed forms, in metres."""

import math

import mpmath as mp
import numpy as np
import pytest

from scribeline.kernels import window

R = 0.025


def exact_end_area(v: float, width: float, radius: float, bridge: float, curvature: float) -> float:
    """Integral over height of the counted width, from the roof to v, of an end with round corners."""

    def counted(half: mp.mpf) -> mp.mpf:
        return mp.sin(half * curvature) / curvature if curvature else half

    def width_at(phi: mp.mpf) -> mp.mpf:
        half = mp.mpf(width) / 2 - radius + radius * mp.sin(phi)
        span = 2 * (counted(half) - counted(mp.mpf(bridge) / 2))
        return (span if half > bridge / 2 else mp.mpf(0)) * radius * mp.sin(phi)

    end = mp.acos(1 - mp.mpf(v) / radius)
    leaves = (mp.mpf(bridge) - width) / 2 / radius + 1
    start = mp.asin(leaves) if 0 < leaves < 1 else mp.mpf(0 if leaves <= 0 else end)
    return float(mp.quad(width_at, [start, end])) if start < end else 0.0


@pytest.mark.parametrize("curvature", [0.0, 1.0 / R])
@pytest.mark.parametrize("bridge", [0.0, 0.004, 0.0205, 0.027, 0.030, 0.05])
@pytest.mark.parametrize("share", [1e-9, 0.01, 0.3, 0.8, 1.0])
def test_round_end(share: float, bridge: float, curvature: float) -> None:
    width, radius = 0.030, 0.005
    expected = exact_end_area(share * radius, width, radius, bridge, curvature)
    got = window.end_area_at(share * radius, width, radius, bridge, curvature)
    assert got == pytest.approx(expected, rel=1e-13, abs=1e-15 * width * radius)


@pytest.mark.parametrize("radius", [0.1 * R, 0.5 * R, R, 0.5 * math.pi * R])
def test_series_of_the_projected_corner_is_exact_to_rounding(radius: float) -> None:
    for width in (2.0 * radius, math.pi * R):
        for share in (0.2, 0.6, 1.0):
            expected = exact_end_area(share * radius, width, radius, 0.0, 1.0 / R)
            got = window.end_area_at(share * radius, width, radius, 0.0, 1.0 / R)
            assert got == pytest.approx(expected, rel=3e-15)


def test_area_is_the_sum_of_its_parts() -> None:
    size = (0.034, 0.0142, 0.005, 0.004, 0.0, 0.0)
    corner = (1.0 - math.pi / 4.0) * 1e-6
    assert window.area_below_roof_at(0.0142, *size) == pytest.approx(
        34e-3 * 14.2e-3 - corner * 2 * (25 + 16), rel=1e-15
    )
    assert window.area_below_roof_at(0.005, *size) == pytest.approx(34e-3 * 5e-3 - corner * 2 * 25, rel=1e-15)
    assert window.area_below_roof_at(0.0102, *size) == pytest.approx(34e-3 * 10.2e-3 - corner * 2 * 25, rel=1e-15)
    assert window.area_below_roof_at(-1.0, *size) == 0.0
    assert window.area_below_roof_at(1.0, *size) == window.area_below_roof_at(0.0142, *size)
    assert math.isnan(window.area_below_roof_at(math.nan, *size))
    assert math.isnan(window.width_at(math.nan, *size))


def test_width_follows_the_circle_of_the_corner() -> None:
    size = (0.034, 0.0142, 0.005, 0.004, 0.006, 0.0)
    assert window.width_at(0.001, *size) == pytest.approx(2.0 * (0.017 - 0.005 + 0.003) - 0.006, rel=1e-14)  # 3-4-5
    assert window.width_at(0.0142 - 0.004 * 0.4, *size) == pytest.approx(
        2.0 * (0.017 - 0.004 + 0.0032) - 0.006, rel=1e-13
    )  # 3-4-5 again
    assert window.width_at(0.007, *size) == pytest.approx(0.028, rel=1e-15)
    assert window.width_at(-1e-9, *size) == window.width_at(0.0142001, *size) == 0.0


def test_bridge_wider_than_the_straight_edge_hides_the_end() -> None:
    # width 30, corners 10: straight edge 10; a bridge of 22 reaches 6 into the corners, until 10 - sqrt(100 - 36)
    assert window.bridged_at(30.0, 10.0, 22.0) == pytest.approx(2.0, rel=1e-15)
    assert window.bridged_at(30.0, 10.0, 10.0) == 0.0
    assert window.bridged_at(30.0, 10.0, 31.0) == 10.0
    assert window.width_at(1.999, 30.0, 40.0, 10.0, 10.0, 22.0, 0.0) == 0.0
    assert window.width_at(2.001, 30.0, 40.0, 10.0, 10.0, 22.0, 0.0) > 0.0


def test_table_takes_linear_widths_exactly_and_keeps_within_its_areas() -> None:
    knots = np.array([0.0, 2.0, 3.0, 7.0])
    top, bottom = np.array([1.0, 5.0, 0.0]), np.array([3.0, 4.0, 2.0])  # the width jumps at 2 and at 3
    area = np.concatenate(([0.0], np.cumsum(0.5 * (top + bottom) * np.diff(knots))))
    for u, expected in (
        (0.0, 0.0),
        (1.0, 1.5),
        (2.0, 4.0),
        (2.5, 4.0 + 2.375),
        (5.0, 8.5 + 1.0),
        (7.0, 12.5),
        (9.0, 12.5),
    ):
        assert window.table_area_at(u, knots, area, top, bottom) == pytest.approx(expected, rel=1e-15)
    for y, expected in (
        (-0.1, 0.0),
        (0.0, 1.0),
        (1.0, 2.0),
        (2.0, 5.0),
        (2.5, 4.5),
        (5.0, 1.0),
        (7.0, 2.0),
        (7.1, 0.0),
    ):
        assert window.table_width_at(y, knots, area, top, bottom) == pytest.approx(expected, rel=1e-15)
    assert math.isnan(window.table_area_at(math.nan, knots, area, top, bottom))
    assert math.isnan(window.table_width_at(math.nan, knots, area, top, bottom))
    heights = np.linspace(-1.0, 8.0, 1000)
    out = np.empty(1000)
    window.table_area(knots, area, top, bottom, heights, out)
    assert (np.diff(out) >= 0.0).all()
    np.testing.assert_array_equal(out, [window.table_area_at(u, knots, area, top, bottom) for u in heights])
    window.table_width(knots, area, top, bottom, heights, out)
    np.testing.assert_array_equal(out, [window.table_width_at(u, knots, area, top, bottom) for u in heights])


def test_array_forms_run_the_scalar_ones() -> None:
    rng = np.random.default_rng(3)
    columns = [
        rng.uniform(low, high, 50) for low, high in ((0, 14), (20, 34), (12, 16), (0, 6), (0, 6), (0, 5), (0, 0.04))
    ]
    rows = np.array(columns).T
    out = np.empty(50)
    window.area_below_roof(*columns, out)
    np.testing.assert_array_equal(out, [window.area_below_roof_at(*row) for row in rows])
    window.width(*columns, out)
    np.testing.assert_array_equal(out, [window.width_at(*row) for row in rows])
