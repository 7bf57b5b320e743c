"""Flat scans without markers: scale from a ruler or the file, place from two points of the deck line and the middle."""

import dataclasses

import cv2
import numpy as np
import numpy.typing as npt
import pytest

from scribeline.errors import RubbingError
from scribeline.rubbing.photograph import Photograph
from scribeline.rubbing.reading import read_rubbing
from scribeline.rubbing.scanning import Pixel, ScanMarks, place_scan
from tests.rubbing.kart import BORE_MM, PAPER_MM, TRUTHS, middle_mm, rubbed, sheet
from tests.rubbing.rendering import PAPER_PX_PER_MM

DPI = PAPER_PX_PER_MM * 25.4


def scan(turned_deg: float = 0.0) -> tuple[Photograph, ScanMarks]:
    """The rubbed sheet as a scanner sees it, its markers painted over, lying a little askew; and what one points at."""
    grey, left, top = rubbed()
    grey = np.clip(grey, 0.0, 1.0)
    upper = round((-1.0 - top) * PAPER_PX_PER_MM)
    lower = round((sheet().lower_row_mm - 5.5 - top) * PAPER_PX_PER_MM)
    grey = np.vstack([np.full_like(grey[:upper], 0.93), grey[upper:lower], np.full_like(grey[lower:], 0.93)])
    rows, columns = grey.shape
    turn = cv2.getRotationMatrix2D((columns / 2, rows / 2), turned_deg, 1.0)
    askew = cv2.warpAffine(grey, turn, (columns, rows), flags=cv2.INTER_CUBIC, borderValue=0.93)

    def at(across: float, down: float) -> Pixel:
        x, y = turn @ ((across - left) * PAPER_PX_PER_MM - 0.5, (down - top) * PAPER_PX_PER_MM - 0.5, 1.0)
        return float(x), float(y)

    deck = (at(sheet().left_mm + 5.0, 0.0), at(sheet().right_mm - 5.0, 0.0))
    ruler = (at(-40.0, 80.0), at(60.0, 80.0), 100.0)
    return Photograph("scan", askew.astype(np.float32), None), ScanMarks(deck, at(0.0, 70.0), ruler)


@pytest.mark.parametrize("turned_deg", [0.0, 1.5, -2.0])
def test_a_scan_with_a_ruler_is_measured_as_well_as_a_photograph(turned_deg: float) -> None:
    picture, marks = scan(turned_deg)
    reading = read_rubbing(picture, sheet(), bore_mm=BORE_MM, paper_mm=PAPER_MM, scan=marks)
    assert reading.markers_found == 0
    assert len(reading.seen) == len(TRUTHS)
    for truth, seen in zip(sorted(TRUTHS, key=middle_mm), reading.seen, strict=True):
        assert seen.outline.roof_mm == pytest.approx(truth.roof_mm, abs=0.15)
        assert seen.outline.floor_mm == pytest.approx(truth.floor_mm, abs=0.15)
        assert seen.outline.width_mm == pytest.approx(truth.arc_mm, abs=0.2)


def test_without_a_ruler_the_file_must_say_its_resolution() -> None:
    picture, marks = scan()
    bare = dataclasses.replace(marks, ruler=None)
    with pytest.raises(RubbingError, match="does not say how many pixels"):
        place_scan(picture, bare)
    told = place_scan(dataclasses.replace(picture, dpi=(DPI, DPI)), bare)
    points = np.array([[0.0, 0.0], [10.0, 0.0], [0.0, 10.0]])
    ruled = place_scan(picture, marks)
    assert told.to_picture(points) == pytest.approx(ruled.to_picture(points), abs=0.05)


def test_a_ruler_that_contradicts_the_file_is_refused() -> None:
    picture, marks = scan()
    with pytest.raises(RubbingError, match="by the ruler"):
        place_scan(dataclasses.replace(picture, dpi=(1.02 * DPI, DPI)), marks)


def changed(marks: ScanMarks, **wishes: object) -> ScanMarks:
    return dataclasses.replace(marks, **wishes)  # type: ignore[arg-type]


def test_marks_that_cannot_be_are_refused() -> None:
    picture, marks = scan()
    assert marks.ruler is not None
    (a, b), (start, _, _) = marks.deck, marks.ruler
    wrong: dict[str, ScanMarks] = {
        "from left to right": changed(marks, deck=(b, a)),
        "10 mm or more": changed(marks, deck=(a, (a[0] + 20.0, a[1]))),
        "20 mm or more": changed(marks, ruler=(start, (start[0] + 100.0, start[1]), 7.0)),
        "one point": changed(marks, ruler=(start, start, 100.0)),
        "6 or more": changed(marks, ruler=(start, (start[0] + 400.0, start[1]), 100.0)),
    }
    for words, one in wrong.items():
        with pytest.raises(RubbingError, match=words):
            place_scan(picture, one)


def test_pixels_and_millimetres_are_undone_by_hand() -> None:
    picture = Photograph("scan", np.ones((1000, 2000), np.float32), (254.0, 508.0))
    paper = place_scan(picture, ScanMarks(((100.0, 200.0), (1900.0, 200.0)), (1000.0, 900.0)))
    expected: npt.NDArray[np.float64] = np.array([[1000.0, 200.0], [1100.0, 200.0], [1000.0, 400.0]])
    assert paper.to_picture(np.array([[0.0, 0.0], [10.0, 0.0], [0.0, 10.0]])) == pytest.approx(expected)
