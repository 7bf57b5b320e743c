"""Port windows: how much of one is open above or below an edge, and how wide it is there.

A window is measured in the bore's surface unrolled flat: across from the middle of the port, down from its roof. It
counts unrolled, along the bore, or, where it is given a bore, projected: as it is seen straight on, a strip from
across = a to b then counting R (sin(b/R) - sin(a/R)) with R = bore/2. A bridge is a bar of constant width down the
middle, `bridge_mm` measured like the outline. Source of everything here: geometry.

Two kinds: `RoundedWindow`, whose lengths may be arrays (one window per variant), and `OutlineWindow`, any outline that
does not cross itself, made by `scribeline.geometry.outline`. Crank angles do not live here (see `time_area`).
"""

from dataclasses import dataclass
from functools import partial

import numpy as np
import numpy.typing as npt

from scribeline.errors import GeometryError
from scribeline.geometry.broadcast import DEG, MM, MM2, FloatArray, over
from scribeline.kernels import window as kernel

_ROUNDING = 1e-12  # 0.1 + 0.2 mm must fit into 0.3 mm


@dataclass(frozen=True, eq=False)
class RoundedWindow:
    """A rectangle with rounded corners. Every length is a number or an array; together they broadcast.

    width_mm, height_mm : > 0, along the bore's surface and down
    roof_radius_mm, floor_radius_mm : of the two upper and the two lower corners, >= 0; the corners must fit:
        2 radius <= width, roof radius + floor radius <= height
    bridge_mm : >= 0, width of a bar down the middle; wider than the window it leaves nothing open
    bore_mm : the bore on which the window is projected; None counts it unrolled. The window must not reach
        further than a quarter of the way round to either side: width <= pi/2 bore

    Raises GeometryError for lengths outside these ranges; `fitting` cuts them down instead.

    >>> float(whole_area_mm2(RoundedWindow(30.0, 12.0)))
    360.0
    """

    width_mm: npt.ArrayLike
    height_mm: npt.ArrayLike
    roof_radius_mm: npt.ArrayLike = 0.0
    floor_radius_mm: npt.ArrayLike = 0.0
    bridge_mm: npt.ArrayLike = 0.0
    bore_mm: npt.ArrayLike | None = None

    def __post_init__(self) -> None:
        width, height, roof, floor, bridge = self._lengths()
        _need(width > 0.0, "width", width, "above 0 mm", "measure it again")
        _need(height > 0.0, "height", height, "above 0 mm", "check that the floor lies under the roof")
        for name, radius in (("roof", roof), ("floor", floor)):
            fits = (radius >= 0.0) & (2.0 * radius <= width * (1.0 + _ROUNDING))
            _need(fits, f"{name} corner radius", radius, "0 to half the width", "use half the width at most")
        both = roof + floor
        _need(
            both <= height * (1.0 + _ROUNDING),
            "roof plus floor corner radius",
            both,
            "up to the height",
            "make the corners fit",
        )
        _need(bridge >= 0.0, "bridge", bridge, "0 mm or more", "leave it out where there is none")
        if self.bore_mm is not None:
            bore = np.asarray(self.bore_mm, dtype=np.float64)
            reach = "up to pi/2 times the bore"
            _need(width <= 0.5 * np.pi * bore * (1.0 + _ROUNDING), "width", width, reach, "count a wider window as two")

    @classmethod
    def fitting(
        cls,
        width_mm: npt.ArrayLike,
        height_mm: npt.ArrayLike,
        roof_radius_mm: npt.ArrayLike = 0.0,
        floor_radius_mm: npt.ArrayLike = 0.0,
        bridge_mm: npt.ArrayLike = 0.0,
        bore_mm: npt.ArrayLike | None = None,
    ) -> "RoundedWindow":
        """Return a window whose lengths are cut down, where they must be, until they fit.

        For random draws around a window that does fit: a window with fully round ends would be refused in half of
        its draws. Both radii shrink by one factor; negative lengths become 0 (width and height: a nanometre).

        >>> float(RoundedWindow.fitting(30.0, 12.0, 8.0, 8.0).roof_radius_mm)
        6.0
        """
        width, height, roof, floor, bridge = (
            np.maximum(np.asarray(length, dtype=np.float64), least)
            for length, least in (
                (width_mm, 1e-6),
                (height_mm, 1e-6),
                (roof_radius_mm, 0.0),
                (floor_radius_mm, 0.0),
                (bridge_mm, 0.0),
            )
        )
        if bore_mm is not None:
            width = np.minimum(width, 0.5 * np.pi * np.asarray(bore_mm, dtype=np.float64))
        too_high = (roof + floor) / height
        too_wide = 2.0 * np.maximum(roof, floor) / width
        excess = np.maximum(np.maximum(too_high, too_wide), 1.0)
        return cls(width, height, roof / excess, floor / excess, bridge, bore_mm)

    def _lengths(self) -> tuple[FloatArray, ...]:
        lengths = (self.width_mm, self.height_mm, self.roof_radius_mm, self.floor_radius_mm, self.bridge_mm)
        return tuple(np.asarray(length, dtype=np.float64) for length in lengths)

    def in_metres(self) -> tuple[FloatArray, ...]:
        """Return width, height, roof radius, floor radius and bridge in m, and the curvature 2/bore in 1/m."""
        curved = 0.0 if self.bore_mm is None else 2.0 / (np.asarray(self.bore_mm, dtype=np.float64) * MM)
        return (*(length * MM for length in self._lengths()), np.asarray(curved))


