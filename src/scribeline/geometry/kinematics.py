"""Where the piston is, how fast it moves, and the crank angle at which it passes a height: exact, with pin offset.

theta is the crank angle after TRUE top dead centre, in degrees; depth is measured down from where the piston is at
top dead centre. The gudgeon-pin offset is positive where the pin's path lies on the side to which the crank pin moves
on the down stroke; offset 0 is an engine without desaxe. Every argument may be a number or an array, of any shapes
that broadcast (angles against variants). The formulas stand in `scribeline.kernels.crank`. Source: geometry.

A rod too short for its crank (|offset| >= rod - stroke/2) and a depth outside 0..true stroke give nan: whoever owns
the record refuses them in words, long before.
"""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from scribeline.geometry.broadcast import DEG, MM, FloatArray, over
from scribeline.kernels import crank

_RAD_S = np.pi / 30.0  # crank speed in rad/s, per rev/min


class Peak(NamedTuple):
    """The largest value in a turn and the crank angle after true top dead centre at which it comes."""

    value: FloatArray
    angle_deg: FloatArray


class DeadCentres(NamedTuple):
    """Crank rotations from straight up at which the piston stands still, degrees."""

    tdc_phi_deg: FloatArray
    bdc_phi_deg: FloatArray


def _crank_m(stroke_mm: npt.ArrayLike, rod_mm: npt.ArrayLike, offset_mm: npt.ArrayLike) -> tuple[FloatArray, ...]:
    return tuple(np.asarray(length, dtype=np.float64) * MM for length in (stroke_mm, rod_mm, offset_mm))


def depth_mm(
    theta_deg: npt.ArrayLike, stroke_mm: npt.ArrayLike, rod_mm: npt.ArrayLike, offset_mm: npt.ArrayLike
) -> FloatArray:
    """Return how far the piston is below its top dead centre, mm, 0..true stroke.

    x = y(tdc) - y, y = r cos phi + sqrt(l^2 - (r sin phi - e)^2), phi = theta + asin(e/(l + r)).

    theta_deg : any angle after true top dead centre, deg; whole turns make no difference
    stroke_mm, rod_mm, offset_mm : twice the crank throw r, the rod length l, the gudgeon-pin offset e, mm

    >>> round(float(depth_mm(90.0, 42.0, 85.0, 0.0)), 6)
    23.634959
    """
    return over(crank.depth, _rad(theta_deg), *_crank_m(stroke_mm, rod_mm, offset_mm)) / MM


def velocity_m_s(
    theta_deg: npt.ArrayLike,
    stroke_mm: npt.ArrayLike,
    rod_mm: npt.ArrayLike,
    offset_mm: npt.ArrayLike,
    speed_rpm: npt.ArrayLike,
) -> FloatArray:
    """Return the piston's velocity, m/s, positive on the way down: dx/dtheta times the crank's speed in rad/s.

    theta_deg : angle after true top dead centre, deg; other arguments as for `depth_mm`; speed_rpm : rev/min

    >>> round(float(velocity_m_s(90.0, 42.0, 85.0, 0.0, 9000.0)), 6)
    19.792034
    """
    omega = np.asarray(speed_rpm, dtype=np.float64) * _RAD_S
    return over(crank.velocity, _rad(theta_deg), *_crank_m(stroke_mm, rod_mm, offset_mm)) * omega


def acceleration_m_s2(
    theta_deg: npt.ArrayLike,
    stroke_mm: npt.ArrayLike,
    rod_mm: npt.ArrayLike,
    offset_mm: npt.ArrayLike,
    speed_rpm: npt.ArrayLike,
) -> FloatArray:
    """Return the piston's acceleration, m/s^2, positive downwards: d2x/dtheta2 times the crank's speed squared.

    theta_deg : angle after true top dead centre, deg; other arguments as for `depth_mm`; speed_rpm : rev/min

    >>> round(float(acceleration_m_s2(0.0, 42.0, 85.0, 0.0, 9000.0)), 3)
    23262.077
    """
    omega = np.asarray(speed_rpm, dtype=np.float64) * _RAD_S
    return over(crank.acceleration, _rad(theta_deg), *_crank_m(stroke_mm, rod_mm, offset_mm)) * omega**2


