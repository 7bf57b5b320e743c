"""How long a port window is open, and how far: angle-area, time-area, specific time-area, and the open area itself.

Angle-area is the integral of the open area over the crank angle, mm^2 deg; it does not depend on speed. Time-area is
the same over time, mm^2 s; specific time-area is that per swept volume. All three are full integrals: a handbook figure
that multiplies open time by a mean port area is close but not the same quantity.

The roof's depth is measured down from the crown's control edge with the piston at top dead centre. Every argument is a
number or an array, and together with the lengths of the window they broadcast, one result per variant.
How the integral is taken, and how well: `scribeline.kernels.opening`. Source: geometry, definition.
"""

from collections.abc import Callable
from functools import partial

import numpy as np
import numpy.typing as npt

from scribeline.geometry.broadcast import DEG, MM, MM2, FloatArray, over
from scribeline.geometry.kinematics import bdc_after_tdc_deg
from scribeline.geometry.windows import OutlineWindow, Window
from scribeline.kernels import opening as kernel


def angle_area_below_mm2_deg(
    window: Window,
    roof_depth_mm: npt.ArrayLike,
    stroke_mm: npt.ArrayLike,
    rod_mm: npt.ArrayLike,
    offset_mm: npt.ArrayLike,
) -> FloatArray:
    """Return the angle-area, mm^2 deg per turn, of a port that the crown controls: exhaust, transfer.

    The integral over the window's height of width * (angle per turn that the crown is below), good to 1e-7 of itself
    and mostly to 1e-10.

    roof_depth_mm : depth of the roof, mm. What lies above the crown at top dead centre (depth below 0) counts as open
        all the time, what lies below the crown at bottom dead centre never.
    stroke_mm, rod_mm, offset_mm : as for `kinematics.depth_mm`; a crank that cannot turn gives nan

    >>> from scribeline.geometry.windows import RoundedWindow
    >>> round(float(angle_area_below_mm2_deg(RoundedWindow(34.0, 14.2), 27.0, 42.0, 85.0, 0.0)), 4)
    53536.0367
    """
    return _angle_area(kernel.BY_CROWN, window, roof_depth_mm, 0.0, stroke_mm, rod_mm, offset_mm)


def angle_area_above_mm2_deg(
    window: Window,
    roof_depth_mm: npt.ArrayLike,
    skirt_mm: npt.ArrayLike,
    stroke_mm: npt.ArrayLike,
    rod_mm: npt.ArrayLike,
    offset_mm: npt.ArrayLike,
) -> FloatArray:
    """Return the angle-area, mm^2 deg per turn, of a port that the skirt controls: a piston-port intake.

    A strip is open while the skirt's lower edge is above it; the crown is taken to stay above the roof.

    roof_depth_mm : depth of the window's roof below the CROWN's edge at top dead centre, mm
    skirt_mm : from the crown's control edge down to the skirt's edge on the port's side, mm
    stroke_mm, rod_mm, offset_mm : as for `kinematics.depth_mm`; a crank that cannot turn gives nan

    >>> from scribeline.geometry.windows import RoundedWindow
    >>> intake = RoundedWindow(30.0, 12.0, 3.0, 3.0)
    >>> round(float(angle_area_above_mm2_deg(intake, 52.0, 52.0, 42.0, 85.0, 0.0)), 3)
    26850.551
    """
    under_skirt = np.asarray(roof_depth_mm, dtype=np.float64) - np.asarray(skirt_mm, dtype=np.float64)
    return _angle_area(kernel.BY_SKIRT, window, under_skirt, 0.0, stroke_mm, rod_mm, offset_mm)


