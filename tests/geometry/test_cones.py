"""Cones against quadrature, shapely, and rolling the flat pattern up again."""

import doctest
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from shapely.geometry import Polygon

from scribeline.errors import GeometryError
from scribeline.geometry import cones

diameters = st.floats(5.0, 150.0)
lengths = st.floats(5.0, 500.0)


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(cones).failed == 0


def ring_sector(inner: float, outer: float, angle_deg: float, pieces: int = 2000) -> Polygon:
    angles = np.radians(np.linspace(0.0, angle_deg, pieces))
    ring = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    return Polygon(np.concatenate([outer * ring, inner * ring[::-1]]))


@settings(deadline=None, max_examples=60)
@given(diameters, diameters, lengths)
def test_the_pattern_rolls_up_into_the_cone(start: float, end: float, length: float) -> None:
    pattern = cones.frustum_pattern(start, end, length)
    large, small = max(start, end), min(start, end)
    if large - small < 1e-3:
        return
    turn = math.radians(pattern.sector_angle_deg)
    assert pattern.outer_radius_mm * turn == pytest.approx(math.pi * large, rel=1e-9)
    assert pattern.inner_radius_mm * turn == pytest.approx(math.pi * small, rel=1e-9)
    assert pattern.outer_radius_mm - pattern.inner_radius_mm == pytest.approx(pattern.slant_mm, rel=1e-6)
    assert pattern.slant_mm**2 - ((large - small) / 2.0) ** 2 == pytest.approx(length**2, rel=1e-9)
    assert pattern.outer_arc_mm == pytest.approx(math.pi * large, rel=1e-12)
    assert pattern.inner_arc_mm == pytest.approx(math.pi * small, rel=1e-12)
    chord = 2.0 * pattern.outer_radius_mm * math.sin(turn / 2.0)
    assert pattern.outer_chord_mm == pytest.approx(chord, rel=1e-9)
    assert math.tan(math.radians(pattern.half_angle_deg)) == pytest.approx((large - small) / 2.0 / length, rel=1e-12)
    assert pattern.included_angle_deg == 2.0 * pattern.half_angle_deg


@pytest.mark.parametrize(("start", "end", "length"), [(30.0, 75.0, 260.0), (75.0, 22.0, 18.0), (0.0, 40.0, 30.0)])
def test_pattern_area_against_shapely(start: float, end: float, length: float) -> None:
    pattern = cones.frustum_pattern(start, end, length)
    drawn = ring_sector(float(pattern.inner_radius_mm), float(pattern.outer_radius_mm), float(pattern.sector_angle_deg))
    assert pattern.lateral_area_mm2 == pytest.approx(drawn.area, rel=2e-6)


def test_the_pattern_of_a_cylinder_is_a_rectangle() -> None:
    pattern = cones.frustum_pattern([30.0, 30.0], [30.0, 40.0], 50.0)
    assert (pattern.outer_radius_mm[0], pattern.inner_radius_mm[0]) == (math.inf, math.inf)
    assert (pattern.sector_angle_deg[0], pattern.half_angle_deg[0], pattern.slant_mm[0]) == (0.0, 0.0, 50.0)
    assert pattern.outer_chord_mm[0] == pattern.outer_arc_mm[0] == pytest.approx(30.0 * math.pi, rel=1e-14)
    assert np.isfinite(pattern.outer_radius_mm[1])


@settings(deadline=None, max_examples=60)
@given(diameters, diameters, lengths)
def test_section_is_the_sum_of_its_slices(start: float, end: float, length: float) -> None:
    slices, _ = quad(lambda z: math.pi / 4.0 * (start + (end - start) * z / length) ** 2, 0.0, length)
    assert cones.frustum_volume_cc(start, end, length) == pytest.approx(slices / 1000.0, rel=1e-9)
    wall = math.sqrt(1.0 + ((end - start) / 2.0 / length) ** 2)
    rings, _ = quad(lambda z: math.pi * (start + (end - start) * z / length) * wall, 0.0, length)
    assert cones.frustum_wall_area_mm2(start, end, length) == pytest.approx(rings, rel=1e-9)


