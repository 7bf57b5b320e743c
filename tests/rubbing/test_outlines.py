"""Descriptions of edges whose shape is known exactly: points set on it, not measured."""

import numpy as np
import numpy.typing as npt
import pytest
import shapely

from scribeline.rubbing.edges import Opening
from scribeline.rubbing.outlines import Outline, describe

FloatArray = npt.NDArray[np.float64]


def described(shape: shapely.Polygon, noise_mm: float = 0.02) -> Outline:
    """The description of a shape whose edge is seen every 0.2 mm, each point off by noise."""
    ring = shape.exterior
    along = np.arange(0.0, ring.length, 0.2)
    points = np.array([ring.interpolate(float(s)).coords[0] for s in along])
    if not ring.is_ccw:
        points = points[::-1]
    # y runs down on paper: counter-clockwise in the usual sense is clockwise there
    random = np.random.default_rng(5)
    return describe(Opening(points + noise_mm * random.standard_normal(points.shape), noise_mm, 0.1))


def rounded(corners: list[tuple[float, float]], radius: float) -> shapely.Polygon:
    """A polygon rounded by rolling a disc of this radius inside it; shapely does it by its own means."""
    return shapely.Polygon(corners).buffer(-radius).buffer(radius, quad_segs=64)


def test_a_rounded_rectangle_needs_five_numbers() -> None:
    found = described(rounded([(-15, 30), (17, 30), (17, 51), (-15, 51)], 5.0))
    assert (found.kind, found.numbers) == ("rounded rectangle", 5)
    assert [found.left_mm, found.right_mm, found.roof_mm, found.floor_mm] == pytest.approx([-15, 17, 30, 51], abs=0.02)
    assert found.roof_radius_mm == pytest.approx(5.0, abs=0.1)


def test_two_radii_need_six() -> None:
    upper = rounded([(-10, 30), (10, 30), (10, 60), (-10, 60)], 8.0)
    lower = rounded([(-10, 20), (10, 20), (10, 50), (-10, 50)], 2.0)
    found = described(upper.intersection(lower))
    assert (found.kind, found.numbers) == ("rounded rectangle", 6)
    assert (found.roof_radius_mm, found.floor_radius_mm) == pytest.approx((8.0, 2.0), abs=0.1)


def test_an_upright_oval_is_a_rectangle_with_radii_of_half_its_width() -> None:
    found = described(shapely.LineString([(0, 36), (0, 44)]).buffer(6.0, quad_segs=64))
    assert found.kind == "rounded rectangle"
    assert found.roof_radius_mm == pytest.approx(6.0, abs=0.1)
    assert (found.roof_mm, found.floor_mm) == pytest.approx((30.0, 50.0), abs=0.03)


@pytest.mark.parametrize(
    "corners",
    [
        [(-9, 38), (9, 38), (5, 52), (-5, 52)],
        [(-8, 40), (8, 40), (0, 54)],
        [(-8, 37), (8, 37), (10, 45), (0, 54), (-10, 45)],
    ],
)
def test_a_rounded_polygon_has_its_corners_and_its_radius(corners: list[tuple[float, float]]) -> None:
    shape = rounded(corners, 1.8)
    found = described(shape)
    assert (found.kind, found.numbers) == ("rounded polygon", 1 + 2 * len(corners))
    assert found.roof_radius_mm == pytest.approx(1.8, abs=0.1)
    left, roof, right, floor = shape.bounds
    assert [found.left_mm, found.roof_mm, found.right_mm, found.floor_mm] == pytest.approx(
        [left, roof, right, floor], abs=0.05
    )
    assert shapely.Polygon(found.points_mm).symmetric_difference(shape).area < 0.01 * shape.area


def test_what_no_rounded_shape_fits_is_kept_as_points() -> None:
    shape = shapely.union(rounded([(-10, 30), (10, 30), (10, 40), (-10, 40)], 1.0),
                          rounded([(-10, 30), (0, 30), (0, 50), (-10, 50)], 1.0))  # fmt: skip
    found = described(shape)
    assert found.kind == "points"
    assert found.roof_radius_mm is None
    assert shapely.Polygon(found.points_mm).symmetric_difference(shape).area < 0.01 * shape.area


def test_the_stated_uncertainty_grows_with_the_noise() -> None:
    shape = rounded([(-15, 30), (17, 30), (17, 51), (-15, 51)], 5.0)
    assert described(shape, 0.08).sigma_mm > 2.0 * described(shape, 0.02).sigma_mm
