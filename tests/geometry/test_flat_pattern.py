"""Flat patterns against outside figures, an independent unrolling of a mesh, closed forms, and rolled up again."""

import doctest
import math
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pytest
from scipy.optimize import brentq

from scribeline.errors import GeometryError
from scribeline.geometry import flat_pattern
from scribeline.geometry.flat_pattern import (
    Outline,
    Piece,
    Sheet,
    line_along,
    mitred,
    neutral_mm,
    outline,
    pieces_of,
    surface_point,
)
from tests.reference.checks import Check, each

Array = npt.NDArray[np.float64]

PIECES = {
    "tube": Piece(40.0, 40.0, 90.0),
    "widening": Piece(39.0, 83.0, 255.0),
    "narrowing": Piece(83.0, 22.5, 195.0),
    "steep": Piece(60.0, 20.0, 25.0),
    "mitred tube": Piece(40.0, 40.0, 60.0, -7.5, 7.5),
    "mitred widening": Piece(35.0, 41.0, 50.0, -6.0, 6.0),
    "mitred narrowing, one end": Piece(60.0, 40.0, 80.0, 0.0, 10.0),
}
EVERY = pytest.mark.parametrize("piece", PIECES.values(), ids=PIECES)


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(flat_pattern).failed == 0


# --- outside figures -----------------------------------------------------------------------------------------------


def circle_of(start: Array, end: Array, bulge: float) -> tuple[Array, float, float]:
    """Centre, radius and turn in degrees of a round edge, from its chord and bulge."""
    chord = end - start
    length = float(np.hypot(*chord))
    radius = length * (1.0 + bulge**2) / (4.0 * abs(bulge))
    beside = length * (1.0 - bulge**2) / (4.0 * bulge)
    centre = 0.5 * (start + end) + beside / length * np.array([-chord[1], chord[0]])
    return centre, radius, math.degrees(4.0 * math.atan(abs(bulge)))


def arcs(shape: Outline) -> tuple[list[tuple[Array, float, float]], list[tuple[Array, float, float]]]:
    """The round edges of the engine's end and of the far end."""
    closed = np.vstack([shape.points, shape.points[:1]])
    found = [circle_of(*closed[i : i + 2], bulge) if bulge else None for i, bulge in enumerate(shape.bulges)]
    near = [one for one in found[: shape.far_right - 1] if one is not None]
    far = [one for one in found[shape.far_right : -1] if one is not None]
    return near, far


@each("02_geometry", "geo-frustum-")
def test_radii_angle_and_chord_of_a_cone(check: Check) -> None:
    i, expected, rel = check.inputs, check.expected, check.rtol
    shape = outline(Piece(i["diameter_start"], i["diameter_end"], i["length"]))
    near, far = arcs(shape)
    narrowing = i["diameter_start"] > i["diameter_end"]
    large, small = (near, far) if narrowing else (far, near)
    for ends, radius in ((large, "outer_radius_mm"), (small, "inner_radius_mm")):
        assert [one[1] for one in ends] == pytest.approx([expected[radius]] * len(ends), rel=rel)
        assert sum(one[2] for one in ends) == pytest.approx(expected["sector_angle_deg"], rel=rel)
    assert np.allclose(near[0][0], far[0][0], atol=1e-9)  # one centre for both
    right = shape.far_right
    corners = (shape.points[0], shape.points[right - 1]) if narrowing else (shape.points[-1], shape.points[right])
    assert math.dist(*corners) == pytest.approx(expected["outer_chord_mm"], rel=rel)
    assert math.dist(shape.points[0], shape.points[-1]) == pytest.approx(expected["slant_mm"], rel=rel)


# --- an independent unrolling ----------------------------------------------------------------------------------------


def cut_in_space(piece: Piece, phi: float, end: bool) -> Array:
    """Where the line along the wall at phi meets an end's plane, found without the closed form."""
    tilt = math.radians(piece.end_tilt_deg if end else piece.start_tilt_deg)
    z0 = piece.length_mm if end else 0.0

    def point(z: float) -> Array:
        radius = 0.5 * (piece.start_mm + (piece.end_mm - piece.start_mm) * z / piece.length_mm)
        return np.array([radius * math.cos(phi), radius * math.sin(phi), z])

    def off_plane(z: float) -> float:
        x, _, height = point(z)
        return float((height - z0) * math.cos(tilt) - x * math.sin(tilt))

    return point(brentq(off_plane, z0 - 40.0, z0 + 40.0, xtol=1e-13))


