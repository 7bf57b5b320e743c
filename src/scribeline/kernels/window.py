"""The open area of one port window, and how wide the window is at a height.

Heights are measured down from the roof, across is measured along the bore's surface from the middle of the port. A
strip of the window between across = a and b counts

    b - a                            unrolled: along the bore's surface        (curvature 0)
    R sin(b/R) - R sin(a/R)          projected: seen straight on, as a chord   (curvature 1/R, R = bore/2)

and a bridge of constant width in the middle is left out. Two kinds of outline: a rectangle with rounded corners by
formula, and any other as a table (`table_...`), which `scribeline.geometry.windows` makes. Crank and time do not live
here. Names ending in `_at` are for one number; the same name without it runs over arrays of one length.
"""

import math

import numpy as np
import numpy.typing as npt
from numba import njit

FloatArray = npt.NDArray[np.float64]

_TERMS = 21  # of the series of a projected corner; the bound b^22/22!, b = r/R <= pi/2, is then 2e-17


@njit(cache=True, error_model="numpy")
def counted_at(across_m: float, curvature_per_m: float) -> float:
    """Return what a strip from the middle of the port to `across_m` counts, m: itself unrolled, a sine projected."""
    if curvature_per_m == 0.0:
        return across_m
    return math.sin(across_m * curvature_per_m) / curvature_per_m


@njit(cache=True, error_model="numpy")
def span_at(half_m: float, bridge_m: float, curvature_per_m: float) -> float:
    """Return the counted width, m, of a window that reaches `half_m` to either side, without its bridge; >= 0."""
    if half_m <= 0.5 * bridge_m:
        return 0.0
    return 2.0 * (counted_at(half_m, curvature_per_m) - counted_at(0.5 * bridge_m, curvature_per_m))


@njit(cache=True, error_model="numpy")
def half_width_at(y_m: float, width_m: float, height_m: float, roof_radius_m: float, floor_radius_m: float) -> float:
    """Return how far a rounded rectangle reaches to either side, m, at `y_m` under its roof, 0..height."""
    half = 0.5 * width_m
    if y_m < roof_radius_m:
        return half - roof_radius_m + math.sqrt(max(y_m * (2.0 * roof_radius_m - y_m), 0.0))
    up = height_m - y_m
    if up < floor_radius_m:
        return half - floor_radius_m + math.sqrt(max(up * (2.0 * floor_radius_m - up), 0.0))
    return half


@njit(cache=True, error_model="numpy")
def bridged_at(width_m: float, radius_m: float, bridge_m: float) -> float:
    """Return how far from its end, m, a rounded rectangle is hidden behind the bridge altogether; 0..radius.

    The corners leave `width - 2 radius` of straight edge; where the bridge is wider than that it reaches past them.
    """
    past = 0.5 * (bridge_m - width_m) + radius_m
    if past <= 0.0:
        return 0.0
    if past >= radius_m:
        return radius_m
    return past * past / (radius_m + math.sqrt(radius_m * radius_m - past * past))


@njit(cache=True, error_model="numpy")
def end_area_at(v_m: float, width_m: float, radius_m: float, bridge_m: float, curvature_per_m: float) -> float:
    """Return the area, m^2, from a rounded end of the window to `v_m` into it, 0 <= v <= radius.

    With v = r (1 - cos phi) it is the integral over phi, from where the corner leaves the bridge, of
    2 (counted(width/2 - r + r sin phi) - counted(bridge/2)) r sin phi. Unrolled that has a closed form. Projected,
    sin(a + b sin phi), a = (width/2 - r)/R, b = r/R, is developed in powers of b sin phi, and each power of sin phi
    integrates by the usual recurrence. Exact to rounding, both.
    """
    hidden = bridged_at(width_m, radius_m, bridge_m)
    if v_m <= hidden:
        return 0.0
    cos_start, cos_end = 1.0 - hidden / radius_m, 1.0 - v_m / radius_m
    sin_start = math.sqrt(hidden * (2.0 * radius_m - hidden)) / radius_m
    sin_end = math.sqrt(v_m * (2.0 * radius_m - v_m)) / radius_m
    angle = math.atan2(sin_end, cos_end) - math.atan2(sin_start, cos_start)
    if curvature_per_m == 0.0:
        straight = (width_m - bridge_m - 2.0 * radius_m) * (v_m - hidden)
        round_part = angle - sin_end * cos_end + sin_start * cos_start
        return max(straight + radius_m * radius_m * round_part, 0.0)

    before, moment = angle, cos_start - cos_end  # integrals of sin^0 phi and of sin^1 phi
    power_start, power_end = sin_start, sin_end
    a, b = (0.5 * width_m - radius_m) * curvature_per_m, radius_m * curvature_per_m
    value, slope, scale = math.sin(a), math.cos(a), 1.0  # derivatives of sin at a, b^n/n!
    total = (value - math.sin(0.5 * bridge_m * curvature_per_m)) * moment
    for n in range(1, _TERMS + 1):
        share = 1.0 / (n + 1)
        before, moment = moment, share * (power_start * cos_start - power_end * cos_end) + (1.0 - share) * before
        power_start *= sin_start
        power_end *= sin_end
        value, slope = slope, -value
        scale *= b / n
        total += scale * value * moment
        if scale < 1e-17:
            break
    return max(2.0 * radius_m / curvature_per_m * total, 0.0)


