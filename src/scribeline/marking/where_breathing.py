"""Places on a section of an intake or an exhaust pipe."""

from scribeline.marking.shapes import Dimension, Shape, Text, arc, group, line, polar, polygon, ring_sector
from scribeline.marking.where_shapes import Where


def duct_view() -> Where:
    """One conical section between its neighbours, and a bent one."""
    cone = polygon((0, 7), (42, 14), (42, -14), (0, -7))
    before, after = polygon((-14, 7), (0, 7), (0, -7), (-14, -7)), polygon((42, 14), (54, 14), (54, -14), (42, -14))
    centre, radius = (82.0, -22.0), 26.0
    bent = ring_sector(centre, radius - 8, radius + 8, 20.0, 110.0)
    groups = (
        group("edge", before, after, about="the sections before and after"),
        group("outline", cone, fill="wash", about="the section that is measured"),
        group("outline", bent, fill="wash", about="a bent section"),
        group("centre", line((-16, 0), (56, 0)), arc(centre, radius, 12.0, 118.0)),
        group("note", Text((-14, 10), "engine")),
    )
    first, last = polar(centre, radius, 110.0), polar(centre, radius, 20.0)
    places: dict[str, tuple[str, tuple[Shape, ...]]] = {
        "length_mm": ("length along the middle", (Dimension((0, -14), (42, -14), "length", -7.0),)),
        "start_mm": ("inside diameter at the engine's end", (Dimension((0, -7), (0, 7), "start", 18.0, along=False),)),
        "end_mm": ("inside diameter at the far end", (Dimension((42, -14), (42, 14), "end", -16.0, along=False),)),
        "bend_deg": (
            "total angle of the bend",
            (
                line(centre, first),
                line(centre, last),
                arc(centre, 12.0, 20.0, 110.0),
                Text((centre[0] + 2, centre[1] - 6), "bend", anchor="middle"),
            ),
        ),
        "bend_radius_mm": (
            "middle-line radius of the bend",
            (arc(centre, radius, 20.0, 110.0), Dimension(centre, polar(centre, radius, 65.0), "radius")),
        ),
    }
    return Where("A section of a pipe between its neighbours, and a bent one.", groups, places)
