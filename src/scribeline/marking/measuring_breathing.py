"""How to measure intake and exhaust: one drawing to a measurement. Schematic, not to scale."""

from scribeline.marking.labels import Label, column
from scribeline.marking.shapes import (
    NAME_MM,
    Circle,
    Dimension,
    Drawing,
    Hatch,
    arc,
    group,
    joined,
    lettering,
    line,
    path,
    polar,
    polygon,
    rectangle,
    ring_sector,
)


def pipe_sections() -> Drawing:
    """An exhaust pipe cut along its middle line, each section with its length and its inside diameters."""
    joints = (-3.0, 30.0, 62.0, 76.0, 100.0, 126.0)
    radii = (4.2, 4.8, 10.5, 10.5, 2.8, 2.8)
    names = ("header", "diffuser", "belly", "baffle", "stinger")
    wall = 0.8
    upper = list(zip(joints, radii, strict=True))
    inside = polygon(*upper, *((x, -r) for x, r in reversed(upper)))
    outside = polygon(*((x, r + wall) for x, r in upper), *((x, -r - wall) for x, r in reversed(upper)))
    flange = rectangle(-3.0, 5.0, -0.5, 11.0), rectangle(-3.0, -11.0, -0.5, -5.0)
    cylinder = (
        polygon((-20.0, 4.2), (-3.0, 4.2), (-3.0, 16.0), (-20.0, 16.0)),
        polygon((-20.0, -4.2), (-3.0, -4.2), (-3.0, -16.0), (-20.0, -16.0)),
    )
    lengths = [
        Dimension((a, -10.0), (b, -10.0), name, -9.0) for a, b, name in zip(joints[:-1], joints[1:], names, strict=True)
    ]
    groups = [
        group("hatch", *(Hatch((half,)) for half in cylinder)),
        group("outline", *cylinder, about="cylinder with its exhaust passage"),
        group("outline", *flange, fill="wash", about="flange"),
        group("outline", outside, fill="ink", about="sheet of the pipe"),
        group("outline", inside, fill="paper", about="inside of the pipe"),
        group("edge", *(line((x, -r), (x, r)) for x, r in zip(joints[1:-1], radii[1:-1], strict=True))),
        group("centre", line((-20.0, 0.0), (132.0, 0.0))),
        group("measured", *lengths),
        group("measured", Dimension((62.0, -10.5), (62.0, 10.5), "", 0.0)),
        group("note", *lettering((63.0, -27.0), ("length of each section, along the middle line",), NAME_MM, "middle")),
    ]
    labels = [
        Label((-11.0, 2.0), ("the port's own passage",)),
        Label((-3.0, 9.0), ("cylinder's exhaust face:", "the first section starts here")),
    ]
    groups += column(labels, edge_mm=-24.0, side="left", dots=True)
    right = [
        Label((62.0, 7.5), ("inside diameter at both", "ends of each section")),
        Label((76.4, 10.9), ("outside measured? take off", "twice the sheet")),
        Label((113.0, 0.0), ("stinger at its narrowest,", "carbon out")),
    ]
    groups += column(right, edge_mm=132.0, side="right", dots=True)
    return Drawing(
        "pipe-sections",
        "Measuring the exhaust pipe",
        "The pipe is divided where cones begin and end. Each section has a length along the middle line and an inside "
        "diameter at both ends. The first section starts at the cylinder's exhaust face; the last is the stinger, "
        "measured at its narrowest.",
        tuple(groups),
    )


def intake_parts() -> Drawing:
    """A reed petal on its block, and a rotary disc with its inlet."""
    block = polygon((-10.0, -2.0), (46.0, -2.0), (46.0, -7.0), (-10.0, -7.0))
    window = rectangle(8.0, -7.0, 40.0, -2.0)
    petal = rectangle(-10.0, -2.0, 44.0, -1.2)
    stop = joined(path((-10.0, -1.2), (0.0, -1.2)), arc((0.0, 68.8), 70.0, -90.0, -52.0))
    screw = rectangle(-7.0, -1.2, -3.0, 3.5)
    plan_y = -32.0
    from_above = rectangle(-10.0, plan_y - 17.0, 44.0, plan_y - 1.0)
    under_it = rectangle(8.0, plan_y - 14.5, 40.0, plan_y - 3.5)
    centre, radius, inlet_at, inlet = (90.0, -22.0), 30.0, 20.0, 6.5
    hole = polar(centre, inlet_at, 60.0)
    cut = ring_sector(centre, 10.0, radius, 30.0, 150.0)
    groups = [
        group("hatch", Hatch((block, window))),
        group("outline", block, about="reed block in section"),
        group("outline", window, fill="paper", about="window of the block"),
        group("outline", petal, fill="accent wash", about="reed petal"),
        group("tool", stop, about="stop plate"),
        group("tool", screw, fill="wash", about="clamp screw"),
        group("measured", Dimension((0.0, -7.0), (44.0, -7.0), "length, clamp to tip", -6.0, NAME_MM)),
        group("measured", Dimension((43.1, -1.2), (43.1, 13.6), "lift", 0.0, along=False)),
        group("outline", from_above, fill="accent wash", about="petal seen from above"),
        group("edge", under_it, about="window under the petal"),
        group("measured", Dimension((44.0, plan_y - 1.0), (44.0, plan_y - 17.0), "width", 5.0, along=False)),
        group("outline", Circle(centre, radius), fill="wash", about="rotary disc"),
        group("outline", cut, fill="paper", about="cut-out of the disc"),
        group("outline", Circle(hole, inlet), fill="accent wash", about="inlet in the cover"),
        group("outline", Circle(centre, 4.0), fill="paper", about="crankshaft"),
        group("centre", line((centre[0] - 34, centre[1]), (centre[0] + 34, centre[1])),
              line((centre[0], centre[1] - 34), (centre[0], centre[1] + 34))),
        group("measured", Dimension(centre, hole, "", 0.0, outside=False)),
        group("measured", Dimension((hole[0] - inlet, hole[1]), (hole[0] + inlet, hole[1]), "", 0.0, outside=False)),
    ]  # fmt: skip
    labels = [
        Label((-5.0, 3.0), ("clamp",)),
        Label((6.0, -0.8), ("stop plate",)),
        Label(
            (3.0, plan_y - 9.0),
            ("petal, and under it", "the window: all windows", "together are the open", "area of the block"),
        ),
    ]
    groups += column(labels, edge_mm=-14.0, side="left", dots=True)
    middle = 0.5 * (centre[0] + hole[0]), 0.5 * (centre[1] + hole[1])
    right = [
        Label((hole[0] + 3.0, hole[1]), ("inlet in the cover:", "its diameter")),
        Label(middle, ("crank's centre to the", "middle of the inlet")),
        Label(polar(centre, 24.0, -30.0), ("rotary disc", "and its cut-out")),
    ]
    groups += column(right, edge_mm=centre[0] + radius + 4.0, side="right", dots=True)
    return Drawing(
        "intake-parts",
        "Measuring reed petals and a rotary disc",
        "A reed petal is measured from the clamp to its tip, across, and in its thickness; the stop limits the lift of "
        "the tip. A rotary disc is measured by the diameter of the round inlet in its cover and by the distance from "
        "the crank's centre to the middle of the inlet.",
        tuple(groups),
    )