@njit(cache=True, error_model="numpy")
def area_with_ends_at(
    u_m: float,
    width_m: float,
    height_m: float,
    roof_radius_m: float,
    floor_radius_m: float,
    bridge_m: float,
    curvature_per_m: float,
    roof_end_m2: float,
    floor_end_m2: float,
) -> float:
    """Return `area_below_roof_at` with the two whole rounded ends, m^2, worked out beforehand."""
    if u_m <= 0.0:
        return 0.0
    if u_m < roof_radius_m:
        return end_area_at(u_m, width_m, roof_radius_m, bridge_m, curvature_per_m)
    up = height_m - u_m
    straight = span_at(0.5 * width_m, bridge_m, curvature_per_m)
    if up >= floor_radius_m:
        return roof_end_m2 + straight * (u_m - roof_radius_m)
    whole = roof_end_m2 + straight * (height_m - roof_radius_m - floor_radius_m) + floor_end_m2
    if up <= 0.0:
        return whole
    return whole - end_area_at(up, width_m, floor_radius_m, bridge_m, curvature_per_m)


@njit(cache=True, error_model="numpy")
def area_below_roof_at(
    u_m: float,
    width_m: float,
    height_m: float,
    roof_radius_m: float,
    floor_radius_m: float,
    bridge_m: float,
    curvature_per_m: float,
) -> float:
    """Return the area, m^2, of a rounded rectangle from its roof down to `u_m`; 0 above it, all of it below its floor.

    The area from its floor up to a height is the same with the two radii exchanged.
    """
    if math.isnan(u_m):
        return math.nan
    roof_end = floor_end = 0.0
    if u_m >= roof_radius_m:
        roof_end = end_area_at(roof_radius_m, width_m, roof_radius_m, bridge_m, curvature_per_m)
    if height_m - u_m < floor_radius_m:
        floor_end = end_area_at(floor_radius_m, width_m, floor_radius_m, bridge_m, curvature_per_m)
    return area_with_ends_at(
        u_m, width_m, height_m, roof_radius_m, floor_radius_m, bridge_m, curvature_per_m, roof_end, floor_end
    )


@njit(cache=True, error_model="numpy")
def width_at(
    y_m: float,
    width_m: float,
    height_m: float,
    roof_radius_m: float,
    floor_radius_m: float,
    bridge_m: float,
    curvature_per_m: float,
) -> float:
    """Return the counted width, m, of a rounded rectangle at `y_m` under its roof: the derivative of the area."""
    if math.isnan(y_m):
        return math.nan
    if y_m < 0.0 or y_m > height_m:
        return 0.0
    half = half_width_at(y_m, width_m, height_m, roof_radius_m, floor_radius_m)
    return span_at(half, bridge_m, curvature_per_m)


@njit(cache=True, error_model="numpy")
def slab_at(u_m: float, knots_m: FloatArray) -> int:
    """Return i so that knots[i] <= u < knots[i + 1], held within the table."""
    low, high = 0, knots_m.size - 1
    while high - low > 1:
        middle = (low + high) // 2
        if knots_m[middle] <= u_m:
            low = middle
        else:
            high = middle
    return low