def third_corner(a: Array, b: Array, from_a: float, from_b: float) -> Array:
    """The corner to the right of the way from a to b, at given distances from both."""
    base = math.dist(a, b)
    along = (from_a**2 - from_b**2 + base**2) / (2.0 * base)
    beside = math.sqrt(from_a**2 - along**2)
    unit = (b - a) / base
    corner: Array = a + along * unit + beside * np.array([unit[1], -unit[0]])
    return corner


def unrolled(near: list[Array], far: list[Array]) -> Array:
    """Lay a strip of triangles flat, one after the other, by the lengths of their sides alone: near rim, then far."""
    flat_near, flat_far = [np.zeros(2)], [np.array([0.0, math.dist(near[0], far[0])])]
    for i in range(1, len(near)):
        n, f = flat_near[-1], flat_far[-1]
        new = third_corner(n, f, math.dist(near[i - 1], near[i]), math.dist(far[i - 1], near[i]))
        flat_near.append(new)
        flat_far.append(third_corner(new, f, math.dist(near[i], far[i]), math.dist(far[i - 1], far[i])))
    return np.array(flat_near + flat_far)


def fitted(points: Array, onto: Array) -> Array:
    """Points turned and moved, without stretching, to lie on others as well as they can (Kabsch)."""
    a, b = points - points.mean(axis=0), onto - onto.mean(axis=0)
    u, _, vt = np.linalg.svd(a.T @ b)
    moved: Array = a @ (u @ np.diag([1.0, np.sign(np.linalg.det(u @ vt))]) @ vt) + onto.mean(axis=0)
    return moved


@EVERY
@pytest.mark.parametrize("seam_deg", [180.0, 90.0])
def test_a_pattern_is_the_mesh_of_the_cone_laid_flat(piece: Piece, seam_deg: float) -> None:
    """Chords of a mesh of 720 columns are short by a share of (2 pi/720)^2/24, a thousandth of a millimetre in all."""
    turns = seam_deg + np.linspace(0.0, 360.0, 721)
    rims = [[cut_in_space(piece, math.radians(phi), end) for phi in turns] for end in (False, True)]
    flat = unrolled(*rims)
    ours = [
        surface_point(piece, phi, seam_deg, piece.along_mm(phi, end)) for end in (False, True) for phi in turns.tolist()
    ]
    assert np.abs(fitted(flat, np.array(ours)) - ours).max() < 0.004


def rolled_up(piece: Piece, seam_deg: float, point: Array) -> Array:
    """Where a point of the pattern comes to lie in space: the inverse of the development, by the cone's own angle."""
    x, y = point
    slope = 0.5 * (piece.end_mm - piece.start_mm) / piece.length_mm
    middle = math.radians(seam_deg + 180.0)
    if slope == 0.0:
        phi, along, radius = middle + 2.0 * x / piece.start_mm, y, 0.5 * piece.start_mm
    else:
        half = math.atan(abs(slope))
        apex = 0.5 * piece.start_mm / math.sin(half)
        height = apex + y if slope > 0.0 else apex - y
        phi = middle + math.atan2(x, height) / math.sin(half)
        radius = math.hypot(x, height) * math.sin(half)
        along = (radius - 0.5 * piece.start_mm) / slope
    return np.array([radius * math.cos(phi), radius * math.sin(phi), along])


@EVERY
def test_rolled_up_the_ends_lie_in_their_planes_and_the_seam_closes(piece: Piece) -> None:
    shape = outline(piece, 90.0)
    solid = np.array([rolled_up(piece, 90.0, point) for point in shape.points])
    for part, tilt, z0 in (
        (solid[: shape.far_right], piece.start_tilt_deg, 0.0),
        (solid[shape.far_right :], piece.end_tilt_deg, piece.length_mm),
    ):
        off = (part[:, 2] - z0) - math.tan(math.radians(tilt)) * part[:, 0]
        assert np.abs(off).max() < 1e-9
    assert np.allclose(solid[0], solid[shape.far_right - 1], atol=1e-9)
    assert np.allclose(solid[-1], solid[shape.far_right], atol=1e-9)


