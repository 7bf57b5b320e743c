"""Free outlines against shapely (unrolled) and against integrals over the sides cut (projected)."""

import doctest
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from scribeline.errors import GeometryError
from scribeline.geometry import outline
from scribeline.geometry.outline import outline_window
from scribeline.geometry.windows import (
    RoundedWindow,
    area_above_floor_mm2,
    area_below_roof_mm2,
    whole_area_mm2,
    width_mm,
)

BORE = 47.0
HOLLOW = [(-12.0, 20.0), (-4.0, 20.0), (0.0, 27.0), (5.0, 21.0), (13.0, 21.0), (11.0, 34.0), (2.0, 29.0), (-9.0, 35.0)]
"""Two horns at the roof, two feet at the floor, level and slanting sides."""


def star(rng: np.random.Generator, corners: int) -> np.ndarray:
    """A simple polygon round (1, 30): hollow, uneven, never crossing itself."""
    angle = 2.0 * np.pi / corners * (np.arange(corners) + rng.uniform(0.0, 0.9, corners))
    reach = rng.uniform(2.0, 14.0, corners)
    return np.column_stack((1.0 + reach * np.cos(angle), 30.0 + reach * np.sin(angle)))


def spans(points: np.ndarray, depth: float) -> np.ndarray:
    """Places across, sorted, where the sides pass a depth: open between the 1st and 2nd, the 3rd and 4th, ..."""
    places = []
    for (s0, y0), (s1, y1) in zip(points, np.roll(points, -1, axis=0), strict=True):
        if (y0 < depth) != (y1 < depth):
            places.append(s0 + (s1 - s0) * (depth - y0) / (y1 - y0))
    return np.sort(places)


def counted(points: np.ndarray, depth: float, bridge: float, bore: float | None) -> float:
    total = 0.0
    for a, b in spans(points, depth).reshape(-1, 2):
        for low, high in ((a, min(b, -bridge / 2.0)), (max(a, bridge / 2.0), b)):
            if high > low:
                r = bore / 2.0 if bore else np.inf
                total += r * (np.sin(high / r) - np.sin(low / r)) if bore else high - low
    return total


@pytest.mark.parametrize("bridge", [0.0, 5.0])
@pytest.mark.parametrize("seed", range(6))
def test_unrolled_equals_shapely(seed: int, bridge: float) -> None:
    rng = np.random.default_rng(seed)
    points = star(rng, 9) if seed else np.array(HOLLOW)
    bar = shapely.box(-bridge / 2.0, 0.0, bridge / 2.0, 60.0) if bridge else shapely.Polygon()
    drawn = shapely.Polygon(points).difference(bar)
    turned = points[::-1] if seed % 2 else np.roll(points, 3, axis=0)
    window = outline_window(turned, bridge)
    assert window.roof_mm == points[:, 1].min()
    assert window.height_mm == pytest.approx(np.ptp(points[:, 1]))
    assert whole_area_mm2(window) == pytest.approx(drawn.area, rel=1e-12)
    for share in rng.uniform(0.0, 1.0, 12):
        u = share * window.height_mm
        cut = shapely.box(-60.0, 0.0, 60.0, window.roof_mm + u)
        assert area_below_roof_mm2(window, u) == pytest.approx(drawn.intersection(cut).area, rel=1e-11, abs=1e-11)
        assert area_above_floor_mm2(window, u) == pytest.approx(drawn.difference(cut).area, rel=1e-11, abs=1e-11)
        level = shapely.LineString([(-60.0, window.roof_mm + u), (60.0, window.roof_mm + u)])
        assert width_mm(window, u) == pytest.approx(drawn.intersection(level).length, rel=1e-10, abs=1e-10)


@pytest.mark.parametrize("bridge", [0.0, 5.0])
@pytest.mark.parametrize("seed", range(4))
def test_projected_keeps_within_the_stated_bound(seed: int, bridge: float) -> None:
    rng = np.random.default_rng(seed)
    points = star(rng, 8) if seed else np.array(HOLLOW)
    window = outline_window(points, bridge, BORE)
    sides_cut, r, step = len(points), BORE / 2.0, outline.PROJECTED_STEP_MM
    knots = window.knots_m * 1e3
    at_knots = area_below_roof_mm2(window, knots)
    for u in rng.uniform(0.0, window.height_mm, 10):
        k = int(np.searchsorted(knots, u)) - 1
        rest = quad(lambda y: counted(points, window.roof_mm + y, bridge, BORE), knots[k], u, epsabs=1e-13)[0]
        slab = knots[k + 1] - knots[k]
        assert area_below_roof_mm2(window, u) - at_knots[k] == pytest.approx(
            rest, abs=sides_cut * slab * step**3 / (384.0 * r**2) + 1e-11
        )
        expected = counted(points, window.roof_mm + u, bridge, BORE)
        assert width_mm(window, u) == pytest.approx(expected, abs=sides_cut * 0.0081 * step**3 / r**2)
    whole = sum(
        quad(lambda y: counted(points, window.roof_mm + y, bridge, BORE), a, b, epsabs=1e-12)[0]
        for a, b in pairwise(knots)
    )
    assert whole_area_mm2(window) == pytest.approx(whole, rel=1e-12)


def test_stated_bound_in_figures() -> None:
    """For a 40 mm bore, as the docstring says: 1e-6 mm^2 per mm of height, 3e-6 mm."""
    step, r = outline.PROJECTED_STEP_MM, 20.0
    assert step**3 / (384.0 * r**2) < 1e-6
    assert 0.0081 * step**3 / r**2 < 3e-6


