"""Rounded windows against shapely and Gauss quadrature of their outline; properties of every window; chords."""

import doctest
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from scribeline.errors import GeometryError
from scribeline.geometry import windows
from scribeline.geometry.windows import (
    RoundedWindow,
    area_above_floor_mm2,
    area_below_roof_mm2,
    whole_area_mm2,
    width_mm,
)

BORE = 47.0
NODES, WEIGHTS = np.polynomial.legendre.leggauss(100)


@st.composite
def rounded(draw: st.DrawFn) -> RoundedWindow:
    """Windows of every proportion: sharp, round-ended, bridged, hidden behind the bridge, unrolled and projected."""
    width, height = draw(st.floats(4.0, 70.0)), draw(st.floats(3.0, 40.0))
    roof = draw(st.just(0.0) | st.floats(0.0, min(0.5 * width, height)))
    floor = draw(st.just(0.0) | st.floats(0.0, max(min(0.5 * width, height - roof), 0.0)))
    bridge = draw(st.just(0.0) | st.floats(0.0, 1.1 * width))
    return RoundedWindow(width, height, roof, floor, bridge, draw(st.sampled_from([None, BORE])))


def half_width(window: RoundedWindow, y: float) -> float:
    """How far the outline reaches to either side at y, from the circle of the corner it cuts."""
    half, height = float(window.width_mm) / 2.0, float(window.height_mm)  # type: ignore[arg-type]
    for radius, into in ((float(window.roof_radius_mm), y), (float(window.floor_radius_mm), height - y)):  # type: ignore[arg-type]
        if into < radius:
            return half - radius + float(np.sqrt(max(radius**2 - (radius - into) ** 2, 0.0)))
    return half


def counted_width(window: RoundedWindow, y: float) -> float:
    half, inner = half_width(window, y), float(window.bridge_mm) / 2.0  # type: ignore[arg-type]
    if half <= inner:
        return 0.0
    if window.bore_mm is None:
        return 2.0 * (half - inner)
    radius = float(window.bore_mm) / 2.0  # type: ignore[arg-type]
    return 2.0 * radius * float(np.sin(half / radius) - np.sin(inner / radius))


def integrated(window: RoundedWindow, low: float, high: float) -> float:
    height, roof = float(window.height_mm), float(window.roof_radius_mm)  # type: ignore[arg-type]
    floor, bridge = float(window.floor_radius_mm), float(window.bridge_mm)  # type: ignore[arg-type]
    edges = {low, high, roof, height - floor}
    for radius, place in ((roof, lambda v: v), (floor, lambda v: height - v)):
        past = bridge / 2.0 - float(window.width_mm) / 2.0 + radius  # type: ignore[arg-type]
        if 0.0 < past < radius:
            edges.add(place(radius - np.sqrt(radius**2 - past**2)))
    corners = sorted(edge for edge in edges if low <= edge <= high)
    total = 0.0
    for a, b in pairwise(corners):
        places = a + (b - a) * 0.5 * (
            1.0 - np.cos(0.5 * np.pi * (1.0 + NODES))
        )  # square roots at both ends made smooth
        widths = np.array([counted_width(window, y) for y in places])
        total += (b - a) * 0.25 * np.pi * float(widths * np.sin(0.5 * np.pi * (1.0 + NODES)) @ WEIGHTS)
    return total


@given(rounded(), st.floats(-0.2, 1.2).map(lambda share: round(share, 9)))
@settings(deadline=None, max_examples=60)
def test_area_and_width_equal_the_integral_of_the_outline(window: RoundedWindow, share: float) -> None:
    height = float(window.height_mm)  # type: ignore[arg-type]
    u = min(max(share, 0.0), 1.0) * height
    assert area_below_roof_mm2(window, share * height) == pytest.approx(integrated(window, 0.0, u), rel=1e-9, abs=1e-6)
    assert area_above_floor_mm2(window, share * height) == pytest.approx(
        integrated(window, u, height), rel=1e-9, abs=1e-6
    )
    assert whole_area_mm2(window) == pytest.approx(integrated(window, 0.0, height), rel=1e-9, abs=1e-6)
    expected = counted_width(window, share * height) if 0.0 <= share <= 1.0 else 0.0
    assert width_mm(window, share * height) == pytest.approx(expected, rel=1e-12, abs=1e-7)


