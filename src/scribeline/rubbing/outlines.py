"""The fewest numbers that describe an opening's edge: a rounded rectangle, a rounded polygon, else points.

How far a point is from a rounded shape is a closed form (distance to the shape shrunk by the radius, less the radius),
so each description is a small least-squares fit to all points of the edge. They are tried from the simplest; the first
that leaves no more than the noise is taken.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import pi, sqrt

import numpy as np
import numpy.typing as npt
from scipy.optimize import OptimizeResult, least_squares
from shapely import LineString, MultiPoint, Point

from scribeline.rubbing.edges import Opening

FloatArray = npt.NDArray[np.float64]

GOOD_MM = 0.065
"""Judgement: what a shape may leave over (root mean square) on a clean edge: the grain of a pencil, a file's marks."""
WORST_MM = 0.30  # judgement: a smooth bulge beyond this is a shape of its own
ALIKE = 6.0
"""Neighbouring points of an edge stray together over about this many: their blur and smoothing overlap."""
FREE_SIGMA_MM = 0.1
"""Judgement: of an edge of a free outline, which rests on one place only; any other averages over a whole side."""
THIN_MM = 0.03
"""Points of a free outline are thinned out as long as it moves by less than this."""


@dataclass(frozen=True)
class Outline:
    """One opening described. Lengths in mm on the paper, each with the standard uncertainty of the fit alone.

    kind : "rounded rectangle", "rounded polygon" or "points"
    left, right, roof, floor : edges at their outermost; sigma_mm : of an edge; radius_sigma_mm : of a radius
    roof_radius_mm, floor_radius_mm : only of a rounded rectangle; for a polygon both are its one radius
    points_mm : the outline as a polygon, whatever the kind, clockwise
    left_over_mm : root mean square of what the description leaves over; numbers : how many numbers it has
    dent_mm : how deep a free outline runs inside a string laid round it; 0 for the others, which are convex
    """

    kind: str
    left_mm: float
    right_mm: float
    roof_mm: float
    floor_mm: float
    roof_radius_mm: float | None
    floor_radius_mm: float | None
    sigma_mm: float
    radius_sigma_mm: float
    points_mm: FloatArray
    left_over_mm: float
    numbers: int
    dent_mm: float = 0.0

    @property
    def width_mm(self) -> float:
        """Widest place."""
        return self.right_mm - self.left_mm


def describe(opening: Opening) -> Outline:
    """The simplest description that leaves no more over than the edge's own noise allows."""
    edge = opening.edge_mm
    allowed = sqrt(GOOD_MM**2 + opening.noise_mm**2)
    low, high = edge.min(axis=0), edge.max(axis=0)
    for free_radii in (1, 2):
        starts = (_first_rectangle(low, high, free_radii, share) for share in (0.1, 0.25, 0.45))
        fit = min((_fit(_rectangle, edge, start) for start in starts), key=lambda one: float(one.cost))
        if _enough(fit, allowed):
            return _as_rectangle(fit)
    for corners in (3, 4, 5, 6):
        thinned = _thinned(edge, corners)
        starts = (_first_polygon(edge, thinned, share) for share in (0.05, 0.12, 0.25))
        fit = min((_fit(_polygon, edge, start) for start in starts), key=lambda one: float(one.cost))
        if _enough(fit, allowed) and fit.x[0] > 0.0 and _convex(fit.x[1:].reshape(-1, 2)):
            return _as_polygon(fit)
    return _as_points(opening)


def _fit(
    distance: Callable[[FloatArray, FloatArray], FloatArray], edge: FloatArray, first: FloatArray
) -> OptimizeResult:
    return least_squares(lambda n: distance(n, edge), first, loss="soft_l1", f_scale=0.1, x_scale="jac", max_nfev=60)


def _enough(fit: OptimizeResult, allowed: float) -> bool:
    over = np.asarray(fit.fun)
    together = np.convolve(np.concatenate([over[-6:], over, over[:6]]), np.ones(13) / 13.0, mode="valid")
    return bool(np.sqrt((over**2).mean()) <= allowed and np.abs(together).max() <= WORST_MM)