def true_stroke_mm(stroke_mm: npt.ArrayLike, rod_mm: npt.ArrayLike, offset_mm: npt.ArrayLike) -> FloatArray:
    """Return the travel of the piston, mm: sqrt((l + r)^2 - e^2) - sqrt((l - r)^2 - e^2), a little over 2r.

    Arguments as for `depth_mm`.

    >>> round(float(true_stroke_mm(43.0, 90.0, 1.0)), 6)
    43.002815
    """
    return over(crank.true_stroke, *_crank_m(stroke_mm, rod_mm, offset_mm)) / MM


def dead_centres_deg(stroke_mm: npt.ArrayLike, rod_mm: npt.ArrayLike, offset_mm: npt.ArrayLike) -> DeadCentres:
    """Return the crank rotations from straight up, deg, at top and bottom dead centre.

    asin(e/(l + r)) and 180 + asin(e/(l - r)). Arguments as for `depth_mm`.

    >>> [round(float(angle), 5) for angle in dead_centres_deg(43.0, 90.0, 1.0)]
    [0.51387, 180.83646]
    """
    lengths = _crank_m(stroke_mm, rod_mm, offset_mm)
    return DeadCentres(over(crank.tdc_phi, *lengths) / DEG, over(crank.bdc_phi, *lengths) / DEG)


def bdc_after_tdc_deg(stroke_mm: npt.ArrayLike, rod_mm: npt.ArrayLike, offset_mm: npt.ArrayLike) -> FloatArray:
    """Return the angle from true top to true bottom dead centre, deg; 180 without offset. Arguments as `depth_mm`.

    >>> round(float(bdc_after_tdc_deg(43.0, 90.0, 1.0)), 5)
    180.32259
    """
    top, bottom = dead_centres_deg(stroke_mm, rod_mm, offset_mm)
    return bottom - top


def angle_down_deg(
    depth_mm: npt.ArrayLike, stroke_mm: npt.ArrayLike, rod_mm: npt.ArrayLike, offset_mm: npt.ArrayLike
) -> FloatArray:
    """Return the angle after top dead centre, deg, at which the piston passes a depth on its way down.

    Closed form: the angle at the crank centre of the triangle crank throw, rod, line to the pin, plus the lean of
    that line. For a port this is where the roof opens (crown) or the floor closes (skirt edge).

    depth_mm : 0..true stroke, mm; outside nan. Other arguments as for `depth_mm`.

    >>> round(float(angle_down_deg(27.0, 42.0, 85.0, 0.0)), 6)
    99.418982
    """
    return over(crank.angle_down, _m(depth_mm), *_crank_m(stroke_mm, rod_mm, offset_mm)) / DEG


def angle_up_deg(
    depth_mm: npt.ArrayLike, stroke_mm: npt.ArrayLike, rod_mm: npt.ArrayLike, offset_mm: npt.ArrayLike
) -> FloatArray:
    """Return the angle after top dead centre, deg, at which the piston passes a depth on its way up, to 360.

    Arguments as for `angle_down_deg`.

    >>> round(float(angle_up_deg(27.0, 42.0, 85.0, 0.0)), 6)
    260.581018
    """
    return over(crank.angle_up, _m(depth_mm), *_crank_m(stroke_mm, rod_mm, offset_mm)) / DEG


def duration_below_deg(
    depth_mm: npt.ArrayLike, stroke_mm: npt.ArrayLike, rod_mm: npt.ArrayLike, offset_mm: npt.ArrayLike
) -> FloatArray:
    """Return the angle per turn, deg, that the piston spends below a depth: the duration of a crown-controlled port.

    Arguments as for `angle_down_deg`, with the depth of the port's roof.

    >>> round(float(duration_below_deg(27.0, 42.0, 85.0, 0.0)), 6)
    161.162036
    """
    return over(crank.angle_below, _m(depth_mm), *_crank_m(stroke_mm, rod_mm, offset_mm)) / DEG


def duration_above_deg(
    depth_mm: npt.ArrayLike, stroke_mm: npt.ArrayLike, rod_mm: npt.ArrayLike, offset_mm: npt.ArrayLike
) -> FloatArray:
    """Return the angle per turn, deg, that the piston spends above a depth: the duration of a skirt-controlled port.

    Arguments as for `angle_down_deg`; for an intake port the depth is that of its floor less the skirt length.

    >>> round(float(duration_above_deg(11.76, 42.0, 85.0, 0.0)), 6)
    116.009738
    """
    return over(crank.angle_above, _m(depth_mm), *_crank_m(stroke_mm, rod_mm, offset_mm)) / DEG


