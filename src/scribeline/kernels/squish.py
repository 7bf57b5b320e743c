"""Gas squeezed out of the squish band: where in the up stroke it is fastest, and what compressibility adds.

With the piston at depth x the band has the gap z + x at its inner edge, and the cylinder the mean height h + x, h being
the clearance volume over the bore area. With one density throughout, the gas that must leave the band passes its inner
edge at

    v = -dx/dt q / ((h + x) (z + x))            q is a constant area of the shape, see geometry/squish.py

Where the speed itself lowers the density (isentropic flow from rest in the band) the same mass flow needs a larger v,

    v (1 - k (v/c)^2)^(1/(2k)) = v of one density,    k = (gamma - 1)/2,    c = c_ref (h_ref/(h + x))^k

with c the speed of sound of the gas at rest. The left side has a maximum, where the gas reaches its own speed of sound:
past it the flow is choked and v/c stays there. Ratios below are speeds over c. A name ending in `_at` is a scalar
function; the same name without it runs it over arrays of one length, the last of which receives the result.
"""

import math

import numpy as np
import numpy.typing as npt
from numba import njit

from scribeline.kernels.crank import acceleration_at, bdc_phi_at, depth_at, jerk_at, tdc_phi_at, velocity_at

FloatArray = npt.NDArray[np.float64]

_STEPS = 200  # three times what halving alone needs
_SMALL_STEP_RAD = 1e-11  # the last step; the angle is then better than this, the speed exact to rounding


@njit(cache=True, error_model="numpy")
def choking_ratio_at(gamma: float) -> float:
    """Return the largest one-density ratio that still passes: (2/(gamma + 1))^((gamma + 1)/(2 gamma - 2))."""
    ratio: float = (2.0 / (gamma + 1.0)) ** (0.5 * (gamma + 1.0) / (gamma - 1.0))
    return ratio


@njit(cache=True, error_model="numpy")
def speed_ratio_at(uniform_ratio: float, gamma: float) -> float:
    """Return the subsonic v/c that carries the mass flow of a one-density ratio; choked, sqrt(2/(gamma + 1)).

    uniform_ratio : 0 or more; gamma : ratio of specific heats, above 1; else nan
    """
    if not (uniform_ratio >= 0.0 and gamma > 1.0):
        return math.nan
    k = 0.5 * (gamma - 1.0)
    sonic = math.sqrt(1.0 / (k + 1.0))
    if uniform_ratio >= choking_ratio_at(gamma):
        return sonic
    ratio = uniform_ratio
    for _ in range(_STEPS):  # the flow is concave in v, so Newton steps from below never pass the root
        rest = 1.0 - k * ratio * ratio
        power = rest ** (0.5 / k - 1.0)
        closer = ratio + (uniform_ratio - ratio * rest * power) / (power * (1.0 - (k + 1.0) * ratio * ratio))
        if not ratio < closer < sonic:
            break
        ratio = closer
    return ratio


@njit(cache=True, error_model="numpy")
def uniform_ratio_at(
    theta_rad: float,
    stroke_m: float,
    rod_m: float,
    offset_m: float,
    gap_m: float,
    height_m: float,
    reference_height_m: float,
    flow_m: float,
    gamma: float,
) -> float:
    """Return the one-density speed over c at an angle after top dead centre, rad; minus where the gas flows back.

    gap_m, height_m, reference_height_m : z, h and h_ref of the head of this file, m
    flow_m : q w/c_ref, m, with w the crank's speed in rad/s; 0 makes the gas incompressible
    """
    x = depth_at(theta_rad, stroke_m, rod_m, offset_m)
    v = velocity_at(theta_rad, stroke_m, rod_m, offset_m)
    return _ratio(x, v, gap_m, height_m, reference_height_m, flow_m, gamma)


@njit(cache=True, error_model="numpy")
def _ratio(
    x: float, v: float, gap_m: float, height_m: float, reference_height_m: float, flow_m: float, gamma: float
) -> float:
    height = height_m + x
    ratio: float = -v * flow_m / (height * (gap_m + x)) * (height / reference_height_m) ** (0.5 * (gamma - 1.0))
    return ratio


