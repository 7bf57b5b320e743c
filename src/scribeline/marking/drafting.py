"""How dimensions, hatches and lettering lie on paper: made of plain lines, with the room they need.

Every writer plays a drawing through `plain`, so that a dimension looks the same in all of them. No file format here.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from scribeline.marking.shapes import (
    Circle,
    Dimension,
    Drawing,
    Group,
    Hatch,
    Point,
    Polyline,
    Shape,
    Text,
    line,
    polygon,
)

ARROW_MM = 2.2
EXTENSION_GAP_MM = 0.7
EXTENSION_OVER_MM = 1.2

CAPITALS_PER_EM = 0.72
"""Height of the capitals over the size of the type, as in most plain sans-serif faces."""

# Widths in ems, rounded up from DejaVu Sans, the widest of the common plain faces, so that lettering in any of them
# stays inside its box.
_WIDTHS = {
    **dict.fromkeys("ijl'", 0.28),
    **dict.fromkeys(" .,:;I|/\\", 0.34),
    **dict.fromkeys("fr()[]-t!", 0.42),
    **dict.fromkeys("+=<>±×÷¬−#^~&ŉħ", 0.84),
    **dict.fromkeys("mMwWŵŴ%@—→©®¼½¾ÆæŒœĦ", 1.07),
}
_CAPITAL_WIDTH = 0.79
_OTHER_WIDTH = 0.64
BOLD_WIDTH = 1.15
"""How much wider bold lettering runs, measured on DejaVu Sans and rounded up."""
_FOREIGN_WIDTH = 1.3  # scripts whose letters may fill the whole em, and pictures

CUSTOMARY_SCALES = {
    20.0: "twenty times full size (20:1)",
    10.0: "ten times full size (10:1)",
    5.0: "five times full size (5:1)",
    2.0: "twice full size (2:1)",
    1.0: "full size (1:1)",
    0.5: "half full size (1:2)",
    0.2: "one fifth of full size (1:5)",
    0.1: "one tenth of full size (1:10)",
    0.05: "one twentieth of full size (1:20)",
}


@dataclass(frozen=True)
class Box:
    """An upright rectangle on paper, mm."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.top - self.bottom

    def overlaps(self, other: "Box") -> bool:
        """Whether the two share more than an edge."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.bottom < other.top
            and other.bottom < self.top
        )  # fmt: skip


def customary_scale(real_mm: float, paper_mm: float, largest: float = 1.0) -> float:
    """The largest customary drawing scale, not above `largest`, at which a real length fits on the paper.

    Common practice, no source: steps of 1, 2, 5 and 10. Longer than twenty times the paper: 1:20 all the same.

    >>> customary_scale(1040.0, 220.0)
    0.2
    """
    fitting = [scale for scale in CUSTOMARY_SCALES if scale <= largest and scale * real_mm <= paper_mm]
    return max(fitting, default=min(CUSTOMARY_SCALES))


def scale_words(scale: float) -> str:
    """A customary scale in words, such as "half full size (1:2)"."""
    return CUSTOMARY_SCALES[scale]


def text_width_mm(words: str, height_mm: float) -> float:
    """Room that one line of lettering takes, mm: never less than a plain sans-serif face needs.

    >>> round(text_width_mm("29.1 mm", 2.0), 2)
    13.17
    """
    return sum(map(_width_em, words)) * height_mm / CAPITALS_PER_EM


def _width_em(letter: str) -> float:
    if letter in _WIDTHS:
        return _WIDTHS[letter]
    if letter > "\u017f":
        return _FOREIGN_WIDTH
    return _CAPITAL_WIDTH if letter.isupper() else _OTHER_WIDTH


def text_box(text: Text) -> Box:
    """The room a line of lettering takes, with its descenders."""
    width = text_width_mm(text.words, text.height_mm) * (BOLD_WIDTH if text.bold else 1.0)
    left = {"start": 0.0, "middle": -0.5, "end": -1.0}[text.anchor] * width
    low, high = -0.3 * text.height_mm, 1.05 * text.height_mm
    turn = math.radians(text.turned_deg)
    corners = [
        (
            text.at[0] + x * math.cos(turn) - y * math.sin(turn),
            text.at[1] + x * math.sin(turn) + y * math.cos(turn),
        )
        for x in (left, left + width)
        for y in (low, high)
    ]
    return _box_of(corners)


def fitted(text: Text, width_mm: float) -> Text:
    """The text in letters small enough for a width.

    >>> fitted(Text((0.0, 0.0), "29.1 mm", 4.0), 13.17).height_mm < 2.01
    True
    """
    box = text_box(replace(text, turned_deg=0.0))
    return text if box.width <= width_mm else replace(text, height_mm=text.height_mm * width_mm / box.width)


def flattened(polyline: Polyline, step_deg: float = 5.0) -> list[Point]:
    """The corners of a polyline with its round edges as short chords; a closed one does not repeat its first point."""
    points = [polyline.points[0]]
    for start, end, bulged in polyline.edges():
        if bulged:
            centre, radius, from_deg, turn_deg = edge_circle(start, end, bulged)
            count = max(1, math.ceil(abs(turn_deg) / step_deg))
            for i in range(1, count):
                angle = math.radians(from_deg + turn_deg * i / count)
                points.append((centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)))
        points.append(end)
    return points[:-1] if polyline.closed else points


def edge_circle(start: Point, end: Point, bulged: float) -> tuple[Point, float, float, float]:
    """Centre, radius, angle of the start and turn (degrees, positive counter-clockwise) of a round edge."""
    chord = math.dist(start, end)
    radius = chord * (1 + bulged**2) / (4 * abs(bulged))
    to_centre = (1 - bulged**2) / (4 * bulged)  # in chords, to the left of the way from start to end
    dx, dy = end[0] - start[0], end[1] - start[1]
    centre = (
        0.5 * (start[0] + end[0]) - to_centre * dy,
        0.5 * (start[1] + end[1]) + to_centre * dx,
    )
    from_deg = math.degrees(math.atan2(start[1] - centre[1], start[0] - centre[0]))
    return centre, radius, from_deg, 4 * math.degrees(math.atan(bulged))


def simplified(points: Sequence[Point], tolerance_mm: float) -> list[Point]:
    """The fewest of the points whose straight connection stays within a tolerance (Ramer, Douglas and Peucker).

    >>> simplified([(0.0, 0.0), (1.0, 0.01), (2.0, 0.0), (3.0, 1.0)], 0.02)
    [(0.0, 0.0), (2.0, 0.0), (3.0, 1.0)]
    """
    kept = {0, len(points) - 1}
    stretches = [(0, len(points) - 1)]
    while stretches:
        first, last = stretches.pop()
        far, farthest = tolerance_mm, first
        for i in range(first + 1, last):
            away = _distance(points[i], points[first], points[last])
            if away > far:
                far, farthest = away, i
        if farthest > first:
            kept.add(farthest)
            stretches += [(first, farthest), (farthest, last)]
    return [points[i] for i in sorted(kept)]


def _distance(point: Point, start: Point, end: Point) -> float:
    """From a point to the nearest point of a straight line between two ends."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    x, y = point[0] - start[0], point[1] - start[1]
    square = dx * dx + dy * dy
    share = min(max((x * dx + y * dy) / square, 0.0), 1.0) if square else 0.0
    return math.hypot(x - share * dx, y - share * dy)


