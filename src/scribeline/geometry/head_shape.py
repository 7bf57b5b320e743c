"""Chamber volumes worked out from the shape of the head: squish band, dome, bowl, bathtub.

A chamber is put together from below, starting at the head's gasket face or at the crown:

    squish band          ring between two diameters, straight in section, rising or falling towards the middle
    cylinder             over the mouth: from the level of the band's start up to the mouth (and any straight step)
    dome, bowl, bathtub  the shape above its mouth

Lengths in mm, angles in degrees, volumes in cm^3 (cc). Every argument may be a number or an array, of any shapes that
broadcast. A shape that cannot be (a corner radius over half the width) gives nan. Source: geometry.
"""

import numpy as np
import numpy.typing as npt

from scribeline.geometry.broadcast import DEG, FloatArray
from scribeline.geometry.volumes import dome_volume_cc

_MM3_PER_CC = 1000.0


def band_rise_mm(outer_mm: npt.ArrayLike, inner_mm: npt.ArrayLike, angle_deg: npt.ArrayLike) -> FloatArray:
    """Return how much the gap grows from the band's outer to its inner edge, mm: (Do - Di)/2 tan(angle).

    outer_mm, inner_mm : band diameters, mm; inner at most outer, otherwise nan
    angle_deg : angle of the head's band less that of the crown under it, deg; plus opens towards the middle

    >>> round(float(band_rise_mm(47.0, 30.0, 1.0)), 6)
    0.148368
    """
    width = (_float(outer_mm) - _float(inner_mm)) / 2.0
    rise: FloatArray = np.where(width >= 0.0, width, np.nan) * np.tan(_float(angle_deg) * DEG)
    return rise


def band_volume_cc(
    outer_mm: npt.ArrayLike, inner_mm: npt.ArrayLike, gap_at_outer_mm: npt.ArrayLike, angle_deg: npt.ArrayLike
) -> FloatArray:
    """Return the volume of a squish band, cc: the integral of (gap + (Do/2 - r) tan(angle)) 2 pi r dr.

    In closed form: pi (ro^2 - ri^2) gap + pi/3 (ro - ri)^2 (ro + 2 ri) tan(angle).

    outer_mm, inner_mm, angle_deg : as for `band_rise_mm`
    gap_at_outer_mm : gap at the outer edge, mm. It may also be how far the band's edge is sunk into the head from the
        gasket face (minus where it stands out): the volume is then the head's own share and has that sign.

    >>> round(float(band_volume_cc(47.0, 30.0, 0.8, 1.0)), 6)
    0.893124
    """
    ro, ri = _float(outer_mm) / 2.0, _float(inner_mm) / 2.0
    slant = (ro - ri) * (ro + 2.0 * ri) / 3.0 * band_rise_mm(outer_mm, inner_mm, angle_deg)
    return np.pi * ((ro**2 - ri**2) * _float(gap_at_outer_mm) + slant) / _MM3_PER_CC


def spherical_cap_height_mm(mouth_diameter_mm: npt.ArrayLike, sphere_radius_mm: npt.ArrayLike) -> FloatArray:
    """Return the height of a dome cut by a ball-nosed or form tool, mm: R - sqrt(R^2 - D^2/4), at most half a ball.

    mouth_diameter_mm : diameter at the mouth, mm; sphere_radius_mm : at least half of it, otherwise nan

    >>> round(float(spherical_cap_height_mm(30.0, 17.0)), 6)
    9.0
    """
    half, radius = _float(mouth_diameter_mm) / 2.0, _float(sphere_radius_mm)
    to_centre = np.sqrt(np.where(radius >= half, (radius - half) * (radius + half), np.nan))
    height: FloatArray = half**2 / (radius + to_centre)
    return height


def dome_chamber_volume_cc(depth_mm: npt.ArrayLike, mouth_diameter_mm: npt.ArrayLike) -> FloatArray:
    """Return the volume of a chamber that is part of a ball, cc: pi/6 H (3/4 D^2 + H^2) / 1000.

    depth_mm : mouth to deepest point, mm; mouth_diameter_mm : diameter at the mouth, mm

    >>> round(float(dome_chamber_volume_cc(9.0, 30.0)), 6)
    3.562566
    """
    return dome_volume_cc(mouth_diameter_mm, depth_mm)


def bowl_volume_cc(
    depth_mm: npt.ArrayLike, mouth_diameter_mm: npt.ArrayLike, floor_diameter_mm: npt.ArrayLike
) -> FloatArray:
    """Return the volume of a bowl with a conical wall and a flat floor, cc: pi/12 H (Dm^2 + Dm Df + Df^2) / 1000.

    depth_mm : mouth to floor, mm; mouth_diameter_mm, floor_diameter_mm : diameters, mm

    >>> round(float(bowl_volume_cc(9.0, 30.0, 22.0)), 6)
    4.816062
    """
    mouth, floor = _float(mouth_diameter_mm), _float(floor_diameter_mm)
    return np.pi / 12.0 * _float(depth_mm) * (mouth**2 + mouth * floor + floor**2) / _MM3_PER_CC


def bathtub_volume_cc(
    depth_mm: npt.ArrayLike, length_mm: npt.ArrayLike, width_mm: npt.ArrayLike, corner_radius_mm: npt.ArrayLike
) -> FloatArray:
    """Return the volume of a straight-walled chamber over a rounded rectangle, cc: H (L W - (4 - pi) R^2) / 1000.

    depth_mm, length_mm, width_mm : mm; corner_radius_mm : radius of the four corners in plan, mm, 0 to half the
    shorter side, otherwise nan

    >>> round(float(bathtub_volume_cc(7.0, 36.0, 24.0, 8.0)), 6)
    5.663434
    """
    length, width, radius = _float(length_mm), _float(width_mm), _float(corner_radius_mm)
    fits = (radius >= 0.0) & (2.0 * radius <= np.minimum(length, width))
    plan = length * width - (4.0 - np.pi) * np.where(fits, radius, np.nan) ** 2
    volume: FloatArray = _float(depth_mm) * plan / _MM3_PER_CC
    return volume


def _float(number: npt.ArrayLike) -> FloatArray:
    return np.asarray(number, dtype=np.float64)
