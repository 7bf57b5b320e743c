"""How to measure what belongs to the barrel: one drawing to a measurement. Schematic, not to scale."""

from scribeline.marking.drafting import arrow
from scribeline.marking.instruments import bore_gauge, depth_gauge, pencil
from scribeline.marking.labels import Label, column
from scribeline.marking.parts import barrel, piston
from scribeline.marking.shapes import (
    NAME_MM,
    Anchor,
    Circle,
    Dimension,
    Drawing,
    Hatch,
    Text,
    arc,
    group,
    lettering,
    line,
    polar,
    polygon,
    rectangle,
    ring_sector,
    rounded_rectangle,
)


def deck_clearance() -> Drawing:
    """Depth gauge on the deck, its rod on the crown's edge."""
    bore_mm, clearance = 46.0, 7.0
    groups = [
        *barrel(0, 0, bore_mm, 46.0),
        *piston(0, -clearance, bore_mm, 36.0, 36.0, dome=3.0),
        *depth_gauge((-20.5, 0), clearance),
        group("measured", line((23.0, -clearance), (30.0, -clearance)),
              Dimension((30.0, -clearance), (30.0, 0), "deck clearance", -5.0, NAME_MM, along=False)),
    ]  # fmt: skip
    labels = [
        Label((-23.0, 15.0), ("depth gauge",)),
        Label((-28.0, 0.0), ("barrel's top face:", "the deck")),
        Label((-20.5, -clearance), ("rod on the crown's edge,", "at the bore wall")),
        Label((-26.0, -36.0), ("base gasket fitted,", "nuts tight")),
    ]
    groups += column(labels, edge_mm=-40.0, side="left", dots=True)
    return Drawing(
        "deck-clearance",
        "Measuring the deck clearance",
        "The piston is at top dead centre. A depth gauge stands on the barrel's top face and its rod touches the "
        "crown's edge at the bore wall, not the dome. The base gasket is fitted and the nuts are tight.",
        tuple(groups),
    )


def bore() -> Drawing:
    """Bore gauge in the barrel, and the two diameters seen from above."""
    bore_mm, level, above = 44.0, -34.0, (66.0, -24.0)
    groups = [
        *barrel(0, 0, bore_mm, 54.0),
        *bore_gauge((0, level), bore_mm),
        group("edge", line((-22, -18), (22, -18)), about="where the top ring turns back"),
        group("measured", Dimension((-22, level), (22, level), "bore", -10.0, NAME_MM)),
        group("outline", Circle(above, 18.0), Circle(above, 23.0), about="the barrel seen from above"),
        group("measured", Dimension((48, -24), (84, -24), "", outside=False),
              Dimension((66, -42), (66, -6), "", outside=False)),
        group("note", Text((75, -22.6), "1", NAME_MM), Text((67.4, -16), "2", NAME_MM)),
        group("note", *lettering((above[0], 9.0), ("seen from above: twice,", "at right angles"), anchor="middle")),
    ]  # fmt: skip
    labels = [
        Label((-9.0, 20.0), ("bore gauge",)),
        Label((-22.0, -18.0), ("the top ring turns", "back here")),
        Label((-22.0, level), ("measure well below,", "in the worn part too")),
    ]
    groups += column(labels, edge_mm=-32.0, side="left", dots=True)
    return Drawing(
        "bore",
        "Measuring the bore",
        "A bore gauge stands across the barrel below the place where the top ring turns back. The bore is measured "
        "twice, at right angles.",
        tuple(groups),
    )


