"""Places on crank, rod, barrel and piston: a section through the engine at top dead centre, and a piston."""

from scribeline.marking.parts import barrel, piston, rod
from scribeline.marking.shapes import (
    Circle,
    Dimension,
    Hatch,
    Shape,
    Text,
    arc,
    group,
    joined,
    lettering,
    line,
    path,
    polygon,
    rectangle,
)
from scribeline.marking.where_shapes import Where

_BORE, _STROKE, _ROD = 36.0, 32.0, 56.0
_PIN, _CROWN, _DECK, _FOOT = 16.0 + _ROD, 88.0, 92.0, 47.0


def engine() -> Where:
    """A section through the engine, piston at top dead centre, and where the crown is at bottom dead centre."""
    half, low, foot = 0.5 * _BORE, _CROWN - _STROKE, _FOOT
    case = joined(arc((0, 0), 29.0, 127.5, 412.5), path((23, foot), (-23, foot)), closed=True)
    room = joined(arc((0, 0), 25.0, 128.0, 412.0), path((15.4, foot), (-15.4, foot)), closed=True)
    head = polygon(
        (-26, 94),
        (-half, 94),
        (-half, 95.5),
        (-11, 97),
        (-7, 101),
        (7, 101),
        (11, 97),
        (half, 95.5),
        (half, 94),
        (26, 94),
        (26, 108),
        (-26, 108),
    )
    base = rectangle(-23, foot, -half, foot + 1.5), rectangle(half, foot, 23, foot + 1.5)
    top = rectangle(-23, _DECK, -half, 94), rectangle(half, _DECK, 23, 94)
    groups = (
        group("hatch", Hatch((case, room), angle_deg=45.0)),
        group("outline", case, about="crankcase"),
        group("outline", room, fill="paper"),
        group("outline", Circle((0, 0), 21.0), fill="wash", about="flywheel"),
        *barrel(0, _DECK, _BORE, _DECK - foot - 1.5),
        *piston(0, _CROWN, _BORE, 27.0, 27.0, dome=2.5),
        *rod((0, 16.0), (0, _PIN), 5.0, 3.6),
        group("hatch", Hatch((head,))),
        group("outline", head, about="head"),
        group("outline", *base, *top, fill="wash", about="gaskets"),
        group("centre", line((0, -32), (0, 112)), line((-33, 0), (33, 0))),
        group("edge", line((-half, low), (half, low)), about="the crown's edge at bottom dead centre"),
    )
    right, left = 42.0, -34.0
    places: dict[str, tuple[str, tuple[Shape, ...]]] = {
        "stroke_mm": ("stroke", (Dimension((half, low), (half, _CROWN), "stroke", half - right),)),
        "rod_length_mm": ("rod length, centre to centre", (Dimension((0, 16.0), (0, _PIN), "rod length", -left),)),
        "pin_offset_mm": (
            "offset of the gudgeon pin from the crank's centre line",
            (line((4.0, -32), (4.0, 84)), Dimension((0, -32), (4.0, -32), "pin offset", -4.0)),
        ),
        "bore_mm": ("bore", (Dimension((-half, _DECK), (half, _DECK), "bore", 24.0),)),
        "deck_clearance_at_tdc_mm": (
            "deck clearance at top dead centre",
            (
                line((half, _CROWN), (34, _CROWN)),
                line((23, _DECK), (34, _DECK)),
                Dimension((34, _CROWN), (34, _DECK), "", 0.0),
                Text((37, 89.5), "deck clearance"),
            ),
        ),
        "deck_height_mm": (
            "deck height, from the crank's centre",
            (Dimension((0, 0), (0, _DECK), "deck height", 42.0),),
        ),
        "base gasket": ("base gasket", (*base, Text((26, foot - 0.5), "base gasket"))),
        "head gasket": ("head gasket", (*top, Text((28, 92), "head gasket"))),
    }
    return Where(
        "A section through the engine with the piston at top dead centre; a dashed line shows the crown's edge at "
        "bottom dead centre.",
        groups,
        places,
    )


def piston_view() -> Where:
    """A piston in section, exhaust side to the right."""
    half, left, right, pin = 23.0, -38.0, -44.0, -21.0
    rings = [
        rectangle(side * half - 1.6, top - 2.0, side * half + 1.6, top) for side in (-1, 1) for top in (-5.0, -10.0)
    ]
    groups = (
        *piston(0, 0, 2 * half, -left, -right, dome=4.0),
        group("outline", *rings, fill="ink", about="rings"),
        group("outline", Circle((0, pin), 6.0), fill="paper", about="gudgeon pin"),
        group("centre", line((0, 9), (0, -50)), line((-9, pin), (9, pin))),
        group(
            "note",
            Text((half - 2, -51), "exhaust side", anchor="middle"),
            Text((-half + 2, -51), "intake side", anchor="middle"),
        ),
    )
    window = rectangle(-8, -40, 8, -31)

    def down(x: float, bottom: float, words: str, top: float = 0.0) -> Dimension:
        edge = half if x > 0 else -half
        return Dimension((edge, bottom), (edge, top), words, edge - x)

    places: dict[str, tuple[str, tuple[Shape, ...]]] = {
        "crown": ("shape of the crown", (joined(path((-half, 0), (half, 0))), Text((0, 7), "crown", anchor="middle"))),
        "dome_height_mm": (
            "dome height",
            (
                line((-30, 4), (6, 4)),
                line((-30, 0), (-half, 0)),
                Dimension((-30, 0), (-30, 4), ""),
                Text((-32, 6), "dome", anchor="end"),
            ),
        ),
        "deflector_volume_cc": (
            "volume above the crown's edge",
            (rectangle(-10, 0.2, 4, 8), Text((6, 8), "all above the edge")),
        ),
        "crown_chamfer_mm": (
            "height of the edge's chamfer",
            (
                line((half, -1.6), (32, -1.6)),
                line((half, 0), (32, 0)),
                Dimension((32, -1.6), (32, 0), ""),
                Text((34, 2), "chamfer"),
            ),
        ),
        "compression_height_mm": (
            "compression height",
            (
                line((-6, pin), (-34, pin)),
                down(-34, pin, ""),
                *lettering((-36, -9), ("compression", "height"), anchor="end"),
            ),
        ),
        "top_ring_from_crown_mm": ("crown's edge to the top ring", (down(30, -5.0, ""), Text((46, -4), "top ring"))),
        "lowest_ring_from_crown_mm": (
            "crown's edge to the lowest ring",
            (down(36, -12.0, ""), Text((46, -9), "lowest ring")),
        ),
        "skirt_exhaust_side_mm": ("skirt, exhaust side", (down(44, right, "skirt, exhaust side"),)),
        "skirt_intake_side_mm": ("skirt, intake side", (down(-42, left, "skirt, intake side"),)),
        "mass_g": ("mass with pin, rings and clips", (Text((0, -34), "piston, pin, rings, clips", anchor="middle"),)),
        "top_from_crown_mm": (
            "crown's edge to the top of the opening",
            (window, Dimension((-8, -31), (-8, 0), "", 5.0), Text((0, -45), "to its top", anchor="middle")),
        ),
        "bottom_from_crown_mm": (
            "crown's edge to the bottom of the opening",
            (window, Dimension((8, -40), (8, 0), "", -5.0), Text((0, -45), "to its bottom", anchor="middle")),
        ),
        "width_mm": ("width of the opening", (window, Dimension((-8, -35.5), (8, -35.5), "width", 0.0))),
    }
    return Where("A piston in section, its exhaust side to the right.", groups, places)
