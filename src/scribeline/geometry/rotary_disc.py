"""How far a rotary disc uncovers a round inlet: open area against crank angle, duration, angle-area.

The disc turns with the crank. Its cut-out has straight radial edges; the inlet is a round hole of diameter D whose
centre is R from the disc's axis. Seen from that axis the hole spans 2 beta, sin beta = (D/2)/R. An edge at the angle
alpha past the line to the hole's centre runs R sin(alpha) past that centre, so it cuts a circular segment off the hole;
the open area is the segment behind the opening edge less the one behind the closing edge.

`opens_deg` is where the opening edge first shows the hole, `closes_deg` where the closing edge has just covered all of
it, both in deg after top dead centre; the open period may pass through top dead centre. Arguments are numbers or
arrays of shapes that broadcast. A hole that reaches the axis, and a period shorter than 2 beta (no cut-out is left),
give nan. Source: geometry.
"""

import numpy as np
import numpy.typing as npt

from scribeline.geometry.broadcast import DEG, FloatArray


def duration_deg(opens_deg: npt.ArrayLike, closes_deg: npt.ArrayLike) -> FloatArray:
    """Return the angle per turn from opening to closing, deg, 0..360: (closes - opens) round the circle.

    opens_deg, closes_deg : deg after top dead centre, in any turn

    >>> float(duration_deg(230.0, 60.0))
    190.0
    """
    duration: FloatArray = (np.asarray(closes_deg, dtype=np.float64) - np.asarray(opens_deg, dtype=np.float64)) % 360.0
    return duration


def hole_angle_deg(inlet_diameter_mm: npt.ArrayLike, inlet_centre_radius_mm: npt.ArrayLike) -> FloatArray:
    """Return the angle the hole spans seen from the disc's axis, deg: 2 asin(D/(2R)).

    inlet_diameter_mm : D, mm; inlet_centre_radius_mm : R, mm, more than D/2; otherwise nan

    >>> round(float(hole_angle_deg(26.0, 45.0)), 6)
    33.582894
    """
    radius = np.asarray(inlet_diameter_mm, dtype=np.float64) / 2.0
    from_axis = np.asarray(inlet_centre_radius_mm, dtype=np.float64)
    possible = (radius >= 0.0) & (radius < from_axis)
    angle: FloatArray = 2.0 * np.arcsin(np.where(possible, radius, np.nan) / from_axis) / DEG
    return angle


def cut_out_deg(
    opens_deg: npt.ArrayLike,
    closes_deg: npt.ArrayLike,
    inlet_diameter_mm: npt.ArrayLike,
    inlet_centre_radius_mm: npt.ArrayLike,
) -> FloatArray:
    """Return the angle between the two edges of the disc's cut-out, deg: the duration less the hole's own angle.

    Arguments as for `duration_deg` and `hole_angle_deg`. nan where nothing would be left to cut out.

    >>> round(float(cut_out_deg(230.0, 60.0, 26.0, 45.0)), 6)
    156.417106
    """
    cut = duration_deg(opens_deg, closes_deg) - hole_angle_deg(inlet_diameter_mm, inlet_centre_radius_mm)
    return np.where(cut >= 0.0, cut, np.nan)[()]


def open_area_mm2(
    theta_deg: npt.ArrayLike,
    opens_deg: npt.ArrayLike,
    closes_deg: npt.ArrayLike,
    inlet_diameter_mm: npt.ArrayLike,
    inlet_centre_radius_mm: npt.ArrayLike,
) -> FloatArray:
    """Return the uncovered area of the inlet at a crank angle, mm^2, 0 to pi/4 D^2.

    theta_deg : deg after top dead centre, in any turn; other arguments as for `cut_out_deg`

    >>> round(float(open_area_mm2(246.791447, 230.0, 60.0, 26.0, 45.0)), 3)  # edge over the middle: half the hole
    265.465
    """
    theta, opens = np.asarray(theta_deg, dtype=np.float64), np.asarray(opens_deg, dtype=np.float64)
    half_hole = hole_angle_deg(inlet_diameter_mm, inlet_centre_radius_mm) / 2.0
    opening_edge = (theta - opens) % 360.0 - half_hole
    closing_edge = opening_edge - cut_out_deg(opens, closes_deg, inlet_diameter_mm, inlet_centre_radius_mm)
    behind_opening = _segment_mm2(opening_edge, half_hole, inlet_diameter_mm, inlet_centre_radius_mm)
    return behind_opening - _segment_mm2(closing_edge, half_hole, inlet_diameter_mm, inlet_centre_radius_mm)


def angle_area_mm2_deg(
    opens_deg: npt.ArrayLike,
    closes_deg: npt.ArrayLike,
    inlet_diameter_mm: npt.ArrayLike,
    inlet_centre_radius_mm: npt.ArrayLike,
) -> FloatArray:
    """Return the integral of the open area over one turn, mm^2 deg: the hole's area times the angle of the cut-out.

    Exact: every point of the hole is uncovered for just as long as the cut-out takes to pass it. Arguments as for
    `cut_out_deg`.

    >>> round(float(angle_area_mm2_deg(230.0, 60.0, 26.0, 45.0)), 2)
    83046.4
    """
    area = np.pi / 4.0 * np.asarray(inlet_diameter_mm, dtype=np.float64) ** 2
    return area * cut_out_deg(opens_deg, closes_deg, inlet_diameter_mm, inlet_centre_radius_mm)


def _segment_mm2(
    edge_deg: FloatArray, half_hole_deg: FloatArray, inlet_diameter_mm: npt.ArrayLike, centre_radius_mm: npt.ArrayLike
) -> FloatArray:
    """Return the area of the hole behind an edge, which stands at `edge_deg` past the hole's centre."""
    radius = np.asarray(inlet_diameter_mm, dtype=np.float64) / 2.0
    inside = np.clip(edge_deg, -half_hole_deg, half_hole_deg)
    past = np.clip(np.asarray(centre_radius_mm, dtype=np.float64) * np.sin(inside * DEG) / radius, -1.0, 1.0)
    segment: FloatArray = radius**2 * (np.pi / 2.0 + np.arcsin(past) + past * np.sqrt((1.0 - past) * (1.0 + past)))
    return segment
