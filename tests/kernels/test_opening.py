"""Angle-area and open-area kernels against integrals of scipy over the crank angle, in metres and radians.

The area and the depth that are integrated here are those of the kernels, which other tests hold to the definition; what
is tested is the exchange of the order of integration and the rule.
"""

import math
from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad

from scribeline.kernels import crank, opening, window

Lengths = tuple[float, float, float]
Size = tuple[float, float, float, float, float, float]


def by_angle(area_at: Callable[[float], float], breaks: list[float], lengths: Lengths, end: float) -> float:
    """Integrate area_at(depth) from 0 to the angle `end`, broken where the piston passes one of the depths `breaks`."""
    travel = crank.true_stroke_at(*lengths)
    inside = [depth for depth in breaks if 0.0 < depth < travel]
    angles = [f(depth, *lengths) for depth in inside for f in (crank.angle_down_at, crank.angle_up_at)]
    corners = sorted({0.0, end, *(angle for angle in angles if angle < end)})
    return sum(
        quad(lambda theta: area_at(crank.depth_at(theta, *lengths)), low, high, epsabs=1e-13, epsrel=1e-11, limit=400)[
            0
        ]
        for low, high in pairwise(corners)
    )


def random_case(rng: np.random.Generator) -> tuple[Lengths, Size, float, float]:
    """A crank, a window, the depth of its roof, and an angle at which the transfers open."""
    stroke = rng.uniform(0.035, 0.075)
    lengths = (stroke, stroke * rng.uniform(1.5, 2.4), rng.choice([0.0, 1.0]) * rng.uniform(-2e-3, 2e-3))
    height, width = rng.uniform(0.006, 0.03), rng.uniform(0.01, 0.04)
    radii = rng.choice([0.0, 1.0], 2) * rng.uniform(0.0, 0.5 * min(height, width), 2)
    size = (width, height, *radii, rng.choice([0.0, 1.0]) * rng.uniform(0.0, 0.015), rng.choice([0.0, 1.0 / 0.027]))
    roof = crank.true_stroke_at(*lengths) - height + rng.choice([0.0, 1e-5, -0.004, 0.003])
    return lengths, size, roof, rng.uniform(1.0, 3.0)


@pytest.mark.parametrize("seed", range(12))
def test_rounded_rectangle(seed: int) -> None:
    lengths, size, roof, until = random_case(np.random.default_rng(seed))
    height = size[1]
    mirrored = (size[0], height, size[3], size[2], *size[4:])
    hidden = window.bridged_at(size[0], size[2], size[4]), height - window.bridged_at(size[0], size[3], size[4])
    edges = [0.0, size[2], height - size[3], height, *hidden]

    def below(depth: float) -> float:
        return window.area_below_roof_at(depth - roof, *size)

    breaks = [roof + edge for edge in edges]
    got = opening.angle_area_at(roof, opening.BY_CROWN, 0.0, *size, *lengths)
    assert got == pytest.approx(by_angle(below, breaks, lengths, 2.0 * math.pi), rel=1e-7)

    got = opening.angle_area_at(roof, opening.BLOWDOWN, until, *size, *lengths)
    assert got == pytest.approx(by_angle(below, breaks, lengths, until), rel=1e-7, abs=1e-13)

    for under_skirt in (-0.7 * height, 0.1 * height):

        def above(depth: float, under_skirt: float = under_skirt) -> float:
            return window.area_below_roof_at(height - (depth - under_skirt), *mirrored)

        breaks = [under_skirt + edge for edge in edges]
        got = opening.angle_area_at(under_skirt, opening.BY_SKIRT, 0.0, *size, *lengths)
        assert got == pytest.approx(by_angle(above, breaks, lengths, 2.0 * math.pi), rel=1e-7)


def test_the_usual_case_is_far_better_than_the_promise() -> None:
    """Floor clear of bottom dead centre and no bridge over the corners: 12 digits."""
    lengths, size, roof = (0.042, 0.085, 0.001), (0.034, 0.012, 0.004, 0.003, 0.003, 1.0 / 0.0235), 0.027

    def below(depth: float) -> float:
        return window.area_below_roof_at(depth - roof, *size)

    expected = by_angle(below, [roof, roof + 0.004, roof + 0.009, roof + 0.012], lengths, 2.0 * math.pi)
    assert opening.angle_area_at(roof, opening.BY_CROWN, 0.0, *size, *lengths) == pytest.approx(expected, rel=1e-11)


def test_roof_above_the_crown_is_open_all_the_time() -> None:
    lengths, size = (0.042, 0.085, 0.0), (0.02, 0.01, 0.0, 0.0, 0.0, 0.0)
    assert opening.angle_area_at(-0.01, opening.BY_CROWN, 0.0, *size, *lengths) == pytest.approx(
        2.0 * math.pi * 0.02 * 0.01, rel=1e-14
    )
    assert opening.angle_area_at(0.042, opening.BY_CROWN, 0.0, *size, *lengths) == 0.0
    assert opening.angle_area_at(0.042, opening.BY_SKIRT, 0.0, *size, *lengths) == pytest.approx(
        2.0 * math.pi * 0.02 * 0.01, rel=1e-14
    )
    assert opening.angle_area_at(-0.01, opening.BY_SKIRT, 0.0, *size, *lengths) == 0.0


