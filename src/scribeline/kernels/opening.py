"""A port window uncovered by the turning crank: its open area at each crank angle, and the integral over the turn.

The integral of the open area over the crank angle is taken the other way round: every strip of the window, width(y) dy,
is open for an angle that the inverse slider-crank gives in closed form, so

    angle-area = integral over the window's height of width(y) * (angle for which the strip at y is open) dy

Over each stretch a..b between two places where the integrand is not smooth (roof, ends of the corner radii, floor, ends
of the piston's travel) Gauss-Legendre runs in s, y = a + (b - a)(8 - 9 cos(pi s) + cos(3 pi s))/16. That grows as s^4
from either end, which makes smooth functions of the square roots at round corners and at the dead centres, and crowds
the points where another square root lies just outside the stretch.

What closes the window is told by a number, `BY_CROWN`, `BY_SKIRT` or `BLOWDOWN`.
"""

import math

import numpy as np
import numpy.typing as npt
from numba import njit

from scribeline.kernels.crank import depth_of_half_at, lean_at, reach_at, squares_at, true_stroke_at
from scribeline.kernels.window import (
    area_below_roof_at,
    area_with_ends_at,
    bridged_at,
    counted_at,
    end_area_at,
    half_width_at,
    slab_width_at,
    table_area_at,
)

FloatArray = npt.NDArray[np.float64]

BY_CROWN = 0  # a strip is open while the crown is below it
BY_SKIRT = 1  # a strip is open while the skirt's edge is above it
BLOWDOWN = 2  # a strip is open from when the crown passes it on its way down, until a given angle


def _rule(n: int) -> tuple[FloatArray, FloatArray]:
    """Return places (shares of a stretch) and weights of the n-point rule described at the top of the file."""
    nodes, weights = np.polynomial.legendre.leggauss(n)
    angle = 0.5 * np.pi * (nodes + 1.0)
    places = (8.0 - 9.0 * np.cos(angle) + np.cos(3.0 * angle)) / 16.0
    slopes = np.pi * (9.0 * np.sin(angle) - 3.0 * np.sin(3.0 * angle)) / 16.0
    return places, 0.5 * slopes * weights


# Against 160 points, 60,000 random windows: 18 points err by 3e-11 of the whole in the middle of the field and 7e-9 in
# the worst thousandth: floors that miss bottom dead centre by micrometres, two square roots almost in one place.
PLACES, WEIGHTS = _rule(18)

# A slab of a table is short and its width nearly straight, so away from the ends of the travel, where the square roots
# are, plain Gauss-Legendre does: at 5 times its height from them 4 points err by about 1e-11 of it (the error falls by
# 22 squared for every point), at 25 times 2 points by 1e-8.
FOUR_PLACES, FOUR_WEIGHTS = np.polynomial.legendre.leggauss(4)
FOUR_PLACES, FOUR_WEIGHTS = 0.5 + 0.5 * FOUR_PLACES, 0.5 * FOUR_WEIGHTS
TWO_PLACES, TWO_WEIGHTS = np.polynomial.legendre.leggauss(2)
TWO_PLACES, TWO_WEIGHTS = 0.5 + 0.5 * TWO_PLACES, 0.5 * TWO_WEIGHTS


@njit(cache=True, error_model="numpy")
def strip_open_at(
    depth_m: float,
    closed_by: int,
    until_rad: float,
    top_m: float,
    bottom_m: float,
    travel_m: float,
    stroke_m: float,
    rod_m: float,
    offset_m: float,
) -> float:
    """Return the angle per turn, rad, for which a strip is open.

    depth_m : of the strip under the crown at top dead centre; for BY_SKIRT under the skirt's edge there
    until_rad : for BLOWDOWN, the angle after top dead centre at which counting ends, 0 to bottom dead centre
    top_m, bottom_m, travel_m : from `crank.reach_at`; to work them out again for every strip doubles the time
    """
    x = min(max(depth_m, 0.0), travel_m)
    above, below = squares_at(x, top_m, bottom_m, travel_m, stroke_m, rod_m, offset_m)
    near_top, near_bottom = math.sqrt(above), math.sqrt(below)
    if closed_by == BY_CROWN:
        return 4.0 * math.atan2(near_bottom, near_top)
    if closed_by == BY_SKIRT:
        return 4.0 * math.atan2(near_top, near_bottom)
    return max(until_rad - 2.0 * math.atan2(near_top, near_bottom) - lean_at(x, top_m, offset_m), 0.0)


