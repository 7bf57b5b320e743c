"""What an operation does to a port: the port on the unrolled bore before and after. Schematic, not to scale.

What is there today is dashed, the line to work to is in the accent, and what comes off is filled with it.
"""

from scribeline.marking.shapes import (
    NAME_MM,
    Dimension,
    Drawing,
    Group,
    Hatch,
    Polyline,
    Text,
    group,
    lettering,
    line,
    path,
    polygon,
    rectangle,
    rounded_rectangle,
)

_DECK_MM, _LEFT_MM, _RIGHT_MM, _FOOT_MM = 0.0, -44.0, 44.0, -66.0
_UNDER_DECK = -7.0  # where the crown comes to over an intake
_WIDE, _ROOF, _FLOOR, _RADIUS = 16.0, -26.0, -50.0, 5.0


def _window(half: float, floor: float, roof: float, low: float = _RADIUS, high: float = _RADIUS) -> Polyline:
    return rounded_rectangle(-half, floor, half, roof, (low, low, high, high))


def _bore(
    name: str,
    title: str,
    words: str,
    *groups: Group,
    crown: str = "crown at bottom dead centre",
    crown_mm: float = _FLOOR,
) -> Drawing:
    """The unrolled wall with its deck, and the place the crown comes to: below an exhaust, above an intake."""
    frame = [
        group("outline", line((_LEFT_MM, _DECK_MM), (_RIGHT_MM, _DECK_MM)), about="deck"),
        group("edge", line((_LEFT_MM, crown_mm), (_RIGHT_MM, crown_mm))),
        group("note", Text((_LEFT_MM, 1.5), "deck, as it is after decking", NAME_MM),
              Text((_LEFT_MM, crown_mm - 3.6) if crown_mm == _FLOOR else (-18.0, crown_mm + 1.0), crown)),
    ]  # fmt: skip
    return Drawing(name, title, words, (*frame, *groups))


def _cut(was: Polyline, will: Polyline) -> list[Group]:
    return [
        group("target", will, fill="accent wash", about="where the port shall end"),
        group("outline", was, fill="paper", about="what is open already"),
        group("today", was),
    ]


def raise_roof(name: str, title: str, port: str) -> Drawing:
    """A roof taken up: both lines from the deck, the stop line between them."""
    up = 7.0
    was, will = _window(_WIDE, _FLOOR, _ROOF), _window(_WIDE, _FLOOR, _ROOF + up)
    return _bore(
        name,
        title,
        f"The roof of the {port} goes up. Today's roof, the stop line and the target are scribed from the deck. "
        "The floor and the sides stay where they are.",
        *_cut(was, will),
        group("edge", line((-_WIDE - 4.0, _ROOF + 0.55 * up), (_WIDE + 4.0, _ROOF + 0.55 * up)), about="stop line"),
        group(
            "measured", Dimension((_WIDE + 6.0, _ROOF + up), (_WIDE + 6.0, 0.0), "target", -8.0, NAME_MM, along=False)
        ),
        group("dimension", Dimension((-_WIDE - 6.0, _ROOF), (-_WIDE - 6.0, 0.0), "today", 8.0, along=False)),
        group(
            "note",
            Text((-42.0, _ROOF + 0.55 * up - 0.8), "stop line"),
            Text((0.0, -40.0), port, NAME_MM, "middle"),
        ),
        crown_mm=_UNDER_DECK if port == "intake" else _FLOOR,
    )


def lower_floor(name: str, title: str, port: str, crown: str = "crown at bottom dead centre") -> Drawing:
    """A floor taken down."""
    down, floor = 6.0, _FLOOR + 6.0
    return _bore(
        name,
        title,
        f"The floor of the {port} goes down, at most to the line. The roof and the sides stay where they are.",
        *_cut(_window(_WIDE, floor, _ROOF), _window(_WIDE, floor - down, _ROOF)),
        group(
            "measured", Dimension((_WIDE + 6.0, floor - down), (_WIDE + 6.0, 0.0), "target", -8.0, NAME_MM, along=False)
        ),
        group("dimension", Dimension((-_WIDE - 6.0, floor), (-_WIDE - 6.0, 0.0), "today", 8.0, along=False)),
        group("note", Text((0.0, -36.0), port, NAME_MM, "middle")),
        crown=crown,
    )


def widen(name: str, title: str, port: str) -> Drawing:
    """Both sides taken out alike."""
    more = 5.0
    return _bore(
        name,
        title,
        f"Both sides of the {port} go out alike, so that its middle stays. The width is given straight across, as a "
        "caliper shows it, and along the bore, as a rubbing shows it.",
        *_cut(_window(_WIDE - 2.0, _FLOOR, _ROOF), _window(_WIDE - 2.0 + more, _FLOOR, _ROOF)),
        group("centre", line((0.0, _ROOF + 6.0), (0.0, _ROOF - 6.0)), line((0.0, _FLOOR + 6.0), (0.0, _FLOOR - 6.0))),
        group("measured", Dimension((-_WIDE - 3.0, _ROOF), (_WIDE + 3.0, _ROOF), "target", 9.0, NAME_MM)),
        group("dimension", Dimension((-_WIDE + 2.0, _FLOOR), (_WIDE - 2.0, _FLOOR), "today", -9.0)),
        group("note", Text((0.0, -39.0), port, NAME_MM, "middle")),
        crown_mm=_UNDER_DECK if port == "intake" else _FLOOR,
    )