def blowdown_angle_area_mm2_deg(
    window: Window,
    roof_depth_mm: npt.ArrayLike,
    transfer_opens_deg: npt.ArrayLike,
    stroke_mm: npt.ArrayLike,
    rod_mm: npt.ArrayLike,
    offset_mm: npt.ArrayLike,
) -> FloatArray:
    """Return the angle-area, mm^2 deg, of an exhaust window from its opening until the transfers open.

    A strip counts from when the crown passes it on its way down; 0 where the transfers open first.

    roof_depth_mm : depth of the exhaust's roof, mm, as for `angle_area_below_mm2_deg`
    transfer_opens_deg : angle after true top dead centre at which the earliest transfer opens
        (`kinematics.angle_down_deg` of its roof's depth); past bottom dead centre it counts as bottom dead centre
    stroke_mm, rod_mm, offset_mm : as for `kinematics.depth_mm`; a crank that cannot turn gives nan

    >>> from scribeline.geometry.kinematics import angle_down_deg
    >>> from scribeline.geometry.windows import RoundedWindow
    >>> transfers = angle_down_deg(32.5, 42.0, 85.0, 0.0)
    >>> round(float(blowdown_angle_area_mm2_deg(RoundedWindow(34.0, 14.2), 27.0, transfers, 42.0, 85.0, 0.0)), 5)
    1652.3542
    """
    bdc_deg = bdc_after_tdc_deg(stroke_mm, rod_mm, offset_mm)
    until_rad = np.clip(np.asarray(transfer_opens_deg, dtype=np.float64), 0.0, bdc_deg) * DEG
    return _angle_area(kernel.BLOWDOWN, window, roof_depth_mm, until_rad, stroke_mm, rod_mm, offset_mm)


def open_area_by_crown_mm2(
    theta_deg: npt.ArrayLike,
    window: Window,
    roof_depth_mm: npt.ArrayLike,
    stroke_mm: npt.ArrayLike,
    rod_mm: npt.ArrayLike,
    offset_mm: npt.ArrayLike,
) -> FloatArray:
    """Return the open area, mm^2, of a crown-controlled port at each crank angle: a curve for each variant.

    The quick way to many angles of many variants; it equals `windows.area_below_roof_mm2` at the piston's depth less
    the roof's.

    theta_deg : shape (angles,), degrees after true top dead centre
    others : as for `angle_area_below_mm2_deg`, broadcasting to some shape of variants
    Returns shape (*variants, angles).

    >>> from scribeline.geometry.windows import RoundedWindow
    >>> curve = open_area_by_crown_mm2([90.0, 110.0, 180.0], RoundedWindow(34.0, 14.2), 27.0, 42.0, 85.0, 0.0)
    >>> [round(float(area), 4) for area in curve]
    [0.0, 119.1636, 482.8]
    """
    return _open_area(kernel.BY_CROWN, theta_deg, window, roof_depth_mm, stroke_mm, rod_mm, offset_mm)


def open_area_by_skirt_mm2(
    theta_deg: npt.ArrayLike,
    window: Window,
    roof_depth_mm: npt.ArrayLike,
    skirt_mm: npt.ArrayLike,
    stroke_mm: npt.ArrayLike,
    rod_mm: npt.ArrayLike,
    offset_mm: npt.ArrayLike,
) -> FloatArray:
    """Return the open area, mm^2, of a skirt-controlled port at each crank angle: a curve for each variant.

    theta_deg : shape (angles,), degrees after true top dead centre
    others : as for `angle_area_above_mm2_deg`, broadcasting to some shape of variants
    Returns shape (*variants, angles).

    >>> from scribeline.geometry.windows import RoundedWindow
    >>> curve = open_area_by_skirt_mm2([0.0, 60.0], RoundedWindow(30.0, 12.0), 52.0, 52.0, 42.0, 85.0, 0.0)
    >>> [round(float(area), 4) for area in curve]
    [360.0, 0.0]
    """
    under_skirt = np.asarray(roof_depth_mm, dtype=np.float64) - np.asarray(skirt_mm, dtype=np.float64)
    return _open_area(kernel.BY_SKIRT, theta_deg, window, under_skirt, stroke_mm, rod_mm, offset_mm)