# --- rounded rectangle: middle x, roof, floor, half width, radius [, second radius] ----------------------------------


def _first_rectangle(low: FloatArray, high: FloatArray, radii: int, share: float) -> FloatArray:
    radius = share * float(min(high - low))
    return np.array([0.5 * (low[0] + high[0]), low[1], high[1], 0.5 * (high[0] - low[0]), *[radius] * radii])


def _rectangle(numbers: FloatArray, points: FloatArray) -> FloatArray:
    """Distance from a rounded rectangle, outside positive [mm]."""
    middle, roof, floor, half = numbers[:4]
    radii = np.abs(numbers[4:])
    across = np.abs(points[:, 0] - middle) - half
    down = points[:, 1] - 0.5 * (roof + floor)
    upright = np.abs(down) - 0.5 * (floor - roof)
    most = min(abs(half), 0.5 * abs(floor - roof))
    radius = np.minimum(np.where(down < 0.0, radii[0], radii[-1]), most)
    x, y = across + radius, upright + radius
    outside = np.hypot(np.maximum(x, 0.0), np.maximum(y, 0.0))
    return np.asarray(outside + np.minimum(np.maximum(x, y), 0.0) - radius)


def _as_rectangle(fit: OptimizeResult) -> Outline:
    middle, roof, floor, half = (float(one) for one in fit.x[:4])
    sigma = _sigmas(fit)
    made = rounded_rectangle(middle - half, middle + half, roof, floor, abs(float(fit.x[4])), abs(float(fit.x[-1])))
    return replace(
        made,
        sigma_mm=float(max(sigma[1], sigma[2], np.hypot(sigma[0], sigma[3]))),
        radius_sigma_mm=float(sigma[4:].max()),
        left_over_mm=_left_over(fit),
        numbers=len(fit.x),
    )


def rounded_rectangle(
    left: float, right: float, roof: float, floor: float, upper_mm: float, lower_mm: float
) -> Outline:
    """A rounded rectangle by its four edges and its radii above and below, known without uncertainty [mm].

    A radius that has no room is as large as there is: half the shorter side.
    """
    most = 0.5 * min(right - left, floor - roof)
    upper, lower = min(upper_mm, most), min(lower_mm, most)
    corners = (
        ((left + upper, roof + upper), upper, pi),
        ((right - upper, roof + upper), upper, 1.5 * pi),
        ((right - lower, floor - lower), lower, 0.0),
        ((left + lower, floor - lower), lower, 0.5 * pi),
    )
    points = np.vstack([_arc(at, radius, start, 0.5 * pi) for at, radius, start in corners])
    return Outline("rounded rectangle", left, right, roof, floor, upper, lower, 0.0, 0.0, points, 0.0, 6)


def _arc(at: tuple[float, float], radius: float, start_rad: float, turn_rad: float) -> FloatArray:
    steps = max(round(radius * turn_rad / 0.4), 1) + 1 if radius > 0.0 else 1
    angles = start_rad + np.linspace(0.0, turn_rad, steps)
    return np.column_stack([at[0] + radius * np.cos(angles), at[1] + radius * np.sin(angles)])


# --- rounded polygon: radius, then the corners of the polygon shrunk by it ------------------------------------------


def _thinned(edge: FloatArray, corners: int) -> FloatArray:
    """The edge with points left out until this many are there, always the one that bounds the least area with its
    neighbours (visvalingam-whyatt-1993)."""
    points = edge[::3]
    while len(points) > corners:
        before, after = np.roll(points, 1, axis=0) - points, np.roll(points, -1, axis=0) - points
        areas = np.abs(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0])
        points = np.delete(points, int(areas.argmin()), axis=0)
    return points


