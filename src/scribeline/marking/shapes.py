"""What a drawing is made of: shapes in millimetres on paper, grouped by what they mean.

A drawing is recorded once and played to any writer. Coordinates are millimetres, x to the right and y UP; angles are
degrees, counter-clockwise from the right. Nothing here knows about a file format, a screen or a printer; how a
dimension or a hatch is made of plain lines stands in `scribeline.marking.drafting`.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Point = tuple[float, float]
Anchor = Literal["start", "middle", "end"]
Ink = Literal["ink", "faint", "accent"]
Fill = Literal["paper", "wash", "accent wash", "ink", "accent"]

Role = Literal[
    "outline",  # edge of a part, or of the thing that is drawn
    "edge",  # an edge further back, or a place a moving part comes to
    "tool",  # an instrument, as opposed to the engine
    "today",  # an outline as it is, where a target is drawn over it
    "stop",  # the line to stop at with the coarse tool, short of the target
    "target",  # the line to work to
    "exhaust",
    "transfer",
    "intake",
    "exhaust curve",
    "transfer curve",
    "intake curve",
    "centre",
    "hatch",
    "dimension",
    "measured",  # the one dimension a drawing is about
    "scale",  # rulers, axes, degree ticks
    "note",  # lettering and its leaders
    "cut",  # an edge to cut a flat part or the sheet itself along
    "mark",  # a line to scratch on a flat part, not to cut
    "bend",  # a line to fold a flat part along
    "check",  # the bars that prove a printed sheet's scale
    "register",  # marks at which neighbouring sheets are laid over each other
    "frame",  # the border and the title block of a sheet
]

Moves = Literal[
    "piston",  # down by the crown's depth below top dead centre
    "rod",  # with the piston, and turned about the gudgeon pin
    "crank",  # turned about the crank's centre, which is the drawing's origin
    "hand",  # the same on a dial
    "angle",  # along a crank-angle axis
    "exhaust area",  # along the axis and up by the open area
    "transfer area",
    "intake area",
]

NOTE_MM = 2.0
"""Height of the capitals of ordinary lettering."""
NAME_MM = 2.5
"""Height of the capitals of names and headings."""


@dataclass(frozen=True)
class Pen:
    """What a role is drawn with. `dashes_mm` alternates line and gap; empty is a full line."""

    width_mm: float
    ink: Ink = "ink"
    dashes_mm: tuple[float, ...] = ()


PENS: Mapping[Role, Pen] = MappingProxyType(
    {
        "outline": Pen(0.45),
        "edge": Pen(0.25, dashes_mm=(4, 1.2)),
        "tool": Pen(0.3),
        "today": Pen(0.25, dashes_mm=(2, 1)),
        "stop": Pen(0.13, dashes_mm=(0.5, 0.7)),
        "target": Pen(0.4, "accent"),
        "exhaust": Pen(0.45, "accent"),
        "transfer": Pen(0.45),
        "intake": Pen(0.45),
        "exhaust curve": Pen(0.6, "accent"),
        "transfer curve": Pen(0.5, dashes_mm=(3, 1.2)),
        "intake curve": Pen(0.5, dashes_mm=(5, 1.2, 0.8, 1.2)),
        "centre": Pen(0.18, "faint", (6, 1.2, 1.2, 1.2)),
        "hatch": Pen(0.13, "faint"),
        "dimension": Pen(0.18),
        "measured": Pen(0.25, "accent"),
        "scale": Pen(0.18),
        "note": Pen(0.18),
        "cut": Pen(0.35),
        "mark": Pen(0.18),
        "bend": Pen(0.25, dashes_mm=(5, 1.2, 0.8, 1.2, 0.8, 1.2)),
        "check": Pen(0.13),
        "register": Pen(0.18),
        "frame": Pen(0.25),
    }
)


@dataclass(frozen=True)
class Polyline:
    """Straight and round edges from point to point.

    points : the corners, mm
    bulges : one per edge, tan(a/4) for an edge that turns through the angle a, positive counter-clockwise; 0 or
        left out for a straight edge
    closed : whether an edge leads from the last point back to the first
    """

    points: tuple[Point, ...]
    bulges: tuple[float, ...] = ()
    closed: bool = False

    def edges(self) -> list[tuple[Point, Point, float]]:
        """Every edge as (start, end, bulge)."""
        ends = self.points[1:] + (self.points[:1] if self.closed else ())
        bulges = self.bulges or (0.0,) * len(ends)
        return list(zip(self.points, ends, bulges, strict=False))


@dataclass(frozen=True)
class Circle:
    """A full circle."""

    centre: Point
    radius_mm: float


@dataclass(frozen=True)
class Text:
    """One line of lettering; `at` is on its base line, `height_mm` the height of its capitals."""

    at: Point
    words: str
    height_mm: float = NOTE_MM
    anchor: Anchor = "start"
    turned_deg: float = 0.0
    bold: bool = False


@dataclass(frozen=True)
class Dimension:
    """The distance from `start` to `end`, with its words.

    offset_mm : how far the dimension line lies to the left of the way from start to end; extension lines reach there
    outside : the arrows stand outside, pointing in, with the words beyond the end; None: where there is no room inside
    along : the words stand along the dimension line; otherwise upright beside its middle
    """

    start: Point
    end: Point
    words: str
    offset_mm: float = 0.0
    height_mm: float = NOTE_MM
    outside: bool | None = None
    along: bool = True


@dataclass(frozen=True)
class Hatch:
    """Section lining of what lies inside the loops; a loop inside another is a hole."""

    loops: tuple[Polyline, ...]
    spacing_mm: float = 1.4
    angle_deg: float = 45.0


Shape = Polyline | Circle | Text | Dimension | Hatch


@dataclass(frozen=True)
class Group:
    """Shapes that mean the same and are drawn with the same pen.

    fill : what closed shapes of the group are filled with; None leaves them open
    about : the group in words, for those who cannot see it
    moves : what of the engine the group goes with where a page turns the crank; it is drawn at top dead centre
    window : (left, bottom, right, top) that the moving group is seen through on a page
    """

    role: Role
    shapes: tuple[Shape, ...]
    fill: Fill | None = None
    about: str = ""
    moves: Moves | None = None
    window: tuple[float, float, float, float] | None = None


@dataclass(frozen=True)
class Drawing:
    """A drawing, later groups over earlier ones.

    name : lower-case letters, digits and hyphens; different for each drawing on a page
    title, description : the drawing in words, for those who cannot see it
    scale : millimetres drawn per millimetre of the real thing; 1 is full size
    """

    name: str
    title: str
    description: str
    groups: tuple[Group, ...]
    scale: float = 1.0
    margin_mm: float = 4.0


def group(role: Role, *shapes: Shape, fill: Fill | None = None, about: str = "", moves: Moves | None = None) -> Group:
    """Shapes as a group, in the order in which they are written down."""
    return Group(role, shapes, fill, about, moves)


def line(start: Point, end: Point) -> Polyline:
    """A straight line."""
    return Polyline((start, end))


def path(*points: Point) -> Polyline:
    """Straight lines from point to point, left open."""
    return Polyline(points)


def polygon(*points: Point) -> Polyline:
    """Straight lines from point to point and back to the first."""
    return Polyline(points, closed=True)


def rectangle(left: float, bottom: float, right: float, top: float) -> Polyline:
    """An upright rectangle, counter-clockwise from its lower left corner."""
    return polygon((left, bottom), (right, bottom), (right, top), (left, top))


def rounded_rectangle(
    left: float, bottom: float, right: float, top: float, radii_mm: tuple[float, float, float, float]
) -> Polyline:
    """An upright rectangle with round corners; radii counter-clockwise from the lower left corner, 0 for a sharp one.

    >>> len(rounded_rectangle(0.0, 0.0, 30.0, 20.0, (6.0, 6.0, 0.0, 0.0)).points)
    6
    """
    corners = ((left, bottom), (right, bottom), (right, top), (left, top))
    ways = ((1, 0), (0, 1), (-1, 0), (0, -1))
    points: list[Point] = []
    bulges: list[float] = []
    for i, ((x, y), radius) in enumerate(zip(corners, radii_mm, strict=True)):
        if radius > 0:
            (before_x, before_y), (after_x, after_y) = ways[i - 1], ways[i]
            points += [(x - before_x * radius, y - before_y * radius), (x + after_x * radius, y + after_y * radius)]
            bulges += [bulge(90.0), 0.0]
        else:
            points.append((x, y))
            bulges.append(0.0)
    return Polyline(tuple(points), tuple(bulges), closed=True)


def polar(centre: Point, radius_mm: float, angle_deg: float) -> Point:
    """The point at a radius and an angle from a centre.

    >>> polar((1.0, 2.0), 3.0, 0.0)
    (4.0, 2.0)
    """
    angle = math.radians(angle_deg)
    return centre[0] + radius_mm * math.cos(angle), centre[1] + radius_mm * math.sin(angle)


def bulge(turn_deg: float) -> float:
    """The bulge of an edge that turns through an angle: tan(turn/4).

    >>> round(bulge(180.0), 12)
    1.0
    """
    return math.tan(math.radians(turn_deg) / 4)


def arc(centre: Point, radius_mm: float, start_deg: float, end_deg: float) -> Polyline:
    """An arc from one angle to another; clockwise where the end is the smaller angle. Less than a full turn."""
    ends = polar(centre, radius_mm, start_deg), polar(centre, radius_mm, end_deg)
    return Polyline(ends, (bulge(end_deg - start_deg),))


def ring_sector(centre: Point, inner_mm: float, outer_mm: float, start_deg: float, end_deg: float) -> Polyline:
    """The part of a ring between two angles, closed."""
    turn = bulge(end_deg - start_deg)
    return Polyline(
        (
            polar(centre, outer_mm, start_deg),
            polar(centre, outer_mm, end_deg),
            polar(centre, inner_mm, end_deg),
            polar(centre, inner_mm, start_deg),
        ),
        (turn, 0.0, -turn, 0.0),
        closed=True,
    )


def joined(*parts: Polyline, closed: bool = False) -> Polyline:
    """Open polylines joined end to end, with a straight edge where one does not begin where the last ended."""
    points: list[Point] = []
    bulges: list[float] = []
    for part in parts:
        edges = part.edges()
        if points and math.dist(points[-1], edges[0][0]) < 1e-9:
            points.pop()
        elif points:
            bulges.append(0.0)
        points += [edge[0] for edge in edges] + [edges[-1][1]]
        bulges += [edge[2] for edge in edges]
    return Polyline(tuple(points), (*bulges, 0.0) if closed else tuple(bulges), closed)


def lettering(
    at: Point, lines: Sequence[str], height_mm: float = NOTE_MM, anchor: Anchor = "start"
) -> tuple[Text, ...]:
    """Several lines of lettering under each other; `at` is on the base line of the first."""
    step = LINE_STEP * height_mm
    return tuple(Text((at[0], at[1] - i * step), words, height_mm, anchor) for i, words in enumerate(lines))


LINE_STEP = 1.75
"""From base line to base line, in heights of the capitals."""