def square_corners(name: str, title: str) -> Drawing:
    """Lower corners cut to a smaller radius."""
    was, will = _window(_WIDE, _FLOOR, _ROOF, 9.0), _window(_WIDE, _FLOOR, _ROOF, 3.0)
    return _bore(
        name,
        title,
        "The two lower corners are cut to a smaller radius. Height, width and timing stay; the area low down grows.",
        *_cut(was, will),
        group("measured", line((_WIDE - 1.2, _FLOOR + 1.2), (_WIDE + 10.0, _FLOOR - 8.0))),
        group(
            "note",
            Text((_WIDE + 11.0, _FLOOR - 9.5), "new radius", NAME_MM),
            Text((0.0, -36.0), "exhaust", NAME_MM, "middle"),
        ),
    )


def auxiliary(name: str, title: str) -> Drawing:
    """A pair of small ports beside the exhaust."""
    main = _window(12.0, _FLOOR, _ROOF)
    side = [rounded_rectangle(x - 5.0, -43.0, x + 5.0, _ROOF - 3.0, (2.5,) * 4) for x in (-24.0, 24.0)]
    return _bore(
        name,
        title,
        "A pair of small ports is cut beside the exhaust, their roofs a little lower, into its passage. Enough wall "
        "must be left to the exhaust and to the transfers.",
        group("target", *side, fill="accent wash", about="new ports"),
        group("outline", main, fill="paper", about="exhaust as it is"),
        group("measured", Dimension((19.0, -38.0), (29.0, -38.0), "width", -9.0, NAME_MM)),
        group("dimension", Dimension((12.0, -34.0), (19.0, -34.0), "wall", 14.0)),
        group("note", Text((0.0, -39.0), "exhaust", NAME_MM, "middle")),
    )


def boost(name: str, title: str) -> Drawing:
    """One more port between the rear transfers."""
    rear = [rounded_rectangle(x - 7.0, _FLOOR, x + 7.0, _ROOF - 6.0, (2.0,) * 4) for x in (-28.0, 28.0)]
    new = rounded_rectangle(-9.0, -46.0, 9.0, _ROOF - 7.0, (2.0,) * 4)
    return _bore(
        name,
        title,
        "One more port is cut at the back of the bore between the rear transfers. A window in the piston or a groove "
        "in the wall below feeds it.",
        group("outline", *rear, fill="paper", about="rear transfers as they are"),
        group("target", new, fill="accent wash", about="new port"),
        group("edge", path((-2.5, -46.0), (-2.5, _FOOT_MM), (2.5, _FOOT_MM), (2.5, -46.0))),
        group("measured", Dimension((11.0, _ROOF - 7.0), (11.0, 0.0), "target", -6.0, NAME_MM, along=False)),
        group("note", Text((0.0, -40.5), "boost", NAME_MM, "middle"), *lettering((8.0, -61.0), ("groove or window",))),
    )


def raise_transfers(name: str, title: str) -> Drawing:
    """A pair of roofs, and the angle they are finished at, in section."""
    up = 5.0
    was = [rounded_rectangle(x - 9.0, _FLOOR, x + 9.0, _ROOF - 8.0, (2.0,) * 4) for x in (-28.0, -4.0)]
    will = [rounded_rectangle(x - 9.0, _FLOOR, x + 9.0, _ROOF - 8.0 + up, (2.0,) * 4) for x in (-28.0, -4.0)]
    wall = polygon((26.0, -4.0), (26.0, -29.0), (38.0, -34.0), (38.0, -4.0))
    gone = polygon((26.0, -29.0), (26.0, -34.0), (38.0, -39.0), (38.0, -34.0))
    return _bore(
        name,
        title,
        "The roofs of a group go up together, left and right alike. Right, in section: the roof is finished at an "
        "angle, which steers the charge.",
        group("target", *will, fill="accent wash", about="where the roofs shall end"),
        group("outline", *was, fill="paper"),
        group("today", *was),
        group("hatch", Hatch((wall,), angle_deg=135.0)),
        group("outline", wall, about="wall and roof in section"),
        group("target", gone, fill="accent wash", about="what comes off the roof"),
        group("measured", Dimension((6.5, _ROOF - 8.0 + up), (6.5, 0.0), "target", -6.0, NAME_MM, along=False)),
        group(
            "note",
            *lettering((24.0, -43.0), ("roof angle",)),
            Text((-28.0, -43.0), "left", anchor="middle"),
            Text((-4.0, -43.0), "right", anchor="middle"),
        ),
    )


def window_in_piston(name: str, title: str) -> Drawing:
    """A piston unrolled with a window and a cut-out."""
    body = rectangle(-40.0, -48.0, 40.0, 0.0)
    window = rounded_rectangle(-30.0, -36.0, -10.0, -22.0, (4.0,) * 4)
    cut_out = path((12.0, -48.0), (12.0, -30.0), (32.0, -30.0), (32.0, -48.0))
    rings = [line((-40.0, y), (40.0, y)) for y in (-6.0, -8.0, -12.0, -14.0)]
    groups = (
        group("outline", body, fill="paper", about="side of the piston, unrolled"),
        group("scale", *rings),
        group("target", window, fill="accent wash", about="window"),
        group("target", cut_out, fill="accent wash", about="cut-out, open below"),
        group("measured", Dimension((-8.0, -22.0), (-8.0, 0.0), "top", -4.0, NAME_MM, along=False)),
        group("dimension", Dimension((-32.0, -36.0), (-32.0, 0.0), "bottom", 12.0, along=False)),
        group("note", Text((-20.0, -30.0), "window", anchor="middle"), Text((22.0, -42.0), "cut-out", anchor="middle"),
              Text((-40.0, 1.5), "crown's edge", NAME_MM)),
    )  # fmt: skip
    return Drawing(
        name,
        title,
        "The side of the piston unrolled: a window with metal all round it, corners round, and a cut-out open below. "
        "Both are measured down from the crown's edge.",
        groups,
    )
