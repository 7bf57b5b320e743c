"""The paper found in a photograph, and the photograph laid flat: perspective and the curve of the lens taken out.

A pinhole camera sees a plane through a homography (8 numbers); its lens moves each point along the ray from the middle
of the picture by the share k1 r^2 + k2 r^4 (brown-1966; r is 1 at half the picture's diagonal). Both are
fitted together to the corners of all markers, and what is left over at each corner says whether the paper was flat.
"""

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares

from scribeline.errors import RubbingError
from scribeline.rubbing.markers import DICTIONARY, MARKER_MM, corners_mm
from scribeline.rubbing.photograph import Grey, Photograph

FloatArray = npt.NDArray[np.float64]

LEAST_MARKERS = 6  # judgement: below this, one badly seen marker moves everything
MARKERS_FOR_LENS = 10  # judgement: fewer corners cannot tell the lens from the perspective
MOST_RESIDUAL_MM = 0.20  # judgement: above this the corners themselves are badly seen
MOST_BOW_MM = 0.08  # judgement: above this the paper is creased, curled or was not flat on the table
LEAST_PX_PER_MM = 6.0
"""Judgement: an edge of 0.15 mm is then a whole pixel."""
DETECT_AT_PX = 2400
"""Markers are looked for in a copy this wide at most; their corners are then refined in the whole picture."""


@dataclass(frozen=True)
class Paper:
    """How the picture shows the paper.

    to_picture : points on paper [mm], shape (n, 2), to places in the picture [pixels], shape (n, 2)
    numbers : markers that were used; strays_mm : how far each one's corners lie off on average
    residual_mm : root mean square of what is left over at the corners, per axis
    bow_mm : the same of the markers' middles, in the worse direction: noise averages out there, a bow in the paper not
    px_per_mm : pixels per mm of paper where there are fewest
    """

    to_picture: Callable[[FloatArray], FloatArray]
    numbers: tuple[int, ...]
    strays_mm: tuple[float, ...]
    residual_mm: float
    px_per_mm: float
    bow_mm: float = 0.0


def find_markers(grey: Grey) -> tuple[tuple[int, ...], FloatArray]:
    """Numbers of the markers in a picture and their corners [pixels], shape (markers, 4, 2)."""
    whole = np.ascontiguousarray(np.clip(grey * 255.0 + 0.5, 0, 255).astype(np.uint8))
    shrink = min(1.0, DETECT_AT_PX / whole.shape[1])
    small = cv2.resize(whole, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA) if shrink < 1.0 else whole
    settings = cv2.aruco.DetectorParameters()
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    settings.minMarkerPerimeterRate = 0.01
    settings.errorCorrectionRate = 0.3
    found, numbers, _ = cv2.aruco.ArucoDetector(DICTIONARY, settings).detectMarkers(small)
    if numbers is None or len(found) == 0:
        return (), np.zeros((0, 4, 2))
    corners = (np.array(found, dtype=np.float64).reshape(-1, 4, 2) + 0.5) / shrink - 0.5
    ids = [int(one) for one in np.ravel(numbers)]
    doubled = {one for one in ids if ids.count(one) > 1}
    keep = [i for i, one in enumerate(ids) if one not in doubled and _inside(corners[i], whole.shape)]
    if not keep:
        return (), np.zeros((0, 4, 2))
    refined = np.array([_refined(whole, corners[i]) for i in keep])
    return tuple(ids[i] for i in keep), refined


def _inside(corners: FloatArray, shape: tuple[int, ...]) -> bool:
    return bool((corners > 2.0).all() and (corners < np.array([shape[1], shape[0]]) - 3.0).all())


def _refined(picture: npt.NDArray[np.uint8], corners: FloatArray) -> FloatArray:
    """Corners to a fraction of a pixel, in a window of a third of a cell, where no other cell's edge is seen."""
    side = float(np.linalg.norm(np.diff(np.vstack([corners, corners[:1]]), axis=0), axis=1).min())
    window = int(np.clip(side / 7.0 * 0.4, 2, 14))
    points = corners.astype(np.float32).reshape(-1, 1, 2).copy()
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 40, 0.005)
    cv2.cornerSubPix(picture, points, (window, window), (-1, -1), stop)
    moved = points.reshape(4, 2).astype(np.float64)
    return np.where(np.abs(moved - corners) < window, moved, corners)