def _first_polygon(edge: FloatArray, thinned: FloatArray, share: float) -> FloatArray:
    """Those corners moved in by a first radius, a share of the smaller side."""
    radius = share * float(np.ptp(edge, axis=0).min())
    middle = thinned.mean(axis=0)
    reach = np.hypot(*(thinned - middle).T)
    inner = middle + (thinned - middle) * np.maximum(1.0 - 1.4 * radius / reach, 0.3)[:, None]
    return np.concatenate([[radius], inner.ravel()])


def _polygon(numbers: FloatArray, points: FloatArray) -> FloatArray:
    """Distance from a convex polygon grown by a radius, outside positive [mm]."""
    corners = numbers[1:].reshape(-1, 2)
    ahead = np.roll(corners, -1, axis=0)
    side = ahead - corners
    length2 = np.maximum((side * side).sum(axis=1), 1e-12)
    to = points[:, None, :] - corners[None, :, :]
    share = np.clip((to * side[None]).sum(axis=2) / length2[None], 0.0, 1.0)
    nearest = np.hypot(*np.moveaxis(to - share[..., None] * side[None], -1, 0)).min(axis=1)
    left = side[None, :, 0] * to[..., 1] - side[None, :, 1] * to[..., 0]
    inside = (left > 0.0).all(axis=1)
    return np.asarray(np.where(inside, -nearest, nearest) - numbers[0])


def _convex(corners: FloatArray) -> bool:
    side = np.roll(corners, -1, axis=0) - corners
    ahead = np.roll(side, -1, axis=0)
    return bool((side[:, 0] * ahead[:, 1] - side[:, 1] * ahead[:, 0] > 0.0).all())


def _as_polygon(fit: OptimizeResult) -> Outline:
    radius, corners = float(fit.x[0]), np.asarray(fit.x[1:]).reshape(-1, 2)
    ahead = np.roll(corners, -1, axis=0)
    heading = np.arctan2(*np.flip(ahead - corners, axis=1).T)
    points = []
    for i, corner in enumerate(corners):
        before = float(heading[i - 1])
        turn = (float(heading[i]) - before) % (2.0 * pi)
        points.append(_arc((float(corner[0]), float(corner[1])), radius, before - 0.5 * pi, turn))
    outline = np.vstack(points)
    sigma = _sigmas(fit)
    low, high = outline.min(axis=0), outline.max(axis=0)
    edge_sigma = float(np.hypot(np.sort(sigma[1:])[-2:].mean(), sigma[0]))
    return Outline(
        "rounded polygon", float(low[0]), float(high[0]), float(low[1]), float(high[1]), radius, radius, edge_sigma,
        float(sigma[0]), outline, _left_over(fit), len(fit.x),
    )  # fmt: skip


def _as_points(opening: Opening) -> Outline:
    edge = opening.edge_mm
    thin = np.asarray(LineString(np.vstack([edge, edge[:1]])).simplify(THIN_MM).coords)[:-1]
    low, high = thin.min(axis=0), thin.max(axis=0)
    string = MultiPoint(thin).convex_hull.boundary
    return Outline(
        "points", float(low[0]), float(high[0]), float(low[1]), float(high[1]), None, None,
        max(opening.noise_mm, FREE_SIGMA_MM), 0.0, thin, opening.noise_mm, 2 * len(thin),
        max(float(string.distance(Point(one))) for one in thin),
    )  # fmt: skip


def _left_over(fit: OptimizeResult) -> float:
    return float(np.sqrt((np.asarray(fit.fun) ** 2).mean()))


def _sigmas(fit: OptimizeResult) -> FloatArray:
    """Standard uncertainties of the numbers of a fit, with neighbouring points counted as alike."""
    jacobian, over = np.asarray(fit.jac), np.asarray(fit.fun)
    freedom = max(len(over) - jacobian.shape[1], 1)
    inverse = np.linalg.pinv(jacobian.T @ jacobian)
    return np.asarray(np.sqrt(np.maximum(np.diag(inverse), 0.0) * (over**2).sum() / freedom * ALIKE))
