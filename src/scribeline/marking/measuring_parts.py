"""How to measure crank, rod, piston, head, crankcase and wheel: one drawing to a measurement.

Schematic, not to scale.
"""

import math

from scribeline.marking.drafting import arrow
from scribeline.marking.instruments import burette, caliper, degree_wheel
from scribeline.marking.labels import Label, column
from scribeline.marking.parts import barrel, piston, rod
from scribeline.marking.shapes import (
    NAME_MM,
    Circle,
    Dimension,
    Drawing,
    Hatch,
    Polyline,
    Text,
    arc,
    bulge,
    group,
    joined,
    lettering,
    line,
    path,
    polar,
    polygon,
    rectangle,
)


def head_volume() -> Drawing:
    """The head upside down under a clear plate, filled from a burette."""
    chamber = Polyline(((24, 0), (16, -2.5), (-16, -2.5), (-24, 0)), (0.0, -bulge(166.0), 0.0))
    block = joined(path((-24, 0), (-34, 0), (-34, -30), (34, -30), (34, 0), (24, 0)), chamber, closed=True)
    plug = rectangle(-6.0, -38.0, 6.0, -15.0)
    liquid = Polyline(chamber.points, (*chamber.bulges, 0.0), closed=True)
    groups = [
        group("hatch", Hatch((block,))),
        group("outline", block, about="cylinder head, upside down"),
        group("outline", plug, rectangle(-8.5, -38.0, 8.5, -31.0), fill="paper", about="spark plug, screwed in"),
        group("outline", liquid, fill="accent wash", about="liquid"),
        group(
            "tool", rectangle(-30.0, 0.0, 6.5, 2.5), rectangle(9.5, 0.0, 30.0, 2.5), fill="paper", about="clear plate"
        ),
        *burette((8.0, 2.5)),
        group("measured", Dimension((11.0, 28.5), (11.0, 46.5), "volume poured", -5.0, NAME_MM, along=False)),
    ]
    labels = [
        Label((5.0, 40.0), ("burette",)),
        Label((-26.0, 1.2), ("clear plate with a small hole,", "grease under its rim")),
        Label((-5.0, -6.0), ("liquid up to the plate,", "no bubble left")),
        Label((-30.0, -22.0), ("head, upside down", "and level")),
        Label((-7.0, -35.0), ("plug screwed in",)),
    ]
    groups += column(labels, edge_mm=-38.0, side="left", dots=True)
    return Drawing(
        "head-volume",
        "Measuring the volume of the head",
        "The head lies upside down and level with its plug screwed in. A clear plate, sealed with grease, covers the "
        "chamber. Liquid from a burette fills it through a small hole; the fall of the level is the volume.",
        tuple(groups),
    )