def hatch_lines(hatch: Hatch) -> list[tuple[Point, Point]]:
    """The lines of a hatch, cut off at its loops (even-odd rule). Neighbouring hatches of equal angle line up."""
    turn = math.radians(hatch.angle_deg)
    along, across = (math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn))
    edges = []
    for loop in hatch.loops:
        turned = [(x * along[0] + y * along[1], x * across[0] + y * across[1]) for x, y in flattened(loop)]
        edges += list(zip(turned, turned[1:] + turned[:1], strict=True))
    heights = [v for edge in edges for _, v in edge]
    lines = []
    for i in range(math.ceil(min(heights) / hatch.spacing_mm), math.floor(max(heights) / hatch.spacing_mm) + 1):
        v = i * hatch.spacing_mm
        crossings = sorted(
            a[0] + (v - a[1]) * (b[0] - a[0]) / (b[1] - a[1]) for a, b in edges if (a[1] <= v) != (b[1] <= v)
        )
        for u0, u1 in zip(crossings[::2], crossings[1::2], strict=True):
            ends = [(u * along[0] + v * across[0], u * along[1] + v * across[1]) for u in (u0, u1)]
            lines.append((ends[0], ends[1]))
    return lines


def arrow(tip: Point, direction_deg: float, size_mm: float = ARROW_MM) -> Polyline:
    """A slender arrow head whose tip points in a direction; filled by whoever draws it."""
    angle = math.radians(direction_deg)
    back = (tip[0] - size_mm * math.cos(angle), tip[1] - size_mm * math.sin(angle))
    side = (-math.sin(angle) * size_mm / 7, math.cos(angle) * size_mm / 7)
    return polygon(tip, (back[0] + side[0], back[1] + side[1]), (back[0] - side[0], back[1] - side[1]))


