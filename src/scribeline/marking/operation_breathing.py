"""What an operation does to intake, pipe, spark, mixture and gearing. Schematic, not to scale."""

import math
from typing import Literal

from scribeline.marking.labels import Label, column
from scribeline.marking.shapes import (
    NAME_MM,
    Circle,
    Dimension,
    Drawing,
    Group,
    Text,
    arc,
    group,
    lettering,
    line,
    path,
    polar,
    polygon,
    rectangle,
    rounded_rectangle,
)

_JOINTS = (0.0, 32.0, 64.0, 78.0, 102.0, 128.0)
_RADII = (4.2, 4.8, 10.5, 10.5, 2.8, 2.8)
_NAMES = ("header", "diffuser", "belly", "baffle", "stinger")


def pipe(name: str, title: str, words: str, what: Literal["length", "section", "whole"]) -> Drawing:
    """The pipe in section; what is changed is filled."""
    marked = {"length": (0,), "section": (4,), "whole": range(5)}[what]
    pieces = [
        polygon((a, ra), (b, rb), (b, -rb), (a, -ra))
        for a, b, ra, rb in zip(_JOINTS, _JOINTS[1:], _RADII, _RADII[1:], strict=False)
    ]
    groups: list[Group] = [
        group("outline", rectangle(-14.0, -14.0, 0.0, 14.0), fill="wash", about="cylinder"),
        group("outline", *(piece for n, piece in enumerate(pieces) if n not in marked), fill="paper", about="pipe"),
        group("target", *(pieces[n] for n in marked), fill="accent wash", about="what is changed"),
        group("centre", line((-14.0, 0.0), (134.0, 0.0))),
        group("note", *(Text(((a + b) / 2.0, -15.0), n, anchor="middle")
                        for a, b, n in zip(_JOINTS, _JOINTS[1:], _NAMES, strict=False))),
    ]  # fmt: skip
    if what == "length":
        groups.append(group("measured", Dimension((0.0, 9.0), (32.0, 9.0), "longer or shorter", 6.0, NAME_MM)))
        groups.append(group("edge", line((24.0, -7.0), (24.0, 7.0)), line((32.0, -8.0), (32.0, 8.0))))
    return Drawing(name, title, words, tuple(groups))


def tract(name: str, title: str, words: str, what: Literal["reed", "petals", "carburettor", "length"]) -> Drawing:
    """The intake from the engine to the mouth; what is changed is filled."""
    block = polygon((0.0, 9.0), (14.0, 9.0), (14.0, -9.0), (0.0, -9.0))
    wedge = path((1.0, 0.0), (13.0, 7.0), (13.0, -7.0), (1.0, 0.0))
    petals = [path((13.0, 7.0), (1.0, 1.2)), path((13.0, -7.0), (1.0, -1.2))]
    manifold = polygon((14.0, 7.0), (40.0, 6.0), (40.0, -6.0), (14.0, -7.0))
    carburettor = polygon((40.0, 6.0), (54.0, 5.0), (72.0, 9.0), (72.0, -9.0), (54.0, -5.0), (40.0, -6.0))
    bowl = rounded_rectangle(47.0, -17.0, 61.0, -6.5, (2.0, 2.0, 0.0, 0.0))
    parts = {"reed": block, "carburettor": carburettor, "length": manifold}
    groups: list[Group] = [
        group("outline", rectangle(-12.0, -16.0, 0.0, 16.0), fill="wash", about="crankcase or barrel"),
        group("outline", block, manifold, carburettor, fill="paper", about="reed block, manifold, carburettor"),
        group("outline", bowl, fill="paper", about="float bowl"),
    ]
    if what in parts:
        groups.append(group("target", parts[what], fill="accent wash", about="what is changed"))
    groups.append(group("outline", wedge, about="reed cage"))
    groups.append(group("target" if what in ("reed", "petals") else "scale", *petals, about="petals"))
    if what == "length":
        groups.append(group("measured", Dimension((14.0, 11.0), (40.0, 11.0), "longer or shorter", 6.0, NAME_MM)))
    names = (((7.0, -12.6), "reed"), ((27.0, -10.8), "manifold"), ((74.0, -13.0), "carburettor"))
    groups.append(group("note", *(Text(at, words, anchor="middle") for at, words in names)))
    return Drawing(name, title, words, tuple(groups))


def spark(name: str, title: str, words: str) -> Drawing:
    """The crank's circle with the spark before top dead centre, as it is and earlier."""
    radius = 24.0
    now, early = polar((0, 0), radius, 90.0 + 18.0), polar((0, 0), radius, 90.0 + 32.0)
    groups = (
        group("outline", Circle((0, 0), radius), about="circle of the crank pin"),
        group("centre", line((0.0, -radius - 4.0), (0.0, radius + 4.0))),
        group("today", line((0.0, 0.0), now)),
        group("target", line((0.0, 0.0), early), about="spark, earlier"),
        group("measured", arc((0, 0), radius + 3.0, 90.0 + 18.0, 90.0 + 32.0)),
        group("note", Text((1.5, radius + 4.5), "top dead centre"),
              Text((now[0] - 1.0, radius + 4.5), "today", anchor="end"),
              Text((early[0] - 4.0, early[1] + 1.0), "earlier", NAME_MM, "end"),
              *lettering((1.5, -8.0), ("engine turns", "clockwise"), anchor="start")),
    )  # fmt: skip
    return Drawing(name, title, words, groups)


def mixture(name: str, title: str, words: str, left: str, right: str, shares: tuple[float, float]) -> Drawing:
    """Two columns, what goes in for one part of the other."""
    tall = 34.0
    groups: list[Group] = []
    for x, words_under, share in ((0.0, left, shares[0]), (30.0, right, shares[1])):
        box, level = rectangle(x, 0.0, x + 16.0, tall), rectangle(x, 0.0, x + 16.0, tall * share)
        groups.append(group("outline", box, fill="paper", about="measure"))
        role: Literal["target", "outline"] = "target" if x else "outline"
        groups.append(group(role, level, fill="accent wash" if x else "wash", about=words_under))
        groups.append(group("note", Text((x + 8.0, -4.5), words_under, NAME_MM, "middle")))
    return Drawing(name, title, words, tuple(groups))


def gearing(name: str, title: str, words: str) -> Drawing:
    """Two sprockets and the chain between them; the rear one changes."""
    small, big, new, apart = 7.0, 17.0, 20.0, 62.0
    lean = math.degrees(math.asin((new - small) / apart))
    sides = [
        line(polar((0, 0), small, way * (90.0 + lean)), polar((apart, 0), new, way * (90.0 + lean))) for way in (1, -1)
    ]
    groups: list[Group] = [
        group("outline", Circle((0, 0), small), fill="wash", about="front sprocket"),
        group("target", Circle((apart, 0), new), fill="accent wash", about="new rear sprocket"),
        group("today", Circle((apart, 0), big), about="rear sprocket as it is"),
        group("scale", *sides),
        group("centre", line((-10.0, 0.0), (apart + 24.0, 0.0))),
        group("note", Text((0.0, -small - 4.0), "front", anchor="middle")),
    ]
    label = Label((apart + 12.0, 15.8), ("more teeth: pulls harder,", "runs out of speed earlier"))
    groups += column([label], edge_mm=apart + 26.0, side="right", dots=True)
    return Drawing(name, title, words, tuple(groups))
