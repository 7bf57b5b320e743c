"""Straight and conical pipe sections and bends: volume, wall area, and the flat pattern a cone is rolled from.

A section is the frustum between two inside diameters over a length along the middle line. The sheet is taken as
infinitely thin, so for a pattern give the diameters of the sheet's middle (inside + thickness); seam and lead-in
allowances are added where the sheet is drawn. A bend is taken at constant diameter.

Lengths in mm, volumes in cm^3 (cc), angles in degrees; arguments are numbers or arrays of shapes that broadcast. A
pattern or a pipe with a negative length or diameter is refused (GeometryError). The plain volume and area of one
section give nan there, like the rest of geometry, because the card runs them over random draws. Source: geometry.
"""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from scribeline.errors import GeometryError
from scribeline.geometry.broadcast import DEG, FloatArray

_MM3_PER_CC = 1000.0


class FrustumPattern(NamedTuple):
    """A ring sector that rolls up into a cone, mm, mm^2 and deg.

    slant_mm : width of the ring, along the wall of the cone
    outer_radius_mm, inner_radius_mm : of the ring; both infinite for a cylinder, whose pattern is the rectangle
        slant x arc
    sector_angle_deg : angle of the sector at its centre; 0 for a cylinder
    half_angle_deg, included_angle_deg : of the cone, wall to axis and wall to wall
    outer_arc_mm, inner_arc_mm : circumferences of the large and the small end
    outer_chord_mm : straight from corner to corner of the large end, to check a drawn pattern with a ruler; only
        for a sector up to 180 deg is it also the pattern's greatest width
    """

    slant_mm: FloatArray
    outer_radius_mm: FloatArray
    inner_radius_mm: FloatArray
    sector_angle_deg: FloatArray
    lateral_area_mm2: FloatArray
    half_angle_deg: FloatArray
    included_angle_deg: FloatArray
    outer_arc_mm: FloatArray
    inner_arc_mm: FloatArray
    outer_chord_mm: FloatArray


class PipeTotals(NamedTuple):
    """A pipe section by section, shape (..., n), and its sums over the sections, shape (...)."""

    section_volume_cc: FloatArray
    section_wall_area_mm2: FloatArray
    volume_cc: FloatArray
    wall_area_mm2: FloatArray
    length_mm: FloatArray


class Bend(NamedTuple):
    """Arcs of a bent pipe along its middle line, inside and outside, mm, and its volume, cc."""

    centreline_mm: FloatArray
    inner_arc_mm: FloatArray
    outer_arc_mm: FloatArray
    volume_cc: FloatArray


def frustum_volume_cc(start_mm: npt.ArrayLike, end_mm: npt.ArrayLike, length_mm: npt.ArrayLike) -> FloatArray:
    """Return the volume of a conical or straight section, cc: pi/12 L (D1^2 + D1 D2 + D2^2) / 1000.

    start_mm, end_mm : inside diameters, mm; length_mm : along the axis, mm; nan where one is negative

    >>> round(float(frustum_volume_cc(30.0, 75.0, 260.0)), 6)
    597.295303
    """
    start, end, length = (_not_negative(number) for number in (start_mm, end_mm, length_mm))
    return np.pi / 12.0 * length * (start**2 + start * end + end**2) / _MM3_PER_CC


def frustum_wall_area_mm2(start_mm: npt.ArrayLike, end_mm: npt.ArrayLike, length_mm: npt.ArrayLike) -> FloatArray:
    """Return the wall (sheet) area of a section without its ends, mm^2: pi/2 (D1 + D2) sqrt(L^2 + (D2 - D1)^2/4).

    Arguments as for `frustum_volume_cc`.

    >>> round(float(frustum_wall_area_mm2(30.0, 75.0, 260.0)), 4)
    43043.0126
    """
    start, end, length = (_not_negative(number) for number in (start_mm, end_mm, length_mm))
    return np.pi / 2.0 * (start + end) * np.hypot(length, (end - start) / 2.0)


