"""A port window of any outline: from traced points to the table that its kernel reads.

The outline is a polygon in the bore's surface unrolled flat, points (across from the middle of the port, down), in
either sense of rotation, closed by itself. It may be hollow or split into several spans at some heights; all open spans
of a height count together. Between two neighbouring heights of corners the sides are straight, so the width is the sum
over the sides cut, each with the sign of its direction (Green's theorem), of what lies between the middle and the side.
"""

import numpy as np
import numpy.typing as npt

from scribeline.errors import GeometryError
from scribeline.geometry.broadcast import MM, MM2, FloatArray
from scribeline.geometry.windows import OutlineWindow

PROJECTED_STEP_MM = 0.5  # a projected side is cut into slabs no further across than this

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(6)
_SHARES, _WEIGHTS = 0.5 * (1.0 + _NODES), 0.5 * _WEIGHTS


def outline_window(outline_mm: npt.ArrayLike, bridge_mm: float = 0.0, bore_mm: float | None = None) -> OutlineWindow:
    """Return the window of a free outline.

    outline_mm : shape (points, 2), at least 3 corners as (across, down); a last point equal to the first is ignored
    bridge_mm : width of a bar down the middle (across = 0), left out of the area
    bore_mm : project on this bore; None counts unrolled. No point may lie further across than pi/4 bore.

    Unrolled the area is exact. Projected it is exact at the heights of the table, and between two of them, h apart,
    each side cut there errs by less than h d^3/(384 R^2) in area and 0.0081 d^3/R^2 in width, with d =
    PROJECTED_STEP_MM the most that a side moves across in between: for a 40 mm bore under 1e-6 mm^2 per mm of h and
    3e-6 mm.

    Raises GeometryError for fewer than 3 corners, points that are not numbers, an outline that crosses or touches
    itself or encloses nothing, a negative bridge, and a window wider than the bore shows.

    >>> triangle = outline_window([(-10.0, 30.0), (10.0, 30.0), (0.0, 40.0)])
    >>> triangle.roof_mm, triangle.height_mm, float(round(triangle.area_m2[-1] * 1e6, 9))
    (30.0, 10.0, 100.0)
    """
    points = _corners(outline_mm)
    _refuse_crossing(points)
    if not bridge_mm >= 0.0:
        raise GeometryError(f"port outline: bridge {bridge_mm:g} mm; accepted: 0 mm or more; leave it out")
    if bore_mm is not None and np.abs(points[:, 0]).max() > 0.25 * np.pi * bore_mm:
        raise GeometryError(
            f"port outline: reaches {np.abs(points[:, 0]).max():g} mm across; accepted: up to a quarter of the way "
            f"round the bore, {0.25 * np.pi * bore_mm:g} mm; count a wider window as two"
        )
    roof = float(points[:, 1].min())
    height = float(points[:, 1].max()) - roof
    start = points - (0.0, roof)
    end = np.roll(start, -1, axis=0)
    knots = _knots(start, end, height, bridge_mm, bore_mm)
    slabs = knots.size - 1
    top, bottom, gain = np.empty(slabs), np.empty(slabs), np.empty(slabs)
    for k in range(slabs):
        depths = np.concatenate(([knots[k], knots[k + 1]], knots[k] + (knots[k + 1] - knots[k]) * _SHARES))
        widths = _widths(depths, 0.5 * (knots[k] + knots[k + 1]), start, end, bridge_mm, bore_mm)
        top[k], bottom[k] = widths[:2]
        gain[k] = (knots[k + 1] - knots[k]) * (widths[2:] @ _WEIGHTS)
    area = np.concatenate(([0.0], np.cumsum(gain)))
    return OutlineWindow(points, bridge_mm, bore_mm, roof, height, knots * MM, area * MM2, top * MM, bottom * MM)


def _corners(outline_mm: npt.ArrayLike) -> FloatArray:
    """Return the corners without immediate repetitions, or refuse them."""
    points = np.asarray(outline_mm, dtype=np.float64)
    if points.ndim != 2 or points.shape[1] != 2 or not np.isfinite(points).all():
        raise GeometryError("port outline: accepted are points (across, down) in mm, two plain numbers each")
    points = points[np.any(points != np.roll(points, -1, axis=0), axis=1)]
    if len(points) < 3:
        raise GeometryError(f"port outline: {len(points)} different corners; accepted: 3 or more; trace it again")
    return points