def squish() -> Drawing:
    """Solder at four places on the crown, and one piece squeezed between crown and band."""
    radius, wall = 22.0, 100.0
    places: tuple[tuple[int, str, Anchor, float], ...] = (
        (0, "0°, exhaust side", "middle", -2.0),
        (90, "90°", "end", -1.0),
        (180, "180°", "middle", 0.0),
        (270, "270°", "start", -1.0),
    )
    solder, names = [], []
    for clock, name, anchor, lower in places:
        deg = 270.0 - clock  # clockwise from above, exhaust side at the bottom
        (x0, y0), (x1, y1) = polar((0, 0), 11.0, deg), polar((0, 0), radius, deg)
        dx, dy = 0.09 * (y1 - y0), 0.09 * (x0 - x1)
        solder.append(polygon((x0 + dx, y0 + dy), (x1 + dx, y1 + dy), (x1 - dx, y1 - dy), (x0 - dx, y0 - dy)))
        x, y = polar((0, 0), radius + 3.0, deg)
        names.append(Text((x, y + lower), name, anchor=anchor))
    crown_left, crown_wall, band_wall, band_left = (62.0, -8.0), (wall, -13.0), (wall, -5.0), (62.0, 5.0)
    head = polygon(band_left, band_wall, (wall, 14.0), (62.0, 14.0))
    crown = polygon(crown_left, crown_wall, (wall, -28.0), (62.0, -28.0))
    cylinder = rectangle(wall, -28.0, wall + 8.0, 14.0)
    squeezed = polygon((54.0, -7.0), crown_left, crown_wall, band_wall, band_left, (54.0, 6.4))
    groups = [
        group("outline", Circle((0, 0), radius), fill="wash", about="piston crown from above"),
        group("centre", line((0, -9), (0, 9)), line((-9, 0), (9, 0))),
        group("measured", *solder, fill="accent", about="solder at four places"),
        group("note", *names),
        group("hatch", Hatch((head,)), Hatch((crown,), spacing_mm=1.0), Hatch((cylinder,), angle_deg=135.0)),
        group("outline", line(band_left, band_wall), line(crown_left, crown_wall), line((wall, -28.0), (wall, 14.0))),
        group("measured", squeezed, fill="accent wash", about="solder squeezed between crown and band"),
        group("measured", Dimension((wall + 8.0, -13.0), (wall + 8.0, -5.0), "gap", -5.0, NAME_MM, along=False),
              line((wall, -13.0), (wall + 8.0, -13.0)), line((wall, -5.0), (wall + 8.0, -5.0))),
        group("note", Text((81.0, 15.5), "head", anchor="middle"), Text((81.0, -31.5), "piston", anchor="middle"),
              Text((wall + 4.0, 15.5), "wall", anchor="middle"),
              *lettering((81.0, -40.0), ("thinnest flat of the solder,", "at the bore wall"), anchor="middle"),
              *lettering((0, -38.0), ("solder held with grease, out to the", "wall; one turn of the crank"),
                         anchor="middle")),
    ]  # fmt: skip
    return Drawing(
        "squish",
        "Measuring the squish gap with solder",
        "Left: the crown from above with pieces of solder at 0, 90, 180 and 270 degrees, reaching the bore wall. "
        "Right: a piece squeezed between crown and squish band; its thinnest flat, at the wall, is the gap.",
        tuple(groups),
    )


def port_height() -> Drawing:
    """Depth rod from the deck down to the roof of a port."""
    bore_mm, roof, floor = 46.0, 22.0, 40.0
    groups = [
        *barrel(0, 0, bore_mm, 54.0, right=[(roof, floor)]),
        *depth_gauge((21.6, 0), roof, half_base=13.0),
        group("measured", Dimension((29.5, -roof), (29.5, 0), "roof from deck", -8.0, NAME_MM, along=False)),
        group("dimension", Dimension((29.5, -floor), (29.5, 0), "floor from deck", -44.0, along=False)),
    ]
    labels = [
        Label((17.6, 15.0), ("depth rod of a caliper,", "or a depth gauge")),
        Label((-26.0, 0.0), ("deck: the datum of", "every height")),
        Label((20.6, -roof), ("rod's end level with", "the roof's middle")),
        Label((23.0, -33.0), ("port",)),
    ]
    groups += column(labels, edge_mm=-33.0, side="left", dots=True)
    return Drawing(
        "port-height",
        "Measuring the height of a port's edges",
        "The depth rod of a caliper stands on the deck and reaches down the bore wall until its end is level with the "
        "middle of the port's roof. The floor is measured in the same way.",
        tuple(groups),
    )