def frustum_pattern(start_mm: npt.ArrayLike, end_mm: npt.ArrayLike, length_mm: npt.ArrayLike) -> FrustumPattern:
    """Return the flat pattern of a truncated cone; which end is the larger makes no difference.

    s = sqrt(L^2 + ((D2 - D1)/2)^2), radius s D/|D2 - D1|, angle 180 |D2 - D1|/s deg.

    start_mm, end_mm : diameters at the middle of the sheet, mm, 0 or more, not both 0
    length_mm : along the axis, mm, above 0
    Raises GeometryError outside these.

    >>> pattern = frustum_pattern(30.0, 75.0, 260.0)
    >>> round(float(pattern.outer_radius_mm), 4), round(float(pattern.sector_angle_deg), 4)
    (434.9529, 31.0378)
    """
    start, end = _refuse_negative("diameter", start_mm), _refuse_negative("diameter", end_mm)
    length = _refuse_negative("length", length_mm)
    large, small = np.maximum(start, end), np.minimum(start, end)
    if np.any(length <= 0.0) or np.any(large <= 0.0):
        raise GeometryError("length or both diameters are 0 mm: a cone needs a length and one end above 0 mm")
    difference = large - small
    slant = np.hypot(length, difference / 2.0)
    with np.errstate(divide="ignore"):
        outer, inner = slant * large / difference, slant * small / difference
    half_sector = np.pi / 2.0 * difference / slant
    half_angle = np.arctan2(difference / 2.0, length) / DEG
    return FrustumPattern(
        slant_mm=slant,
        outer_radius_mm=outer,
        inner_radius_mm=inner,
        sector_angle_deg=2.0 * half_sector / DEG,
        lateral_area_mm2=frustum_wall_area_mm2(start, end, length),
        half_angle_deg=half_angle,
        included_angle_deg=2.0 * half_angle,
        outer_arc_mm=np.pi * large,
        inner_arc_mm=np.pi * small,
        outer_chord_mm=np.pi * large * np.sinc(half_sector / np.pi),
    )


def pipe_totals(start_mm: npt.ArrayLike, end_mm: npt.ArrayLike, length_mm: npt.ArrayLike) -> PipeTotals:
    """Return volume and wall area of each section of a pipe and their sums, with the length of the pipe.

    start_mm, end_mm, length_mm : inside diameters and lengths, mm, shapes (..., n) for n sections
    Raises GeometryError where one is negative or there is no section.

    >>> totals = pipe_totals([27.0, 29.0], [29.0, 48.0], [190.0, 150.0])
    >>> round(float(totals.volume_cc), 6), float(totals.length_mm)
    (295.210226, 340.0)
    """
    start, end = _refuse_negative("diameter", start_mm), _refuse_negative("diameter", end_mm)
    start, end, length = np.broadcast_arrays(start, end, _refuse_negative("length", length_mm))
    if length.ndim == 0 or length.shape[-1] == 0:
        raise GeometryError("no section: a pipe needs at least one section, each with two diameters and a length")
    volume, area = frustum_volume_cc(start, end, length), frustum_wall_area_mm2(start, end, length)
    return PipeTotals(volume, area, volume.sum(axis=-1), area.sum(axis=-1), length.sum(axis=-1))


def bend(diameter_mm: npt.ArrayLike, centreline_radius_mm: npt.ArrayLike, bend_deg: npt.ArrayLike) -> Bend:
    """Return the arcs and the volume of a bent pipe of constant diameter: L = R angle, V = pi/4 d^2 L (Pappus).

    The volume is exact however tight the bend is, as long as the inside of the bend does not meet itself.

    diameter_mm : inside diameter, mm; bend_deg : angle of the bend, deg, 0 or more
    centreline_radius_mm : radius of the middle line, mm, at least half the diameter
    Raises GeometryError outside these.

    >>> bent = bend(30.0, 75.0, 90.0)
    >>> round(float(bent.centreline_mm), 6), round(float(bent.volume_cc), 6)
    (117.809725, 83.274787)
    """
    diameter = _refuse_negative("diameter", diameter_mm)
    radius = _refuse_negative("radius", centreline_radius_mm)
    angle = _refuse_negative("bend angle", bend_deg, "deg") * DEG
    if np.any(radius < diameter / 2.0):
        raise GeometryError(
            f"bend radius {np.min(radius):g} mm with a diameter of {np.max(diameter):g} mm: the radius of the middle "
            "line must be at least half the diameter; measure to the middle of the pipe, not to its inner side"
        )
    length = radius * angle
    return Bend(
        centreline_mm=length,
        inner_arc_mm=(radius - diameter / 2.0) * angle,
        outer_arc_mm=(radius + diameter / 2.0) * angle,
        volume_cc=np.pi / 4.0 * diameter**2 * length / _MM3_PER_CC,
    )


def _not_negative(number: npt.ArrayLike) -> FloatArray:
    array = np.asarray(number, dtype=np.float64)
    return np.where(array >= 0.0, array, np.nan)[()]


def _refuse_negative(what: str, number: npt.ArrayLike, unit: str = "mm") -> FloatArray:
    array = np.asarray(number, dtype=np.float64)
    if not np.all(array >= 0.0):
        wrong = array[~(array >= 0.0)].flat[0]
        raise GeometryError(f"{what} {wrong:g} {unit}: 0 {unit} or more is accepted; measure it again")
    return array[()]