@pytest.mark.parametrize(("start", "end", "length"), [(38.0, 82.0, 255.0), (82.0, 21.5, 195.0), (82.0, 82.0, 110.0)])
@pytest.mark.parametrize("thickness", [0.8, 1.5])
def test_rolled_up_the_inside_has_the_diameters_asked_for(
    start: float, end: float, length: float, thickness: float
) -> None:
    """The arcs' lengths over pi are the neutral diameters; the inside corner of a square edge lies t/2 further in."""
    shape = outline(Piece(*neutral_mm(start, end, length, thickness), length))
    half = math.atan(0.5 * (end - start) / length)
    right = shape.far_right
    near, far = arcs(shape)
    straights = math.dist(shape.points[0], shape.points[right - 1]), math.dist(shape.points[-1], shape.points[right])
    for ends, wanted, straight in ((near, start, straights[0]), (far, end, straights[1])):
        around = sum(math.radians(turn) * radius for _, radius, turn in ends) if ends else straight
        assert around / math.pi - thickness * math.cos(half) == pytest.approx(wanted, abs=1e-9)
    slant = math.hypot(length, 0.5 * (end - start))
    assert math.dist(shape.points[0], shape.points[-1]) == pytest.approx(slant, abs=1e-9)


# --- mitres --------------------------------------------------------------------------------------------------------


def test_the_cut_of_a_mitred_tube_is_a_cosine() -> None:
    """y = length + r tan(tilt) cos(x/r), from the middle of the pattern; the usual closed form of a tube's mitre."""
    radius = 20.0
    shape = outline(Piece(40.0, 40.0, 60.0, 0.0, 7.5), 180.0)
    curve = shape.points[shape.far_right :]
    expected = 60.0 + radius * math.tan(math.radians(7.5)) * np.cos(curve[:, 0] / radius)
    assert np.abs(curve[:, 1] - expected).max() < 1e-12
    assert np.abs(shape.points[: shape.far_right, 1]).max() == 0.0
    assert np.ptp(curve[:, 0]) == pytest.approx(2.0 * math.pi * radius)


def test_the_chords_of_a_slanted_end_stay_within_a_hundredth_of_its_curve() -> None:
    piece = Piece(100.0, 112.0, 60.0, -7.5, 7.5)
    shape = outline(piece)
    curve = shape.points[shape.far_right :]
    for middle in 0.5 * (curve[1:] + curve[:-1]):
        x, _, z = rolled_up(piece, 180.0, middle)
        assert abs(z - 60.0 - math.tan(math.radians(7.5)) * x) < 0.01


@pytest.mark.parametrize(("start", "end"), [(35.0, 35.0), (35.0, 39.0), (60.0, 82.0)])
def test_the_pieces_of_a_bend_meet_in_equal_ellipses(start: float, end: float) -> None:
    """In the plane of a joint both rims lie on one ellipse, mirrored: a section of the one straight cone."""
    for before, after in pairwise(pieces_of(start, end, 300.0, mitred(300.0, 80.0, 120.0))):
        tilt = math.radians(before.end_tilt_deg)
        rims = [
            np.array([cut_in_space(piece, phi, is_end) for phi in np.linspace(0.0, 2.0 * math.pi, 361)])
            for piece, is_end in ((before, True), (after, False))
        ]
        (u, v), (mirrored, w) = ((rim[:, 0] / math.cos(tilt), rim[:, 1]) for rim in rims)
        centre, long_half = 0.5 * (u.max() + u.min()), 0.5 * (u.max() - u.min())
        off = np.abs(v) > 5.0  # half the short axis, from the ellipse's equation well off the long one
        short_half = math.sqrt(np.median(v[off] ** 2 / (1.0 - ((u[off] - centre) / long_half) ** 2)))
        assert np.abs(((u - centre) / long_half) ** 2 + (v / short_half) ** 2 - 1.0).max() < 1e-9
        assert np.abs(((mirrored + centre) / long_half) ** 2 + (w / short_half) ** 2 - 1.0).max() < 1e-9


@pytest.mark.parametrize(
    ("bend", "joints", "turn"), [(80.0, 6, 80 / 6), (90.0, 6, 15.0), (15.0, 1, 15.0), (91.0, 7, 13.0)]
)
def test_a_bend_has_the_fewest_joints_that_the_most_turn_allows(bend: float, joints: int, turn: float) -> None:
    found = mitred(400.0, bend, 80.0)
    assert (found.joints, found.turn_deg) == (joints, pytest.approx(turn))


