"""The printed markers: small black squares whose number alone says where on the paper they stand.

A sheet for another bore, another height or another seam is so never mistaken for this one: nothing about the sheet has
to be remembered or typed. Columns are PITCH_MM apart, counted from the middle of the exhaust; rows are ROW_MM apart,
the first above the deck line. The patterns are the 5 x 5 set of OpenCV's ArUco module.
"""

from dataclasses import dataclass
from math import ceil, pi

import cv2
import numpy as np
import numpy.typing as npt

from scribeline.errors import RubbingError

MARKER_MM = 9.0
PITCH_MM = 14.0
ROW_MM = 5.0
COLUMNS, ROWS = 40, 25
MIDDLE_COLUMN = 20
FIRST_ROW_MM = -9.0
"""Middle of the upper markers: above the deck line, where the paper stands out of the barrel."""
QUIET_MM = 1.5
"""White round a marker that must stay free: it is found by its border."""
BELOW_MM = 8.0
"""From the lowest thing to be rubbed to the middle of the lower markers."""

DICTIONARY = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_1000)


@dataclass(frozen=True)
class Marker:
    """One marker: its number and its middle in paper coordinates [mm]."""

    number: int
    across_mm: float
    down_mm: float


def marker(number: int) -> Marker:
    """Where the marker of this number stands; RubbingError outside 0 to 999.

    >>> marker(20)
    Marker(number=20, across_mm=7.0, down_mm=-9.0)
    """
    if not 0 <= number < COLUMNS * ROWS:
        raise RubbingError(f"marker {number}: accepted are 0 to {COLUMNS * ROWS - 1}")
    row, column = divmod(number, COLUMNS)
    return Marker(number, (column - MIDDLE_COLUMN + 0.5) * PITCH_MM, FIRST_ROW_MM + ROW_MM * row)


def corners_mm(number: int) -> npt.NDArray[np.float64]:
    """Its four corners as OpenCV lists them, from the upper left clockwise: shape (4, 2), (across, down) [mm]."""
    one, half = marker(number), 0.5 * MARKER_MM
    return np.array(
        [(one.across_mm + sx * half, one.down_mm + sy * half) for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    )


def cells(number: int) -> npt.NDArray[np.bool_]:
    """Which of its 7 x 7 cells are black, border included; row 0 is the upper one."""
    picture = cv2.aruco.generateImageMarker(DICTIONARY, number, 7, borderBits=1)
    return np.asarray(picture) < 128


@dataclass(frozen=True)
class MarkerSheet:
    """A strip of paper with markers above and below the part that is rubbed.

    left_mm, right_mm : ends of the strip; lower_row_mm : middle of the lower markers
    markers : all of them, by number
    """

    left_mm: float
    right_mm: float
    lower_row_mm: float
    markers: tuple[Marker, ...]

    @property
    def top_mm(self) -> float:
        """Upper edge of the strip."""
        return FIRST_ROW_MM - 0.5 * MARKER_MM - QUIET_MM

    @property
    def bottom_mm(self) -> float:
        """Lower edge of the strip."""
        return self.lower_row_mm + 0.5 * MARKER_MM + QUIET_MM


def sheet_for(bore_mm: float, lowest_mm: float, seam_clock_deg: float, paper_mm: float = 0.1) -> MarkerSheet:
    """The wrap for a bore: just as long as the bore is round at the middle of the paper.

    lowest_mm : depth below the deck of the lowest edge to be rubbed; seam_clock_deg : where the ends of the strip meet
    Raises RubbingError for a bore or a depth that the numbers of the markers do not reach.

    >>> sheet = sheet_for(47.0, 75.0, 152.0)
    >>> round(sheet.right_mm - sheet.left_mm, 2), sheet.lower_row_mm, len(sheet.markers)
    (147.34, 86.0, 20)
    """
    if not 15.0 <= bore_mm <= 170.0:
        raise RubbingError(f"bore {bore_mm:g} mm: a wrap with markers is made for 15 to 170 mm")
    row = ceil((lowest_mm + BELOW_MM - FIRST_ROW_MM) / ROW_MM - 1e-9)
    if not 1 <= row < ROWS:
        deepest = FIRST_ROW_MM + ROW_MM * (ROWS - 1) - BELOW_MM
        raise RubbingError(f"lowest edge {lowest_mm:g} mm below the deck: accepted is above 0, at most {deepest:g} mm")
    length = pi * (bore_mm - paper_mm)
    right = (seam_clock_deg % 360.0) / 360.0 * length
    left = right - length
    # A whole marker with its quiet border must fit between the ends.
    room = 0.5 * MARKER_MM + QUIET_MM
    found = [
        marker(COLUMNS * r + column)
        for r in (0, row)
        for column in range(COLUMNS)
        if left + room <= marker(column).across_mm <= right - room
    ]
    return MarkerSheet(left, right, FIRST_ROW_MM + ROW_MM * row, tuple(found))