def port_width() -> Drawing:
    """The bore from above at the height of a port: its chord, and the longer arc."""
    radius, rim, half_deg = 26.0, 33.0, 42.0
    edge = polar((0, 0), radius, half_deg)
    wall = ring_sector((0, 0), radius, rim, half_deg, 360.0 - half_deg)
    along = arc((0, 0), radius, -half_deg, half_deg)
    jaw = (edge, (edge[0] - 4.5, edge[1] - 1.0), (edge[0] - 4.5, edge[1] - 4.0), (edge[0] - 0.6, edge[1] - 4.0))
    jaws = [polygon(*((x, way * y) for x, y in jaw)) for way in (1, -1)]
    corner = polar((0, 0), rim, half_deg)
    sides = [line((corner[0], way * corner[1]), (rim + 8.0, way * corner[1])) for way in (1, -1)]
    groups = [
        group("hatch", Hatch((wall,), angle_deg=135.0)),
        group("outline", wall, about="cylinder wall cut at the height of the port"),
        group("outline", *sides),
        group("tool", *jaws, fill="wash", about="inside jaws of a caliper on the port's edges"),
        group("measured", Dimension((edge[0], -edge[1]), edge, "chord", 9.0, NAME_MM, along=False)),
        group("edge", along),
        group("note", arrow(along.points[0], -half_deg - 90.0), arrow(along.points[1], half_deg + 90.0), fill="ink"),
    ]
    labels = [
        Label(polar((0, 0), rim - 3.0, 60.0), ("cylinder wall, cut", "at the port")),
        Label((radius, 0.0), ("arc, along the wall: longer", "than the chord, and what", "a rubbing shows")),
        Label((edge[0] - 3.0, -edge[1] + 2.5), ("inside jaws, straight", "across the widest place")),
    ]
    groups += column(labels, edge_mm=rim + 10.0, side="right", dots=True)
    return Drawing(
        "port-width",
        "Measuring the width of a port",
        "The bore from above, cut at the height of a port. The inside jaws of a caliper touch both edges and give the "
        "chord, straight across. The arc along the wall is longer; it is what a rubbing shows.",
        tuple(groups),
    )


def rubbing() -> Drawing:
    """A strip of paper rubbed in the bore and laid flat."""
    sheet = rectangle(0.0, -56.0, 120.0, 0.0)
    ports = [
        rounded_rectangle(8.0, -48.0, 26.0, -34.0, (2.5, 2.5, 2.5, 2.5)),
        rounded_rectangle(42.0, -48.0, 76.0, -24.0, (6.0, 6.0, 7.0, 7.0)),
        rounded_rectangle(92.0, -48.0, 110.0, -34.0, (2.5, 2.5, 2.5, 2.5)),
    ]
    words = rectangle(83.5, -15.0, 114.5, -9.0)
    groups = [
        group("outline", sheet, fill="paper", about="paper that lay against the bore wall, its top edge at the deck"),
        group("hatch", Hatch((sheet, *ports, words), spacing_mm=1.0, angle_deg=30.0)),
        group("measured", *ports, about="edges of the ports as the pencil shows them"),
        group("measured", Dimension((42.0, -48.0), (76.0, -48.0), "width (arc)", -14.0, NAME_MM),
              Dimension((76.0, -24.0), (76.0, 0.0), "", -6.0)),
        group("note", Text((84.5, -13.0), "roof from deck", NAME_MM), Text((90.0, 1.5), "top edge held at the deck",
              anchor="middle")),
        *pencil((14.0, -34.5)),
        group("note", *lettering((0.0, 12.0), ("Soft pencil, laid flat, over paper pressed", "against the bore wall; "
              "then laid on a table."))),
    ]  # fmt: skip
    return Drawing(
        "rubbing",
        "Taking a rubbing of the ports",
        "Paper is pressed against the bore wall with its top edge at the deck and rubbed with a soft pencil laid flat. "
        "Laid on a table it shows every port's outline, with widths along the wall.",
        tuple(groups),
    )
