"""Where markers stand follows from their numbers; they are the patterns that OpenCV knows."""

import math

import cv2
import numpy as np
import pytest

from scribeline.errors import RubbingError
from scribeline.rubbing.markers import COLUMNS, MARKER_MM, PITCH_MM, ROW_MM, ROWS, cells, corners_mm, marker, sheet_for


def test_no_two_numbers_share_a_place() -> None:
    places = {(one.across_mm, one.down_mm) for one in map(marker, range(COLUMNS * ROWS))}
    assert len(places) == COLUMNS * ROWS


def test_neighbours_are_a_pitch_apart_and_rows_a_row() -> None:
    assert marker(21).across_mm - marker(20).across_mm == PITCH_MM
    assert marker(20 + COLUMNS).down_mm - marker(20).down_mm == ROW_MM


def test_corners_go_round_from_the_upper_left() -> None:
    corners = corners_mm(20)
    assert np.allclose(np.abs(np.diff(np.vstack([corners, corners[:1]]), axis=0)).sum(axis=1), MARKER_MM)
    assert corners[0].tolist() == [2.5, -13.5]
    assert corners[2].tolist() == [11.5, -4.5]


@pytest.mark.parametrize("number", [0, 20, 774, 999])
def test_opencv_reads_the_cells_as_this_number(number: int) -> None:
    grid = np.pad(np.where(cells(number), 0, 255).astype(np.uint8), 2, constant_values=255)
    picture = np.kron(grid, np.ones((12, 12), np.uint8))
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_1000)
    _, found, _ = cv2.aruco.ArucoDetector(dictionary).detectMarkers(picture)
    assert np.ravel(found).tolist() == [number]


def test_a_wrap_is_as_long_as_the_bore_is_round_at_the_papers_middle() -> None:
    sheet = sheet_for(50.0, 74.4, 214.0, paper_mm=0.1)
    assert sheet.right_mm - sheet.left_mm == pytest.approx(math.pi * 49.9)
    assert sheet.right_mm == pytest.approx(math.pi * 49.9 * 214 / 360)


def test_lower_markers_stand_clear_of_what_is_rubbed() -> None:
    for lowest in np.arange(20.0, 100.0, 1.7):
        sheet = sheet_for(50.0, float(lowest), 180.0)
        assert sheet.lower_row_mm - 0.5 * MARKER_MM > lowest + 2.0


@pytest.mark.parametrize(("bore", "lowest"), [(14.0, 40.0), (171.0, 40.0), (50.0, 104.0)])
def test_what_the_numbers_do_not_reach_is_refused(bore: float, lowest: float) -> None:
    with pytest.raises(RubbingError, match=r"wrap with markers|accepted"):
        sheet_for(bore, lowest, 180.0)


def test_a_number_outside_the_set_is_refused() -> None:
    with pytest.raises(RubbingError, match="0 to 999"):
        marker(1000)
