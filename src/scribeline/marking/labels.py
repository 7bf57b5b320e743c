"""Where labels go so that none lies on another: spread out in order, in rows above or columns beside a drawing.

The rule: labels keep the order of the places they belong to, each as near to its place as the others let it, and the
leader lines keep that order too. So no two labels overlap and no two leaders cross, however many there are.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from scribeline.marking.drafting import text_width_mm
from scribeline.marking.shapes import LINE_STEP, NOTE_MM, Circle, Group, Point, Polyline, Text, group, lettering

_GAP_MM = 2.0
_LEADER_ROOM_MM = 1.0
_SLANT_MM = 4.0
_FAR_MM = 12.0  # a label further from its place than this is worth another row


@dataclass(frozen=True)
class Label:
    """Words that belong to a place on a drawing."""

    place: Point
    lines: tuple[str, ...]
    height_mm: float = NOTE_MM

    @property
    def width_mm(self) -> float:
        return max(text_width_mm(words, self.height_mm) for words in self.lines)

    @property
    def tall_mm(self) -> float:
        return (1.35 + LINE_STEP * (len(self.lines) - 1)) * self.height_mm


def wrapped(words: str, width_mm: float, height_mm: float = NOTE_MM) -> tuple[str, ...]:
    """Words broken into lines no wider than asked for, where there is a space to break at.

    >>> wrapped("auxiliary exhaust, left", 24.0)
    ('auxiliary', 'exhaust, left')
    """
    lines: list[str] = []
    for word in words.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width_mm(longer, height_mm) <= width_mm:
            lines[-1] = longer
        else:
            lines.append(word)
    return tuple(lines)


def spread(
    wanted: Sequence[float],
    sizes: Sequence[float],
    *,
    gap: float = _GAP_MM,
    low: float = -math.inf,
    high: float = math.inf,
) -> list[float]:
    """Middles of intervals that keep their order and a gap, each as near as can be to where it is wanted.

    Least squares of the displacements (pool adjacent violators), moved as a whole where an end would pass `low` or
    `high`. `wanted` ascends. Where they do not fit between low and high they begin at low.

    >>> spread([0.0, 1.0, 20.0], [4.0, 4.0, 4.0], gap=2.0)
    [-2.5, 3.5, 20.0]
    """
    if not wanted:
        return []
    steps = [0.0]
    for before, after in pairwise(sizes):
        steps.append(steps[-1] + 0.5 * (before + after) + gap)
    pools: list[tuple[float, int]] = []  # mean of the free positions, and how many share it
    for free in (place - step for place, step in zip(wanted, steps, strict=True)):
        mean, count = free, 1
        while pools and pools[-1][0] >= mean:
            earlier, others = pools.pop()
            mean = (mean * count + earlier * others) / (count + others)
            count += others
        pools.append((mean, count))
    free_low = low + 0.5 * sizes[0]
    free_high = high - 0.5 * sizes[-1] - steps[-1]
    settled = [max(min(mean, free_high), free_low) for mean, count in pools for _ in range(count)]
    return [free + step for free, step in zip(settled, steps, strict=True)]


def rail(
    labels: Sequence[Label],
    *,
    base_mm: float,
    left_mm: float,
    right_mm: float,
    side: Literal["above", "below"],
    dots: bool = True,
) -> list[Group]:
    """Labels in rows above (below) a level, each with a leader to its place, marked with a dot or not.

    The places lie below (above) `base_mm`. As many rows are used as keep the labels near their places.
    """
    ordered = sorted(labels, key=lambda label: label.place)
    if not ordered:
        return []
    ways = _ways(ordered, left_mm, right_mm)
    rows = len(ways)
    up = 1.0 if side == "above" else -1.0
    tall = [max(label.tall_mm for label in ordered[row::rows]) for row in range(rows)]
    words: list[Text] = []
    leaders: list[Polyline] = []
    for i, label in enumerate(ordered):
        x, level = label.place[0], base_mm
        points: list[Point] = [label.place, (x, level)]
        for row in range(i % rows + 1):
            level += up * _SLANT_MM
            points.append((ways[row][i], level))
            if row < i % rows:
                level += up * tall[row]
                points.append((ways[row][i], level))
        foot = level + 0.35 * label.height_mm if up > 0 else level - 1.35 * label.height_mm
        first = foot + LINE_STEP * label.height_mm * (len(label.lines) - 1) if up > 0 else foot
        words += lettering((ways[i % rows][i], first), label.lines, label.height_mm, "middle")
        leaders.append(Polyline(tuple(points)))
    marks = [Circle(label.place, 0.4) for label in ordered] if dots else []
    return [group("note", *leaders), group("note", *marks, fill="ink"), group("note", *words)]


def _ways(ordered: Sequence[Label], left_mm: float, right_mm: float) -> list[list[float]]:
    """For each row the x of every label of that row and of every leader that passes it on the way further out.

    Labels are dealt to the rows in turn. The fewest rows are taken that hold all of them, and more while that brings
    a far-off label nearer.
    """
    best: list[list[float]] = []
    best_far = math.inf
    ways: list[list[float]] = []
    for rows in range(1, len(ordered) + 1):
        ways = []
        places = [label.place[0] for label in ordered]
        fits = True
        for row in range(rows):
            inner = [i for i in range(len(ordered)) if i % rows >= row]
            sizes = [ordered[i].width_mm if i % rows == row else _LEADER_ROOM_MM for i in inner]
            gap = 0.5 * _GAP_MM if rows > 1 else _GAP_MM
            settled = spread([places[i] for i in inner], sizes, gap=gap, low=left_mm, high=right_mm)
            fits = fits and settled[-1] + 0.5 * sizes[-1] <= right_mm + 1e-9
            for i, x in zip(inner, settled, strict=True):
                places[i] = x
            ways.append(list(places))
        far = max(abs(x - label.place[0]) for x, label in zip(places, ordered, strict=True))
        if fits and far < best_far - 1.0:
            best, best_far = ways, far
        if best_far <= _FAR_MM:
            break
    return best or ways  # a label wider than the drawing: one label to a row


def column(
    labels: Sequence[Label], *, edge_mm: float, side: Literal["left", "right"], dots: bool = False
) -> list[Group]:
    """Labels in a column to the left or right of an upright edge, each with a leader from its place to its words.

    dots : whether the place is marked with a dot, as inside of a part

    Of two places at the same height the first stands higher.
    """
    ordered = sorted(labels, key=lambda label: -label.place[1])[::-1]
    out = 1.0 if side == "right" else -1.0
    middles = spread([label.place[1] for label in ordered], [label.tall_mm for label in ordered], gap=1.6)
    words: list[Text] = []
    leaders: list[Polyline] = []
    for label, y in zip(ordered, middles, strict=True):
        x = edge_mm + out * _SLANT_MM
        leaders.append(Polyline((label.place, (edge_mm, label.place[1]), (x, y))))
        first = y - 0.5 * label.height_mm + 0.5 * LINE_STEP * label.height_mm * (len(label.lines) - 1)
        words += lettering((x + out * 0.8, first), label.lines, label.height_mm, "start" if side == "right" else "end")
    marks = [Circle(label.place, 0.4) for label in ordered] if dots else []
    return [group("note", *leaders), group("note", *marks, fill="ink"), group("note", *words)]