def find_paper(photograph: Photograph, wanted: tuple[int, ...]) -> Paper:
    """Fit camera and lens to the markers of a sheet; `wanted` are the numbers that stand on it.

    Raises RubbingError where too few markers are seen (with those that are missing), where the picture is too coarse,
    and where what is left over at the corners says that the paper was not flat.
    """
    shape = photograph.grey.shape
    seen, corners_px = find_markers(photograph.grey)
    keep = [i for i, number in enumerate(seen) if number in wanted]
    strangers = sorted(set(seen) - set(wanted))
    numbers = tuple(seen[i] for i in keep)
    if len(keep) < LEAST_MARKERS:
        missing = ", ".join(str(one) for one in sorted(set(wanted) - set(numbers)))
        other = f"; markers of another sheet are there: {strangers}" if strangers else ""
        raise RubbingError(
            f"{photograph.name}: {len(keep)} of the sheet's {len(wanted)} markers found; missing: {missing}{other}\n"
            f"    accepted: {LEAST_MARKERS} or more, best all\n"
            "    what to do: get the whole paper into the picture, sharp, without glare or a hand over it; "
            "print the sheet again if pencil covers the markers"
        )
    paper = np.array([corners_mm(number) for number in numbers])
    _refuse_one_row(photograph, paper)
    to_picture, scale, used = _fitted(corners_px[keep].reshape(-1, 2), paper.reshape(-1, 2), shape)
    off = (to_picture(paper.reshape(-1, 2)) - corners_px[keep].reshape(-1, 2)).reshape(-1, 4, 2)
    off_mm = off / scale.reshape(-1, 4, 1)
    strays = np.sqrt((off_mm**2).sum(axis=2).mean(axis=1))
    residual = float(np.sqrt((off_mm.reshape(-1, 2)[used] ** 2).mean()))
    coarsest = float(scale.min())
    if coarsest < LEAST_PX_PER_MM:
        raise RubbingError(
            f"{photograph.name}: {coarsest:.1f} pixels per mm of paper where it is furthest away\n"
            f"    accepted: {LEAST_PX_PER_MM:g} or more\n"
            "    what to do: go closer, or take it with the camera's full size"
        )
    bow = float(np.sqrt((off_mm.mean(axis=1)[used.reshape(-1, 4).all(axis=1)] ** 2).mean(axis=0)).max())
    if residual > MOST_RESIDUAL_MM or bow > MOST_BOW_MM:
        worst = [numbers[i] for i in np.argsort(-strays)[:3]]
        raise RubbingError(
            f"{photograph.name}: the markers do not lie in one plane: {residual:.2f} mm left over, most at markers "
            f"{worst}\n    accepted: up to {MOST_RESIDUAL_MM:g} mm, and {MOST_BOW_MM:g} mm at their middles "
            f"({bow:.2f} mm)\n"
            "    what to do: press the paper flat under a sheet of glass, without creases, and take it again"
        )
    return Paper(to_picture, numbers, tuple(float(one) for one in strays), residual, coarsest, bow)


def _refuse_one_row(photograph: Photograph, paper: FloatArray) -> None:
    """Markers of one row alone leave the other direction to guesswork."""
    middles = paper.mean(axis=1)
    rows = np.unique(np.round(middles[:, 1], 3))
    least = min(int((np.abs(middles[:, 1] - row) < 1e-3).sum()) for row in (rows[0], rows[-1]))
    if len(rows) < 2 or least < 2 or np.ptp(middles[:, 0]) < 2.0 * MARKER_MM:
        raise RubbingError(
            f"{photograph.name}: the markers found stand in one row or one corner of the paper\n"
            "    accepted: at least two above and two below the rubbing\n"
            "    what to do: get the whole paper into the picture"
        )


