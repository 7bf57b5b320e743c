"""The squish band: its gap from the solder readings, its area, and how fast it squeezes the gas out.

The band is a ring between two diameters over the crown, its gap growing (or shrinking) evenly from the outer to the
inner edge. With one density throughout the cylinder at every instant, conservation of mass gives

    v = Sp (As V - A Vs)/(V At)        Sp piston speed on its way up
                                       V, Vs volume of cylinder and band, A, As their areas seen from above
                                       At = pi Di (gap at the inner edge), the ring the gas must pass

which for a flat band is the loss-free relation of the textbook (heywood-1988, quoted from memory and re-derived). The
compressible form lets the speed thin the gas in that ring. No limit of the speed is given: none could be verified.

Lengths in mm, volumes in cm^3 (cc); arguments are numbers or arrays of shapes that broadcast. A gap not above 0, a
band wider than the bore and a clearance volume smaller than the band's own give nan. The gas is taken as shut in, so
the numbers hold after the exhaust has closed and not before.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt

from scribeline.errors import GeometryError
from scribeline.geometry.broadcast import DEG, MM, MM2, FloatArray, over
from scribeline.geometry.head_shape import band_rise_mm, band_volume_cc
from scribeline.geometry.kinematics import depth_mm, velocity_m_s
from scribeline.geometry.volumes import bore_area_mm2
from scribeline.kernels import squish as kernel

CHARGE_GAMMA = 1.35
"""Ratio of specific heats of the fresh charge while it is compressed. Judgement, no source."""

CHARGE_GAS_CONSTANT_J_KG_K = 287.05
"""Specific gas constant of dry air, J/(kg K); petrol vapour and burnt gas change it by a few per cent."""

OPPOSITE_WITHIN_DEG = 20.0
"""Two readings this near to half a turn apart count as opposite. Judgement: places are judged by eye."""


@dataclass(frozen=True)
class SolderPlane:
    """The flat plane through the solder readings: gap = mean + cos c * along_0 + sin c * along_90 at clock angle c.

    known : "plane" the gap all round; "line" only the mean and the tilt along the line of two opposite readings;
        "places" nothing but the readings themselves
    not_known : what these readings cannot tell, in words; empty where nothing is missing
    mean_mm : mean gap round the bore edge, mm; with "places" the mean of the readings
    along_0_mm, along_90_mm : half the tilt of the head over the bore, towards clock 0 and 90 deg, mm; nan if not known
    tilt_mm : largest less smallest gap, mm: round the whole edge, or along the line; nan with "places"
    smallest_mm : smallest gap of the bore edge, along the line, or of the readings, mm
    smallest_at_clock_deg : where it is, deg in 0..360
    misfit_mm : largest distance of a reading from the plane, mm; 0 with fewer than four readings, which always fit

    Every array has the shape of the readings less their last axis.
    """

    known: Literal["plane", "line", "places"]
    not_known: str
    mean_mm: FloatArray
    along_0_mm: FloatArray
    along_90_mm: FloatArray
    tilt_mm: FloatArray
    smallest_mm: FloatArray
    smallest_at_clock_deg: FloatArray
    misfit_mm: FloatArray


class CompressibleSquish(NamedTuple):
    """Speed through the ring, m/s, and where it is held back at the speed of sound."""

    velocity_m_s: FloatArray
    choked: npt.NDArray[np.bool_]


class SquishPeak(NamedTuple):
    """The highest speed of the up stroke, m/s, how far before top dead centre it comes, deg, and whether it chokes."""

    velocity_m_s: FloatArray
    deg_before_tdc: FloatArray
    choked: npt.NDArray[np.bool_]


def solder_plane(clock_deg: Sequence[float], gap_mm: npt.ArrayLike) -> SolderPlane:
    """Return the plane through two or more solder readings at the bore edge, by least squares.

    Head and crown are taken as flat under the solder, so the gap round the edge is a plane cut by a cylinder. Three
    different places fix it, and a fourth checks it. Two opposite places fix the mean and the tilt along their line.

    clock_deg : where the solder lay, deg from any mark, shape (k,), the same for every draw
    gap_mm : thinnest flat of each piece, mm, shape (..., k)
    Raises GeometryError with fewer than two different places, or where the two shapes do not match.

    >>> plane = solder_plane([0, 90, 180, 270], [0.9, 0.8, 0.7, 0.8])
    >>> plane.known, round(float(plane.mean_mm), 6), round(float(plane.tilt_mm), 6)
    ('plane', 0.8, 0.2)
    """
    clock = np.asarray(clock_deg, dtype=np.float64)
    gap = np.asarray(gap_mm, dtype=np.float64)
    if clock.ndim != 1 or gap.ndim == 0 or gap.shape[-1] != clock.size:
        raise GeometryError(
            f"{clock.size} clock positions for readings of shape {gap.shape}: give one position for each reading"
        )
    places = np.unique(np.round(clock % 360.0, 6) % 360.0)
    if places.size < 2:
        raise GeometryError(
            f"solder at {places.size} place(s) of the bore: at least 2 are needed; squeeze solder at two places "
            "opposite each other along the gudgeon pin, better also at two across it"
        )
    if places.size >= 3:
        return _full_plane(clock, gap, places)
    if abs(places[1] - places[0] - 180.0) <= OPPOSITE_WITHIN_DEG:
        return _line(clock, gap, places)
    return _places_only(clock, gap, places)


def gap_at_clock_mm(plane: SolderPlane, clock_deg: npt.ArrayLike) -> FloatArray:
    """Return the gap at the bore edge at any clock position, mm.

    clock_deg : deg from the mark of the readings, broadcasts against the fields of `plane`
    Raises GeometryError where the readings do not fix the gap all round.

    >>> round(float(gap_at_clock_mm(solder_plane([0, 90, 180], [0.9, 0.8, 0.7]), 45.0)), 6)
    0.870711
    """
    if plane.known != "plane":
        raise GeometryError(
            f"the gap between the readings is not known: {plane.not_known}; at least 3 different places are needed: "
            "squeeze solder at one more place, a quarter of a turn from the others"
        )
    angle = np.asarray(clock_deg, dtype=np.float64) * DEG
    return plane.mean_mm + plane.along_0_mm * np.cos(angle) + plane.along_90_mm * np.sin(angle)


def squish_area_ratio(bore_mm: npt.ArrayLike, outer_mm: npt.ArrayLike, inner_mm: npt.ArrayLike) -> FloatArray:
    """Return the squish band's share of the bore, seen from above: (Do^2 - Di^2)/B^2.

    bore_mm, outer_mm, inner_mm : diameters, mm, inner <= outer <= bore; otherwise nan

    >>> round(float(squish_area_ratio(47.0, 47.0, 30.0)), 6)
    0.592576
    """
    bore, outer, inner = _floats(bore_mm, outer_mm, inner_mm)
    possible = (inner >= 0.0) & (inner <= outer) & (outer <= bore)
    ratio: FloatArray = np.where(possible, outer**2 - inner**2, np.nan) / bore**2
    return ratio


def squish_velocity_m_s(
    theta_deg: npt.ArrayLike,
    stroke_mm: npt.ArrayLike,
    rod_mm: npt.ArrayLike,
    offset_mm: npt.ArrayLike,
    speed_rpm: npt.ArrayLike,
    bore_mm: npt.ArrayLike,
    outer_mm: npt.ArrayLike,
    inner_mm: npt.ArrayLike,
    gap_mm: npt.ArrayLike,
    angle_deg: npt.ArrayLike,
    clearance_cc: npt.ArrayLike,
) -> FloatArray:
    """Return the gas speed through the band's inner edge, m/s, one density throughout; plus is inwards.

    v = Sp (As V - A Vs)/(V At), see the head of this file. After top dead centre it is minus: the gas returns.

    theta_deg : angle after true top dead centre, deg; 350 and -10 are both 10 deg before it
    stroke_mm, rod_mm, offset_mm, speed_rpm : as for `kinematics.velocity_m_s`
    bore_mm, outer_mm, inner_mm : bore and band diameters, mm, 0 < inner <= outer <= bore
    gap_mm : gap at the band's outer edge at top dead centre, mm, above 0
    angle_deg : angle of the head's band less that of the crown under it, deg; plus opens towards the middle
    clearance_cc : volume left at top dead centre, cc, more than the band's own

    >>> round(float(squish_velocity_m_s(-10.0, 42.0, 85.0, 0.0, 9000.0, 47.0, 47.0, 30.0, 0.8, 0.0, 7.38795563)), 6)
    28.924248
    """
    shape = _shape(bore_mm, outer_mm, inner_mm, gap_mm, angle_deg, clearance_cc)
    x_m = depth_mm(theta_deg, stroke_mm, rod_mm, offset_mm) * MM
    leaving = -velocity_m_s(theta_deg, stroke_mm, rod_mm, offset_mm, speed_rpm) * shape.flow_m2
    velocity: FloatArray = leaving / ((shape.height_m + x_m) * (shape.gap_m + x_m))
    return velocity


def squish_velocity_compressible_m_s(
    theta_deg: npt.ArrayLike,
    stroke_mm: npt.ArrayLike,
    rod_mm: npt.ArrayLike,
    offset_mm: npt.ArrayLike,
    speed_rpm: npt.ArrayLike,
    bore_mm: npt.ArrayLike,
    outer_mm: npt.ArrayLike,
    inner_mm: npt.ArrayLike,
    gap_mm: npt.ArrayLike,
    angle_deg: npt.ArrayLike,
    clearance_cc: npt.ArrayLike,
    trapped_cc: npt.ArrayLike,
    trapped_temperature_k: npt.ArrayLike,
    gamma: npt.ArrayLike = CHARGE_GAMMA,
    gas_constant_j_kg_k: npt.ArrayLike = CHARGE_GAS_CONSTANT_J_KG_K,
) -> CompressibleSquish:
    """Return the gas speed that carries the same mass flow when the speed thins the gas, m/s, and where it chokes.

    v (1 - (g-1)/2 v^2/c^2)^(1/(g-1)) = v of one density: isentropic flow from rest in the band to its inner edge, the
    subsonic root. c is the speed of sound at rest, from isentropic compression of the trapped gas:
    c^2 = g R T (Vt/V)^(g-1). Past the largest flow that passes, v stays at c sqrt(2/(g+1)) and is marked as choked;
    the band then keeps gas that the relation cannot let out. Always at least the one-density speed.

    trapped_cc : cylinder volume at exhaust closing, cc; trapped_temperature_k : gas temperature then, K: stated, as it
    is not measured; gamma : ratio of specific heats, above 1; other arguments as for `squish_velocity_m_s`

    >>> args = (-10.0, 42.0, 85.0, 0.0, 9000.0, 47.0, 47.0, 30.0, 0.8, 0.0, 7.38795563)
    >>> velocity, choked = squish_velocity_compressible_m_s(*args, 54.2, 400.0)
    >>> round(float(velocity), 4), bool(choked)
    (28.9645, False)
    """
    crank = (stroke_mm, rod_mm, offset_mm)
    head = (bore_mm, outer_mm, inner_mm, gap_mm, angle_deg, clearance_cc)
    uniform = squish_velocity_m_s(theta_deg, *crank, speed_rpm, *head)
    trapped = _trapped(bore_mm, trapped_cc, trapped_temperature_k, gamma, gas_constant_j_kg_k)
    height_m = _shape(*head).height_m + depth_mm(theta_deg, *crank) * MM
    sound_m_s = trapped.sound_m_s * (trapped.height_m / height_m) ** ((trapped.gamma - 1.0) / 2.0)
    ratio = np.abs(uniform) / sound_m_s
    velocity = np.copysign(over(kernel.speed_ratio, ratio, trapped.gamma) * sound_m_s, uniform)
    return CompressibleSquish(velocity, ratio >= over(kernel.choking_ratio, trapped.gamma))


def peak_squish_velocity_m_s(
    stroke_mm: npt.ArrayLike,
    rod_mm: npt.ArrayLike,
    offset_mm: npt.ArrayLike,
    speed_rpm: npt.ArrayLike,
    bore_mm: npt.ArrayLike,
    outer_mm: npt.ArrayLike,
    inner_mm: npt.ArrayLike,
    gap_mm: npt.ArrayLike,
    angle_deg: npt.ArrayLike,
    clearance_cc: npt.ArrayLike,
) -> SquishPeak:
    """Return the highest speed of the up stroke by `squish_velocity_m_s`, whose arguments these are, less the angle.

    The angle is the zero of the exact slope. `choked` is always False: this form knows no speed of sound.

    >>> peak = peak_squish_velocity_m_s(42.0, 85.0, 0.0, 9000.0, 47.0, 47.0, 30.0, 0.8, 0.0, 7.38795563)
    >>> round(float(peak.velocity_m_s), 6), round(float(peak.deg_before_tdc), 5)
    (29.194812, 11.27036)
    """
    crank = (stroke_mm, rod_mm, offset_mm)
    head = (bore_mm, outer_mm, inner_mm, gap_mm, angle_deg, clearance_cc)
    shape = _shape(*head)
    incompressible = (1.0, 0.0, CHARGE_GAMMA)  # any reference height and gamma, no flow against the speed of sound
    angle = over(kernel.peak_angle, *_crank_m(*crank), shape.gap_m, shape.height_m, *incompressible) / DEG
    velocity = squish_velocity_m_s(angle, *crank, speed_rpm, *head)
    return SquishPeak(velocity, -angle, np.zeros(np.shape(velocity), dtype=np.bool_)[()])


def peak_squish_velocity_compressible_m_s(
    stroke_mm: npt.ArrayLike,
    rod_mm: npt.ArrayLike,
    offset_mm: npt.ArrayLike,
    speed_rpm: npt.ArrayLike,
    bore_mm: npt.ArrayLike,
    outer_mm: npt.ArrayLike,
    inner_mm: npt.ArrayLike,
    gap_mm: npt.ArrayLike,
    angle_deg: npt.ArrayLike,
    clearance_cc: npt.ArrayLike,
    trapped_cc: npt.ArrayLike,
    trapped_temperature_k: npt.ArrayLike,
    gamma: npt.ArrayLike = CHARGE_GAMMA,
    gas_constant_j_kg_k: npt.ArrayLike = CHARGE_GAS_CONSTANT_J_KG_K,
) -> SquishPeak:
    """Return the highest speed of the up stroke by `squish_velocity_compressible_m_s`, and whether it chokes at all.

    Where it does, the highest speed comes at the end of choking, because the warming gas carries sound ever faster.
    Arguments as there, less the angle.

    >>> args = (42.0, 85.0, 0.0, 9000.0, 47.0, 47.0, 30.0, 0.8, 0.0, 7.38795563)
    >>> peak = peak_squish_velocity_compressible_m_s(*args, 54.2, 400.0)
    >>> round(float(peak.velocity_m_s), 4), round(float(peak.deg_before_tdc), 4)
    (29.2365, 11.2712)
    """
    crank = (stroke_mm, rod_mm, offset_mm)
    head = (bore_mm, outer_mm, inner_mm, gap_mm, angle_deg, clearance_cc)
    gas = (trapped_cc, trapped_temperature_k, gamma, gas_constant_j_kg_k)
    shape, trapped = _shape(*head), _trapped(bore_mm, *gas)
    flow_m = shape.flow_m2 * np.asarray(speed_rpm, dtype=np.float64) * (np.pi / 30.0) / trapped.sound_m_s
    operands = (*_crank_m(*crank), shape.gap_m, shape.height_m, trapped.height_m, flow_m, trapped.gamma)
    angle = over(kernel.peak_angle, *operands) / DEG
    choked = over(kernel.peak_uniform_ratio, *operands) > over(kernel.choking_ratio, trapped.gamma)
    velocity = squish_velocity_compressible_m_s(angle, *crank, speed_rpm, *head, *gas).velocity_m_s
    return SquishPeak(velocity, -angle, choked)


class _Shape(NamedTuple):
    """What the gas speed needs of band and chamber: v = -dx/dt flow/((height + x) (gap + x))."""

    flow_m2: FloatArray
    gap_m: FloatArray
    height_m: FloatArray


class _Trapped(NamedTuple):
    sound_m_s: FloatArray
    height_m: FloatArray
    gamma: FloatArray


def _shape(
    bore_mm: npt.ArrayLike,
    outer_mm: npt.ArrayLike,
    inner_mm: npt.ArrayLike,
    gap_mm: npt.ArrayLike,
    angle_deg: npt.ArrayLike,
    clearance_cc: npt.ArrayLike,
) -> _Shape:
    """Reduce band and chamber to three numbers; As V - A Vs does not change with x, because As (A x) = A (As x)."""
    gap, clearance, inner = _floats(gap_mm, clearance_cc, inner_mm)
    area_m2 = bore_area_mm2(bore_mm) * MM2
    share = squish_area_ratio(bore_mm, outer_mm, inner_mm)
    inner_gap = gap + band_rise_mm(outer_mm, inner_mm, angle_deg)
    band_cc = band_volume_cc(outer_mm, inner_mm, gap, angle_deg)
    possible = (gap > 0.0) & (inner_gap > 0.0) & (inner > 0.0) & (clearance > band_cc)
    clearance_m3 = np.where(possible, clearance, np.nan) * 1e-6
    flow_m2 = (share * clearance_m3 - band_cc * 1e-6) / (np.pi * inner * MM)
    return _Shape(flow_m2, inner_gap * MM, clearance_m3 / area_m2)


def _trapped(
    bore_mm: npt.ArrayLike,
    trapped_cc: npt.ArrayLike,
    temperature_k: npt.ArrayLike,
    gamma: npt.ArrayLike,
    gas_constant_j_kg_k: npt.ArrayLike,
) -> _Trapped:
    volume, temperature, ratio, constant = _floats(trapped_cc, temperature_k, gamma, gas_constant_j_kg_k)
    ratio = np.where(ratio > 1.0, ratio, np.nan)
    sound = np.sqrt(ratio * np.where((constant > 0.0) & (temperature > 0.0), constant * temperature, np.nan))
    return _Trapped(sound, np.where(volume > 0.0, volume, np.nan) * 1e-6 / (bore_area_mm2(bore_mm) * MM2), ratio)


def _full_plane(clock: FloatArray, gap: FloatArray, places: FloatArray) -> SolderPlane:
    design = np.stack([np.ones(clock.size), np.cos(clock * DEG), np.sin(clock * DEG)], axis=1)
    fit = gap @ np.linalg.pinv(design).T
    mean, along_0, along_90 = fit[..., 0], fit[..., 1], fit[..., 2]
    half_tilt = np.hypot(along_0, along_90)
    empty = float(np.max(np.diff(places, append=places[0] + 360.0)))
    return SolderPlane(
        known="plane",
        not_known=f"no reading over {empty:.0f} deg of the bore: the gap there is carried on from the others"
        if empty > 180.0 + OPPOSITE_WITHIN_DEG
        else "",
        mean_mm=mean,
        along_0_mm=along_0,
        along_90_mm=along_90,
        tilt_mm=2.0 * half_tilt,
        smallest_mm=mean - half_tilt,
        smallest_at_clock_deg=_clock_of(-along_0, -along_90),
        misfit_mm=np.max(np.abs(gap - fit @ design.T), axis=-1),
    )


def _line(clock: FloatArray, gap: FloatArray, places: FloatArray) -> SolderPlane:
    """Fit mean and tilt along the line of two (nearly) opposite places; the tilt across it stays open."""
    direction = (places[0] + places[1]) / 2.0 - 90.0  # the line, square to the bisector of the two places
    along = np.cos((clock - direction) * DEG)
    fit = gap @ np.linalg.pinv(np.stack([np.ones(clock.size), along], axis=1)).T
    mean, half_tilt = fit[..., 0], fit[..., 1]
    lower = np.where(half_tilt > 0.0, direction + 180.0, direction) % 360.0
    return SolderPlane(
        known="line",
        not_known=f"the tilt across the line from {places[0]:.0f} to {places[1]:.0f} deg: the gap may be smaller there",
        mean_mm=mean,
        along_0_mm=np.full_like(mean, np.nan)[()],
        along_90_mm=np.full_like(mean, np.nan)[()],
        tilt_mm=2.0 * np.abs(half_tilt),
        smallest_mm=mean - np.abs(half_tilt),
        smallest_at_clock_deg=lower[()],
        misfit_mm=np.max(np.abs(gap - mean[..., None] - half_tilt[..., None] * along), axis=-1),
    )


def _places_only(clock: FloatArray, gap: FloatArray, places: FloatArray) -> SolderPlane:
    mean = gap.mean(axis=-1)
    unknown = np.full_like(mean, np.nan)[()]
    return SolderPlane(
        known="places",
        not_known=f"two places only {places[1] - places[0]:.0f} deg apart tell neither the mean gap nor the tilt",
        mean_mm=mean,
        along_0_mm=unknown,
        along_90_mm=unknown,
        tilt_mm=unknown,
        smallest_mm=gap.min(axis=-1),
        smallest_at_clock_deg=(clock[np.argmin(gap, axis=-1)] % 360.0)[()],
        misfit_mm=np.zeros_like(mean)[()],
    )


def _clock_of(along_0: FloatArray, along_90: FloatArray) -> FloatArray:
    clock: FloatArray = np.arctan2(along_90, along_0) / DEG % 360.0
    return clock


def _crank_m(stroke_mm: npt.ArrayLike, rod_mm: npt.ArrayLike, offset_mm: npt.ArrayLike) -> tuple[FloatArray, ...]:
    return tuple(length * MM for length in _floats(stroke_mm, rod_mm, offset_mm))


def _floats(*numbers: npt.ArrayLike) -> tuple[FloatArray, ...]:
    return tuple(np.asarray(number, dtype=np.float64) for number in numbers)