@dataclass(frozen=True, eq=False)
class OutlineWindow:
    """A window of any outline, as the table its kernel reads; made by `scribeline.geometry.outline`.

    outline_mm : shape (points, 2), across and down as they were given
    roof_mm, height_mm : the down coordinate of its highest point, and from there to its lowest
    knots_m, area_m2 : shape (n + 1,), heights under the roof, and the area above each
    top_m, bottom_m : shape (n,), the widths just under and just over the knots
    """

    outline_mm: FloatArray
    bridge_mm: float
    bore_mm: float | None
    roof_mm: float
    height_mm: float
    knots_m: FloatArray
    area_m2: FloatArray
    top_m: FloatArray
    bottom_m: FloatArray

    def table(self) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Return what the kernels of an outline take: knots, areas, widths at the top and bottom of each slab."""
        return self.knots_m, self.area_m2, self.top_m, self.bottom_m


Window = RoundedWindow | OutlineWindow


def area_below_roof_mm2(window: Window, uncovered_mm: npt.ArrayLike) -> FloatArray:
    """Return the open area, mm^2, from the roof down to a height: what the crown has uncovered.

    Exact to rounding for a rounded rectangle; for an outline see `outline.outline_window`.

    uncovered_mm : height under the roof, mm; above the roof 0 and below the floor the whole area is returned.
        Broadcasts against the lengths of the window.

    >>> round(float(area_below_roof_mm2(RoundedWindow(34.0, 14.2, 5.0, 4.0), 5.0)), 6)
    159.269908
    """
    height = np.asarray(uncovered_mm, dtype=np.float64) * MM
    if isinstance(window, OutlineWindow):
        return over(partial(kernel.table_area, *window.table()), height) / MM2
    return over(kernel.area_below_roof, height, *window.in_metres()) / MM2


def area_above_floor_mm2(window: Window, covered_mm: npt.ArrayLike) -> FloatArray:
    """Return the open area, mm^2, from a height down to the floor: what the skirt's edge has uncovered.

    covered_mm : height under the roof, mm, of the skirt's edge; otherwise as `area_below_roof_mm2`

    >>> round(float(area_above_floor_mm2(RoundedWindow(34.0, 14.2, 5.0, 4.0), 5.0)), 6)
    305.932741
    """
    if isinstance(window, OutlineWindow):
        rest: FloatArray = np.maximum(whole_area_mm2(window) - area_below_roof_mm2(window, covered_mm), 0.0)
        return rest
    width, height, roof, floor, bridge, curvature = window.in_metres()
    edge = np.asarray(covered_mm, dtype=np.float64) * MM
    return over(kernel.area_below_roof, height - edge, width, height, floor, roof, bridge, curvature) / MM2


def whole_area_mm2(window: Window) -> FloatArray:
    """Return the area of the whole window, mm^2; one number for each variant.

    >>> round(float(whole_area_mm2(RoundedWindow(34.0, 14.2, 5.0, 4.0))), 6)
    465.202649
    """
    return area_below_roof_mm2(window, np.inf)


def width_mm(window: Window, from_roof_mm: npt.ArrayLike) -> FloatArray:
    """Return the counted width, mm, at a height under the roof: the derivative of `area_below_roof_mm2`.

    from_roof_mm : mm; outside the window the width is 0. Broadcasts against the lengths of the window.

    >>> round(float(width_mm(RoundedWindow(34.0, 14.2, 5.0, 4.0), 1.0)), 6)
    30.0
    """
    height = np.asarray(from_roof_mm, dtype=np.float64) * MM
    if isinstance(window, OutlineWindow):
        return over(partial(kernel.table_width, *window.table()), height) / MM
    return over(kernel.width, height, *window.in_metres()) / MM


def perimeter_mm(window: RoundedWindow) -> FloatArray:
    """Return the length of a rounded rectangle's edge along the bore's surface, mm, its bridge left aside.

    2 (width + height) - (4 - pi)(roof radius + floor radius).

    >>> round(float(perimeter_mm(RoundedWindow(36.0, 14.0, 4.0, 4.0))), 6)
    93.132741
    """
    width, height, roof, floor = (
        np.asarray(length, dtype=np.float64)
        for length in (window.width_mm, window.height_mm, window.roof_radius_mm, window.floor_radius_mm)
    )
    result: FloatArray = 2.0 * (width + height) - (4.0 - np.pi) * (roof + floor)
    return result


def arc_from_chord_mm(chord_mm: npt.ArrayLike, bore_mm: npt.ArrayLike) -> FloatArray:
    """Return the width along the bore's surface, mm, of a chord measured straight across: B asin(c/B).

    chord_mm : 0..bore; outside nan

    >>> round(float(arc_from_chord_mm(32.9, 47.0)), 6)
    36.443682
    """
    bore = np.asarray(bore_mm, dtype=np.float64)
    return bore * _half_angle_rad(chord_mm, bore)


def chord_from_arc_mm(arc_mm: npt.ArrayLike, bore_mm: npt.ArrayLike) -> FloatArray:
    """Return the straight caliper width, mm, of a width along the bore's surface: B sin(a/B).

    arc_mm : 0..pi bore, the whole way round; a chord of more than half the way round gets shorter again. Outside nan.

    >>> round(float(chord_from_arc_mm(34.0, 47.0)), 6)
    31.111189
    """
    arc, bore = np.asarray(arc_mm, dtype=np.float64), np.asarray(bore_mm, dtype=np.float64)
    inside = (arc >= 0.0) & (arc <= np.pi * bore)
    result: FloatArray = np.where(inside, bore * np.sin(arc / bore), np.nan)[()]
    return result


def included_angle_deg(chord_mm: npt.ArrayLike, bore_mm: npt.ArrayLike) -> FloatArray:
    """Return the angle, deg, that a chord spans seen from the bore's axis: 2 asin(c/B); 0..bore, outside nan.

    >>> round(float(included_angle_deg(32.9, 47.0)), 6)
    88.854008
    """
    return 2.0 * _half_angle_rad(chord_mm, np.asarray(bore_mm, dtype=np.float64)) / DEG


def sagitta_mm(chord_mm: npt.ArrayLike, bore_mm: npt.ArrayLike) -> FloatArray:
    """Return how far the bore's wall stands behind the middle of a chord, mm: R - sqrt(R^2 - c^2/4).

    chord_mm : 0..bore; outside nan

    >>> round(float(sagitta_mm(32.9, 47.0)), 6)
    6.717643
    """
    bore = np.asarray(bore_mm, dtype=np.float64)
    sagitta: FloatArray = bore * np.sin(0.5 * _half_angle_rad(chord_mm, bore)) ** 2
    return sagitta


def _half_angle_rad(chord_mm: npt.ArrayLike, bore: FloatArray) -> FloatArray:
    share = np.asarray(chord_mm, dtype=np.float64) / bore
    result: FloatArray = np.arcsin(np.where((share >= 0.0) & (share <= 1.0), share, np.nan))[()]
    return result


def _need(holds: npt.NDArray[np.bool_], name: str, value: FloatArray, accepted: str, remedy: str) -> None:
    if not np.all(holds):
        first = np.broadcast_to(value, np.shape(holds))[~holds].flat[0]
        raise GeometryError(f"port window: {name} {first:g} mm; accepted: {accepted}; {remedy}")