def degree_wheel_and_stop() -> Drawing:
    """A piston stop in the plug hole, and the wheel with its two readings."""
    wheel, radius, half_deg = (70.0, -24.0), 27.0, 42.0
    heads = rectangle(-25.6, 0.0, -4.0, 12.0), rectangle(4.0, 0.0, 25.6, 12.0)
    top = (wheel[0], wheel[1] + radius)
    groups = [
        *barrel(0, 0, 40.0, 46.0),
        *piston(0, -11.0, 40.0, 30.0, 30.0, dome=3.0),
        group("hatch", *(Hatch((half,)) for half in heads)),
        group("outline", *heads, about="head"),
        group("tool", rectangle(-3.0, -8.0, 3.0, 16.0), rectangle(-7.0, 16.0, 7.0, 20.0), fill="accent wash",
              about="piston stop screwed into the plug hole"),
        *degree_wheel(wheel, radius),
        group("tool", path((top[0] - 16, top[1] + 16), (top[0], top[1] + 8), (top[0], top[1] + 0.5)), about="pointer"),
        group("measured", *(line(wheel, polar(wheel, radius + 3.0, 90.0 + way * half_deg)) for way in (1, -1))),
        group("measured", arc(wheel, 17.0, 90.0 + half_deg, 90.0), arc(wheel, 17.0, 90.0 - half_deg, 90.0)),
        group("measured", *(arrow((wheel[0] + 0.05 * way, wheel[1] + 17.0), 90.0 + way * 87.0) for way in (1, -1)),
              fill="accent"),
        group("centre", line(wheel, (top[0], top[1] + 3.0))),
    ]  # fmt: skip
    left = [
        Label((-5.0, 18.0), ("piston stop in", "the plug hole")),
        Label((-20.0, 6.0), ("head",)),
        Label((-2.0, -8.4), ("the crown meets it", "on both sides of TDC")),
    ]
    right = [
        Label((top[0], top[1] + 4.0), ("pointer of stiff wire,", "fixed to the engine")),
        Label(polar(wheel, radius + 3.0, 90.0 - half_deg), ("reading", "turning forwards")),
        Label(polar(wheel, radius - 2.0, -30.0), ("degree wheel, fixed", "to the crank")),
    ]
    groups += column(left, edge_mm=-31.0, side="left", dots=True)
    groups += column(right, edge_mm=wheel[0] + radius + 4.0, side="right", dots=True)
    x, y = polar(wheel, radius + 4.0, 90.0 + half_deg)
    groups.append(group("note", *lettering((x - 1.0, y + 4.0), ("reading", "turning back"), anchor="end")))
    below = (wheel[0], wheel[1] - radius - 5.0)
    groups.append(group("note", Text(below, "true TDC: halfway between the readings", anchor="middle")))
    return Drawing(
        "degree-wheel",
        "Finding true top dead centre with a piston stop",
        "A stop in the plug hole keeps the piston short of top dead centre. The crank is turned gently by hand until "
        "the crown meets the stop, forwards and then back, and the degree wheel is read at the pointer each time. True "
        "top dead centre lies halfway between the two readings. The wheel is shown at top dead centre of a crank that "
        "turns clockwise.",
        tuple(groups),
    )


def rod_length() -> Drawing:
    """A rod with its centre distance, and the distance a caliper can reach."""
    big, little, big_r, little_r = (0.0, 0.0), (92.0, 0.0), 14.0, 9.0
    groups = [
        *rod(big, little, big_r, little_r),
        group("centre", line((-18, 0), (105, 0)), line((0, -18), (0, 18)), line((92, -13), (92, 13))),
        group("measured", Dimension(big, little, "rod length, centre to centre", 24.0, NAME_MM)),
        group("dimension", Dimension((0.6 * big_r, 0), (92.0 - 0.6 * little_r, 0), "between the eyes", -20.0),
              Dimension((-0.6 * big_r, 0), (0.6 * big_r, 0), "big eye", -31.0, outside=True),
              Dimension((92.0 - 0.6 * little_r, 0), (92.0 + 0.6 * little_r, 0), "little eye", -31.0, outside=True)),
        group("note", Text((46.0, -42.0), "rod length = between the eyes + half the big eye + half the little eye",
                           anchor="middle")),
    ]  # fmt: skip
    return Drawing(
        "rod-length",
        "Measuring the length of the connecting rod",
        "The rod's length runs from the centre of the big eye to the centre of the little eye. A caliper reaches the "
        "distance between the inside edges of the eyes; half of each eye's bore is added.",
        tuple(groups),
    )


def skirt_length() -> Drawing:
    """Caliper from the crown's edge to the bottom of the skirt, on each side."""
    width, left, right = 46.0, 38.0, 46.0
    groups = [
        *piston(0, 0, width, left, right, dome=2.0),
        group("centre", line((0, 6), (0, -50))),
        group("outline", Circle((0, -19.0), 6.0)),
        *caliper((0.5 * width - 1.5, 0.0), right, quarter_turns=3),
        group("measured", Dimension((-0.5 * width, -left), (-0.5 * width, 0), "skirt, intake side", 8.0, NAME_MM,
                                    along=False)),
    ]  # fmt: skip
    labels = [
        Label((23.0, 0.0), ("crown's edge,", "not the dome")),
        Label((38.0, -28.0), ("caliper along the", "exhaust side")),
        Label((23.0, -right), ("bottom of the skirt,", "at its longest")),
    ]
    groups += column(labels, edge_mm=44.0, side="right", dots=True)
    return Drawing(
        "skirt-length",
        "Measuring the length of the skirt",
        "A caliper lies along the piston from the crown's edge at its rim to the bottom of the skirt. Exhaust side and "
        "intake side are measured separately.",
        tuple(groups),
    )