def time_area_s_mm2(angle_area_mm2_deg: npt.ArrayLike, speed_rpm: npt.ArrayLike) -> FloatArray:
    """Return the time-area of one turn, mm^2 s: angle-area / (6 N).

    angle_area_mm2_deg : mm^2 deg; speed_rpm : rev/min, above 0, otherwise nan

    >>> round(float(time_area_s_mm2(53536.0367, 9000.0)), 7)
    0.9914081
    """
    rpm = np.asarray(speed_rpm, dtype=np.float64)
    return np.asarray(angle_area_mm2_deg, dtype=np.float64) / (6.0 * _above_0(rpm))


def specific_time_area_s_per_m(time_area_s_mm2: npt.ArrayLike, swept_cc: npt.ArrayLike) -> FloatArray:
    """Return the time-area per swept volume of one cylinder, s/m (1 s mm^2/cm^3 is 1 s/m exactly).

    time_area_s_mm2 : mm^2 s; swept_cc : cm^3, above 0, otherwise nan

    >>> round(float(specific_time_area_s_per_m(0.9914081, 72.86767)), 6)
    0.013606
    """
    volume = np.asarray(swept_cc, dtype=np.float64)
    return np.asarray(time_area_s_mm2, dtype=np.float64) / _above_0(volume)


def mean_area_mm2(angle_area_mm2_deg: npt.ArrayLike, duration_deg: npt.ArrayLike) -> FloatArray:
    """Return the open area, mm^2, averaged over the time that the port is open: angle-area / duration.

    angle_area_mm2_deg : mm^2 deg; duration_deg : deg, above 0, otherwise nan

    >>> round(float(mean_area_mm2(53536.0367, 161.162036)), 4)
    332.1876
    """
    duration = np.asarray(duration_deg, dtype=np.float64)
    return np.asarray(angle_area_mm2_deg, dtype=np.float64) / _above_0(duration)


def _above_0(divisor: FloatArray) -> FloatArray:
    return np.where(divisor > 0.0, divisor, np.nan)[()]


def _angle_area(
    closed_by: int,
    window: Window,
    roof_mm: npt.ArrayLike,
    until_rad: npt.ArrayLike,
    stroke_mm: npt.ArrayLike,
    rod_mm: npt.ArrayLike,
    offset_mm: npt.ArrayLike,
) -> FloatArray:
    roof, *crank = (np.asarray(x, dtype=np.float64) * MM for x in (roof_mm, stroke_mm, rod_mm, offset_mm))
    if isinstance(window, OutlineWindow):
        run = partial(kernel.table_angle_area, closed_by, *window.table())
        return over(run, roof, until_rad, *crank) / (MM2 * DEG)
    return over(partial(kernel.angle_area, closed_by), roof, until_rad, *window.in_metres(), *crank) / (MM2 * DEG)


def _open_area(
    closed_by: int,
    theta_deg: npt.ArrayLike,
    window: Window,
    roof_mm: npt.ArrayLike,
    stroke_mm: npt.ArrayLike,
    rod_mm: npt.ArrayLike,
    offset_mm: npt.ArrayLike,
) -> FloatArray:
    half = 0.5 * DEG * np.atleast_1d(np.asarray(theta_deg, dtype=np.float64))
    angles = np.sin(half), np.cos(half)
    lengths = [np.asarray(x, dtype=np.float64) * MM for x in (roof_mm, stroke_mm, rod_mm, offset_mm)]
    run: Callable[..., None]
    if isinstance(window, OutlineWindow):
        run = partial(kernel.table_open_area, closed_by, *window.table(), *angles)
    else:
        run = partial(kernel.open_area, closed_by, *angles)
        lengths[1:1] = window.in_metres()
    shape = np.broadcast_shapes(*(length.shape for length in lengths))
    flat = [np.array(np.broadcast_to(length, shape)).ravel() for length in lengths]
    out = np.empty((flat[0].size, half.size))
    run(*flat, out)
    out /= MM2
    return out.reshape(*shape, half.size)