def _refuse_crossing(points: FloatArray) -> None:
    """Refuse an outline two of whose sides share a point that is not their common corner."""
    count = len(points)
    start, end = points, np.roll(points, -1, axis=0)
    for i in range(count):
        after = (i + 1) % count
        doubles_back = (
            _side_of(start[i], end[i], end[after]) == 0.0 and (end[i] - start[i]) @ (end[after] - start[after]) < 0.0
        )
        others = np.arange(i + 2, count if i else count - 1)
        meets = others[_share_a_point(start[i], end[i], start[others], end[others])]
        if doubles_back or meets.size:
            j = after if doubles_back else int(meets[0])
            raise GeometryError(
                f"port outline: the side from point {i + 1} {_told(points[i])} and the side from point {j + 1} "
                f"{_told(points[j])} cross, touch or run back over each other; accepted: an outline that meets itself "
                "nowhere; list the points in the order in which they follow each other round the port"
            )


def _told(point: FloatArray) -> str:
    return f"({point[0]:g}, {point[1]:g})"


def _side_of(a: FloatArray, b: FloatArray, point: FloatArray) -> FloatArray:
    """Return a number whose sign tells on which side of the line a-b points lie; 0 on it."""
    result: FloatArray = (b[..., 0] - a[..., 0]) * (point[..., 1] - a[..., 1]) - (b[..., 1] - a[..., 1]) * (
        point[..., 0] - a[..., 0]
    )
    return result


def _share_a_point(a: FloatArray, b: FloatArray, c: FloatArray, d: FloatArray) -> npt.NDArray[np.bool_]:
    """Tell for each segment c-d whether it has a point in common with the segment a-b."""
    boxes = (
        (np.minimum(c, d) <= np.maximum(a, b)).all(axis=1) & (np.minimum(a, b) <= np.maximum(c, d)).all(axis=1)
    )  # fmt: skip
    across_ab = _side_of(a, b, c) * _side_of(a, b, d) <= 0.0
    across_cd = _side_of(c, d, a) * _side_of(c, d, b) <= 0.0
    shared: npt.NDArray[np.bool_] = boxes & across_ab & across_cd
    return shared


def _knots(start: FloatArray, end: FloatArray, height: float, bridge_mm: float, bore_mm: float | None) -> FloatArray:
    """Return the heights between which the width is smooth: corners, sides passing the bridge, and projected steps."""
    heights = [start[:, 1]]
    for (s0, y0), (s1, y1) in zip(start, end, strict=True):
        if s1 == s0 or y1 == y0:
            continue
        shares = (np.array([-0.5, 0.5]) * bridge_mm - s0) / (s1 - s0)
        if bore_mm is not None:
            shares = np.append(shares, np.linspace(0.0, 1.0, 1 + int(np.ceil(abs(s1 - s0) / PROJECTED_STEP_MM))))
        heights.append(y0 + (y1 - y0) * shares[(shares > 0.0) & (shares < 1.0)])
    knots: FloatArray = np.unique(np.concatenate(heights))
    knots = knots[np.append(True, np.diff(knots) > 1e-12 * height)]
    knots[-1] = height
    return knots


def _widths(
    depths: FloatArray,
    middle: float,
    start: FloatArray,
    end: FloatArray,
    bridge_mm: float,
    bore_mm: float | None,
) -> FloatArray:
    """Return the counted widths, mm, at depths within one slab, whose middle tells which sides are cut."""
    cut = (start[:, 1] < middle) != (end[:, 1] < middle)
    (s0, y0), (s1, y1) = start[cut].T, end[cut].T
    across = s0 + (s1 - s0) * np.clip((depths[:, None] - y0) / (y1 - y0), 0.0, 1.0)
    bridge = 0.5 * bridge_mm
    if bore_mm is not None:
        across, bridge = (
            0.5 * bore_mm * np.sin(across / (0.5 * bore_mm)),
            0.5 * bore_mm * np.sin(min(bridge_mm / bore_mm, 0.5 * np.pi)),
        )
    counted = np.sign(across) * np.maximum(np.abs(across) - bridge, 0.0)
    widths: FloatArray = np.abs(counted @ np.sign(y1 - y0))
    return widths