def crankcase_volume() -> Drawing:
    """Crankcase filled from a burette through a transfer port, piston at bottom dead centre."""
    case, radius, half = (0.0, -84.0), 32.0, 18.0
    meets_deg = math.degrees(math.acos(half / radius))
    inside = arc(case, radius, 180.0 - meets_deg, 360.0 + meets_deg)
    case_and_barrel = joined(inside, path(inside.points[1], (half, -33.0), (-half, -33.0)), closed=True)
    lower = ((-35, -32), (-35, -60), (-28, -72), (-20, -57), (-25.6, -57), (-25.6, -30))
    passage = polygon((-20, -22), (-30, -24), *lower, (-20, -30))
    groups = [
        group("hatch", polygon((-33.75, -30), *lower), fill="accent wash"),
        group("outline", passage, about="transfer passage"),
        group("outline", case_and_barrel, fill="accent wash", about="crankcase and barrel, full of liquid"),
        group("outline", Circle(case, 24.0), fill="paper", about="flywheel"),
        *barrel(0, 0, 40.0, 57.0, left=[(22.0, 30.0)], right=[(34.0, 46.0)]),
        *piston(0, -30.0, 40.0, 27.0, 27.0, dome=1.5),
        *rod((0.0, -97.0), (0.0, -45.0), 6.0, 4.5),
        group("tool", rectangle(20.5, -45.5, 32.0, -34.5), fill="wash", about="bung in the intake"),
        *burette((-16.5, -24.0)),
        group("measured", Dimension((-13.5, 2.0), (-13.5, 20.0), "volume poured", -4.0, NAME_MM, along=False)),
    ]
    labels = [
        Label((-15.0, 24.0), ("burette",)),
        Label((10.0, -29.3), ("piston at BDC, its edge", "sealed with grease")),
        Label((26.0, -40.0), ("intake stopped", "with a bung")),
        Label((27.0, -76.0), ("liquid fills everything", "below the piston")),
    ]
    groups += column(labels, edge_mm=36.0, side="right", dots=True)
    level = [Label((-23.0, -30.0), ("stop when the level", "stands at the transfer", "port's floor"))]
    groups += column(level, edge_mm=-38.0, side="left", dots=True)
    return Drawing(
        "crankcase-volume",
        "Measuring the volume of the crankcase",
        "The piston is at bottom dead centre, its edge sealed with grease, and the intake is stopped. Thin oil from a "
        "burette runs through a transfer port until its level stands at the port's floor. What was poured is the "
        "volume.",
        tuple(groups),
    )


def rolling_circumference() -> Drawing:
    """A wheel rolled through one turn from chalk mark to chalk mark."""
    radius = 15.0
    turn = 2.0 * math.pi * radius
    over = arc((0.5 * turn, 8.0), 34.0, 122.0, 58.0)
    groups = [
        group("outline", line((-26.0, 0), (turn + 26.0, 0)), about="the ground"),
        group("outline", Circle((0, radius), radius), Circle((0, radius), 0.55 * radius), fill="wash", about="wheel"),
        group("edge", Circle((turn, radius), radius), Circle((turn, radius), 0.55 * radius), about="one turn later"),
        group("measured", *(line((x, -3.0), (x, 5.0)) for x in (0.0, turn)), about="chalk marks"),
        group("measured", Dimension((0, 0), (turn, 0), "one turn: rolling circumference", -9.0, NAME_MM)),
        group("note", over),
        group("note", arrow(over.points[1], -30.0), fill="ink"),
        group("note", *lettering((0.5 * turn, 22.0), ("rolled straight,", "rider on board,", "tyre as it is run"),
                                 anchor="middle")),
    ]  # fmt: skip
    groups += column([Label((0.0, 4.0), ("chalk on tyre", "and ground"))], edge_mm=-22.0, side="left", dots=True)
    return Drawing(
        "rolling-circumference",
        "Measuring the rolling circumference",
        "Tyre and ground are marked with chalk. With the rider on board the wheel is rolled straight ahead until the "
        "mark is down again; the distance between the marks on the ground is the rolling circumference.",
        tuple(groups),
    )
