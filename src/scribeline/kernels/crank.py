"""The slider-crank: where the piston is at a crank angle, and the crank angle at which it is there.

    y(phi) = r cos phi + sqrt(l^2 - (r sin phi - e)^2)      height of the gudgeon pin over the crank centre
    theta  = phi - tdc_phi                                   angle after TRUE top dead centre
    x      = y(tdc_phi) - y(phi)                             depth, positive down, 0 at top dead centre

r = stroke/2 is the crank throw, l the rod length, e the offset of the gudgeon-pin path from the crank centre,
positive on the side the crank pin moves to on the down stroke. With e != 0 the piston travels a little further
than 2r, and the down stroke and the up stroke take different angles.

Every formula is written without the difference of two nearly equal lengths, so that it keeps its digits near the
dead centres and for a rod of any length. Each needs |offset| < rod - stroke/2 (otherwise the crank cannot turn)
and gives nan where that does not hold.

A name ending in `_at` is a scalar function, for other kernels; the same name without it runs it over arrays of
one length, the last of which receives the result. (numba's own ufuncs broadcast by themselves, but each costs 40 to
50 ms at every start of the program, cached or not; a cached loop costs 3 ms.) Windows and areas do not live here.
"""

import math

import numpy as np
import numpy.typing as npt
from numba import njit

FloatArray = npt.NDArray[np.float64]

_ROUNDING = 1e-14  # a depth this share of the stroke outside the travel is a rounding error, not a mistake


@njit(cache=True, error_model="numpy")
def tdc_phi_at(stroke_m: float, rod_m: float, offset_m: float) -> float:
    """Return the crank rotation from straight up at true top dead centre, rad: asin(e/(l + r))."""
    if not abs(offset_m) < rod_m - 0.5 * stroke_m:
        return math.nan
    return math.asin(offset_m / (rod_m + 0.5 * stroke_m))


@njit(cache=True, error_model="numpy")
def bdc_phi_at(stroke_m: float, rod_m: float, offset_m: float) -> float:
    """Return the crank rotation from straight up at true bottom dead centre, rad: pi + asin(e/(l - r))."""
    if not abs(offset_m) < rod_m - 0.5 * stroke_m:
        return math.nan
    return math.pi + math.asin(offset_m / (rod_m - 0.5 * stroke_m))


@njit(cache=True, inline="always", error_model="numpy")
def depth_of_half_at(s: float, c: float, stroke_m: float, rod_m: float, offset_m: float) -> float:
    """Return the depth of the piston, m, from sine s and cosine c of HALF the angle after top dead centre.

    Both the crank pin and the small end are counted from their place at top dead centre, and the common factor
    2 r s^2 is taken out by hand.
    """
    r, rod, e = 0.5 * stroke_m, rod_m, offset_m
    if not abs(e) < rod - r:
        return math.nan
    sin_tdc = e / (rod + r)
    cos_tdc = math.sqrt(1.0 - sin_tdc * sin_tdc)
    cos_mid = cos_tdc * c - sin_tdc * s  # cosine half-way between tdc_phi and phi
    across = r * (sin_tdc + 2.0 * cos_mid * s) - e  # crank pin from the cylinder axis
    rods = rod * cos_tdc + math.sqrt(rod * rod - across * across)  # rod height at top dead centre plus now
    skew = sin_tdc * c * 2.0 * r * cos_mid * (2.0 * rod * sin_tdc - 2.0 * r * s * cos_mid) / rods
    share = cos_tdc + (2.0 * rod * sin_tdc * sin_tdc + 2.0 * r * cos_mid * cos_mid + skew) / rods
    return 2.0 * r * s * s * share


@njit(cache=True, error_model="numpy")
def depth_at(theta_rad: float, stroke_m: float, rod_m: float, offset_m: float) -> float:
    """Return the depth of the piston below its top dead centre, m, at an angle after top dead centre, rad."""
    return depth_of_half_at(math.sin(0.5 * theta_rad), math.cos(0.5 * theta_rad), stroke_m, rod_m, offset_m)