@given(rounded(), st.lists(st.floats(-0.5, 1.5), min_size=2, max_size=8))
@settings(deadline=None)
def test_area_is_never_negative_never_above_the_whole_and_grows(window: RoundedWindow, shares: list[float]) -> None:
    heights = np.sort(shares) * float(window.height_mm)  # type: ignore[arg-type]
    whole = whole_area_mm2(window)
    rounding = 1e-12 * float(window.width_mm) * float(window.height_mm)  # type: ignore[arg-type]
    below, above = area_below_roof_mm2(window, heights), area_above_floor_mm2(window, heights)
    for area in (below, above):
        assert (area >= 0.0).all()
        assert (area <= whole + rounding).all()
    assert (np.diff(below) >= -rounding).all()
    assert (np.diff(above) <= rounding).all()
    np.testing.assert_allclose(below + above, whole, rtol=1e-9, atol=1e-6)


@pytest.mark.parametrize("bridge", [0.0, 6.0, 26.0])
@pytest.mark.parametrize("u", [0.3, 4.0, 9.0, 12.5, 14.0])
def test_unrolled_area_equals_shapely(u: float, bridge: float) -> None:
    roof, floor, width, height = 6.0, 3.0, 30.0, 14.0
    upper = shapely.box(roof - width / 2, roof, width / 2 - roof, height - roof).buffer(roof, quad_segs=4000)
    lower = shapely.box(floor - width / 2, floor, width / 2 - floor, height - floor).buffer(floor, quad_segs=4000)
    drawn = shapely.union(
        shapely.intersection(upper, shapely.box(-50, 0, 50, height / 2)),
        shapely.intersection(lower, shapely.box(-50, height / 2, 50, height)),
    ).difference(shapely.box(-bridge / 2, -1, bridge / 2, height + 1) if bridge else shapely.Polygon())
    window = RoundedWindow(width, height, roof, floor, bridge)
    expected = drawn.intersection(shapely.box(-50, 0, 50, u)).area
    assert area_below_roof_mm2(window, u) == pytest.approx(expected, rel=2e-7, abs=1e-6)
    assert area_above_floor_mm2(window, u) == pytest.approx(drawn.area - expected, rel=2e-7, abs=1e-6)


def test_width_is_the_derivative_of_the_area() -> None:
    for window in (RoundedWindow(34.0, 14.2, 5.0, 4.0, 27.0), RoundedWindow(34.0, 14.2, 5.0, 4.0, 3.0, BORE)):
        heights = np.linspace(1.0, 13.5, 40)
        step = 1e-4
        by_difference = (area_below_roof_mm2(window, heights + step) - area_below_roof_mm2(window, heights - step)) / (
            2.0 * step
        )
        np.testing.assert_allclose(width_mm(window, heights), by_difference, rtol=1e-6, atol=1e-6)


def test_a_large_bore_projects_like_no_bore() -> None:
    flat, curved = RoundedWindow(34.0, 14.2, 5.0, 4.0, 3.0), RoundedWindow(34.0, 14.2, 5.0, 4.0, 3.0, 1e7)
    for u in (1.0, 8.0, 13.0):
        assert area_below_roof_mm2(curved, u) == pytest.approx(area_below_roof_mm2(flat, u), rel=1e-9)


def test_variants_and_heights_broadcast() -> None:
    widths, radii = np.array([30.0, 34.0, 36.0]), np.array([0.0, 3.0, 6.0])
    window = RoundedWindow(widths, 14.0, radii, 2.0, 0.0, BORE)
    heights = np.linspace(0.0, 14.0, 5)
    for function in (area_below_roof_mm2, area_above_floor_mm2, width_mm):
        got = function(window, heights[:, None])
        assert got.shape == (5, 3)
        for j in range(3):
            alone = RoundedWindow(widths[j], 14.0, radii[j], 2.0, 0.0, BORE)
            np.testing.assert_array_equal(got[:, j], function(alone, heights))
    assert whole_area_mm2(window).shape == (3,)
    assert np.isnan(area_below_roof_mm2(window, np.nan)).all()


@pytest.mark.parametrize(
    ("lengths", "told"),
    [
        ((0.0, 14.0), "width 0 mm"),
        ((np.nan, 14.0), "width nan mm"),
        ((30.0, -2.0), "height -2 mm"),
        ((30.0, 14.0, -1.0), "roof corner radius -1 mm"),
        ((30.0, 40.0, 15.1), "roof corner radius 15.1 mm"),
        ((30.0, 40.0, 0.0, 15.1), "floor corner radius 15.1 mm"),
        ((30.0, 14.0, 8.0, 6.1), "roof plus floor corner radius 14.1 mm"),
        ((30.0, 14.0, 1.0, 1.0, -0.1), "bridge -0.1 mm"),
        ((80.0, 14.0, 1.0, 1.0, 0.0, BORE), "width 80 mm"),
        (([30.0, 9.0, 30.0], 14.0, 5.0), "roof corner radius 5 mm"),
    ],
)
def test_impossible_windows_are_refused(lengths: tuple[float, ...], told: str) -> None:
    with pytest.raises(GeometryError, match=f"port window: {told}; accepted: .*; "):
        RoundedWindow(*lengths)


