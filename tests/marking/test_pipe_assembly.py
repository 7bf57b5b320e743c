"""The assembly drawing read back: pieces true to scale, the bend as it is mitred, lengths and diameters written."""

import math
from itertools import pairwise

import numpy as np
import pytest

from scribeline.errors import SheetError
from scribeline.geometry.flat_pattern import Sheet as Metal
from scribeline.geometry.pipe_pieces import PipeSection, cut_up
from scribeline.marking.drafting import texts
from scribeline.marking.pipe_assembly import assembly, piece_list
from scribeline.marking.pipe_view import Pipe, pipe_view
from scribeline.marking.pipe_view import PipeSection as Drawn
from scribeline.marking.shapes import Drawing, Polyline
from scribeline.marking.svg import write_svg
from tests.geometry.test_pipe_pieces import KART
from tests.marking.svg_reading import Picture

METAL = Metal(1.0)


def made(pipe: tuple[PipeSection, ...] = KART, tuned: float | None = None) -> Drawing:
    return assembly(pipe, cut_up(pipe, METAL), METAL, tuned)


def shells(drawing: Drawing) -> list[np.ndarray]:
    return [
        np.array(shape.points) / drawing.scale
        for one in drawing.groups
        if one.role == "outline"
        for shape in one.shapes
        if isinstance(shape, Polyline)
    ]


def test_every_straight_section_is_true_to_scale() -> None:
    drawing = made()
    read = Picture(write_svg(drawing))
    boxes = [read.strokes(one)[0].box for one in read.groups("outline")]
    assert len(boxes) == 11
    for (left, top, right, bottom), section in zip(boxes[7:], KART[1:], strict=True):
        assert (right - left) / drawing.scale == pytest.approx(section.length_mm, abs=0.02)
        widest = max(section.start_mm, section.end_mm) + 1.0  # drawn at the middle of a sheet of 1 mm
        assert (bottom - top) / drawing.scale == pytest.approx(widest, abs=0.05)


def test_the_pieces_of_the_bend_meet_and_turn_by_its_angle() -> None:
    """Corners: engine end outside, far end outside, far end inside, engine end inside."""
    pieces = shells(made())[:8]
    for before, after in pairwise(pieces):
        assert np.allclose(before[1], after[0], atol=0.15)  # a tapered joint is off by its ellipse's offset, far less
        assert np.allclose(before[2], after[3], atol=0.15)
    first, last = pieces[0][1] - pieces[0][0], pieces[6][1] - pieces[6][0]
    half = math.degrees(math.atan(2.0 / 240.0))  # the header widens by 4 mm
    turned = math.degrees(math.atan2(first[0] * last[1] - first[1] * last[0], first @ last))
    assert turned == pytest.approx(80.0, abs=1e-6)
    assert math.degrees(math.atan2(last[1], last[0])) == pytest.approx(-half, abs=1e-6)


def test_lengths_diameters_angles_and_the_bend_are_written() -> None:
    words = " | ".join(text.words for text in texts(made(tuned=702.5)))
    for expected in (
        "255", "9.9°", "195", "17.6°", "tube", "Ø38", "Ø82", "Ø21.5",
        "header, 240 along the middle line, Ø34 to Ø38",
        "bend 80°: 6 joints of 13.33°, radius 69.7",
        "straight before and after the bend: 71.1",
        "1040 along the middle line, one fifth of full size (1:5)",
        "M is the mid point of the baffle, 702 from the flange.",
    ):  # fmt: skip
        assert expected in words


def test_a_pipe_that_bends_elsewhere_is_drawn_straight_and_says_so() -> None:
    bent = (*KART[:1], *KART[1:4], PipeSection("stinger", 240.0, 21.5, 21.5, 30.0, 100.0))
    drawing = made(bent)
    assert any("Bends are drawn straight" in text.words for text in texts(drawing))
    assert all(abs(shell[:, 1]).max() < 42.0 for shell in shells(drawing))


def test_the_list_has_a_row_for_each_piece_with_the_radii_of_its_cone() -> None:
    words = [text.words for text in texts(piece_list(cut_up(KART, METAL), 0.2))]
    assert [str(n) for n in range(1, 12)] == [one for one in words if one.isdigit() and int(one) < 12]
    # diffuser, by hand: diameters 38 and 82 plus cos(half angle), slant 255.947
    slant = math.hypot(255.0, 22.0)
    radii = [slant * (d + 255.0 / slant) / 44.0 for d in (82.0, 38.0)]
    assert f"{radii[0]:.1f} / {radii[1]:.1f}" in words
    assert f"{180.0 * 44.0 / slant:.2f}°" in words
    assert words.count("slanted 6.67°") == 7


def test_no_sections_cannot_be_drawn() -> None:
    with pytest.raises(SheetError, match="without sections"):
        assembly((), [], METAL)


def test_the_fitted_pipe_is_drawn_over_the_new_one_in_broken_lines() -> None:
    new = Pipe((Drawn("header", 200.0, 34.0, 38.0), Drawn("cone", 300.0, 38.0, 90.0)))
    old = Pipe((Drawn("header", 250.0, 34.0, 40.0),))
    drawing = pipe_view(new, old)
    (today,) = [one for one in drawing.groups if one.role == "today"]
    points = np.array(today.shapes[0].points) / drawing.scale  # type: ignore[union-attr]
    assert np.ptp(points, axis=0) == pytest.approx([250.0, 40.0])
    assert any("Broken lines: the pipe that is fitted, 250 overall." in text.words for text in texts(drawing))
    assert not [one for one in pipe_view(new).groups if one.role == "today"]