def _fitted(
    px: FloatArray, mm: FloatArray, shape: tuple[int, ...]
) -> tuple[Callable[[FloatArray], FloatArray], FloatArray, npt.NDArray[np.bool_]]:
    """Camera and lens from corners: the function from mm to pixels, the scale [px/mm] at each, which ones counted."""
    middle = 0.5 * np.array([shape[1] - 1.0, shape[0] - 1.0])
    reach = float(np.hypot(*middle))
    centre, unit = mm.mean(axis=0), float(np.ptp(mm, axis=0).max())
    seen = (px - middle) / reach
    flat = (mm - centre) / unit
    start, inlier = cv2.findHomography(flat, seen, cv2.RANSAC, 0.01)
    if start is None:
        raise RubbingError("the markers found do not fit any view of a flat sheet; what to do: take the picture again")
    lens = int(len(mm) >= 4 * MARKERS_FOR_LENS) + int(len(mm) >= 6 * MARKERS_FOR_LENS)
    used = np.asarray(inlier).ravel().astype(bool)

    def project(numbers: FloatArray, points: FloatArray) -> FloatArray:
        h = np.append(numbers[:8], 1.0).reshape(3, 3)
        ideal = np.column_stack([points, np.ones(len(points))]) @ h.T
        x = ideal[:, :2] / ideal[:, 2:]
        r2 = (x * x).sum(axis=1, keepdims=True)
        k = np.append(numbers[8:], (0.0, 0.0))[:2]
        return np.asarray(x * (1.0 + k[0] * r2 + k[1] * r2 * r2))

    first = np.concatenate([(start / start[2, 2]).ravel()[:8], np.zeros(lens)])
    fit = least_squares(
        lambda n: (project(n, flat[used]) - seen[used]).ravel(),
        first,
        loss="soft_l1",
        f_scale=1.0 / reach,
        x_scale="jac",
    )
    best = np.asarray(fit.x)

    def to_picture(points: FloatArray) -> FloatArray:
        return project(best, (np.asarray(points, dtype=np.float64) - centre) / unit) * reach + middle

    along, down = np.array([0.5, 0.0]), np.array([0.0, 0.5])
    steps = (to_picture(mm + step) - to_picture(mm - step) for step in (along, down))
    scale = np.minimum(*(np.hypot(*step.T) for step in steps))
    return to_picture, scale, used


def lay_flat(grey: Grey, to_picture: Callable[[FloatArray], FloatArray], box_mm: FloatArray, px_per_mm: float) -> Grey:
    """The part of the paper inside box_mm (left, top, right, bottom) seen straight on, px_per_mm fine.

    Pixel (row, column) is the paper at left + (column + 0.5)/px_per_mm, top + (row + 0.5)/px_per_mm. The camera's view
    is evaluated every 8 pixels and interpolated in between, which over that distance is exact to 0.01 pixel.
    """
    left, top, right, bottom = (float(one) for one in box_mm)
    columns, rows = round((right - left) * px_per_mm), round((bottom - top) * px_per_mm)
    coarse = 8
    u = (np.arange(0, columns + 2 * coarse, coarse) + 0.5) / px_per_mm + left
    v = (np.arange(0, rows + 2 * coarse, coarse) + 0.5) / px_per_mm + top
    grid = np.stack(np.meshgrid(u, v), axis=-1)
    places = to_picture(grid.reshape(-1, 2)).reshape(*grid.shape).astype(np.float32)
    at_x = (np.arange(columns, dtype=np.float32) / coarse)[None, :].repeat(rows, axis=0)
    at_y = (np.arange(rows, dtype=np.float32) / coarse)[:, None].repeat(columns, axis=1)
    fine = [cv2.remap(np.ascontiguousarray(places[..., i]), at_x, at_y, cv2.INTER_LINEAR) for i in (0, 1)]
    flat = cv2.remap(grey, fine[0], fine[1], cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    return np.clip(flat, 0.0, 1.0).astype(np.float32)