def test_rounded_rectangle_drawn_as_an_outline() -> None:
    turn = np.linspace(0.0, np.pi / 2.0, 2001)
    roof = np.column_stack((12.0 + 5.0 * np.sin(turn), 5.0 - 5.0 * np.cos(turn)))
    floor = np.column_stack((13.0 + 4.0 * np.cos(turn), 10.2 + 4.0 * np.sin(turn)))
    right = np.concatenate((roof[::40], floor[::40]))
    points = np.concatenate((right, right[::-1] * (-1.0, 1.0)))
    points[:, 1] += 27.0
    for bore in (None, BORE):
        drawn, meant = outline_window(points, 4.0, bore), RoundedWindow(34.0, 14.2, 5.0, 4.0, 4.0, bore)
        u = np.linspace(0.0, 14.2, 30)
        np.testing.assert_allclose(area_below_roof_mm2(drawn, u), area_below_roof_mm2(meant, u), atol=0.02)


@given(st.integers(0, 10_000), st.floats(0.0, 40.0), st.sampled_from([None, BORE]))
@settings(deadline=None, max_examples=30)
def test_area_is_never_negative_never_above_the_whole_and_grows(seed: int, bridge: float, bore: float | None) -> None:
    rng = np.random.default_rng(seed)
    window = outline_window(star(rng, 7), bridge, bore)
    heights = np.sort(rng.uniform(-2.0, window.height_mm + 2.0, 50))
    below, above, whole = (
        area_below_roof_mm2(window, heights),
        area_above_floor_mm2(window, heights),
        whole_area_mm2(window),
    )
    assert (below >= 0.0).all()
    assert (above >= 0.0).all()
    assert (below <= whole * (1.0 + 1e-15)).all()
    assert (np.diff(below) >= -1e-12).all()
    np.testing.assert_allclose(below + above, whole, atol=1e-11)
    assert (width_mm(window, heights) >= 0.0).all()


def test_repeated_and_closing_points_change_nothing() -> None:
    plain = outline_window(HOLLOW)
    repeated = outline_window([HOLLOW[0], *HOLLOW, HOLLOW[-1], HOLLOW[0]])
    np.testing.assert_array_equal(plain.outline_mm, repeated.outline_mm)
    np.testing.assert_array_equal(plain.area_m2, repeated.area_m2)


def test_width_at_a_level_side_is_the_one_below_it() -> None:
    step = outline_window([(-10.0, 0.0), (10.0, 0.0), (10.0, 5.0), (4.0, 5.0), (4.0, 9.0), (-10.0, 9.0)])
    np.testing.assert_allclose(width_mm(step, [0.0, 4.999, 5.0, 9.0, 9.001]), [20.0, 20.0, 14.0, 14.0, 0.0], rtol=1e-13)


@given(st.integers(0, 10_000))
@settings(deadline=None, max_examples=200)
def test_crossing_outlines_are_refused_exactly_where_shapely_finds_them_invalid(seed: int) -> None:
    points = np.random.default_rng(seed).integers(0, 6, (5, 2)).astype(float)
    valid = shapely.Polygon(points).is_valid
    repeats = any((points[i] == points[i - 1]).all() for i in range(5))
    try:
        outline_window(points)
        taken = True
    except GeometryError:
        taken = False
    if not repeats:  # shapely overlooks repeated points, and so do we, but with fewer corners left both may differ
        assert taken == valid


@pytest.mark.parametrize(
    ("points", "told"),
    [
        (
            [(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)],
            r"from point 1 \(0, 0\) and the side from point 3 \(10, 0\)",
        ),
        ([(0.0, 0.0), (10.0, 0.0), (10.0, 8.0), (5.0, 0.0), (0.0, 8.0)], "cross, touch or run back"),
        ([(0.0, 0.0), (10.0, 0.0), (4.0, 0.0), (4.0, 9.0)], "cross, touch or run back"),
        ([(0.0, 0.0), (10.0, 0.0), (20.0, 0.0)], "cross, touch or run back"),
        ([(0.0, 0.0), (10.0, 0.0)], "2 different corners; accepted: 3 or more"),
        ([(0.0, 0.0), (10.0, 0.0), (10.0, 0.0), (0.0, 0.0)], "2 different corners"),
        ([], r"accepted are points \(across, down\)"),
        ([(0.0, 0.0, 1.0), (10.0, 0.0, 1.0), (5.0, 5.0, 1.0)], r"accepted are points \(across, down\)"),
        ([(0.0, 0.0), (10.0, np.nan), (5.0, 5.0)], r"accepted are points \(across, down\)"),
    ],
)
def test_impossible_outlines_are_refused(points: list[tuple[float, ...]], told: str) -> None:
    with pytest.raises(GeometryError, match=f"port outline: .*{told}|{told}"):
        outline_window(points)


def test_impossible_bridge_and_bore_are_refused() -> None:
    with pytest.raises(GeometryError, match="bridge -1 mm; accepted: 0 mm or more"):
        outline_window(HOLLOW, -1.0)
    with pytest.raises(GeometryError, match=r"reaches 13 mm across; accepted: up to .*, 12\.5664 mm"):
        outline_window(HOLLOW, 0.0, 16.0)
    assert whole_area_mm2(outline_window(HOLLOW, 50.0, BORE)) == 0.0


def test_examples() -> None:
    result = doctest.testmod(outline)
    assert result.attempted > 0
    assert result.failed == 0