@njit(cache=True, error_model="numpy")
def _moving_range(
    roof_m: float, closed_by: int, until_rad: float, stroke_m: float, rod_m: float, offset_m: float
) -> tuple[float, float, float, float]:
    """Return from which to which height under the roof, m, the open angle changes, and the angles, rad, outside it."""
    travel = true_stroke_at(stroke_m, rod_m, offset_m)
    always = 2.0 * math.pi
    if closed_by == BY_CROWN:
        return -roof_m, travel - roof_m, always, 0.0
    if closed_by == BY_SKIRT:
        return -roof_m, travel - roof_m, 0.0, always
    half = 0.5 * until_rad
    reached = depth_of_half_at(math.sin(half), math.cos(half), stroke_m, rod_m, offset_m)
    return -roof_m, reached - roof_m, until_rad, 0.0


@njit(cache=True, error_model="numpy")
def angle_area_at(
    roof_m: float,
    closed_by: int,
    until_rad: float,
    width_m: float,
    height_m: float,
    roof_radius_m: float,
    floor_radius_m: float,
    bridge_m: float,
    curvature_per_m: float,
    stroke_m: float,
    rod_m: float,
    offset_m: float,
) -> float:
    """Return the angle-area, m^2 rad, of a rounded rectangle whose roof lies `roof_m` deep (see `strip_open_at`)."""
    low, high, over, under = _moving_range(roof_m, closed_by, until_rad, stroke_m, rod_m, offset_m)
    top, bottom, travel = reach_at(stroke_m, rod_m, offset_m)
    if math.isnan(roof_m + until_rad + travel):
        return math.nan
    inner = counted_at(0.5 * bridge_m, curvature_per_m)
    straight = 2.0 * (counted_at(0.5 * width_m, curvature_per_m) - inner)
    if width_m <= bridge_m:
        return 0.0
    total: float = 0.0
    if low > 0.0:
        total += over * area_below_roof_at(
            low, width_m, height_m, roof_radius_m, floor_radius_m, bridge_m, curvature_per_m
        )
    if high < height_m:
        total += under * area_below_roof_at(
            height_m - high, width_m, height_m, floor_radius_m, roof_radius_m, bridge_m, curvature_per_m
        )
    # Ends hidden behind the bridge are taken in with their negative width, then taken out again: to start where the
    # corner leaves the bridge would set the end of a stretch right beside a square root.
    hidden_roof = bridged_at(width_m, roof_radius_m, bridge_m)
    hidden_floor = bridged_at(width_m, floor_radius_m, bridge_m)
    for part in range(5):
        sign = 1.0 if part < 3 else -1.0
        if part == 0:
            a, b = 0.0, roof_radius_m
        elif part == 1:
            a, b = roof_radius_m, height_m - floor_radius_m
        elif part == 2:
            a, b = height_m - floor_radius_m, height_m
        elif part == 3:
            a, b = 0.0, hidden_roof
        else:
            a, b = height_m - hidden_floor, height_m
        a, b = max(a, low), min(b, high)
        if not b > a:
            continue
        for i in range(PLACES.size):
            y = a + (b - a) * PLACES[i]
            width = straight
            if part != 1:
                half = half_width_at(y, width_m, height_m, roof_radius_m, floor_radius_m)
                width = 2.0 * sign * (counted_at(half, curvature_per_m) - inner)
            opened = strip_open_at(y + roof_m, closed_by, until_rad, top, bottom, travel, stroke_m, rod_m, offset_m)
            total += WEIGHTS[i] * (b - a) * width * opened
    if total < 0.0:
        return 0.0  # rounding of an end taken in and out again; a max() would swallow nan
    return total


@njit(cache=True, error_model="numpy")
def table_angle_area_at(
    roof_m: float,
    closed_by: int,
    until_rad: float,
    knots_m: FloatArray,
    area_m2: FloatArray,
    top_m: FloatArray,
    bottom_m: FloatArray,
    stroke_m: float,
    rod_m: float,
    offset_m: float,
) -> float:
    """Return the angle-area, m^2 rad, of a tabled outline whose roof lies `roof_m` deep (see `strip_open_at`)."""
    low, high, over, under = _moving_range(roof_m, closed_by, until_rad, stroke_m, rod_m, offset_m)
    top, bottom, travel = reach_at(stroke_m, rod_m, offset_m)
    if math.isnan(roof_m + until_rad + travel):
        return math.nan
    total: float = over * table_area_at(low, knots_m, area_m2, top_m, bottom_m)
    total += under * (area_m2[-1] - table_area_at(high, knots_m, area_m2, top_m, bottom_m))
    for k in range(top_m.size):
        a, b = max(knots_m[k], low), min(knots_m[k + 1], high)
        if not b > a:
            continue
        places, weights = PLACES, WEIGHTS
        clear = min(a - low, high - b) / (b - a)
        if clear > 25.0:
            places, weights = TWO_PLACES, TWO_WEIGHTS
        elif clear > 5.0:
            places, weights = FOUR_PLACES, FOUR_WEIGHTS
        for i in range(places.size):
            y = a + (b - a) * places[i]
            width = slab_width_at(k, y, knots_m, area_m2, top_m, bottom_m)
            opened = strip_open_at(y + roof_m, closed_by, until_rad, top, bottom, travel, stroke_m, rod_m, offset_m)
            total += weights[i] * (b - a) * width * opened
    return total


