"""Shapes moved on the paper, drawn larger or smaller, or seen from the other side."""

from collections.abc import Iterable
from dataclasses import replace

from scribeline.marking.drafting import flattened
from scribeline.marking.shapes import Anchor, Circle, Dimension, Group, Hatch, Point, Polyline, Shape, Text

_OTHER: dict[Anchor, Anchor] = {"start": "end", "middle": "middle", "end": "start"}


def moved(
    groups: Iterable[Group], by: Point = (0.0, 0.0), *, scale: float = 1.0, mirrored: bool = False
) -> tuple[Group, ...]:
    """Groups drawn `scale` times as large about the origin, mirrored left for right where asked, then moved.

    Lettering grows with the rest but stays readable when mirrored. Pens keep their width.

    >>> from scribeline.marking.shapes import group, line
    >>> moved((group("outline", line((1, 2), (3, 4))),), (10, 0), scale=2.0, mirrored=True)[0].shapes[0].points
    ((8.0, 4.0), (4.0, 8.0))
    """
    way = -scale if mirrored else scale

    def at(point: Point) -> Point:
        return by[0] + way * point[0], by[1] + scale * point[1]

    def loop(polyline: Polyline) -> Polyline:
        bulges = tuple(-one for one in polyline.bulges) if mirrored else polyline.bulges
        return Polyline(tuple(map(at, polyline.points)), bulges, polyline.closed)

    def shape(one: Shape) -> Shape:
        if isinstance(one, Polyline):
            return loop(one)
        if isinstance(one, Circle):
            return Circle(at(one.centre), scale * one.radius_mm)
        if isinstance(one, Text):
            anchor = _OTHER[one.anchor] if mirrored else one.anchor
            turned = -one.turned_deg if mirrored else one.turned_deg
            return replace(one, at=at(one.at), height_mm=scale * one.height_mm, anchor=anchor, turned_deg=turned)
        if isinstance(one, Dimension):
            offset = -one.offset_mm if mirrored else one.offset_mm
            ends = at(one.start), at(one.end)
            return replace(one, start=ends[0], end=ends[1], offset_mm=scale * offset, height_mm=scale * one.height_mm)
        angle = 180.0 - one.angle_deg if mirrored else one.angle_deg
        return Hatch(tuple(map(loop, one.loops)), scale * one.spacing_mm, angle)

    return tuple(replace(one, shapes=tuple(map(shape, one.shapes))) for one in groups)


_STILL_ROUND = 0.004  # stretched by less than this share, a corner of 8 mm radius is off by less than 0.03 mm


def stretched(polyline: Polyline, share: float, about_x: float) -> Polyline:
    """A polyline stretched across only, about an upright line.

    A round corner becomes part of an ellipse. Where it is stretched by less than 0.4 % it is kept as an arc through
    the stretched ends; otherwise it becomes short chords of 2 degrees.
    """
    if abs(share - 1.0) > _STILL_ROUND:
        polyline = Polyline(tuple(flattened(polyline, 2.0)), closed=polyline.closed)
    points = tuple((about_x + share * (x - about_x), y) for x, y in polyline.points)
    return Polyline(points, polyline.bulges, polyline.closed)
