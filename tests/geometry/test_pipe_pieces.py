"""A whole pipe cut up: every piece in its order, its inside, its gaps, its seam."""

import math
from itertools import pairwise

import numpy as np
import pytest

from scribeline.errors import GeometryError
from scribeline.geometry.flat_pattern import Sheet, line_along
from scribeline.geometry.pipe_pieces import CutPiece, PipeSection, bend_of, cut_up

KART = (
    PipeSection("header", 240.0, 34.0, 38.0, 80.0, 70.0),
    PipeSection("diffuser", 255.0, 38.0, 82.0),
    PipeSection("belly", 110.0, 82.0, 82.0),
    PipeSection("baffle", 195.0, 82.0, 21.5),
    PipeSection("stinger", 240.0, 21.5, 21.5),
)


def edge_mm(piece: CutPiece, left: bool) -> float:
    shape = piece.outline
    a, b = (0, -1) if left else (shape.far_right - 1, shape.far_right)
    return math.dist(shape.points[a], shape.points[b])


def test_pieces_are_numbered_along_the_pipe_and_named_by_their_section() -> None:
    pieces = cut_up(KART, Sheet(1.0))
    assert [piece.number for piece in pieces] == list(range(1, 12))
    assert [piece.name for piece in pieces[:2]] == ["header 1/7", "header 2/7"]
    assert [piece.name for piece in pieces[7:]] == ["diffuser", "belly", "baffle", "stinger"]


def test_the_inside_runs_on_from_piece_to_piece_and_ends_as_measured() -> None:
    pieces = cut_up(KART, Sheet(1.2))
    assert pieces[0].inside_mm[0] == pytest.approx(34.0)
    assert pieces[-1].inside_mm[1] == pytest.approx(21.5)
    for before, after in pairwise(pieces):
        assert before.inside_mm[1] == pytest.approx(after.inside_mm[0])


def test_the_pieces_are_as_long_as_the_pipe() -> None:
    assert sum(piece.piece.length_mm for piece in cut_up(KART, Sheet(1.0))) == pytest.approx(1040.0)


def test_a_weld_gap_is_left_at_every_seam_and_joint_but_not_at_the_pipes_own_ends() -> None:
    whole, gapped = cut_up(KART, Sheet(1.0)), cut_up(KART, Sheet(1.0, gap_mm=0.8))
    assert [piece.back_mm for piece in gapped[:2]] == [(0.0, 0.4), (0.4, 0.4)]
    assert gapped[-1].back_mm == (0.4, 0.0)
    # of the belly: a rectangle, 0.8 narrower and 0.8 shorter
    for shape, narrower in ((whole[8], 0.0), (gapped[8], 0.8)):
        size = np.ptp(shape.outline.points, axis=0)
        assert size == pytest.approx([83.0 * math.pi - narrower, 110.0 - narrower])
    # of the diffuser: the edges along the seam a slant less 0.8; parallel offset leaves their length to a hair
    slant = math.hypot(255.0, 22.0)
    assert edge_mm(whole[7], True) == pytest.approx(slant)
    assert edge_mm(gapped[7], True) == pytest.approx(slant - 0.8, abs=0.001)


def test_a_seam_allowance_is_on_the_right_and_leaves_no_gap_at_the_seam() -> None:
    (piece,) = cut_up(KART[2:3], Sheet(1.0, gap_mm=0.8, overlap_mm=6.0))
    assert np.ptp(piece.outline.points, axis=0) == pytest.approx([83.0 * math.pi + 6.0, 110.0])
    a, _ = line_along(piece.piece, piece.seam_deg, piece.seam_deg)
    assert piece.outline.points[0] == pytest.approx(a)


def test_seams_of_a_bend_lie_on_its_sides_by_turns() -> None:
    pieces = cut_up(KART[:1], Sheet(1.0))
    assert [piece.seam_deg for piece in pieces] == [90.0, -90.0] * 3 + [90.0]


def test_fewer_degrees_a_joint_make_more_pieces() -> None:
    assert len(cut_up(KART[:1], Sheet(1.0), 8.0)) == 11
    bend = bend_of(KART[0], 8.0)
    assert bend is not None
    assert bend.joints == 10
    assert bend_of(KART[1]) is None


def test_a_bend_too_tight_for_sheet_is_refused() -> None:
    with pytest.raises(GeometryError, match="larger bend radius"):
        cut_up([PipeSection("header", 200.0, 50.0, 50.0, 120.0, 28.0)], Sheet(1.0))
