"""Time-areas against scipy's integral over the crank angle of the area that the piston leaves open, and shapes."""

import doctest
from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from scribeline.geometry import time_area
from scribeline.geometry.kinematics import angle_down_deg, angle_up_deg, bdc_after_tdc_deg, depth_mm, true_stroke_mm
from scribeline.geometry.outline import outline_window
from scribeline.geometry.time_area import (
    angle_area_above_mm2_deg,
    angle_area_below_mm2_deg,
    blowdown_angle_area_mm2_deg,
    mean_area_mm2,
    open_area_by_crown_mm2,
    open_area_by_skirt_mm2,
    specific_time_area_s_per_m,
    time_area_s_mm2,
)
from scribeline.geometry.windows import RoundedWindow, Window, area_above_floor_mm2, area_below_roof_mm2, whole_area_mm2

CRANK = (42.0, 85.0, 1.2)
HOLLOW = [(-12.0, 0.0), (-4.0, 0.0), (0.0, 7.0), (5.0, 1.0), (13.0, 1.0), (11.0, 13.0), (2.0, 9.0), (-9.0, 12.0)]
WINDOWS: dict[str, Window] = {
    "sharp": RoundedWindow(34.0, 13.0),
    "round": RoundedWindow(34.0, 13.0, 5.0, 4.0),
    "projected": RoundedWindow(34.0, 13.0, 5.0, 4.0, bore_mm=47.0),
    "bridged": RoundedWindow(36.0, 13.0, 6.0, 4.0, 4.0, 47.0),
    "hidden by its bridge": RoundedWindow(20.0, 13.0, 6.0, 6.0, 11.0),
    "outline": outline_window(HOLLOW),
    "outline, bridged": outline_window(HOLLOW, 3.0),
    "outline, projected": outline_window(HOLLOW, 3.0, 47.0),
}


def by_angle(area: Callable[[float], float], depths: list[float], end: float = 360.0) -> float:
    """Integrate an area that depends on the piston's depth over 0..end deg, broken where it passes one of `depths`."""
    inside = [depth for depth in depths if 0.0 < depth < true_stroke_mm(*CRANK)]
    passes = [float(f(depth, *CRANK)) for depth in inside for f in (angle_down_deg, angle_up_deg)]
    corners = sorted({0.0, float(bdc_after_tdc_deg(*CRANK)), end, *passes})
    return sum(
        quad(lambda theta: area(float(depth_mm(theta, *CRANK))), low, high, epsabs=1e-6, epsrel=1e-10, limit=200)[0]
        for low, high in pairwise(corners)
        if high <= end
    )


def edges(window: Window) -> list[float]:
    if isinstance(window, RoundedWindow):
        return [0.0, float(window.roof_radius_mm), 13.0 - float(window.floor_radius_mm), 13.0]  # type: ignore[arg-type]
    return [depth for _, depth in HOLLOW]


@pytest.mark.parametrize("name", WINDOWS)
@pytest.mark.parametrize("roof", [24.0, 28.5, 33.0])
def test_crown_and_blowdown(name: str, roof: float) -> None:
    window = WINDOWS[name]

    def area(depth: float) -> float:
        return float(area_below_roof_mm2(window, depth - roof))

    depths = [roof + edge for edge in edges(window)]
    assert angle_area_below_mm2_deg(window, roof, *CRANK) == pytest.approx(by_angle(area, depths), rel=2e-7)
    transfers = float(angle_down_deg(34.5, *CRANK))
    expected = by_angle(area, depths, transfers)
    assert expected > 0.0
    assert blowdown_angle_area_mm2_deg(window, roof, transfers, *CRANK) == pytest.approx(expected, rel=2e-7)


@pytest.mark.parametrize("name", WINDOWS)
@pytest.mark.parametrize("under_skirt", [-3.0, 0.0, 2.5])
def test_skirt(name: str, under_skirt: float) -> None:
    window = WINDOWS[name]

    def area(depth: float) -> float:
        return float(area_above_floor_mm2(window, depth - under_skirt))

    expected = by_angle(area, [under_skirt + edge for edge in edges(window)])
    got = angle_area_above_mm2_deg(window, 50.0 + under_skirt, 50.0, *CRANK)
    assert got == pytest.approx(expected, rel=2e-7)


@pytest.mark.parametrize("name", WINDOWS)
def test_curves_are_the_area_at_the_piston(name: str) -> None:
    window, theta = WINDOWS[name], np.linspace(-90.0, 400.0, 99)
    depth = depth_mm(theta, *CRANK)
    np.testing.assert_allclose(
        open_area_by_crown_mm2(theta, window, 27.0, *CRANK), area_below_roof_mm2(window, depth - 27.0), atol=1e-9
    )
    np.testing.assert_allclose(
        open_area_by_skirt_mm2(theta, window, 51.0, 50.0, *CRANK), area_above_floor_mm2(window, depth - 1.0), atol=1e-9
    )


