"""The PNG of a drawing: read back with another library, the right colours in the right places, in its own font."""

import doctest

import cv2
import numpy as np
import pytest

from scribeline.errors import SheetError
from scribeline.marking import png
from scribeline.marking.bore_view import bore_view
from scribeline.marking.png import write_png
from scribeline.marking.shapes import Drawing, Text, group, line
from scribeline.marking.svg import write_svg
from tests.marking.demonstrations import KART_BORE

INK, PAPER = (0x1E, 0x2A, 0x33), (0xFB, 0xF9, 0xF4)


def pixels(data: bytes) -> np.ndarray:
    """Red, green, blue (and alpha) as OpenCV reads them, shape (height, width, channels)."""
    read = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_UNCHANGED)
    assert read is not None
    return read[..., [2, 1, 0, *range(3, read.shape[2])]]


def rule(*shapes) -> str:
    return write_svg(
        Drawing("rule", "A rule", "A line of 100 mm.", (group("outline", line((0, 0), (100, 0)), *shapes),))
    )


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(png).failed == 0


def test_the_picture_is_as_wide_as_asked_and_keeps_its_shape() -> None:
    """The rule is 108 mm by 8 mm with its margin, and its line lies in the middle, in ink on paper."""
    picture = pixels(write_png(rule(), width_px=1080))
    assert picture.shape[:2] == (80, 1080)
    assert tuple(picture[40, 540, :3]) == pytest.approx(INK, abs=1)
    assert tuple(picture[10, 540, :3]) == pytest.approx(PAPER, abs=1)
    assert tuple(picture[40, 20, :3]) == pytest.approx(PAPER, abs=1)


def test_lettering_is_drawn_with_signs_that_matter() -> None:
    """Each of these signs leaves ink of its own shape: none is left out, none is the box of a missing one."""
    seen = set()
    for sign in "A8°±½×é":
        picture = pixels(write_png(rule(Text((50, 3), sign, 5.0, "middle")), width_px=1080))
        ink = picture[: picture.shape[0] - 45, :, 0] < 100
        assert ink.sum() > 20, sign
        seen.add(ink.tobytes())
    assert len(seen) == 7


def test_a_filled_drawing_keeps_its_fills_and_accents() -> None:
    """A whole drawing of the project: every colour of it is one of ours, and none of the large areas is black."""
    picture = pixels(write_png(write_svg(bore_view(KART_BORE)), width_px=800)).reshape(-1, 4)[:, :3]
    colours, count = np.unique(picture, axis=0, return_counts=True)
    assert tuple(colours[count.argmax()]) == pytest.approx(PAPER, abs=1)
    assert (picture.sum(axis=1) == 0).mean() < 1e-3


def test_the_same_drawing_gives_the_same_picture() -> None:
    assert write_png(rule()) == write_png(rule())


def test_without_background_the_paper_of_the_drawing_stays() -> None:
    bare = '<svg xmlns="http://www.w3.org/2000/svg" width="10mm" height="10mm"/>'
    assert pixels(write_png(bare, width_px=20, background=None))[..., 3].max() == 0
    assert tuple(pixels(write_png(bare, width_px=20, background="#ff0000"))[10, 10, :3]) == (255, 0, 0)


@pytest.mark.parametrize("width", [15, 0, -3, 12001])
def test_a_width_outside_the_range_is_refused(width: int) -> None:
    with pytest.raises(SheetError, match="accepted: 16 to 12000"):
        write_png(rule(), width_px=width)


@pytest.mark.parametrize(("text", "colour"), [("", "#fff"), ("<p>no</p>", "#fff"), ("<svg", "#fff"), (rule(), "bloo")])
def test_what_is_no_drawing_or_colour_is_refused(text: str, colour: str) -> None:
    with pytest.raises(SheetError, match="what to do"):
        write_png(text, background=colour)