def depth_for_duration_above_mm(
    duration_deg: npt.ArrayLike, stroke_mm: npt.ArrayLike, rod_mm: npt.ArrayLike, offset_mm: npt.ArrayLike
) -> FloatArray:
    """Return the depth, mm, above which the piston spends a duration per turn; the inverse of `duration_above_deg`.

    duration_deg : 0..360 deg; outside nan. Other arguments as for `depth_mm`.

    >>> round(float(depth_for_duration_above_mm(120.0, 42.0, 85.0, 0.0)), 6)
    12.46838
    """
    return over(crank.depth_for_angle_above, _rad(duration_deg), *_crank_m(stroke_mm, rod_mm, offset_mm)) / MM


def depth_for_duration_below_mm(
    duration_deg: npt.ArrayLike, stroke_mm: npt.ArrayLike, rod_mm: npt.ArrayLike, offset_mm: npt.ArrayLike
) -> FloatArray:
    """Return the depth, mm, below which the piston spends a duration per turn; the inverse of `duration_below_deg`.

    duration_deg : 0..360 deg; outside nan. Other arguments as for `depth_mm`.

    >>> round(float(depth_for_duration_below_mm(160.0, 42.0, 85.0, 0.0)), 6)
    27.200885
    """
    above_deg = 360.0 - np.asarray(duration_deg, dtype=np.float64)
    return depth_for_duration_above_mm(above_deg, stroke_mm, rod_mm, offset_mm)


def blowdown_deg(
    exhaust_roof_mm: npt.ArrayLike,
    transfer_roof_mm: npt.ArrayLike,
    stroke_mm: npt.ArrayLike,
    rod_mm: npt.ArrayLike,
    offset_mm: npt.ArrayLike,
) -> FloatArray:
    """Return the angle, deg, from the exhaust's to the transfers' opening; minus where the transfers open first.

    Without offset it is (exhaust duration - transfer duration)/2; with offset opening and closing differ.

    exhaust_roof_mm, transfer_roof_mm : depths of the two roofs, mm, 0..true stroke; outside nan

    >>> round(float(blowdown_deg(27.0, 32.5, 42.0, 85.0, 0.0)), 6)
    17.171007
    """
    opens = angle_down_deg(exhaust_roof_mm, stroke_mm, rod_mm, offset_mm)
    return angle_down_deg(transfer_roof_mm, stroke_mm, rod_mm, offset_mm) - opens


def mean_piston_speed_m_s(
    stroke_mm: npt.ArrayLike, rod_mm: npt.ArrayLike, offset_mm: npt.ArrayLike, speed_rpm: npt.ArrayLike
) -> FloatArray:
    """Return the mean piston speed, m/s: 2 S N/60 with the true stroke S. Arguments as for `velocity_m_s`.

    >>> round(float(mean_piston_speed_m_s(42.0, 85.0, 0.0, 9000.0)), 6)
    12.6
    """
    rpm = np.asarray(speed_rpm, dtype=np.float64)
    return true_stroke_mm(stroke_mm, rod_mm, offset_mm) * MM * rpm / 30.0


def peak_down_speed_m_s(
    stroke_mm: npt.ArrayLike, rod_mm: npt.ArrayLike, offset_mm: npt.ArrayLike, speed_rpm: npt.ArrayLike
) -> Peak:
    """Return the highest speed on the way down, m/s, and its angle after top dead centre, deg.

    Arguments as for `velocity_m_s`.

    >>> speed, angle = peak_down_speed_m_s(42.0, 85.0, 0.0, 9000.0)
    >>> round(float(speed), 6), round(float(angle), 6)
    (20.389086, 76.855857)
    """
    angle = over(crank.peak_down_angle, *_crank_m(stroke_mm, rod_mm, offset_mm)) / DEG
    return Peak(velocity_m_s(angle, stroke_mm, rod_mm, offset_mm, speed_rpm), angle)