def test_blowdown_without_lead_is_nothing() -> None:
    lengths, size = (0.042, 0.085, 0.0), (0.02, 0.01, 0.0, 0.0, 0.0, 0.0)
    opens = crank.angle_down_at(0.030, *lengths)
    for until in (opens - 0.1, 0.0):
        assert opening.angle_area_at(0.030, opening.BLOWDOWN, until, *size, *lengths) == 0.0


def test_what_is_not_known_gives_nan() -> None:
    size = (0.02, 0.01, 0.002, 0.002, 0.0, 0.0)
    table = (np.array([0.0, 0.01]), np.array([0.0, 2e-4]), np.array([0.02]), np.array([0.02]))
    good, nan = (0.042, 0.085, 0.0), math.nan
    for closed_by in (opening.BY_CROWN, opening.BY_SKIRT, opening.BLOWDOWN):
        for roof, until, lengths in ((0.02, 2.0, (0.042, 0.02, 0.0)), (nan, 2.0, good), (0.02, nan, good)):
            assert math.isnan(opening.angle_area_at(roof, closed_by, until, *size, *lengths))
            assert math.isnan(opening.table_angle_area_at(roof, closed_by, until, *table, *lengths))


@pytest.mark.parametrize("closed_by", [opening.BY_CROWN, opening.BY_SKIRT, opening.BLOWDOWN])
@pytest.mark.parametrize("slabs", [1, 7, 200])
def test_table_of_a_rectangle_equals_the_rectangle(slabs: int, closed_by: int) -> None:
    lengths, roof = (0.042, 0.085, 0.001), 0.002 if closed_by == opening.BY_SKIRT else 0.027
    knots = np.linspace(0.0, 0.014, slabs + 1)
    widths = np.full(slabs, 0.03)
    expected = opening.angle_area_at(roof, closed_by, 2.2, 0.03, 0.014, 0.0, 0.0, 0.0, 0.0, *lengths)
    got = opening.table_angle_area_at(roof, closed_by, 2.2, knots, 0.03 * knots, widths, widths, *lengths)
    assert got == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("closed_by", [opening.BY_CROWN, opening.BY_SKIRT])
def test_open_area_is_the_area_at_the_depth(closed_by: int) -> None:
    rng = np.random.default_rng(5)
    cases = [random_case(rng) for _ in range(20)]
    theta = np.linspace(-1.0, 7.0, 37)
    sin_half, cos_half = np.sin(theta / 2.0), np.cos(theta / 2.0)
    roofs = np.array([roof if closed_by == opening.BY_CROWN else 0.001 for _, _, roof, _ in cases])
    sizes = [np.array(column) for column in zip(*(size for _, size, _, _ in cases), strict=True)]
    cranks = [np.array(column) for column in zip(*(lengths for lengths, _, _, _ in cases), strict=True)]
    out = np.empty((20, 37))
    opening.open_area(closed_by, sin_half, cos_half, roofs, *sizes, *cranks, out)
    knots = np.array([0.0, 0.004, 0.01])
    table = (knots, 0.03 * knots, np.full(2, 0.03), np.full(2, 0.03))
    tabled = np.empty((20, 37))
    opening.table_open_area(closed_by, *table, sin_half, cos_half, roofs, *cranks, tabled)
    for v, (lengths, size, _, _) in enumerate(cases):
        for j, angle in enumerate(theta):
            u = crank.depth_at(angle, *lengths) - roofs[v]
            below, whole = window.area_below_roof_at(u, *size), window.area_below_roof_at(1.0, *size)
            expected = below if closed_by == opening.BY_CROWN else whole - below
            assert out[v, j] == pytest.approx(expected, rel=1e-9, abs=1e-16)
            plain = 0.03 * min(max(u, 0.0), 0.01)
            expected = plain if closed_by == opening.BY_CROWN else 3e-4 - plain
            assert tabled[v, j] == pytest.approx(expected, rel=1e-9, abs=1e-17)


def test_array_forms_run_the_scalar_ones() -> None:
    rng = np.random.default_rng(8)
    cases = [random_case(rng) for _ in range(30)]
    roof, until = (np.array([case[i] for case in cases]) for i in (2, 3))
    sizes = [np.array(column) for column in zip(*(case[1] for case in cases), strict=True)]
    cranks = [np.array(column) for column in zip(*(case[0] for case in cases), strict=True)]
    knots = np.array([0.0, 0.004, 0.01])
    table = (knots, 0.03 * knots, np.full(2, 0.03), np.full(2, 0.03))
    out = np.empty(30)
    for closed_by in (opening.BY_CROWN, opening.BY_SKIRT, opening.BLOWDOWN):
        opening.angle_area(closed_by, roof, until, *sizes, *cranks, out)
        expected = [opening.angle_area_at(c[2], closed_by, c[3], *c[1], *c[0]) for c in cases]
        np.testing.assert_allclose(out, expected, rtol=1e-14)
        opening.table_angle_area(closed_by, *table, roof, until, *cranks, out)
        expected = [opening.table_angle_area_at(c[2], closed_by, c[3], *table, *c[0]) for c in cases]
        np.testing.assert_allclose(out, expected, rtol=1e-14)