@njit(cache=True, error_model="numpy")
def open_area(
    closed_by: int,
    sin_half: FloatArray,
    cos_half: FloatArray,
    roof_m: FloatArray,
    width_m: FloatArray,
    height_m: FloatArray,
    roof_radius_m: FloatArray,
    floor_radius_m: FloatArray,
    bridge_m: FloatArray,
    curvature_per_m: FloatArray,
    stroke_m: FloatArray,
    rod_m: FloatArray,
    offset_m: FloatArray,
    out: FloatArray,
) -> None:
    """Write the open area, m^2, of rounded rectangles at crank angles into `out` of shape (variants, angles).

    sin_half, cos_half : shape (angles,), of half the angle after top dead centre; all others shape (variants,)
    closed_by : BY_CROWN or BY_SKIRT
    """
    for v in range(roof_m.size):
        width, height, bridge, curvature = width_m[v], height_m[v], bridge_m[v], curvature_per_m[v]
        near, far = roof_radius_m[v], floor_radius_m[v]
        if closed_by == BY_SKIRT:
            near, far = far, near
        near_end = end_area_at(near, width, near, bridge, curvature)
        far_end = end_area_at(far, width, far, bridge, curvature)
        for j in range(sin_half.size):
            u = depth_of_half_at(sin_half[j], cos_half[j], stroke_m[v], rod_m[v], offset_m[v]) - roof_m[v]
            if closed_by == BY_SKIRT:
                u = height - u
            out[v, j] = area_with_ends_at(u, width, height, near, far, bridge, curvature, near_end, far_end)


@njit(cache=True, error_model="numpy")
def table_open_area(
    closed_by: int,
    knots_m: FloatArray,
    area_m2: FloatArray,
    top_m: FloatArray,
    bottom_m: FloatArray,
    sin_half: FloatArray,
    cos_half: FloatArray,
    roof_m: FloatArray,
    stroke_m: FloatArray,
    rod_m: FloatArray,
    offset_m: FloatArray,
    out: FloatArray,
) -> None:
    """Write the open area, m^2, of one tabled outline into `out` of shape (variants, angles); see `open_area`."""
    for v in range(roof_m.size):
        for j in range(sin_half.size):
            u = depth_of_half_at(sin_half[j], cos_half[j], stroke_m[v], rod_m[v], offset_m[v]) - roof_m[v]
            area = table_area_at(u, knots_m, area_m2, top_m, bottom_m)
            out[v, j] = area_m2[-1] - area if closed_by == BY_SKIRT else area


@njit(cache=True, error_model="numpy")
def angle_area(
    closed_by: int,
    roof_m: FloatArray,
    until_rad: FloatArray,
    width_m: FloatArray,
    height_m: FloatArray,
    roof_radius_m: FloatArray,
    floor_radius_m: FloatArray,
    bridge_m: FloatArray,
    curvature_per_m: FloatArray,
    stroke_m: FloatArray,
    rod_m: FloatArray,
    offset_m: FloatArray,
    out: FloatArray,
) -> None:
    """Run `angle_area_at` over arrays of shape (n,) into `out`."""
    for i in range(out.size):
        out[i] = angle_area_at(
            roof_m[i],
            closed_by,
            until_rad[i],
            width_m[i],
            height_m[i],
            roof_radius_m[i],
            floor_radius_m[i],
            bridge_m[i],
            curvature_per_m[i],
            stroke_m[i],
            rod_m[i],
            offset_m[i],
        )


@njit(cache=True, error_model="numpy")
def table_angle_area(
    closed_by: int,
    knots_m: FloatArray,
    area_m2: FloatArray,
    top_m: FloatArray,
    bottom_m: FloatArray,
    roof_m: FloatArray,
    until_rad: FloatArray,
    stroke_m: FloatArray,
    rod_m: FloatArray,
    offset_m: FloatArray,
    out: FloatArray,
) -> None:
    """Run `table_angle_area_at` with one table over arrays of shape (n,) into `out`."""
    for i in range(out.size):
        out[i] = table_angle_area_at(
            roof_m[i],
            closed_by,
            until_rad[i],
            knots_m,
            area_m2,
            top_m,
            bottom_m,
            stroke_m[i],
            rod_m[i],
            offset_m[i],
        )
