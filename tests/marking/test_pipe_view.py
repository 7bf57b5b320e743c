"""The written pipe, its lengths and diameters read back."""

import doctest
from itertools import pairwise

import pytest

from scribeline.errors import SheetError
from scribeline.marking import pipe_view as module
from scribeline.marking.pipe_view import Pipe, PipeSection, pipe_view
from scribeline.marking.svg import write_svg
from tests.marking.demonstrations import CROWDED_PIPE, KART_PIPE
from tests.marking.svg_reading import Picture
from tests.reference.checks import load

P1 = load("02_geometry")["geo-pipe-volume-P1"]
REFERENCE_PIPE = Pipe(tuple(PipeSection("", length, start, end) for start, end, length in P1.inputs["sections"]))


def shells(pipe: Pipe) -> list[tuple[float, float, float]]:
    """length, start and end diameter of every section, full size, read from the picture."""
    drawing = pipe_view(pipe)
    read = Picture(write_svg(drawing))
    found = []
    for one in read.groups("outline"):
        (stroke,) = read.strokes(one)
        left, _, right, _ = stroke.box
        starts = [y for x, y in stroke.samples if x == left]
        ends = [y for x, y in stroke.samples if x == right]
        found.append((right - left, max(starts) - min(starts), max(ends) - min(ends)))
    return [tuple(value / drawing.scale for value in one) for one in found]  # type: ignore[misc]


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(module).failed == 0


@pytest.mark.parametrize("pipe", [KART_PIPE, CROWDED_PIPE, REFERENCE_PIPE], ids=["kart", "crowded", "reference"])
def test_every_section_is_true_to_scale(pipe: Pipe) -> None:
    expected = [(one.length_mm, one.start_mm, one.end_mm) for one in pipe.sections]
    assert shells(pipe) == [pytest.approx(one, abs=0.02) for one in expected]


def test_sections_follow_each_other_without_a_gap() -> None:
    read = Picture(write_svg(pipe_view(REFERENCE_PIPE)))
    boxes = [read.strokes(one)[0].box for one in read.groups("outline")]
    assert all(before[2] == after[0] for before, after in pairwise(boxes))
    scale = pipe_view(REFERENCE_PIPE).scale
    assert (boxes[-1][2] - boxes[0][0]) / scale == pytest.approx(P1.expected["total_length_mm"], abs=0.01)


def test_lengths_diameters_scale_and_bends_are_written() -> None:
    words = Picture(write_svg(pipe_view(KART_PIPE))).words
    for section in KART_PIPE.sections:
        assert section.name in words
    assert words.count("240") == 2
    assert {"255", "110", "195", "Ø34", "Ø38", "Ø21.5", "bend 80°"} <= set(words)
    assert words.count("Ø82") == 2
    assert "1040 overall along the middle line, one fifth of full size (1:5). Port face on the left." in words
    assert "Lengths and inside diameters in mm. Bends are drawn straight." in words


def test_a_straight_pipe_says_nothing_of_bends() -> None:
    assert "end" not in " ".join(Picture(write_svg(pipe_view(REFERENCE_PIPE))).words).replace("tend", "")


def test_a_step_in_diameter_shows_both() -> None:
    words = Picture(write_svg(pipe_view(CROWDED_PIPE))).words
    assert {"Ø40 to Ø42", "Ø18 to Ø60"} <= set(words)


def test_a_section_without_a_name_is_numbered() -> None:
    assert "section 9" in " ".join(Picture(write_svg(pipe_view(CROWDED_PIPE))).words)


def test_a_pipe_without_sections_is_refused() -> None:
    with pytest.raises(SheetError, match="without sections"):
        pipe_view(Pipe(()))


def test_the_words_for_those_who_cannot_see_it_give_every_section() -> None:
    description = pipe_view(KART_PIPE).description
    assert "header, 240 mm long, inside diameter 34 mm to 38 mm, bent through 80°, drawn straight" in description
    assert "1040 mm long in all" in description