@njit(cache=True, error_model="numpy")
def table_area_at(
    u_m: float, knots_m: FloatArray, area_m2: FloatArray, top_m: FloatArray, bottom_m: FloatArray
) -> float:
    """Return the area, m^2, of a tabled outline from its roof down to `u_m`.

    knots_m, area_m2 : shape (n + 1,), heights from 0 up and the area down to each
    top_m, bottom_m : shape (n,), width just under knots[i] and just over knots[i + 1]
    Between two knots the area is the cubic through both areas and both widths: exact where the width is linear.
    """
    if math.isnan(u_m):
        return math.nan
    if u_m <= 0.0:
        return 0.0
    if u_m >= knots_m[-1]:
        whole: float = area_m2[-1]
        return whole
    i = slab_at(u_m, knots_m)
    h = knots_m[i + 1] - knots_m[i]
    t = (u_m - knots_m[i]) / h
    rest = 1.0 - t
    gain = area_m2[i + 1] - area_m2[i]
    cubic = gain * t * t * (3.0 - 2.0 * t) + h * t * rest * (top_m[i] * rest - bottom_m[i] * t)
    area: float = area_m2[i] + min(max(cubic, 0.0), gain)
    return area


@njit(cache=True, error_model="numpy")
def slab_width_at(
    i: int, y_m: float, knots_m: FloatArray, area_m2: FloatArray, top_m: FloatArray, bottom_m: FloatArray
) -> float:
    """Return `table_width_at` for a height known to lie between knots[i] and knots[i + 1]."""
    h = knots_m[i + 1] - knots_m[i]
    t = (y_m - knots_m[i]) / h
    rest = 1.0 - t
    bulge = (area_m2[i + 1] - area_m2[i]) / h - 0.5 * (top_m[i] + bottom_m[i])
    width: float = max(top_m[i] * rest + bottom_m[i] * t + 6.0 * bulge * t * rest, 0.0)
    return width


@njit(cache=True, error_model="numpy")
def table_width_at(
    y_m: float, knots_m: FloatArray, area_m2: FloatArray, top_m: FloatArray, bottom_m: FloatArray
) -> float:
    """Return the width, m, of a tabled outline at `y_m` under its roof: the derivative of `table_area_at`."""
    if math.isnan(y_m):
        return math.nan
    if y_m < 0.0 or y_m > knots_m[-1]:
        return 0.0
    return slab_width_at(slab_at(y_m, knots_m), y_m, knots_m, area_m2, top_m, bottom_m)


@njit(cache=True, error_model="numpy")
def area_below_roof(
    u_m: FloatArray,
    width_m: FloatArray,
    height_m: FloatArray,
    roof_radius_m: FloatArray,
    floor_radius_m: FloatArray,
    bridge_m: FloatArray,
    curvature_per_m: FloatArray,
    out: FloatArray,
) -> None:
    """Run `area_below_roof_at` over arrays of shape (n,) into `out`."""
    for i in range(out.size):
        out[i] = area_below_roof_at(
            u_m[i],
            width_m[i],
            height_m[i],
            roof_radius_m[i],
            floor_radius_m[i],
            bridge_m[i],
            curvature_per_m[i],
        )


@njit(cache=True, error_model="numpy")
def width(
    y_m: FloatArray,
    width_m: FloatArray,
    height_m: FloatArray,
    roof_radius_m: FloatArray,
    floor_radius_m: FloatArray,
    bridge_m: FloatArray,
    curvature_per_m: FloatArray,
    out: FloatArray,
) -> None:
    """Run `width_at` over arrays of shape (n,) into `out`."""
    for i in range(out.size):
        out[i] = width_at(
            y_m[i],
            width_m[i],
            height_m[i],
            roof_radius_m[i],
            floor_radius_m[i],
            bridge_m[i],
            curvature_per_m[i],
        )


@njit(cache=True, error_model="numpy")
def table_area(
    knots_m: FloatArray,
    area_m2: FloatArray,
    top_m: FloatArray,
    bottom_m: FloatArray,
    u_m: FloatArray,
    out: FloatArray,
) -> None:
    """Run `table_area_at` for heights of shape (n,), with one table, into `out`."""
    for i in range(out.size):
        out[i] = table_area_at(u_m[i], knots_m, area_m2, top_m, bottom_m)


@njit(cache=True, error_model="numpy")
def table_width(
    knots_m: FloatArray,
    area_m2: FloatArray,
    top_m: FloatArray,
    bottom_m: FloatArray,
    y_m: FloatArray,
    out: FloatArray,
) -> None:
    """Run `table_width_at` for heights of shape (n,), with one table, into `out`."""
    for i in range(out.size):
        out[i] = table_width_at(y_m[i], knots_m, area_m2, top_m, bottom_m)
