"""The stop line: where to lay the coarse tool down, between a port as it is and as it shall become."""

from dataclasses import replace

from scribeline.marking.port_outline import PortOutline
from scribeline.marking.shapes import Point

STOP_MM = 0.35
"""How far short of the target the coarse tool stops, where the plan says nothing else. Judgement."""


def stop_outline(today: PortOutline, target: PortOutline, short_mm: float = STOP_MM) -> PortOutline | None:
    """The outline that stops short of the target on every edge that is cut, but at most half of the way back.

    A width stops short by that much as a whole, half of it on each side.

    Both outlines are of one port, at the same clock position. Corner radii stand where they leave the same share of
    the cut. None where nothing is cut, and where either has a free outline whose points do not belong together.

    >>> today = PortOutline("exhaust", "exhaust", 0.0, 29.0, 50.0, 33.0, 7.0, 6.0)
    >>> stop = stop_outline(today, replace(today, roof_depth_mm=28.0, width_arc_mm=34.0))
    >>> (stop.roof_depth_mm, stop.floor_depth_mm, round(stop.width_arc_mm, 6)) if stop else None
    (28.35, 50.0, 33.65)
    """
    if today.outline_mm or target.outline_mm:
        return _free(today, target, short_mm)
    edges = (
        today.roof_depth_mm - target.roof_depth_mm,
        target.floor_depth_mm - today.floor_depth_mm,
        target.width_arc_mm - today.width_arc_mm,
    )
    corners = (
        today.roof_corner_radius_mm - target.roof_corner_radius_mm,
        today.floor_corner_radius_mm - target.floor_corner_radius_mm,
    )
    if max(*edges, *corners) <= 1e-6:
        return None
    roof, floor, width = (min(short_mm, 0.5 * cut) if cut > 0 else 0.0 for cut in edges)
    left = max((short / cut for short, cut in zip((roof, floor, width), edges, strict=True) if cut > 0), default=0.5)

    def between(before: float, after: float) -> float:
        return after + left * (before - after)

    return replace(
        target,
        roof_depth_mm=target.roof_depth_mm + roof,
        floor_depth_mm=target.floor_depth_mm - floor,
        width_arc_mm=target.width_arc_mm - width,
        roof_corner_radius_mm=between(today.roof_corner_radius_mm, target.roof_corner_radius_mm),
        floor_corner_radius_mm=between(today.floor_corner_radius_mm, target.floor_corner_radius_mm),
    )


def _free(today: PortOutline, target: PortOutline, short_mm: float) -> PortOutline | None:
    """The target shrunk by the stop, together with what is open already."""
    from shapely.geometry import Polygon

    if not (today.outline_mm and target.outline_mm):
        return None
    before, after = Polygon(today.outline_mm), Polygon(target.outline_mm)
    if after.difference(before).area < 1e-3:
        return None
    stop = after.buffer(-short_mm, join_style="mitre").union(before.intersection(after))
    if stop.geom_type != "Polygon":
        return None
    points: tuple[Point, ...] = tuple((float(x), float(y)) for x, y in stop.exterior.coords[:-1])
    return replace(target, outline_mm=points)