@njit(cache=True, error_model="numpy")
def velocity_at(theta_rad: float, stroke_m: float, rod_m: float, offset_m: float) -> float:
    """Return dx/dtheta, m per rad, positive on the way down; times the crank speed in rad/s it is m/s."""
    r, e = 0.5 * stroke_m, offset_m
    phi = theta_rad + tdc_phi_at(stroke_m, rod_m, e)
    sin_phi, cos_phi = math.sin(phi), math.cos(phi)
    across = r * sin_phi - e
    return r * (sin_phi + cos_phi * across / math.sqrt(rod_m * rod_m - across * across))


@njit(cache=True, error_model="numpy")
def acceleration_at(theta_rad: float, stroke_m: float, rod_m: float, offset_m: float) -> float:
    """Return d2x/dtheta2, m per rad^2, positive down; times the crank speed in rad/s squared it is m/s^2."""
    r, e = 0.5 * stroke_m, offset_m
    phi = theta_rad + tdc_phi_at(stroke_m, rod_m, e)
    sin_phi, cos_phi = math.sin(phi), math.cos(phi)
    across = r * sin_phi - e
    height = math.sqrt(rod_m * rod_m - across * across)
    tilt = across / height  # tangent of the rod's angle
    return r * (cos_phi - sin_phi * tilt + r * cos_phi * cos_phi * (1.0 + tilt * tilt) / height)


@njit(cache=True, error_model="numpy")
def jerk_at(theta_rad: float, stroke_m: float, rod_m: float, offset_m: float) -> float:
    """Return d3x/dtheta3, m per rad^3; its zeros are the extremes of the acceleration."""
    r, e = 0.5 * stroke_m, offset_m
    phi = theta_rad + tdc_phi_at(stroke_m, rod_m, e)
    sin_phi, cos_phi = math.sin(phi), math.cos(phi)
    across = r * sin_phi - e
    height = math.sqrt(rod_m * rod_m - across * across)
    tilt = across / height
    swing = r * cos_phi / height
    sec2 = 1.0 + tilt * tilt
    return -r * (sin_phi + cos_phi * tilt + 3.0 * swing * sec2 * (sin_phi - swing * cos_phi * tilt))


@njit(cache=True, error_model="numpy")
def reach_at(stroke_m: float, rod_m: float, offset_m: float) -> tuple[float, float, float]:
    """Return the pin's height over the crank centre at top and at bottom dead centre, and the travel between, m."""
    if not abs(offset_m) < rod_m - 0.5 * stroke_m:
        return math.nan, math.nan, math.nan
    top = math.sqrt((rod_m + 0.5 * stroke_m) ** 2 - offset_m * offset_m)
    bottom = math.sqrt((rod_m - 0.5 * stroke_m) ** 2 - offset_m * offset_m)
    return top, bottom, 2.0 * rod_m * stroke_m / (top + bottom)


@njit(cache=True, error_model="numpy")
def true_stroke_at(stroke_m: float, rod_m: float, offset_m: float) -> float:
    """Return the travel of the piston, m: sqrt((l + r)^2 - e^2) - sqrt((l - r)^2 - e^2)."""
    return reach_at(stroke_m, rod_m, offset_m)[2]


@njit(cache=True, error_model="numpy")
def held_at(depth_m: float, travel_m: float) -> float:
    """Return a depth without a rounding error past either end of the travel, m; nan where it is more than that."""
    if not (-_ROUNDING * travel_m <= depth_m <= travel_m * (1.0 + _ROUNDING)):
        return math.nan
    return min(max(depth_m, 0.0), travel_m)


@njit(cache=True, error_model="numpy")
def squares_at(
    x_m: float, top_m: float, bottom_m: float, travel_m: float, stroke_m: float, rod_m: float, offset_m: float
) -> tuple[float, float]:
    """Return two numbers whose ratio is tan^2(alpha/2), alpha being the crank's angle off the line to the pin.

    The triangle crank throw r, rod l, distance D from crank centre to pin has
    tan^2(alpha/2) = (l + r - D)(l - r + D) / ((D - l + r)(D + l + r)).

    x_m : depth, 0..travel; top_m, bottom_m, travel_m : from `reach_at`
    """
    r = 0.5 * stroke_m
    y = top_m - x_m
    distance = math.sqrt(offset_m * offset_m + y * y)
    to_top = x_m * (top_m + y) / (rod_m + r + distance)  # l + r - D
    to_bottom = (travel_m - x_m) * (y + bottom_m) / (distance + rod_m - r)  # D - (l - r)
    return to_top * (rod_m - r + distance), to_bottom * (distance + rod_m + r)


