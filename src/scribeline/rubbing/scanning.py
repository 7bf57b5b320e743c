"""A flat scan: no perspective to take out, only a scale and a place. The scale comes from a ruler that lies beside the
rubbing, or from what the file says of its resolution; both are compared where both are there."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scribeline.errors import RubbingError
from scribeline.rubbing.flattening import LEAST_PX_PER_MM, Paper
from scribeline.rubbing.photograph import Photograph

MM_PER_INCH = 25.4
MOST_DISAGREEMENT = 0.01
PICKED_PX = 1.0
"""Judgement: how well a point is picked in a picture (standard uncertainty)."""

Pixel = tuple[float, float]


@dataclass(frozen=True)
class ScanMarks:
    """What somebody pointed at in a scan, in its pixels (across, down from the upper left corner).

    deck : two points of the deck line, the left one first; middle : a point straight below the exhaust's middle
    ruler : two points on a ruler and how far apart they are [mm], or None: then the file's own resolution is used
    """

    deck: tuple[Pixel, Pixel]
    middle: Pixel
    ruler: tuple[Pixel, Pixel, float] | None = None


def place_scan(photograph: Photograph, marks: ScanMarks) -> Paper:
    """The paper in a scan, as `flattening.find_paper` gives it for a photograph.

    Raises RubbingError without ruler and resolution, where they disagree by more than 1 %, where the scan is too
    coarse, and where the deck line is too short or upside down.
    """
    scale = _scale(photograph, marks)
    if min(scale) < LEAST_PX_PER_MM:
        raise RubbingError(
            f"{photograph.name}: {min(scale):.1f} pixels per mm\n    accepted: {LEAST_PX_PER_MM:g} or more\n"
            "    what to do: scan again with 300 dots per inch or more"
        )
    per_mm = np.array(scale)
    (left, right), middle = ((np.array(p) / per_mm for p in marks.deck), np.array(marks.middle) / per_mm)
    along = right - left
    length = float(np.hypot(*along))
    if length < 10.0 or along[0] <= 0.0:
        raise RubbingError(
            f"{photograph.name}: the deck line runs {along[0]:.1f} mm across and {along[1]:.1f} mm down\n"
            "    accepted: 10 mm or more, from left to right\n"
            "    what to do: turn the scan so that the deck is at the top, and point at the line's ends, left one first"
        )
    along = along / length
    down = np.array([-along[1], along[0]])
    foot = left + along * float((middle - left) @ along)

    def to_picture(points: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        points = np.asarray(points, dtype=np.float64)
        return np.asarray((foot + points[:, :1] * along + points[:, 1:] * down) * per_mm)

    return Paper(to_picture, (), (), PICKED_PX / float(min(scale)), float(min(scale)))


def _scale(photograph: Photograph, marks: ScanMarks) -> tuple[float, float]:
    """Pixels per mm across and down."""
    said = None if photograph.dpi is None else tuple(one / MM_PER_INCH for one in photograph.dpi)
    if marks.ruler is None:
        if said is None:
            raise RubbingError(
                f"{photograph.name}: the file does not say how many pixels an inch has\n"
                "    accepted: a scan that does, or a ruler in it\n"
                "    what to do: lay a ruler beside the rubbing and point at two of its marks"
            )
        return said[0], said[1]
    start, end, apart = marks.ruler
    if not apart >= 20.0:
        raise RubbingError(
            f"{photograph.name}: {apart:g} mm between the two marks of the ruler\n    accepted: 20 mm or more\n"
            "    what to do: take marks further apart, the picture's whole length if possible"
        )
    found = float(np.hypot(end[0] - start[0], end[1] - start[1])) / apart
    if not found > 0.0:
        raise RubbingError(f"{photograph.name}: the two marks of the ruler are one point; accepted: two points")
    if said is not None and max(abs(found / one - 1.0) for one in said) > MOST_DISAGREEMENT:
        raise RubbingError(
            f"{photograph.name}: {found:.3f} pixels per mm by the ruler, {said[0]:.3f} across and {said[1]:.3f} down "
            f"by the file\n    accepted: within {100 * MOST_DISAGREEMENT:g} % of each other\n"
            "    what to do: point at the ruler's marks again; if the picture was made smaller or larger since it was "
            "scanned, use the scan itself"
        )
    return found, found
