"""Places on the head, and clock positions round the bore seen from above."""

from scribeline.marking.drafting import arrow
from scribeline.marking.shapes import (
    Circle,
    Dimension,
    Hatch,
    Polyline,
    Shape,
    Text,
    arc,
    bulge,
    group,
    joined,
    line,
    path,
    polar,
    polygon,
    rectangle,
)
from scribeline.marking.where_shapes import Where


def head_view() -> Where:
    """A section through head and crown: squish band, chamber, plug."""
    outer, inner, edge, rise = 26.0, 15.0, 1.5, 4.0
    dome = Polyline(((inner, rise), (-inner, rise)), (bulge(150.0),))
    room = joined(
        path((outer, 0), (outer, edge), (inner, rise)),
        dome,
        path((-inner, rise), (-outer, edge), (-outer, 0)),
        closed=True,
    )
    block = rectangle(-34, 0, 34, 28)
    crown = Polyline(((outer, -2.5), (-outer, -2.5), (-outer, -14), (outer, -14)), (bulge(24.0), 0, 0, 0), closed=True)
    plug = rectangle(-3.5, 15.2, 3.5, 32)
    groups = (
        group("hatch", Hatch((block, room))),
        group("outline", block, about="head in section"),
        group("outline", room, fill="paper", about="squish band and chamber"),
        group("outline", plug, rectangle(-5.5, 27, 5.5, 32), fill="wash", about="plug"),
        group("hatch", Hatch((crown,), spacing_mm=1.0)),
        group("outline", crown, about="piston crown"),
        group("centre", line((0, 36), (0, -17))),
    )
    under = Polyline(((outer, -2.5), (-outer, -2.5)), (bulge(24.0),))
    whole = joined(
        path((outer, -2.5), (outer, edge), (inner, rise)),
        dome,
        path((-inner, rise), (-outer, edge), (-outer, -2.5)),
        Polyline(((-outer, -2.5), (outer, -2.5)), (-bulge(24.0),)),
        closed=True,
    )
    places: dict[str, tuple[str, tuple[Shape, ...]]] = {
        "chamber_on_bench_cc": (
            "chamber, filled on the bench",
            (room, Text((0, 37), "filled up to the face", anchor="middle")),
        ),
        "clearance_on_engine_cc": (
            "clearance volume, filled on the engine",
            (whole, Text((0, 37), "all above the crown, up to the plug", anchor="middle")),
        ),
        "plug_thread_cc": ("what the plug fills", (rectangle(-3.5, 15.2, 3.5, 27), Text((9, 21), "plug thread"))),
        "squish_outer_mm": (
            "squish band, outer diameter",
            (Dimension((-outer, -2.5), (outer, -2.5), "outer diameter", -17.0),),
        ),
        "squish_inner_mm": (
            "squish band, inner diameter",
            (Dimension((-inner, rise), (inner, rise), "inner diameter", -25.0),),
        ),
        "band_angle_deg": (
            "angle of the band",
            (
                line((outer, edge), (6, edge)),
                line((outer, edge), (3, 6.7)),
                Text((38, 4), "band"),
                line((36, 4.5), (20, 2.4)),
            ),
        ),
        "crown_angle_deg": (
            "angle of the crown under the band",
            (under, line((outer, -2.5), (6, -2.5)), Text((38, -5), "crown"), line((36, -4.5), (19, -1.8))),
        ),
        "band_recess_mm": (
            "recess of the band",
            (
                line((outer, edge), (44, edge)),
                line((34, 0), (44, 0)),
                Dimension((44, 0), (44, edge), ""),
                Text((46, 0), "recess"),
            ),
        ),
        "kind": ("shape of the chamber", (joined(dome), Text((0, 5), "chamber", anchor="middle"))),
        "depth_mm": (
            "depth of the chamber",
            (
                Dimension((-9, rise), (-9, 13.4), ""),
                Text((-7, 7), "depth"),
            ),
        ),
        "mouth_diameter_mm": ("diameter at the mouth", (Dimension((-inner, rise), (inner, rise), "mouth", 0.0),)),
        "step_mm": (
            "straight wall below the mouth",
            (
                line((-inner, rise), (-inner, 7)),
                line((inner, rise), (inner, 7)),
                Dimension((inner, rise), (inner, 7), "step", -3.0, along=False),
            ),
        ),
    }
    return Where("A section through the head and the crown below it.", groups, places)


def from_above() -> Where:
    """The bore seen from above, exhaust side below: where 0 degrees is, and which way they are counted."""
    radius, stud = 22.0, 31.0
    studs = [Circle(polar((0, 0), stud, 45.0 + 90.0 * i), 2.6) for i in range(4)]
    groups = (
        group("outline", Circle((0, 0), radius), fill="wash", about="bore from above"),
        group("outline", polygon((-6, -radius), (6, -radius), (7, -36), (-7, -36)), fill="paper", about="exhaust"),
        group("centre", line((0, 27), (0, -40)), line((-27, 0), (27, 0))),
        group("edge", *studs, about="studs"),
        group(
            "note",
            Text((0, -44), "0°, exhaust side", anchor="middle"),
            Text((-24, 1), "90°", anchor="end"),
            Text((0, 25), "180°", anchor="middle"),
            Text((24, 1), "270°"),
        ),
    )
    to = 270.0 - 60.0
    turn = arc((0, 0), 15.0, 270.0, to)
    spot = polar((0, 0), radius, to)
    places: dict[str, tuple[str, tuple[Shape, ...]]] = {
        "clock_deg": (
            "clock position, clockwise from the exhaust side",
            (turn, arrow(turn.points[1], to - 90.0), line((0, 0), spot), Circle(spot, 1.6)),
        ),
        "mirrored": (
            "a twin on the other side",
            (
                line((0, 0), spot),
                Circle(spot, 1.6),
                line((0, 0), (-spot[0], spot[1])),
                Circle((-spot[0], spot[1]), 1.6),
            ),
        ),
        "gap_mm": (
            "thinnest flat of the solder, at the wall",
            (
                line(polar((0, 0), 11.0, to), spot),
                Circle(spot, 1.6),
                Text((spot[0] - 4, spot[1] - 3), "gap", anchor="end"),
            ),
        ),
        "circle_diameter_mm": (
            "diameter of the circle of studs",
            (Circle((0, 0), stud), Dimension(polar((0, 0), stud, 225.0), polar((0, 0), stud, 45.0), "circle", 0.0)),
        ),
        "hole_diameter_mm": (
            "diameter of a stud's hole",
            (
                studs[0],
                Dimension(
                    (studs[0].centre[0] - 2.6, studs[0].centre[1]),
                    (studs[0].centre[0] + 2.6, studs[0].centre[1]),
                    "hole",
                    7.0,
                ),
            ),
        ),
    }
    return Where(
        "The bore from above with the exhaust side below: clock positions are counted clockwise from there.",
        groups,
        places,
    )