@njit(cache=True, error_model="numpy")
def lean_at(x_m: float, top_m: float, offset_m: float) -> float:
    """Return by how much the line from crank centre to pin leans further from upright than at tdc, rad.

    It is the middle between the angle down and the angle up, and 0 without offset. Arguments as for `squares_at`.
    """
    return math.atan2(offset_m * x_m, offset_m * offset_m + (top_m - x_m) * top_m)


@njit(cache=True, error_model="numpy")
def angle_above_at(depth_m: float, stroke_m: float, rod_m: float, offset_m: float) -> float:
    """Return the angle per turn, rad, that the piston spends above (at less depth than) a depth; 0 to 2 pi.

    The same on both sides of the line from crank centre to pin: 2 alpha, whatever the offset. nan outside 0..travel.
    """
    top, bottom, travel = reach_at(stroke_m, rod_m, offset_m)
    x = held_at(depth_m, travel)
    above, below = squares_at(x, top, bottom, travel, stroke_m, rod_m, offset_m)
    return 4.0 * math.atan2(math.sqrt(above), math.sqrt(below))


@njit(cache=True, error_model="numpy")
def angle_below_at(depth_m: float, stroke_m: float, rod_m: float, offset_m: float) -> float:
    """Return the angle per turn, rad, that the piston spends below a depth; 2 pi less `angle_above`."""
    top, bottom, travel = reach_at(stroke_m, rod_m, offset_m)
    x = held_at(depth_m, travel)
    above, below = squares_at(x, top, bottom, travel, stroke_m, rod_m, offset_m)
    return 4.0 * math.atan2(math.sqrt(below), math.sqrt(above))


@njit(cache=True, error_model="numpy")
def angle_down_at(depth_m: float, stroke_m: float, rod_m: float, offset_m: float) -> float:
    """Return the angle after top dead centre, rad, at which the piston passes a depth on its way down; else nan."""
    top, bottom, travel = reach_at(stroke_m, rod_m, offset_m)
    x = held_at(depth_m, travel)
    above, below = squares_at(x, top, bottom, travel, stroke_m, rod_m, offset_m)
    return 2.0 * math.atan2(math.sqrt(above), math.sqrt(below)) + lean_at(x, top, offset_m)


@njit(cache=True, error_model="numpy")
def angle_up_at(depth_m: float, stroke_m: float, rod_m: float, offset_m: float) -> float:
    """Return the angle after top dead centre, rad, at which the piston passes a depth on its way up; else nan."""
    top, bottom, travel = reach_at(stroke_m, rod_m, offset_m)
    x = held_at(depth_m, travel)
    above, below = squares_at(x, top, bottom, travel, stroke_m, rod_m, offset_m)
    return 2.0 * math.pi - 2.0 * math.atan2(math.sqrt(above), math.sqrt(below)) + lean_at(x, top, offset_m)


@njit(cache=True, error_model="numpy")
def depth_for_angle_above_at(above_rad: float, stroke_m: float, rod_m: float, offset_m: float) -> float:
    """Return the depth, m, above which the piston spends an angle per turn, rad; nan outside 0..2 pi.

    The inverse of `angle_above`: D from the triangle, then the depth from D and the offset.
    """
    r, rod, e = 0.5 * stroke_m, rod_m, offset_m
    if not (0.0 <= above_rad <= 2.0 * math.pi and abs(e) < rod - r):
        return math.nan
    to_top = depth_at(0.5 * above_rad, stroke_m, rod_m, 0.0)  # l + r - D: a crank without offset, in D
    distance = rod + r - to_top
    top = math.sqrt((rod + r) ** 2 - e * e)
    return to_top * (rod + r + distance) / (top + math.sqrt(distance * distance - e * e))


@njit(cache=True, error_model="numpy")
def peak_down_angle_at(stroke_m: float, rod_m: float, offset_m: float) -> float:
    """Return the angle after top dead centre, rad, of the highest speed on the way down.

    The acceleration falls from positive at top dead centre to negative at the bottom; its zero is bracketed, and
    Newton steps that leave the bracket are replaced by halving it.
    """
    low, high = 0.0, bdc_phi_at(stroke_m, rod_m, offset_m) - tdc_phi_at(stroke_m, rod_m, offset_m)
    theta = 0.5 * high
    for _ in range(200):
        slope = acceleration_at(theta, stroke_m, rod_m, offset_m)
        if slope > 0.0:
            low = theta
        else:
            high = theta
        step = theta - slope / jerk_at(theta, stroke_m, rod_m, offset_m)
        if not low < step < high:
            step = 0.5 * (low + high)
        if abs(step - theta) <= 4e-16 * theta:
            return step
        theta = step
    return theta