@njit(cache=True, error_model="numpy")
def _peak_at(
    stroke_m: float,
    rod_m: float,
    offset_m: float,
    gap_m: float,
    height_m: float,
    reference_height_m: float,
    flow_m: float,
    gamma: float,
    at_choking: bool,
) -> float:
    """Return the angle of the largest speed of the up stroke (at_choking: of the largest one-density ratio), rad < 0.

    It is the zero of x'' - x'^2 ((1 - k b)/(h + x) + 1/(z + x)), ' being d/dtheta, which is minus x' times the slope of
    ln v. b = M^2/(1 - k M^2), M = v/c, is what the warming gas gives back; 1 at the speed of sound. Bottom dead centre
    and top dead centre fence the zero. A Newton step that leaves the fence, or does not halve the last one, is replaced
    by halving the fence; its slope leaves the change of b out.
    """
    k = 0.5 * (gamma - 1.0)
    low = bdc_phi_at(stroke_m, rod_m, offset_m) - tdc_phi_at(stroke_m, rod_m, offset_m) - 2.0 * math.pi
    high = 0.0
    gas = reference_height_m > 0.0 and gamma > 1.0 and abs(flow_m) < math.inf
    if not (gap_m > 0.0 and height_m > 0.0 and low < 0.0 and gas):
        return math.nan
    nearest = gap_m * height_m / (gap_m + height_m)
    theta = -math.sqrt(2.0 * nearest / acceleration_at(0.0, stroke_m, rod_m, offset_m))
    if not low < theta:
        theta = 0.5 * low
    last = high - low
    for _ in range(_STEPS):
        x = depth_at(theta, stroke_m, rod_m, offset_m)
        v = velocity_at(theta, stroke_m, rod_m, offset_m)
        a = acceleration_at(theta, stroke_m, rod_m, offset_m)
        back = 1.0
        if not at_choking:
            ratio = abs(_ratio(x, v, gap_m, height_m, reference_height_m, flow_m, gamma))
            squared = speed_ratio_at(ratio, gamma) ** 2
            back = squared / (1.0 - k * squared)
        by_height, by_gap = (1.0 - k * back) / (height_m + x), 1.0 / (gap_m + x)
        value = a - v * v * (by_height + by_gap)
        if value < 0.0:
            low = theta
        else:
            high = theta
        slope = jerk_at(theta, stroke_m, rod_m, offset_m) - 2.0 * v * a * (by_height + by_gap)
        slope += v**3 * (by_height / (height_m + x) + by_gap * by_gap)
        step = -value / slope
        if not (low < theta + step < high and abs(step) < 0.5 * abs(last)):
            step = 0.5 * (low + high) - theta
        theta += step
        last = step
        if abs(step) <= _SMALL_STEP_RAD:
            break
    return theta


@njit(cache=True, error_model="numpy")
def peak_uniform_ratio_at(
    stroke_m: float,
    rod_m: float,
    offset_m: float,
    gap_m: float,
    height_m: float,
    reference_height_m: float,
    flow_m: float,
    gamma: float,
) -> float:
    """Return the largest one-density ratio of the up stroke; from `choking_ratio_at` on the flow chokes.

    Arguments as for `uniform_ratio_at`.
    """
    shape = (gap_m, height_m, reference_height_m, flow_m, gamma)
    theta = _peak_at(stroke_m, rod_m, offset_m, *shape, True)
    return abs(uniform_ratio_at(theta, stroke_m, rod_m, offset_m, *shape))


@njit(cache=True, error_model="numpy")
def peak_angle_at(
    stroke_m: float,
    rod_m: float,
    offset_m: float,
    gap_m: float,
    height_m: float,
    reference_height_m: float,
    flow_m: float,
    gamma: float,
) -> float:
    """Return the angle of the highest speed in the up stroke, rad after top dead centre, so below 0.

    Where the flow chokes that is the end of choking, because c grows as long as it lasts. Arguments as for
    `uniform_ratio_at`; nan where a length is not above 0, the gas cannot be or the crank cannot turn.
    """
    shape = (gap_m, height_m, reference_height_m, flow_m, gamma)
    if flow_m == 0.0:
        return _peak_at(stroke_m, rod_m, offset_m, *shape, False)
    low = _peak_at(stroke_m, rod_m, offset_m, *shape, True)
    choking = choking_ratio_at(gamma)
    if not abs(uniform_ratio_at(low, stroke_m, rod_m, offset_m, *shape)) > choking:
        return _peak_at(stroke_m, rod_m, offset_m, *shape, False)
    high = 0.0
    for _ in range(_STEPS):
        middle = 0.5 * (low + high)
        if not low < middle < high:
            break
        if abs(uniform_ratio_at(middle, stroke_m, rod_m, offset_m, *shape)) > choking:
            low = middle
        else:
            high = middle
    return low


@njit(cache=True, error_model="numpy")
def choking_ratio(gamma: FloatArray, out: FloatArray) -> None:
    """Run `choking_ratio_at` over an array of shape (n,) into `out`."""
    for i in range(out.size):
        out[i] = choking_ratio_at(gamma[i])


@njit(cache=True, error_model="numpy")
def speed_ratio(uniform_ratio: FloatArray, gamma: FloatArray, out: FloatArray) -> None:
    """Run `speed_ratio_at` over arrays of shape (n,) into `out`."""
    for i in range(out.size):
        out[i] = speed_ratio_at(uniform_ratio[i], gamma[i])


@njit(cache=True, error_model="numpy")
def peak_uniform_ratio(
    stroke_m: FloatArray,
    rod_m: FloatArray,
    offset_m: FloatArray,
    gap_m: FloatArray,
    height_m: FloatArray,
    reference_height_m: FloatArray,
    flow_m: FloatArray,
    gamma: FloatArray,
    out: FloatArray,
) -> None:
    """Run `peak_uniform_ratio_at` over arrays of shape (n,) into `out`."""
    for i in range(out.size):
        out[i] = peak_uniform_ratio_at(
            stroke_m[i], rod_m[i], offset_m[i], gap_m[i], height_m[i], reference_height_m[i], flow_m[i], gamma[i]
        )


@njit(cache=True, error_model="numpy")
def peak_angle(
    stroke_m: FloatArray,
    rod_m: FloatArray,
    offset_m: FloatArray,
    gap_m: FloatArray,
    height_m: FloatArray,
    reference_height_m: FloatArray,
    flow_m: FloatArray,
    gamma: FloatArray,
    out: FloatArray,
) -> None:
    """Run `peak_angle_at` over arrays of shape (n,) into `out`."""
    for i in range(out.size):
        out[i] = peak_angle_at(
            stroke_m[i], rod_m[i], offset_m[i], gap_m[i], height_m[i], reference_height_m[i], flow_m[i], gamma[i]
        )
