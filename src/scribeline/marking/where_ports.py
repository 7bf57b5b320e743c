"""Places on a port: in the unrolled bore with the two ends of the stroke and a degree wheel, and along its passage."""

from scribeline.marking.drafting import arrow
from scribeline.marking.instruments import degree_wheel
from scribeline.marking.shapes import (
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
    rounded_rectangle,
)
from scribeline.marking.where_shapes import Where

_ROOF, _FLOOR, _HALF, _TDC, _BDC = -20.0, -40.0, 15.0, -4.0, -36.0
_WHEEL, _RADIUS = (66.0, -27.0), 17.0


def port_view() -> Where:
    """A port as one sees it from inside the bore, laid flat; beside it a degree wheel."""
    shape = rounded_rectangle(-_HALF, _FLOOR, _HALF, _ROOF, (5.0, 5.0, 6.0, 6.0))
    groups = (
        group("outline", rectangle(-24, -50, 24, 0), fill="wash", about="bore wall laid flat, the deck above"),
        group("outline", shape, fill="paper", about="port"),
        group(
            "edge",
            line((-24, _TDC), (24, _TDC)),
            line((-24, _BDC), (24, _BDC)),
            about="the crown's edge at top and at bottom dead centre",
        ),
        group(
            "note", Text((-23, 1.2), "deck"), Text((-23, _TDC - 3.2), "crown at TDC"), Text((-23, _BDC - 3.2), "BDC")
        ),
        *degree_wheel(_WHEEL, _RADIUS),
    )
    places: dict[str, tuple[str, tuple[Shape, ...]]] = {
        "name": ("which port", (shape, Text((0, -31), "this port", anchor="middle"))),
        "role": ("what the port is for", (shape, Text((0, -31), "what for?", anchor="middle"))),
        "width_chord_mm": (
            "width straight across",
            (Dimension((-_HALF, -32), (_HALF, -32), "", -22.0), Text((0, -59), "straight across", anchor="middle")),
        ),
        "width_arc_mm": (
            "width along the bore",
            (Dimension((-_HALF, -32), (_HALF, -32), "", -22.0), Text((0, -59), "along the bore", anchor="middle")),
        ),
        "outline_mm": ("its outline, point by point", (shape, Text((0, -31), "outline", anchor="middle"))),
        "outline_plus_minus_mm": ("how far the outline may be off", (shape, Text((0, -31), "±", anchor="middle"))),
        "roof_corner_radius_mm": (
            "radius of the upper corners",
            (
                arc((_HALF - 6, _ROOF - 6), 6.0, 0.0, 90.0),
                arc((6 - _HALF, _ROOF - 6), 6.0, 90.0, 180.0),
                line((_HALF - 6, _ROOF - 6), polar((_HALF - 6, _ROOF - 6), 6.0, 45.0)),
                Text((0, -29), "radius", anchor="middle"),
            ),
        ),
        "floor_corner_radius_mm": (
            "radius of the lower corners",
            (
                arc((_HALF - 5, _FLOOR + 5), 5.0, -90.0, 0.0),
                arc((5 - _HALF, _FLOOR + 5), 5.0, 180.0, 270.0),
                line((_HALF - 5, _FLOOR + 5), polar((_HALF - 5, _FLOOR + 5), 5.0, -45.0)),
                Text((0, -34), "radius", anchor="middle"),
            ),
        ),
        "bridge_mm": (
            "width of the bridge",
            (rectangle(-1.8, _FLOOR, 1.8, _ROOF), Dimension((-1.8, _FLOOR), (1.8, _FLOOR), "bridge", -15.0)),
        ),
        "trust": ("which reading is used", (shape, Text((0, -31), "height or wheel?", anchor="middle"))),
    }
    for edge, at, out in (("roof", _ROOF, 0.0), ("floor", _FLOOR, 9.0)):
        places |= {
            f"{edge}_from_deck_mm": (
                f"{edge}, from the deck down",
                (line((-_HALF, at), (_HALF, at)), Dimension((_HALF, at), (_HALF, 0), edge, -17.0 - out, along=False)),
            ),
            f"{edge}_from_crown_tdc_mm": (
                f"{edge}, from the crown's edge at top dead centre down",
                (
                    line((-_HALF, at), (_HALF, at)),
                    Dimension((-_HALF, at), (-_HALF, _TDC), edge, 14.0 + out, along=False),
                ),
            ),
            f"{edge}_from_crown_bdc_mm": (
                f"{edge}, from the crown's edge at bottom dead centre",
                (
                    line((-_HALF, at), (_HALF, at)),
                    Dimension((-_HALF, _BDC), (-_HALF, at), edge, 14.0 + out, along=False),
                ),
            ),
            f"{edge}_opens_deg_atdc": (
                f"crank degrees when the piston's edge meets the {edge}, opening",
                _angle(at, 90.0 - 92.0, "opening", edge),
            ),
            f"{edge}_closes_deg_atdc": (
                f"crank degrees when the piston's edge meets the {edge}, closing",
                _angle(at, 90.0 - 268.0, "closing", edge),
            ),
        }
    return Where(
        "A port as seen from inside the bore, laid flat, under the deck; dashed the crown's edge at both ends of the "
        "stroke; beside it a degree wheel with its zero above.",
        groups,
        places,
    )


