"""The marker sheet as it comes out of the printer: rendered with poppler, found by OpenCV, measured."""

from pathlib import Path

import numpy as np

from scribeline.marking.rubbing_wrap import PrintedMarker, RubbingWrap, rubbing_wrap_drawing
from scribeline.marking.shapes import Polyline
from scribeline.rubbing.flattening import find_markers
from scribeline.rubbing.markers import corners_mm
from scribeline.tasks.sheet_wishes import Wishes
from scribeline.tasks.sheets import write_sheets
from tests.examples import KART, path_of
from tests.marking.printed import on_paper
from tests.rubbing.kart import sheet

DPI = 300


def test_printed_markers_stand_where_their_numbers_say(tmp_path: Path) -> None:
    written = write_sheets(path_of(KART), tmp_path, Wishes(only=("rubbing-wrap",)))
    (page,) = on_paper(written.files[0].read_bytes(), tmp_path, DPI)
    numbers, corners = find_markers(np.ascontiguousarray(1.0 - page.ink[::-1], dtype=np.float32))
    assert sorted(numbers) == sorted(one.number for one in sheet().markers)
    here = np.vstack(list(corners)) / DPI * 25.4
    there = np.vstack([corners_mm(number) for number in numbers])
    apart = (here - here.mean(axis=0)) - (there - there.mean(axis=0))
    assert np.abs(apart).max() < 0.05


def test_black_cells_keep_their_size_under_the_pen() -> None:
    one = PrintedMarker(0.0, 5.0, ((True, True, False), (False, False, False), (False, False, True)))
    drawing = rubbing_wrap_drawing(RubbingWrap((-20.0, -15.0, 20.0, 40.0), 30.0, (one,), 9.0))
    (cells,) = (found for found in drawing.groups if found.fill == "ink")
    boxes = [np.array(cell.points) for cell in cells.shapes if isinstance(cell, Polyline)]
    pen = 0.18  # of the lettering's role, see marking/shapes.py
    sizes = [np.ptp(box, axis=0) + pen for box in boxes]
    assert np.allclose(sizes, [(6.0, 3.0), (3.0, 3.0)])
    assert np.allclose([box.mean(axis=0) for box in boxes], [(-1.5, -2.0), (3.0, -8.0)])