def test_variants_broadcast() -> None:
    widths, roofs = np.array([30.0, 34.0, 36.0]), np.array([[26.0], [27.0]])
    window = RoundedWindow(widths, 13.0, 4.0)
    got = angle_area_below_mm2_deg(window, roofs, *CRANK)
    curves = open_area_by_crown_mm2(np.linspace(0.0, 360.0, 5), window, roofs, *CRANK)
    assert got.shape == (2, 3)
    assert curves.shape == (2, 3, 5)
    for i in range(2):
        for j in range(3):
            alone = RoundedWindow(widths[j], 13.0, 4.0)
            assert got[i, j] == angle_area_below_mm2_deg(alone, roofs[i, 0], *CRANK)
            np.testing.assert_array_equal(
                curves[i, j], open_area_by_crown_mm2(np.linspace(0.0, 360.0, 5), alone, roofs[i, 0], *CRANK)
            )
    tabled = WINDOWS["outline"]
    assert angle_area_below_mm2_deg(tabled, roofs, 42.0, [85.0, 90.0], 0.0).shape == (2, 2)
    assert open_area_by_skirt_mm2([0.0, 90.0], tabled, 50.0, [50.0, 49.0], *CRANK).shape == (2, 2)
    assert open_area_by_crown_mm2(90.0, tabled, 20.0, *CRANK).shape == (1,)


@given(st.floats(0.0, 45.0), st.floats(0.01, 5.0), st.sampled_from(sorted(WINDOWS)))
@settings(deadline=None)
def test_a_higher_roof_has_more_time_area_and_none_more_than_open_all_the_turn(
    roof: float, raised: float, name: str
) -> None:
    window = WINDOWS[name]
    everything = 360.0 * whole_area_mm2(window)
    unsure = 1e-7 * everything
    low, high = angle_area_below_mm2_deg(window, [roof, roof - raised], *CRANK)
    assert 0.0 <= low <= high + unsure <= everything + 2.0 * unsure
    long, short = angle_area_above_mm2_deg(window, [50.0 + roof, 50.0 + roof - raised], 60.0, *CRANK)
    assert 0.0 <= short <= long + unsure <= everything + 2.0 * unsure


def test_an_end_hidden_by_its_bridge_leaves_exactly_nothing() -> None:
    for covered in np.linspace(-13.0, -12.5, 200):
        assert angle_area_above_mm2_deg(WINDOWS["hidden by its bridge"], covered, 0.0, *CRANK) >= 0.0
    assert angle_area_above_mm2_deg(WINDOWS["hidden by its bridge"], -12.9, 0.0, *CRANK) == 0.0


def test_blowdown_ends_with_the_port_and_starts_with_it() -> None:
    window = WINDOWS["round"]
    opens = float(angle_down_deg(27.0, *CRANK))
    assert blowdown_angle_area_mm2_deg(window, 27.0, opens, *CRANK) == pytest.approx(0.0, abs=1e-20)
    assert blowdown_angle_area_mm2_deg(window, 27.0, opens - 20.0, *CRANK) == 0.0
    bdc = bdc_after_tdc_deg(*CRANK)
    for until in (200.0, 400.0):
        assert blowdown_angle_area_mm2_deg(window, 27.0, until, *CRANK) == blowdown_angle_area_mm2_deg(
            window, 27.0, bdc, *CRANK
        )
    assert blowdown_angle_area_mm2_deg(window, 27.0, -5.0, *CRANK) == 0.0
    assert np.isnan(blowdown_angle_area_mm2_deg(window, 27.0, np.nan, *CRANK))
    # without offset the way down to bottom dead centre is half of the turn
    half = blowdown_angle_area_mm2_deg(window, 27.0, 180.0, 42.0, 85.0, 0.0)
    assert 2.0 * half == pytest.approx(angle_area_below_mm2_deg(window, 27.0, 42.0, 85.0, 0.0), rel=1e-9)


def test_from_angle_to_time_and_per_volume() -> None:
    # open 180 deg at 6000 rev/min is 5 ms; 200 mm^2 all that time is 1 mm^2 s, per 50 cm^3 0.02 s/m
    assert time_area_s_mm2(200.0 * 180.0, 6000.0) == pytest.approx(1.0, rel=1e-15)
    assert time_area_s_mm2(200.0 * 180.0, 12000.0) == pytest.approx(0.5, rel=1e-15)
    assert specific_time_area_s_per_m(1.0, 50.0) == pytest.approx(0.02, rel=1e-15)
    assert mean_area_mm2(200.0 * 180.0, 180.0) == pytest.approx(200.0, rel=1e-15)
    assert np.isnan(time_area_s_mm2(1.0, [0.0, -1.0])).all()
    assert np.isnan(specific_time_area_s_per_m(1.0, 0.0))
    assert np.isnan(mean_area_mm2(1.0, 0.0))
    assert time_area_s_mm2([1.0, 2.0], [[6000.0], [9000.0], [12000.0]]).shape == (3, 2)


def test_a_crank_that_cannot_turn_gives_nan() -> None:
    for window in (WINDOWS["round"], WINDOWS["outline"]):
        assert np.isnan(angle_area_below_mm2_deg(window, 27.0, 42.0, 20.0, 0.0))
        assert np.isnan(angle_area_above_mm2_deg(window, 50.0, 50.0, 42.0, 20.0, 0.0))
        assert np.isnan(blowdown_angle_area_mm2_deg(window, 27.0, 120.0, 42.0, 20.0, 0.0))
        assert np.isnan(open_area_by_crown_mm2(90.0, window, 27.0, 42.0, 20.0, 0.0)).all()


def test_examples() -> None:
    result = doctest.testmod(time_area)
    assert result.attempted > 0
    assert result.failed == 0
