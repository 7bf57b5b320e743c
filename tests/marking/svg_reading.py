"""Reads a written picture back, knowing nothing of the code that wrote it: groups, paths, circles, lettering.

Everything is in the picture's own units, y down. Round edges follow the rules of the SVG recommendation (from memory,
implementation notes on elliptical arcs): two circles of the stated radius pass through both ends, and the two flags
choose the centre.
"""

import math
import re
import xml.etree.ElementTree as ElementTree
from collections.abc import Iterator
from dataclasses import dataclass

NAMESPACE = "{http://www.w3.org/2000/svg}"
Point = tuple[float, float]


@dataclass(frozen=True)
class Edge:
    """A straight edge, or where `radius` is given a round one that turns clockwise on the screen or not."""

    start: Point
    end: Point
    radius: float | None = None
    large: bool = False
    clockwise: bool = False

    def _to_centre(self) -> tuple[Point, float]:
        assert self.radius is not None
        (x0, y0), (x1, y1) = self.start, self.end
        chord = math.dist(self.start, self.end)
        away = math.sqrt(max(0.0, self.radius**2 - 0.25 * chord**2))
        # With y down, the centre of the short clockwise way lies to the right of the way, seen on the screen.
        side = 1.0 if self.clockwise != self.large else -1.0
        nx, ny = -(y1 - y0) / chord, (x1 - x0) / chord
        return (0.5 * (x0 + x1) + side * away * nx, 0.5 * (y0 + y1) + side * away * ny), self.radius

    @property
    def centre(self) -> Point:
        return self._to_centre()[0]

    @property
    def turn_deg(self) -> float:
        """How far a round edge turns, degrees."""
        (cx, cy), _ = self._to_centre()
        before = math.atan2(self.start[1] - cy, self.start[0] - cx)
        after = math.atan2(self.end[1] - cy, self.end[0] - cx)
        return math.degrees(after - before if self.clockwise else before - after) % 360.0

    def samples(self, count: int = 24) -> Iterator[Point]:
        """Points along the edge, both ends among them."""
        if self.radius is None:
            yield self.start
            yield self.end
            return
        (cx, cy), radius = self._to_centre()
        first = math.atan2(self.start[1] - cy, self.start[0] - cx)
        turn = math.radians(self.turn_deg) * (1 if self.clockwise else -1)
        for i in range(count + 1):
            angle = first + turn * i / count
            yield cx + radius * math.cos(angle), cy + radius * math.sin(angle)


@dataclass(frozen=True)
class Stroke:
    """One unbroken piece of a path."""

    edges: tuple[Edge, ...]
    closed: bool

    @property
    def samples(self) -> list[Point]:
        return [point for edge in self.edges for point in edge.samples()]

    @property
    def box(self) -> tuple[float, float, float, float]:
        """left, top, right, bottom"""
        xs, ys = zip(*self.samples, strict=True)
        return min(xs), min(ys), max(xs), max(ys)


@dataclass(frozen=True)
class Lettering:
    x: float
    y: float
    size: float
    words: str
    anchor: str


class Picture:
    """A written picture."""

    def __init__(self, text: str) -> None:
        self.root = ElementTree.fromstring(text)
        self.view = tuple(float(number) for number in self.root.attrib["viewBox"].split())

    def groups(self, role: str) -> list[ElementTree.Element]:
        return [one for one in self.root.iter(f"{NAMESPACE}g") if one.attrib["class"].split()[0] == role]

    def group_about(self, words: str) -> ElementTree.Element:
        """The one group whose words begin so."""
        found = [
            one
            for one in self.root.iter(f"{NAMESPACE}g")
            if (one.findtext(f"{NAMESPACE}title") or "").startswith(words)
        ]
        assert len(found) == 1, (words, len(found))
        return found[0]

    def strokes(self, group: ElementTree.Element | None = None) -> list[Stroke]:
        inside = self.root if group is None else group
        return [stroke for path in inside.iter(f"{NAMESPACE}path") for stroke in strokes(path.attrib["d"])]

    def circles(self, group: ElementTree.Element | None = None) -> list[tuple[Point, float]]:
        inside = self.root if group is None else group
        return [
            ((float(one.attrib["cx"]), float(one.attrib["cy"])), float(one.attrib["r"]))
            for one in inside.iter(f"{NAMESPACE}circle")
        ]

    @property
    def lettering(self) -> list[Lettering]:
        return [
            Lettering(
                float(one.attrib["x"]),
                float(one.attrib["y"]),
                float(one.attrib["font-size"]),
                one.text or "",
                one.attrib.get("text-anchor", "start"),
            )
            for one in self.root.iter(f"{NAMESPACE}text")
        ]

    @property
    def words(self) -> list[str]:
        return [one.words for one in self.lettering]


def strokes(d: str) -> list[Stroke]:
    """The pieces of a path; only the commands M, L, A and Z, all absolute, are known."""
    found: list[Stroke] = []
    edges: list[Edge] = []
    at = begin = (0.0, 0.0)
    tokens = re.findall(r"([MLAZ])([^MLAZ]*)", d)
    assert "".join(command + rest for command, rest in tokens) == d, f"unknown commands in {d}"
    for command, rest in tokens:
        numbers = [float(number) for number in rest.split()]
        if command == "M":
            if edges:
                found.append(Stroke(tuple(edges), closed=False))
            edges, at = [], (numbers[0], numbers[1])
            begin = at
        elif command == "L":
            edges.append(Edge(at, (numbers[0], numbers[1])))
            at = (numbers[0], numbers[1])
        elif command == "A":
            assert numbers[0] == numbers[1]
            end = (numbers[5], numbers[6])
            edges.append(Edge(at, end, numbers[0], bool(numbers[3]), bool(numbers[4])))
            at = end
        else:
            if math.dist(at, begin) > 0:
                edges.append(Edge(at, begin))
            found.append(Stroke(tuple(edges), closed=True))
            edges, at = [], begin
    if edges:
        found.append(Stroke(tuple(edges), closed=False))
    return found
