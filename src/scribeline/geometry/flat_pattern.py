"""The flat piece of sheet that rolls up into a cone or tube, each end cut square or at an angle; and mitred bends.

A piece is part of one round cone, between two planes that meet its axis. The angle phi goes round the axis, 0 on the
long side of a piece with slanted ends (the outside of a bend), seen from outside it grows to the right. In the pattern
y runs along the pipe, away from the engine, and x round it; what is seen is the outside of the sheet.

Everything is worked out on the neutral surface, in the middle of the sheet: a sheet bent much wider than it is thick
keeps its length there (common practice, no source). Its diameter is the inside diameter + thickness x cos(half angle)
and its slant that of the inside, exact for edges cut square to the sheet. A bend is made of pieces of one straight
cone: cut by planes that lean by turns to one side and the other, every second piece turned by half a turn, the cuts
meet exactly, because an ellipse turned by half a turn is the same ellipse. Lengths mm, angles deg. Source: geometry.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from math import atan, ceil, cos, degrees, hypot, pi, radians, sin, tan

import numpy as np

from scribeline.errors import GeometryError
from scribeline.geometry.broadcast import FloatArray

MOST_TURN_DEG = 15.0
"""What one mitred joint turns at most. Judgement: a bend in fewer, sharper turns sends waves back."""
_STRAIGHT = 1e-9  # a slope below this is a tube
_CURVE_POINTS = 241  # along a slanted end: chords stay within some microns of the curve
_FURTHEST = 2.5  # how far, in radians round the axis, an edge may be moved


@dataclass(frozen=True)
class Piece:
    """Part of a cone between two planes that meet its axis.

    start_mm, end_mm : diameters of the neutral surface where the planes meet the axis
    length_mm : between those places, along the axis
    start_tilt_deg, end_tilt_deg : lean of the planes, positive where the long side (phi = 0) lies further along
    """

    start_mm: float
    end_mm: float
    length_mm: float
    start_tilt_deg: float = 0.0
    end_tilt_deg: float = 0.0

    @property
    def slope(self) -> float:
        """Radius gained per length."""
        return 0.5 * (self.end_mm - self.start_mm) / self.length_mm

    def along_mm(self, phi_deg: float, end: bool) -> float:
        """Axial place of the cut at one end: z = (z0 + r0 tan(tilt) cos(phi)) / (1 - slope tan(tilt) cos(phi)).

        >>> Piece(40.0, 40.0, 100.0, end_tilt_deg=10.0).along_mm(0.0, end=True).__round__(6)
        103.52654
        """
        tilt, z0 = (self.end_tilt_deg, self.length_mm) if end else (self.start_tilt_deg, 0.0)
        lean = tan(radians(tilt)) * cos(radians(phi_deg))
        return (z0 + 0.5 * self.start_mm * lean) / (1.0 - self.slope * lean)

    def radius_mm(self, along_mm: float) -> float:
        """Radius of the neutral surface at an axial place."""
        return 0.5 * self.start_mm + self.slope * along_mm

    @property
    def shortest_mm(self) -> float:
        """Length of the shortest line along the wall."""
        short = self.along_mm(180.0, end=True) - self.along_mm(180.0, end=False)
        return short * hypot(1.0, self.slope)


@dataclass(frozen=True, eq=False)
class Outline:
    """A closed outline, counter-clockwise from the left corner of the engine's end.

    points : corners, mm, shape (n, 2); bulges : of the edge after each corner, tan(turn/4), shape (n,)
    far_right : place of the right corner of the far end among the points
    """

    points: FloatArray
    bulges: FloatArray
    far_right: int


@dataclass(frozen=True)
class Sheet:
    """How a pattern is made of sheet, mm.

    thickness_mm : 0.3 to 3
    gap_mm : left open at every butt weld, half of it taken off each edge; 0 to 3
    overlap_mm : seam allowance, lies under the other edge of the seam, which then has no gap; 0 to 20
    """

    thickness_mm: float = 1.0
    gap_mm: float = 0.0
    overlap_mm: float = 0.0

    def __post_init__(self) -> None:
        for what, value, least, most in (
            ("sheet thickness", self.thickness_mm, 0.3, 3.0),
            ("weld gap", self.gap_mm, 0.0, 3.0),
            ("seam allowance", self.overlap_mm, 0.0, 20.0),
        ):
            if not least <= value <= most:
                raise GeometryError(
                    f"{what} {value:g} mm\n    accepted: {least:g} to {most:g} mm\n    what to do: give it in mm"
                )


def neutral_mm(
    inside_start_mm: float, inside_end_mm: float, length_mm: float, thickness_mm: float
) -> tuple[float, float]:
    """Diameters of the neutral surface of a section, at the edges whose inside diameters are given.

    >>> [round(d, 3) for d in neutral_mm(38.0, 82.0, 255.0, 1.0)]
    [38.996, 82.996]
    """
    if not (length_mm > 0.0 and inside_start_mm > 0.0 and inside_end_mm > 0.0):
        raise GeometryError(
            f"section Ø{inside_start_mm:g} to Ø{inside_end_mm:g}, {length_mm:g} mm long: a pattern needs both "
            "diameters and the length above 0 mm; measure them again"
        )
    more = thickness_mm * cos(atan(0.5 * (inside_end_mm - inside_start_mm) / length_mm))
    return inside_start_mm + more, inside_end_mm + more


@dataclass(frozen=True)
class Bend:
    """A section's bend as mitred pieces: how many joints, what each turns, and the bend's radius along the middle line.

    The middle line of the pieces is exactly as long as the section's; so the radius comes out a little smaller than
    that of the round bend, by the turn of half a joint over its tangent.
    """

    joints: int
    turn_deg: float
    radius_mm: float
    straight_mm: float
    """Straight length before the bend, and as much after it: the record does not say where in a section its bend is."""


def mitred(
    length_mm: float, bend_deg: float, bend_radius_mm: float | None, most_turn_deg: float = MOST_TURN_DEG
) -> Bend:
    """How a bend is divided: the fewest joints that each turn at most so much.

    length_mm : of the section along its middle line; bend_radius_mm : of the middle line; None: the whole section bends

    >>> mitred(240.0, 80.0, 70.0).joints
    6
    """
    if not 0.0 < bend_deg <= 360.0:
        raise GeometryError(f"bend {bend_deg:g} deg: above 0 to 360 deg is accepted; measure the bend again")
    if not 1.0 <= most_turn_deg <= 45.0:
        raise GeometryError(f"at most {most_turn_deg:g} deg a joint: 1 to 45 deg is accepted; 10 to 20 is usual")
    joints = ceil(bend_deg / most_turn_deg - 1e-9)
    turn = bend_deg / joints
    arc = length_mm if bend_radius_mm is None else bend_radius_mm * radians(bend_deg)
    if arc > length_mm * (1.0 + 1e-9):
        if arc > 1.15 * length_mm:  # bends are judged by eye: a little too much is taken as the whole section
            raise GeometryError(
                f"a bend of {bend_deg:g} deg at a radius of {bend_radius_mm:g} mm is {arc:.0f} mm long, and its "
                f"section only {length_mm:g} mm: measure length, angle and radius again, along the middle line"
            )
        arc = length_mm
    return Bend(joints, turn, arc / (2.0 * joints * tan(radians(0.5 * turn))), 0.5 * (length_mm - arc))


def pieces_of(start_mm: float, end_mm: float, length_mm: float, bend: Bend | None = None) -> list[Piece]:
    """A section as pieces of sheet, engine end first, each with its long side at phi = 0.

    start_mm, end_mm : of the neutral surface; without a bend it is one piece with square ends
    Raises GeometryError where the inside of a bend has no sheet left between two joints.
    """
    if bend is None:
        return [Piece(start_mm, end_mm, length_mm)]
    tilt = 0.5 * bend.turn_deg
    step = 2.0 * bend.radius_mm * tan(radians(tilt))
    cuts = [bend.straight_mm + (j + 0.5) * step for j in range(bend.joints)]
    places = [0.0, *cuts, length_mm]

    def diameter(along_mm: float) -> float:
        return start_mm + (end_mm - start_mm) * along_mm / length_mm

    pieces = []
    for i, (near, far) in enumerate(pairwise(places)):
        piece = Piece(
            diameter(near), diameter(far), far - near, -tilt if i > 0 else 0.0, tilt if i < bend.joints else 0.0
        )
        if piece.shortest_mm < 2.0:
            raise GeometryError(
                f"a bend of radius {bend.radius_mm:.0f} mm in a pipe of Ø{max(piece.start_mm, piece.end_mm):.0f} mm "
                f"leaves {piece.shortest_mm:.1f} mm of sheet on its inside between two joints\n    accepted: 2 mm or "
                "more\n    what to do: a larger bend radius, a thinner pipe there, or fewer degrees a joint"
            )
        pieces.append(piece)
    return pieces


def surface_point(piece: Piece, phi_deg: float, seam_deg: float, along_mm: float) -> tuple[float, float]:
    """Where a point of the neutral surface lies in the pattern, mm.

    x = rho sin(psi), y from rho cos(psi), with rho the distance from the cone's point and psi = (phi - middle) sin(half
    angle); for a tube x = r (phi - middle), y = along. The middle of the pattern is opposite the seam.
    """
    turn = radians(phi_deg - seam_deg) - pi
    radius = piece.radius_mm(along_mm)
    if abs(piece.slope) < _STRAIGHT:
        return radius * turn, along_mm
    half = atan(abs(piece.slope))
    rho, psi = radius / sin(half), turn * sin(half)
    away = (rho - 0.5 * piece.start_mm / sin(half)) - 2.0 * rho * sin(0.5 * psi) ** 2
    return rho * sin(psi), away if piece.slope > 0.0 else -away


def line_along(
    piece: Piece, phi_deg: float, seam_deg: float, back_mm: float = 0.0
) -> tuple[tuple[float, float], tuple[float, float]]:
    """The straight line along the wall at one phi, in the pattern, from cut to cut, each end `back_mm` short of it."""
    shorter = back_mm / hypot(1.0, piece.slope)
    near, far = piece.along_mm(phi_deg, end=False) + shorter, piece.along_mm(phi_deg, end=True) - shorter
    return surface_point(piece, phi_deg, seam_deg, near), surface_point(piece, phi_deg, seam_deg, far)


def outline(
    piece: Piece,
    seam_deg: float = 180.0,
    *,
    left_mm: float = 0.0,
    right_mm: float = 0.0,
    back_mm: tuple[float, float] = (0.0, 0.0),
) -> Outline:
    """The pattern of a piece as a closed outline, counter-clockwise from the left corner of the engine's end.

    seam_deg : phi of the seam; left_mm, right_mm : how far the edges along the seam are moved outwards, in parallel;
    negative inwards, for a weld gap. back_mm : how much the engine's and the far end are shortened along the wall
    Raises GeometryError where an edge cannot be moved that far, as beside the point of a cone.
    """
    near = _end_curve(piece, seam_deg, end=False, back_mm=back_mm[0], left_mm=left_mm, right_mm=right_mm)
    far = _end_curve(piece, seam_deg, end=True, back_mm=back_mm[1], left_mm=left_mm, right_mm=right_mm)
    points = np.vstack([near[0], far[0][::-1]])
    bulges = np.concatenate([near[1], [0.0], -far[1][::-1], [0.0]])
    return Outline(points, bulges, len(near[0]))


def _end_curve(
    piece: Piece, seam_deg: float, *, end: bool, back_mm: float, left_mm: float, right_mm: float
) -> tuple[FloatArray, FloatArray]:
    """One end from left to right: points, and the bulges between them. An arc where the end is square."""
    shift = (-back_mm if end else back_mm) / hypot(1.0, piece.slope)

    def at(phi_deg: float) -> tuple[float, float]:
        return surface_point(piece, phi_deg, seam_deg, piece.along_mm(phi_deg, end) + shift)

    first = _moved(at, piece, seam_deg, left_mm, left=True)
    last = _moved(at, piece, seam_deg + 360.0, right_mm, left=False)
    tilt = piece.end_tilt_deg if end else piece.start_tilt_deg
    if tilt != 0.0:
        points = np.array([at(phi) for phi in np.linspace(first, last, _CURVE_POINTS)])
        return points, np.zeros(_CURVE_POINTS - 1)
    if abs(piece.slope) < _STRAIGHT:
        return np.array([at(first), at(last)]), np.zeros(1)
    turn = radians(last - first) * sin(atan(abs(piece.slope)))
    count = ceil(turn / (0.75 * pi))  # no single arc of more than 135 deg
    points = np.array([at(phi) for phi in np.linspace(first, last, count + 1)])
    sense = -1.0 if piece.slope > 0.0 else 1.0
    return points, np.full(count, sense * tan(0.25 * turn / count))


def _moved(
    at: Callable[[float], tuple[float, float]], piece: Piece, edge_deg: float, out_mm: float, *, left: bool
) -> float:
    """The phi at which an end's curve meets the seam's edge moved outwards by so much."""
    if out_mm == 0.0:
        return edge_deg
    way = -1.0 if left else 1.0
    seam_deg = edge_deg if left else edge_deg - 360.0
    near, far = line_along(piece, edge_deg, seam_deg)
    along = hypot(far[0] - near[0], far[1] - near[1])
    ux, uy = (far[0] - near[0]) / along, (far[1] - near[1]) / along

    def beyond(phi_deg: float) -> float:
        x, y = at(phi_deg)
        return way * ((x - near[0]) * uy - (y - near[1]) * ux) - out_mm

    reach = degrees(_FURTHEST)
    low, high = edge_deg - reach, edge_deg + reach
    if beyond(low) * beyond(high) > 0.0:
        raise GeometryError(
            f"the seam's edge cannot be moved by {out_mm:g} mm at Ø{min(piece.start_mm, piece.end_mm):.1f} mm: "
            "use a smaller seam allowance or weld gap"
        )
    from scipy.optimize import brentq  # here: it takes a quarter of a second to load, and square ends never ask

    return float(brentq(beyond, low, high, xtol=1e-12))
