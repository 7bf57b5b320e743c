"""Measuring instruments as plain outlines, for the drawings that show how a thing is measured. Schematic."""

from scribeline.marking.shapes import (
    Circle,
    Group,
    Point,
    Polyline,
    arc,
    group,
    line,
    polar,
    polygon,
    rectangle,
)


def turned(polyline: Polyline, quarter_turns: int) -> Polyline:
    """A polyline turned about (0, 0) by quarter turns, counter-clockwise."""
    points = polyline.points
    for _ in range(quarter_turns % 4):
        points = tuple((-y, x) for x, y in points)
    return Polyline(points, polyline.bulges, polyline.closed)


def moved(polyline: Polyline, x: float, y: float) -> Polyline:
    """A polyline moved across and up."""
    return Polyline(tuple((px + x, py + y) for px, py in polyline.points), polyline.bulges, polyline.closed)


def caliper(
    at: Point, opening: float, *, reach: float = 14.0, inside: bool = False, quarter_turns: int = 0
) -> list[Group]:
    """A caliper whose jaw faces stand at `at` and, `opening` to the right, at its other jaw; jaws point down.

    inside : jaws that measure a gap from within, their faces outwards
    quarter_turns : the whole instrument turned counter-clockwise about `at`
    """
    jaw = 4.0 if not inside else min(3.0, 0.35 * opening)
    way = 1.0 if inside else -1.0
    fixed = polygon((0, 0), (0, reach), (way * jaw, reach), (way * 0.4 * jaw, 0))
    sliding = polygon((opening, 0), (opening, reach), (opening - way * jaw, reach), (opening - way * 0.4 * jaw, 0))
    beam = rectangle(-6.0, reach, opening + 34.0, reach + 4.0)
    slide = rectangle(opening - 3.0, reach - 1.5, opening + 18.0, reach + 5.5)
    ticks = [line((x, reach), (x, reach + 1.6)) for x in range(0, int(opening) - 3, 2)]
    parts = [fixed, sliding, beam, slide]
    window = rectangle(opening + 1.0, reach + 0.2, opening + 14.0, reach + 3.8)

    def place(some: list[Polyline]) -> list[Polyline]:
        return [moved(turned(one, quarter_turns), *at) for one in some]

    return [
        group("tool", *place(parts), fill="paper", about="caliper"),
        group("scale", *place(ticks)),
        group("scale", *place([window]), fill="wash"),
    ]


def depth_gauge(at: Point, depth: float, *, half_base: float = 16.0) -> list[Group]:
    """A depth gauge or the depth rod of a caliper: base on a face at `at`, rod `depth` below it."""
    x, y = at
    base = rectangle(x - half_base, y, x + half_base, y + 5.0)
    blade = rectangle(x - 1.0, y - depth, x + 1.0, y + 26.0)
    body = rectangle(x - 4.0, y + 5.0, x + 4.0, y + 22.0)
    ticks = [line((x - 4.0, y + up), (x - 2.4, y + up)) for up in range(7, 21, 2)]
    return [
        group("tool", blade, base, body, fill="paper", about="depth gauge"),
        group("scale", *ticks),
    ]


def burette(at: Point, *, tall: float = 40.0, before: float = 34.0, after: float = 16.0) -> list[Group]:
    """A burette with its tip at `at`, and its level before and after, measured up from the tap."""
    x, y = at
    tap = y + 10.0
    tube = rectangle(x - 3.0, tap + 3.0, x + 3.0, tap + tall)
    tip = polygon((x - 0.5, y), (x + 0.5, y), (x + 1.2, tap), (x - 1.2, tap))
    liquid = rectangle(x - 3.0, tap + 3.0, x + 3.0, tap + after)
    ticks = [line((x - 3.0, tap + up), (x - 1.4, tap + up)) for up in range(5, int(tall), 2)]
    return [
        group("tool", tube, tip, fill="paper", about="burette"),
        group("tool", liquid, fill="wash"),
        group(
            "tool", polygon((x - 1.2, tap), (x + 1.2, tap), (x + 3.0, tap + 3.0), (x - 3.0, tap + 3.0)), fill="paper"
        ),
        group("tool", line((x, tap + 1.5), (x + 6.0, tap + 1.5)), Circle((x, tap + 1.5), 1.0), fill="paper"),
        group("edge", line((x - 3.0, tap + before), (x + 3.0, tap + before))),
        group("scale", *ticks),
    ]


def degree_wheel(at: Point, radius: float) -> list[Group]:
    """A degree wheel, a tick every ten degrees."""
    ticks = []
    for deg in range(0, 360, 10):
        inner = radius - (3.0 if deg % 30 == 0 else 1.6)
        ticks.append(line(polar(at, inner, deg), polar(at, radius, deg)))
    return [
        group("tool", Circle(at, radius), fill="paper", about="degree wheel"),
        group("scale", *ticks),
        group("tool", Circle(at, 0.12 * radius), fill="wash"),
    ]


def pencil(tip: Point) -> list[Group]:
    """A pencil lying almost flat, its tip to the lower left."""
    x, y = tip
    point = polygon((x, y), (x + 4.6, y + 2.2), (x + 3.4, y + 4.0))
    shaft = polygon((x + 4.6, y + 2.2), (x + 26.6, y + 12.6), (x + 25.4, y + 14.4), (x + 3.4, y + 4.0))
    return [group("tool", point, shaft, fill="paper", about="pencil")]


def bore_gauge(at: Point, bore: float) -> list[Group]:
    """A bore gauge standing in a bore: anvils across at `at`, stem and dial above."""
    x, y = at
    half = 0.5 * bore
    anvil = rectangle(x - half, y - 1.2, x + half, y + 1.2)
    stem = rectangle(x - 1.6, y - 3.0, x + 1.6, y + 42.0)
    return [
        group("tool", anvil, stem, fill="paper", about="bore gauge"),
        group("tool", Circle((x, y + 50.0), 9.0), fill="paper"),
        group(
            "scale",
            *(line(polar((x, y + 50.0), 7.4, deg), polar((x, y + 50.0), 8.6, deg)) for deg in range(0, 360, 30)),
        ),
        group("tool", line((x, y + 50.0), polar((x, y + 50.0), 6.4, 60.0)), arc((x, y + 50.0), 1.0, 0.0, 359.0)),
    ]