@settings(deadline=None, max_examples=60)
@given(diameters, diameters, lengths, st.floats(0.05, 0.95))
def test_cutting_a_section_in_two_changes_nothing(start: float, end: float, length: float, share: float) -> None:
    middle = start + share * (end - start)
    whole = cones.pipe_totals([start], [end], [length])
    halves = cones.pipe_totals([start, middle], [middle, end], [share * length, (1.0 - share) * length])
    for total in ("volume_cc", "wall_area_mm2", "length_mm"):
        assert getattr(halves, total) == pytest.approx(getattr(whole, total), rel=1e-9)


def test_pipes_of_many_variants_at_once() -> None:
    variants = cones.pipe_totals(np.full((5, 3), 30.0), np.full((5, 3), 40.0), [10.0, 20.0, 30.0])
    assert variants.section_volume_cc.shape == (5, 3)
    assert variants.volume_cc.shape == variants.length_mm.shape == (5,)
    assert variants.length_mm[2] == 60.0


@settings(deadline=None, max_examples=60)
@given(st.floats(5.0, 60.0), st.floats(1.0, 8.0), st.floats(1.0, 180.0))
def test_bend_is_the_sum_of_its_fibres(diameter: float, tightness: float, angle: float) -> None:
    """Every fibre of the bend is an arc of its own radius; the round section weighs them."""
    radius = diameter / 2.0 * tightness
    turn = math.radians(angle)
    fibres, _ = quad(
        lambda t: (
            (radius + diameter / 2.0 * math.sin(t)) * turn * (diameter * math.cos(t)) * diameter / 2.0 * math.cos(t)
        ),
        -math.pi / 2.0,
        math.pi / 2.0,
    )
    bent = cones.bend(diameter, radius, angle)
    assert bent.volume_cc == pytest.approx(fibres / 1000.0, rel=1e-9)
    assert bent.centreline_mm == pytest.approx((bent.inner_arc_mm + bent.outer_arc_mm) / 2.0, rel=1e-12)
    assert bent.outer_arc_mm - bent.inner_arc_mm == pytest.approx(diameter * turn, rel=1e-9)


@pytest.mark.parametrize(
    ("call", "value"),
    [
        (lambda: cones.frustum_pattern(-30.0, 40.0, 50.0), "-30 mm"),
        (lambda: cones.frustum_pattern(30.0, -40.0, 50.0), "-40 mm"),
        (lambda: cones.frustum_pattern(30.0, 40.0, [50.0, -5.0]), "-5 mm"),
        (lambda: cones.frustum_pattern(30.0, math.nan, 50.0), "nan mm"),
        (lambda: cones.frustum_pattern(30.0, 40.0, 0.0), "0 mm"),
        (lambda: cones.frustum_pattern(0.0, 0.0, 50.0), "0 mm"),
        (lambda: cones.pipe_totals([30.0], [-40.0], [50.0]), "-40 mm"),
        (lambda: cones.pipe_totals([30.0], [40.0], [-50.0]), "-50 mm"),
        (lambda: cones.pipe_totals([], [], []), "no section"),
        (lambda: cones.bend(-30.0, 75.0, 90.0), "-30 mm"),
        (lambda: cones.bend(30.0, 75.0, -90.0), "-90 deg"),
        (lambda: cones.bend(30.0, 14.9, 90.0), "14.9 mm"),
    ],
)
def test_impossible_sections_are_refused_with_the_value(call: object, value: str) -> None:
    with pytest.raises(GeometryError, match=value):
        call()  # type: ignore[operator]


def test_a_single_section_out_of_range_gives_nan_in_its_own_place() -> None:
    got = cones.frustum_volume_cc([30.0, -30.0], 40.0, 50.0)
    assert got[0] == cones.frustum_volume_cc(30.0, 40.0, 50.0)
    assert np.isnan(got[1])
    assert np.isnan(cones.frustum_wall_area_mm2(30.0, 40.0, -1.0))