def _angle(at: float, deg: float, words: str, edge: str) -> tuple[Shape, ...]:
    """The edge of the port, and the wheel turned from its zero to a reading."""
    turned = arc(_WHEEL, 11.0, 90.0, deg)
    way = 78.0 if deg < -90 else 90.0
    return (
        line((-_HALF, at), (_HALF, at)),
        Polyline(turned.points, turned.bulges),
        arrow(turned.points[1], deg - way),
        line(_WHEEL, polar(_WHEEL, _RADIUS + 2.5, deg)),
        line(_WHEEL, polar(_WHEEL, _RADIUS + 2.5, 90.0)),
        Text((_WHEEL[0], _WHEEL[1] - _RADIUS - 6.5), f"{words}, at the {edge}", anchor="middle"),
    )


def passage_view() -> Where:
    """A passage in section, from the bore wall outwards."""
    turn = bulge(-60.0)
    upper = Polyline(((8, -8), (34, 4), (62, 4)), (turn * 0.35, 0.0))
    lower = Polyline(((62, -14), (36, -14), (8, -24)), (0.0, -turn * 0.3))
    duct = joined(
        path((0, -10), (8, -8)), upper, path((62, 4), (62, -14)), lower, path((8, -24), (0, -24)), closed=True
    )
    middle = Polyline(((0, -17), (34, -5), (62, -5)), (turn * 0.35, 0.0))
    wall = (polygon((0, -10), (8, -8), (8, 12), (0, 12)), rectangle(0, -40, 8, -24))
    groups = (
        group("outline", duct, fill="wash", about="passage"),
        group("hatch", *(Hatch((one,), angle_deg=135.0) for one in wall)),
        group("outline", *wall, about="bore wall in section"),
        group("note", Text((-3, 8), "bore", anchor="end")),
    )
    places: dict[str, tuple[str, tuple[Shape, ...]]] = {
        "roof_angle_deg": (
            "angle of the roof where it meets the bore",
            (
                line((0, -10), (-26, -18.2)),
                line((0, -10), (-26, -10)),
                arc((0, -10), 19.0, 180.0, 197.5),
                Text((-27, -24), "roof angle", anchor="start"),
            ),
        ),
        "passage_length_mm": ("length along the middle", (middle, Text((30, -10.5), "length"))),
        "passage_area_mm2": (
            "cross-section in the middle",
            (line((31, 2.6), (37.5, -14)), Text((40, -20), "area here")),
        ),
        "exit_area_mm2": ("cross-section at the far end", (line((62, 4), (62, -14)), Text((65, -6), "area here"))),
    }
    return Where("A passage in section, from the bore wall outwards.", groups, places)