@njit(cache=True, error_model="numpy")
def peak_acceleration_angle_at(stroke_m: float, rod_m: float, offset_m: float) -> float:
    """Return the angle after top dead centre, rad in -pi..pi, of the largest |acceleration| of the turn.

    The largest of 36 samples is fenced by its neighbours, and the zero of the jerk between them is halved out.
    Sure while r + |e| <= 0.9 l; a shorter rod has peaks too narrow for the samples.
    """
    if not abs(offset_m) < rod_m - 0.5 * stroke_m:
        return math.nan
    spacing = math.pi / 18.0
    theta, largest = 0.0, 0.0
    for i in range(-18, 18):
        size = abs(acceleration_at(i * spacing, stroke_m, rod_m, offset_m))
        if size > largest:
            theta, largest = i * spacing, size
    if offset_m == 0.0 and theta == 0.0:
        return 0.0  # by symmetry, without the rounding of the search
    sign = 1.0 if acceleration_at(theta, stroke_m, rod_m, offset_m) > 0.0 else -1.0
    low, high = theta - spacing, theta + spacing
    for _ in range(45):
        theta = 0.5 * (low + high)
        if sign * jerk_at(theta, stroke_m, rod_m, offset_m) > 0.0:
            low = theta
        else:
            high = theta
    return theta


@njit(cache=True, error_model="numpy")
def piston_stop_zero_at(
    before_tdc_rad: float, after_tdc_rad: float, stroke_m: float, rod_m: float, offset_m: float
) -> float:
    """Return what a degree wheel reads at true top dead centre, rad in -pi..pi, from two readings at one depth.

    The piston meets the stop while rising (before top dead centre) and again, turned backwards, after it. The angle
    between the readings is the angle above the stop, which fixes the stop's depth; the middle of the readings leans
    from true top dead centre by what the offset makes of that depth. Equal readings fix nothing and give nan.
    """
    turn = 2.0 * math.pi
    above = (after_tdc_rad - before_tdc_rad) % turn
    if not above > 0.0:
        return math.nan
    depth = depth_for_angle_above_at(above, stroke_m, rod_m, offset_m)
    zero = before_tdc_rad + 0.5 * above - lean_at(depth, reach_at(stroke_m, rod_m, offset_m)[0], offset_m)
    return zero - turn * math.floor(zero / turn + 0.5)


@njit(cache=True, error_model="numpy")
def tdc_phi(stroke_m: FloatArray, rod_m: FloatArray, offset_m: FloatArray, out: FloatArray) -> None:
    """Run `tdc_phi_at` over arrays of shape (n,) into `out`."""
    for i in range(out.size):
        out[i] = tdc_phi_at(stroke_m[i], rod_m[i], offset_m[i])


@njit(cache=True, error_model="numpy")
def bdc_phi(stroke_m: FloatArray, rod_m: FloatArray, offset_m: FloatArray, out: FloatArray) -> None:
    """Run `bdc_phi_at` over arrays of shape (n,) into `out`."""
    for i in range(out.size):
        out[i] = bdc_phi_at(stroke_m[i], rod_m[i], offset_m[i])


@njit(cache=True, error_model="numpy")
def true_stroke(stroke_m: FloatArray, rod_m: FloatArray, offset_m: FloatArray, out: FloatArray) -> None:
    """Run `true_stroke_at` over arrays of shape (n,) into `out`."""
    for i in range(out.size):
        out[i] = true_stroke_at(stroke_m[i], rod_m[i], offset_m[i])


@njit(cache=True, error_model="numpy")
def peak_down_angle(stroke_m: FloatArray, rod_m: FloatArray, offset_m: FloatArray, out: FloatArray) -> None:
    """Run `peak_down_angle_at` over arrays of shape (n,) into `out`."""
    for i in range(out.size):
        out[i] = peak_down_angle_at(stroke_m[i], rod_m[i], offset_m[i])


