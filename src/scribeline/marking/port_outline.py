"""A port as it meets the bore wall, unrolled: what a view must know of it, and its closed outlines."""

from dataclasses import dataclass
from typing import Literal

from scribeline.marking.shapes import Point, Polyline, polygon, rounded_rectangle

PortKind = Literal["exhaust", "transfer", "intake"]


@dataclass(frozen=True)
class PortOutline:
    """One port, or a mirror-image pair, on the bore wall.

    clock_deg : middle of the port, exhaust side = 0, clockwise seen from above; a mirrored one is also at -clock_deg
    roof_depth_mm, floor_depth_mm : from the deck, at the middle
    width_arc_mm : widest, along the bore wall; with the corner radii it gives the outline, unless there is
    outline_mm : a free outline, points (across from the middle clockwise, depth from the deck)
    bridge_mm : width of an upright bar down the middle, 0 for none
    opens_deg_atdc : when it begins to open, crank degrees after top dead centre; None where nothing opens it
    """

    name: str
    kind: PortKind
    clock_deg: float
    roof_depth_mm: float
    floor_depth_mm: float
    width_arc_mm: float
    roof_corner_radius_mm: float = 0.0
    floor_corner_radius_mm: float = 0.0
    outline_mm: tuple[Point, ...] = ()
    bridge_mm: float = 0.0
    mirrored: bool = False
    opens_deg_atdc: float | None = None

    def placed(self) -> list["Placed"]:
        """The port at its clock position, and its mirror image where it has one."""
        other = -self.clock_deg % 360.0
        images = [Placed(self, self.clock_deg % 360.0, mirror=False)]
        if self.mirrored and other != self.clock_deg % 360.0:
            images.append(Placed(self, other, mirror=True))
        return images


@dataclass(frozen=True)
class Placed:
    """One opening in the wall: a port, or the mirror image of one."""

    port: PortOutline
    clock_deg: float
    mirror: bool

    @property
    def reach_mm(self) -> tuple[float, float]:
        """How far it goes from its middle anticlockwise (negative) and clockwise, along the wall."""
        if not self.port.outline_mm:
            return -0.5 * self.port.width_arc_mm, 0.5 * self.port.width_arc_mm
        across = [point[0] for point in self._free()]
        return min(across), max(across)

    def loops(self, x_mm: float) -> list[Polyline]:
        """Closed outlines with the middle at x and the deck at y = 0: one, or one on each side of a bridge."""
        port = self.port
        half = 0.5 * port.bridge_mm
        if port.outline_mm:
            sides = [self._free()] if half <= 0 else [beside(self._free(), -half), beside(self._free(), half)]
            return [polygon(*((x_mm + across, y) for across, y in side)) for side in sides if side]
        low, high = x_mm - 0.5 * port.width_arc_mm, x_mm + 0.5 * port.width_arc_mm
        floor, roof = -port.floor_depth_mm, -port.roof_depth_mm
        r, f = port.roof_corner_radius_mm, port.floor_corner_radius_mm
        if half <= 0:
            return [rounded_rectangle(low, floor, high, roof, (f, f, r, r))]
        return [
            rounded_rectangle(low, floor, x_mm - half, roof, (f, 0, 0, r)),
            rounded_rectangle(x_mm + half, floor, high, roof, (0, f, r, 0)),
        ]

    def _free(self) -> list[Point]:
        way = -1.0 if self.mirror else 1.0
        return [(way * across, -depth) for across, depth in self.port.outline_mm]


def beside(loop: list[Point], x_mm: float) -> list[Point]:
    """The part of a closed outline beyond an upright line, on the side away from x = 0 (Sutherland and Hodgman).

    >>> beside([(-2.0, 0.0), (2.0, 0.0), (2.0, 1.0), (-2.0, 1.0)], 1.5)
    [(1.5, 0.0), (2.0, 0.0), (2.0, 1.0), (1.5, 1.0)]
    """
    away = 1.0 if x_mm > 0 else -1.0
    kept: list[Point] = []
    for (x0, y0), (x1, y1) in zip(loop, loop[1:] + loop[:1], strict=True):
        inside0, inside1 = away * (x0 - x_mm) >= 0, away * (x1 - x_mm) >= 0
        if inside0 != inside1:
            crossing = (x_mm, y0 + (x_mm - x0) * (y1 - y0) / (x1 - x0))
        if inside0:
            kept.append((x0, y0))
        if inside0 != inside1:
            kept.append(crossing)
    return kept