def test_a_bend_turns_as_far_and_is_as_long_as_the_section() -> None:
    bend = mitred(240.0, 80.0, 70.0)
    pieces = pieces_of(35.0, 39.0, 240.0, bend)
    assert len(pieces) == bend.joints + 1
    assert sum(piece.length_mm for piece in pieces) == pytest.approx(240.0)
    assert sum(2.0 * piece.end_tilt_deg for piece in pieces) == pytest.approx(80.0)
    assert pieces[0].length_mm == pytest.approx(pieces[-1].length_mm)
    # neighbouring joints are two tangents of half a turn apart
    assert pieces[1].length_mm == pytest.approx(2.0 * bend.radius_mm * math.tan(math.radians(bend.turn_deg / 2)))
    assert 0.99 * 70.0 < bend.radius_mm < 70.0
    assert (pieces[0].start_tilt_deg, pieces[-1].end_tilt_deg) == (0.0, 0.0)
    assert (pieces[0].start_mm, pieces[-1].end_mm) == (35.0, pytest.approx(39.0))
    assert all(before.end_mm == pytest.approx(after.start_mm) for before, after in pairwise(pieces))


def test_without_a_radius_the_whole_section_bends() -> None:
    bend = mitred(200.0, 60.0, None)
    assert bend.straight_mm == pytest.approx(0.0)
    assert sum(piece.length_mm for piece in pieces_of(35.0, 35.0, 200.0, bend)) == pytest.approx(200.0)


# --- gaps and allowances ----------------------------------------------------------------------------------------------


@EVERY
def test_edges_are_moved_in_parallel(piece: Piece) -> None:
    """Distances from the true seam, by the cross product with its direction."""
    shape = outline(piece, 90.0, left_mm=-0.4, right_mm=5.0)
    right = shape.far_right
    for phi, way, out, corners in (
        (90.0, -1.0, -0.4, (shape.points[0], shape.points[-1])),
        (450.0, 1.0, 5.0, (shape.points[right - 1], shape.points[right])),
    ):
        a, b = (np.array(one) for one in line_along(piece, phi, 90.0))
        ux, uy = (b - a) / math.dist(a, b)
        away = [way * ((x - a[0]) * uy - (y - a[1]) * ux) for x, y in corners]
        assert away == pytest.approx([out, out], abs=1e-9)


@pytest.mark.parametrize("name", ["tube", "widening", "narrowing"])
def test_ends_are_shortened_along_the_wall(name: str) -> None:
    piece = PIECES[name]
    whole, shorter = outline(piece), outline(piece, back_mm=(0.3, 0.7))
    lengths = [math.dist(one.points[0], one.points[-1]) for one in (whole, shorter)]
    assert lengths[0] - lengths[1] == pytest.approx(1.0, abs=1e-9)
    assert math.dist(whole.points[0], shorter.points[0]) == pytest.approx(0.3, abs=1e-9)


# --- refusals ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Sheet(0.1), "0.3 to 3 mm"),
        (lambda: Sheet(1.0, gap_mm=4.0), "weld gap 4 mm"),
        (lambda: Sheet(1.0, overlap_mm=-1.0), "0 to 20 mm"),
        (lambda: Sheet(math.nan), "0.3 to 3 mm"),
        (lambda: neutral_mm(0.0, 40.0, 100.0, 1.0), "measure them again"),
        (lambda: mitred(240.0, 400.0, 70.0), "above 0 to 360 deg"),
        (lambda: mitred(240.0, 80.0, 70.0, 60.0), "1 to 45 deg"),
        (lambda: mitred(100.0, 120.0, 70.0), "147 mm long, and its section only 100 mm"),
        (lambda: pieces_of(60.0, 60.0, 240.0, mitred(240.0, 120.0, 32.0)), "2 mm or more"),
        (lambda: outline(Piece(30.0, 1.0, 10.0), right_mm=15.0), "smaller seam allowance"),
    ],
)
def test_refused(make: object, words: str) -> None:
    with pytest.raises(GeometryError) as refusal:
        make()  # type: ignore[operator]
    assert words in str(refusal.value)
