"""How long port windows take: area curves over angles and variants, time-areas of a Monte Carlo.

    .venv/bin/pytest benchmarks/bench_windows.py

Compiling is left out: each function runs once before the clock starts. A limit that is promised is asserted, on the
median, so that a slow machine shows as a failure here and nowhere else.
"""

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from scribeline.geometry.kinematics import angle_down_deg, depth_mm
from scribeline.geometry.outline import outline_window
from scribeline.geometry.time_area import (
    angle_area_above_mm2_deg,
    angle_area_below_mm2_deg,
    blowdown_angle_area_mm2_deg,
    open_area_by_crown_mm2,
)
from scribeline.geometry.windows import RoundedWindow, Window, area_below_roof_mm2

ANGLES = np.linspace(0.0, 360.0, 720, endpoint=False)
RNG = np.random.default_rng(1)
TURN = np.linspace(0.0, 2.0 * np.pi, 200, endpoint=False)
TRACED = np.column_stack((17.0 * np.cos(TURN), 7.0 + 7.0 * np.sin(TURN) + 0.3 * np.cos(5.0 * TURN)))
"""An invented port of 200 traced points."""


def crank(n: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Stroke, rod and offset of n draws."""
    return 42.0 + RNG.normal(0.0, 0.02, n), 85.0 + RNG.normal(0.0, 0.05, n), 0.5 + RNG.normal(0.0, 0.05, n)


def rounded(n: int, bore: float | None) -> RoundedWindow:
    """An exhaust window of n draws."""
    width, height = 34.0 + RNG.normal(0.0, 0.1, n), 14.2 + RNG.normal(0.0, 0.1, n)
    return RoundedWindow(width, height, 5.0 + RNG.normal(0.0, 0.1, n), 4.0, 3.0, bore)


def assert_median_below(benchmark: BenchmarkFixture, limit_s: float) -> None:
    assert benchmark.stats.stats.median < limit_s


@pytest.mark.parametrize("bore", [None, 47.0], ids=["unrolled", "projected"])
def test_curve_of_720_angles_by_1000_variants(benchmark: BenchmarkFixture, bore: float | None) -> None:
    """With the crank's depth worked out for every angle and variant; promised: under 50 ms."""
    window, roof, lengths = rounded(1000, bore), 27.0 + RNG.normal(0.0, 0.05, 1000), crank(1000)
    curves = benchmark(open_area_by_crown_mm2, ANGLES, window, roof, *lengths)
    assert curves.shape == (1000, 720)
    assert_median_below(benchmark, 0.050)


def test_curve_of_a_traced_outline(benchmark: BenchmarkFixture) -> None:
    """The same for 200 traced points, projected."""
    window, roof, lengths = outline_window(TRACED, 3.0, 47.0), 27.0 + RNG.normal(0.0, 0.05, 1000), crank(1000)
    curves = benchmark(open_area_by_crown_mm2, ANGLES, window, roof, *lengths)
    assert curves.shape == (1000, 720)
    assert_median_below(benchmark, 0.100)


@pytest.mark.parametrize("bore", [None, 47.0], ids=["unrolled", "projected"])
def test_areas_at_given_depths_by_broadcasting(benchmark: BenchmarkFixture, bore: float | None) -> None:
    """The same areas from depths that are known already, by the general function."""
    window = rounded(1000, bore)
    uncovered = depth_mm(ANGLES[:, None], *crank(1000)) - 27.0
    areas = benchmark(area_below_roof_mm2, window, uncovered)
    assert areas.shape == (720, 1000)


@pytest.mark.parametrize("bore", [None, 47.0], ids=["unrolled", "projected"])
def test_time_areas_of_eight_ports_in_4096_draws(benchmark: BenchmarkFixture, bore: float | None) -> None:
    """One exhaust with its blowdown, five transfers, one intake; wanted: well under 100 ms."""
    lengths = crank(4096)
    windows = [rounded(4096, bore) for _ in range(8)]
    transfers = angle_down_deg(32.5, *lengths)

    def run() -> list[np.ndarray]:
        return [
            angle_area_below_mm2_deg(windows[0], 27.0, *lengths),
            blowdown_angle_area_mm2_deg(windows[1], 27.0, transfers, *lengths),
            *(angle_area_below_mm2_deg(window, 28.0, *lengths) for window in windows[2:7]),
            angle_area_above_mm2_deg(windows[7], 52.0, 52.0, *lengths),
        ]

    assert all(area.shape == (4096,) for area in benchmark(run))
    assert_median_below(benchmark, 0.100)


def test_time_area_of_a_traced_outline_in_4096_draws(benchmark: BenchmarkFixture) -> None:
    """One port of 200 traced points, projected."""
    window, lengths = outline_window(TRACED, 3.0, 47.0), crank(4096)
    area = benchmark(angle_area_below_mm2_deg, window, 27.0, *lengths)
    assert area.shape == (4096,)


def test_one_number_of_one_window(benchmark: BenchmarkFixture) -> None:
    """What a card without +/- pays for each call."""
    window: Window = RoundedWindow(34.0, 14.2, 5.0, 4.0, 3.0, 47.0)
    benchmark(angle_area_below_mm2_deg, window, 27.0, 42.0, 85.0, 0.5)


def test_tabling_a_traced_outline(benchmark: BenchmarkFixture) -> None:
    """Done once for each port, not once for each draw."""
    benchmark(outline_window, TRACED, 3.0, 47.0)