@njit(cache=True, error_model="numpy")
def peak_acceleration_angle(stroke_m: FloatArray, rod_m: FloatArray, offset_m: FloatArray, out: FloatArray) -> None:
    """Run `peak_acceleration_angle_at` over arrays of shape (n,) into `out`."""
    for i in range(out.size):
        out[i] = peak_acceleration_angle_at(stroke_m[i], rod_m[i], offset_m[i])


@njit(cache=True, error_model="numpy")
def depth(
    theta_rad: FloatArray, stroke_m: FloatArray, rod_m: FloatArray, offset_m: FloatArray, out: FloatArray
) -> None:
    """Run `depth_at` over arrays of shape (n,) into `out`."""
    for i in range(out.size):
        out[i] = depth_at(theta_rad[i], stroke_m[i], rod_m[i], offset_m[i])


@njit(cache=True, error_model="numpy")
def velocity(
    theta_rad: FloatArray, stroke_m: FloatArray, rod_m: FloatArray, offset_m: FloatArray, out: FloatArray
) -> None:
    """Run `velocity_at` over arrays of shape (n,) into `out`."""
    for i in range(out.size):
        out[i] = velocity_at(theta_rad[i], stroke_m[i], rod_m[i], offset_m[i])


@njit(cache=True, error_model="numpy")
def acceleration(
    theta_rad: FloatArray, stroke_m: FloatArray, rod_m: FloatArray, offset_m: FloatArray, out: FloatArray
) -> None:
    """Run `acceleration_at` over arrays of shape (n,) into `out`."""
    for i in range(out.size):
        out[i] = acceleration_at(theta_rad[i], stroke_m[i], rod_m[i], offset_m[i])


@njit(cache=True, error_model="numpy")
def angle_above(
    depth_m: FloatArray, stroke_m: FloatArray, rod_m: FloatArray, offset_m: FloatArray, out: FloatArray
) -> None:
    """Run `angle_above_at` over arrays of shape (n,) into `out`."""
    for i in range(out.size):
        out[i] = angle_above_at(depth_m[i], stroke_m[i], rod_m[i], offset_m[i])


@njit(cache=True, error_model="numpy")
def angle_below(
    depth_m: FloatArray, stroke_m: FloatArray, rod_m: FloatArray, offset_m: FloatArray, out: FloatArray
) -> None:
    """Run `angle_below_at` over arrays of shape (n,) into `out`."""
    for i in range(out.size):
        out[i] = angle_below_at(depth_m[i], stroke_m[i], rod_m[i], offset_m[i])


@njit(cache=True, error_model="numpy")
def angle_down(
    depth_m: FloatArray, stroke_m: FloatArray, rod_m: FloatArray, offset_m: FloatArray, out: FloatArray
) -> None:
    """Run `angle_down_at` over arrays of shape (n,) into `out`."""
    for i in range(out.size):
        out[i] = angle_down_at(depth_m[i], stroke_m[i], rod_m[i], offset_m[i])


@njit(cache=True, error_model="numpy")
def angle_up(
    depth_m: FloatArray, stroke_m: FloatArray, rod_m: FloatArray, offset_m: FloatArray, out: FloatArray
) -> None:
    """Run `angle_up_at` over arrays of shape (n,) into `out`."""
    for i in range(out.size):
        out[i] = angle_up_at(depth_m[i], stroke_m[i], rod_m[i], offset_m[i])


@njit(cache=True, error_model="numpy")
def depth_for_angle_above(
    above_rad: FloatArray, stroke_m: FloatArray, rod_m: FloatArray, offset_m: FloatArray, out: FloatArray
) -> None:
    """Run `depth_for_angle_above_at` over arrays of shape (n,) into `out`."""
    for i in range(out.size):
        out[i] = depth_for_angle_above_at(above_rad[i], stroke_m[i], rod_m[i], offset_m[i])


@njit(cache=True, error_model="numpy")
def piston_stop_zero(
    before_tdc_rad: FloatArray,
    after_tdc_rad: FloatArray,
    stroke_m: FloatArray,
    rod_m: FloatArray,
    offset_m: FloatArray,
    out: FloatArray,
) -> None:
    """Run `piston_stop_zero_at` over arrays of shape (n,) into `out`."""
    for i in range(out.size):
        out[i] = piston_stop_zero_at(before_tdc_rad[i], after_tdc_rad[i], stroke_m[i], rod_m[i], offset_m[i])