@dataclass(frozen=True)
class DimensionParts:
    """A dimension in plain shapes: thin lines, arrow heads to be filled, and its words."""

    lines: tuple[Polyline, ...]
    arrows: tuple[Polyline, ...]
    words: tuple[Text, ...]


def dimension_parts(dimension: Dimension) -> DimensionParts:
    """A dimension made of lines, arrow heads and lettering; see `Dimension` for where they go."""
    (x0, y0), (x1, y1) = dimension.start, dimension.end
    length = math.dist(dimension.start, dimension.end)
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    nx, ny = -uy, ux
    offset, height = dimension.offset_mm, dimension.height_mm

    def at(along_mm: float, beside_mm: float) -> Point:
        return x0 + along_mm * ux + beside_mm * nx, y0 + along_mm * uy + beside_mm * ny

    way = 1.0 if offset >= 0 else -1.0
    lines = []
    if abs(offset) > EXTENSION_GAP_MM:
        reach = offset + way * EXTENSION_OVER_MM
        lines = [line(at(s, way * EXTENSION_GAP_MM), at(s, reach)) for s in (0.0, length)]

    width = text_width_mm(dimension.words, height)
    # The room along the dimension line: the words' length, or their height where they stand upright beside it.
    room = (width if dimension.along or abs(uy) < 0.5 else 0.0) + 2.5 * ARROW_MM
    outside = length < room if dimension.outside is None else dimension.outside
    direction = math.degrees(math.atan2(uy, ux))
    tail = 2 * ARROW_MM
    if outside:
        arrows = (arrow(at(0, offset), direction), arrow(at(length, offset), direction + 180))
        lines += [line(at(-tail, offset), at(0, offset)), line(at(length, offset), at(length + tail, offset))]
    else:
        arrows = (arrow(at(0, offset), direction + 180), arrow(at(length, offset), direction))
        lines.append(line(at(0, offset), at(length, offset)))

    readable = 90.0 - (90.0 - direction) % 180.0  # in (-90, 90]
    if dimension.along or abs(uy) < 0.5:
        # The words stand on the side of the line that is up for the reader.
        up = 1.0 if abs(readable - direction) < 90.0 else -1.0
        middle = length + tail + 0.6 + 0.5 * width if outside else 0.5 * length
        beside = offset - up * 0.5 * height if outside else offset + up * 0.45 * height
        words = Text(at(middle, beside), dimension.words, height, "middle", readable)
    else:
        right = way * nx > 0
        x, y = at(length + tail if outside else 0.5 * length, offset)
        place = x + (0.9 if right else -0.9), y - 0.5 * height
        words = Text(place, dimension.words, height, "start" if right else "end")
    return DimensionParts(tuple(lines), arrows, (words,))


def plain(shape: Shape) -> Iterator[Polyline | Circle | Text]:
    """A shape as polylines, circles and lettering only."""
    if isinstance(shape, Dimension):
        parts = dimension_parts(shape)
        yield from parts.lines
        yield from parts.arrows
        yield from parts.words
    elif isinstance(shape, Hatch):
        yield from (Polyline(ends) for ends in hatch_lines(shape))
    else:
        yield shape


def texts(drawing: Drawing) -> list[Text]:
    """All lettering of a drawing, that of its dimensions too."""
    shapes = (one for group in drawing.groups for shape in group.shapes for one in plain(shape))
    return [one for one in shapes if isinstance(one, Text)]


def bounds(groups: Iterable[Group]) -> Box:
    """The upright rectangle round everything in the groups."""
    shapes = (one for group in groups for shape in group.shapes for one in plain(shape))
    return _box_of([corner for one in shapes for corner in _corners(one)])


def extent(drawing: Drawing) -> Box:
    """The paper a drawing takes: everything that is drawn, and its margin."""
    box, margin = bounds(drawing.groups), drawing.margin_mm
    return Box(box.left - margin, box.bottom - margin, box.right + margin, box.top + margin)


def _corners(one: Polyline | Circle | Text) -> list[Point]:
    if isinstance(one, Polyline):
        return flattened(one)
    if isinstance(one, Circle):
        (x, y), r = one.centre, one.radius_mm
        return [(x - r, y - r), (x + r, y + r)]
    box = text_box(one)
    return [(box.left, box.bottom), (box.right, box.top)]


def _box_of(points: Iterable[Point]) -> Box:
    xs, ys = zip(*points, strict=True)
    return Box(min(xs), min(ys), max(xs), max(ys))