def peak_piston_speed_m_s(
    stroke_mm: npt.ArrayLike, rod_mm: npt.ArrayLike, offset_mm: npt.ArrayLike, speed_rpm: npt.ArrayLike
) -> Peak:
    """Return the highest speed of the turn, m/s, and its angle, deg: the quicker of the way down and the way up.

    The way up is the way down of the mirror image, which has the opposite offset. Without offset both are alike and
    the angle on the way down is given. Arguments as for `velocity_m_s`.

    >>> speed, angle = peak_piston_speed_m_s(43.0, 90.0, 1.0, 6500.0)
    >>> round(float(speed), 5), round(float(angle), 4)
    (15.08764, 282.8106)
    """
    down = peak_down_speed_m_s(stroke_mm, rod_mm, offset_mm, speed_rpm)
    up = peak_down_speed_m_s(stroke_mm, rod_mm, -np.asarray(offset_mm, dtype=np.float64), speed_rpm)
    quicker_up = up.value > down.value
    return Peak(
        np.where(quicker_up, up.value, down.value)[()],
        np.where(quicker_up, 360.0 - up.angle_deg, down.angle_deg)[()],
    )


def peak_acceleration_m_s2(
    stroke_mm: npt.ArrayLike, rod_mm: npt.ArrayLike, offset_mm: npt.ArrayLike, speed_rpm: npt.ArrayLike
) -> Peak:
    """Return the largest |acceleration| of the turn, m/s^2, and its angle after top dead centre, deg in -180..180.

    Without offset it comes at top dead centre, r w^2 (1 + r/l), in any engine with a rod of usual length; with
    offset a little beside it. Sure while r + |e| <= 0.9 l. Arguments as for `velocity_m_s`.

    >>> acceleration, angle = peak_acceleration_m_s2(42.0, 85.0, 0.0, 9000.0)
    >>> round(float(acceleration), 3), float(angle)
    (23262.077, 0.0)
    """
    angle = over(crank.peak_acceleration_angle, *_crank_m(stroke_mm, rod_mm, offset_mm)) / DEG
    return Peak(np.abs(acceleration_m_s2(angle, stroke_mm, rod_mm, offset_mm, speed_rpm)), angle)


def handbook_peak_acceleration_m_s2(
    stroke_mm: npt.ArrayLike, rod_mm: npt.ArrayLike, speed_rpm: npt.ArrayLike
) -> FloatArray:
    """Return the peak acceleration, m/s^2, by the handbook: N^2 L/2189 (1 + 1/(2A)) in ft/s^2.

    L is the stroke in inches, A the rod over the stroke. It is r w^2 (1 + r/l) with a rounded constant, 0.02 % low
    for every engine, and knows no offset. Source: jennings-1973, quoted from memory. Arguments as for `velocity_m_s`.

    >>> round(float(handbook_peak_acceleration_m_s2(42.0, 85.0, 9000.0)), 3)
    23257.163
    """
    inch_mm, foot_m = 25.4, 0.3048
    stroke, rod, rpm = (np.asarray(value, dtype=np.float64) for value in (stroke_mm, rod_mm, speed_rpm))
    result: FloatArray = foot_m * rpm**2 * (stroke / inch_mm) / 2189.0 * (1.0 + stroke / (2.0 * rod))
    return result


def piston_stop_wheel_error_deg(
    first_reading_deg: npt.ArrayLike,
    second_reading_deg: npt.ArrayLike,
    stroke_mm: npt.ArrayLike,
    rod_mm: npt.ArrayLike,
    offset_mm: npt.ArrayLike,
) -> FloatArray:
    """Return what to subtract from every raw degree-wheel reading, deg in -180..180, to get the true angle.

    A stop in the plug hole holds the piston at one depth, twice a turn. The angle between the two readings gives that
    depth, and the depth gives by how much the middle between them misses true top dead centre (nothing, without
    offset). Exact.

    first_reading_deg : wheel reading where the RISING piston meets the stop, turned the way the engine runs
    second_reading_deg : wheel reading where the piston meets the stop again, turned backwards. Readings grow with
        rotation and may be given in any turn. Two equal readings fix nothing and give nan.
    stroke_mm, rod_mm, offset_mm : as for `depth_mm`

    >>> round(float(piston_stop_wheel_error_deg(331.0, 35.0, 42.0, 85.0, 0.0)), 6)
    3.0
    """
    readings = _rad(first_reading_deg), _rad(second_reading_deg)
    return over(crank.piston_stop_zero, *readings, *_crank_m(stroke_mm, rod_mm, offset_mm)) / DEG


def _rad(angle_deg: npt.ArrayLike) -> FloatArray:
    return np.asarray(angle_deg, dtype=np.float64) * DEG


def _m(length_mm: npt.ArrayLike) -> FloatArray:
    return np.asarray(length_mm, dtype=np.float64) * MM