def test_corners_that_just_fit_are_taken() -> None:
    assert whole_area_mm2(RoundedWindow(0.6, 0.1 + 0.2, 0.1, 0.2)) > 0.0
    assert whole_area_mm2(RoundedWindow(12.0, 12.0, 6.0, 6.0)) == pytest.approx(np.pi * 36.0, rel=1e-14)
    half_way_round = RoundedWindow(0.5 * np.pi * BORE, 10.0, bore_mm=BORE)
    assert whole_area_mm2(half_way_round) == pytest.approx(10.0 * BORE, rel=1e-14)


def test_fitting_leaves_what_fits_and_shrinks_what_does_not() -> None:
    rng = np.random.default_rng(2)
    height = 12.0 + 0.2 * rng.standard_normal(500)
    drawn = RoundedWindow.fitting(30.0, height, 6.0 + 0.1 * rng.standard_normal(500), 6.0, -0.1, BORE)
    roof, floor = np.asarray(drawn.roof_radius_mm), np.asarray(drawn.floor_radius_mm)
    assert (roof + floor <= height * (1.0 + 1e-12)).all()
    assert ((roof + floor >= height * (1.0 - 1e-12)) | (floor == 6.0)).all()
    assert drawn.bridge_mm == 0.0
    np.testing.assert_array_less(0.0, whole_area_mm2(drawn))
    same = RoundedWindow.fitting(30.0, 12.0, 5.0, 4.0, 3.0, BORE)
    assert (same.width_mm, same.height_mm, same.roof_radius_mm, same.floor_radius_mm) == (30.0, 12.0, 5.0, 4.0)
    assert (same.bridge_mm, same.bore_mm) == (3.0, BORE)
    narrow = RoundedWindow.fitting(8.0, 12.0, 5.0, 2.0)
    assert (narrow.roof_radius_mm, narrow.floor_radius_mm) == (4.0, 1.6)
    assert whole_area_mm2(RoundedWindow.fitting(-1.0, -1.0, 1.0, 1.0)) == pytest.approx(0.0, abs=1e-11)
    assert RoundedWindow.fitting(90.0, 10.0, bore_mm=BORE).width_mm == pytest.approx(0.5 * np.pi * BORE)


def test_perimeter_equals_shapely() -> None:
    width, height, radius = 30.0, 14.0, 4.0
    drawn = shapely.box(radius, radius, width - radius, height - radius).buffer(radius, quad_segs=2000)
    assert windows.perimeter_mm(RoundedWindow(width, height, radius, radius)) == pytest.approx(drawn.length, rel=1e-7)


def test_chords_of_a_bore() -> None:
    # a chord as long as the radius spans a sixth of the way round
    assert windows.arc_from_chord_mm(20.0, 40.0) == pytest.approx(40.0 * np.pi / 6.0, rel=1e-15)
    assert windows.chord_from_arc_mm(40.0 * np.pi / 6.0, 40.0) == pytest.approx(20.0, rel=1e-15)
    assert windows.included_angle_deg(20.0, 40.0) == pytest.approx(60.0, rel=1e-15)
    assert windows.sagitta_mm(20.0, 40.0) == pytest.approx(20.0 - np.sqrt(300.0), rel=1e-13)
    assert windows.sagitta_mm(1e-5, 40.0) == pytest.approx(1e-10 / 8.0 / 20.0, rel=1e-12)
    assert windows.arc_from_chord_mm(40.0, 40.0) == pytest.approx(20.0 * np.pi, rel=1e-15)
    for function in (windows.arc_from_chord_mm, windows.included_angle_deg, windows.sagitta_mm):
        assert np.isnan(function([40.001, -1.0], 40.0)).all()
    assert np.isnan(windows.chord_from_arc_mm([-0.1, 126.0], 40.0)).all()
    assert windows.arc_from_chord_mm([10.0, 20.0], [[40.0], [50.0]]).shape == (2, 2)


def test_examples() -> None:
    result = doctest.testmod(windows)
    assert result.attempted > 0
    assert result.failed == 0
