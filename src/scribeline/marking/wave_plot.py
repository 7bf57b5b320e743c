"""The waves in a pipe: pressure along it against time, as a map whose heights are drawn as contour lines.

Crests are full lines, troughs broken ones; the tint only helps. The pipe itself is drawn underneath, to the same scale
along it. Numbers come in from outside.
"""

import math
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from scribeline.errors import SheetError
from scribeline.marking.curve_plot import Mark
from scribeline.marking.drafting import simplified
from scribeline.marking.shapes import NAME_MM, NOTE_MM, Drawing, Fill, Group, Point, Text, group, line, path, rectangle
from scribeline.units import MM_PER_INCH, Units, length, unit_of

WIDTH_MM = 130.0
HEIGHT_MM = 120.0
_PIPE_MM = 26.0
_COLUMNS, _ROWS = 110, 120

# Tints of the map, bar above the air outside: from, to, fill.
_TINTS: tuple[tuple[float, float, Fill], ...] = ((-9.0, -0.1, "wash"), (0.1, 9.0, "accent wash"))
_LEVELS_BAR = (-0.5, -0.3, -0.1, 0.1, 0.3, 0.5, 0.7, 0.9)


@dataclass(frozen=True)
class WavePlot:
    """x_mm : places from the bore; bore_mm : the pipe's diameter there; deg : crank angles, ascending over one turn.

    bar : pressure above the air outside, one row for each angle; marks : angles to be named; ms_per_deg : time
    units : what whoever reads it measures lengths in
    """

    x_mm: Sequence[float]
    bore_mm: Sequence[float]
    deg: Sequence[float]
    bar: Sequence[Sequence[float]]
    marks: tuple[Mark, ...]
    ms_per_deg: float
    name: str = "waves"
    units: Units = "mm"


def wave_plot(plot: WavePlot) -> Drawing:
    """The map, time running upwards. Raises SheetError for fewer than two places or angles.

    >>> plot = WavePlot((0.0, 500.0), (30.0, 30.0), (0.0, 360.0), ((0.0, 0.2), (0.2, 0.0)), (), 0.02)
    >>> wave_plot(plot).title
    'Pressure along the exhaust pipe against time'
    """
    if len(plot.x_mm) < 2 or len(plot.deg) < 2:
        raise SheetError("a wave diagram needs two places and two angles at least")
    far, first, last = plot.x_mm[-1], plot.deg[0], plot.deg[-1]
    field = [[_sample(plot, i / _COLUMNS, j / _ROWS) for i in range(_COLUMNS + 1)] for j in range(_ROWS + 1)]

    def place(i: float, j: float) -> Point:
        return i / _COLUMNS * WIDTH_MM, j / _ROWS * HEIGHT_MM

    groups = list(_tinted(field))
    for level in _LEVELS_BAR:
        lines = [path(*simplified([place(*p) for p in one], 0.08)) for one in _contours(field, level) if len(one) > 3]
        if lines:
            about = f"pressure {level:+.1f} bar against the air outside"
            groups.append(group("dimension" if level > 0 else "today", *lines, about=about))
    groups += _axes(plot, far, first, last)
    groups += _pipe(plot, far)
    return Drawing(plot.name, "Pressure along the exhaust pipe against time", _description(plot), tuple(groups))


def _sample(plot: WavePlot, across: float, up: float) -> float:
    """Pressure at a share of the length and of the turn, straight between the four numbers round it."""
    i, u = _between(plot.x_mm, plot.x_mm[0] + across * (plot.x_mm[-1] - plot.x_mm[0]))
    j, v = _between(plot.deg, plot.deg[0] + up * (plot.deg[-1] - plot.deg[0]))
    low = (1 - u) * plot.bar[j][i] + u * plot.bar[j][i + 1]
    high = (1 - u) * plot.bar[j + 1][i] + u * plot.bar[j + 1][i + 1]
    return float((1 - v) * low + v * high)


def _between(places: Sequence[float], at: float) -> tuple[int, float]:
    i = min(max(bisect_right(places, at) - 1, 0), len(places) - 2)
    return i, min(max((at - places[i]) / (places[i + 1] - places[i]), 0.0), 1.0)


def _tinted(field: list[list[float]]) -> Iterator[Group]:
    """Rows of the map, each stretch of one tint as one strip."""
    w, h = WIDTH_MM / _COLUMNS, HEIGHT_MM / _ROWS
    for low, high, fill in _TINTS:
        strips = []
        for j in range(_ROWS):
            start = None
            for i in range(_COLUMNS + 1):
                inside = i < _COLUMNS and low <= 0.5 * (field[j][i] + field[j + 1][i + 1]) < high
                if inside and start is None:
                    start = i
                elif not inside and start is not None:
                    strips.append(rectangle(start * w, j * h, i * w, (j + 1) * h))
                    start = None
        if strips:
            yield Group("hatch", tuple(strips), fill)


def _contours(field: list[list[float]], level: float) -> list[list[Point]]:
    """Lines of one height through the map (marching squares), in cells, joined end to end."""
    links: dict[Point, list[Point]] = {}
    for j in range(len(field) - 1):
        for i in range(len(field[0]) - 1):
            corners = ((i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1))
            cut = []
            for (x0, y0), (x1, y1) in zip(corners, corners[1:] + corners[:1], strict=True):
                # the same edge gives the same point from either side
                (x0, y0), (x1, y1) = sorted(((x0, y0), (x1, y1)))
                a, b = field[y0][x0] - level, field[y1][x1] - level
                if (a < 0) != (b < 0):
                    s = a / (a - b)
                    cut.append((x0 + s * (x1 - x0), y0 + s * (y1 - y0)))
            for p, q in zip(cut[::2], cut[1::2], strict=True):
                links.setdefault(p, []).append(q)
                links.setdefault(q, []).append(p)
    return _joined(links)


def _joined(links: dict[Point, list[Point]]) -> list[list[Point]]:
    lines = []
    ends = [p for p, others in links.items() if len(others) == 1]
    for start in [*ends, *links]:
        while links[start]:
            run = [start]
            while links[run[-1]]:
                here = run[-1]
                there = links[here].pop()
                links[there].remove(here)
                run.append(there)
            lines.append(run)
    return lines


def _axes(plot: WavePlot, far: float, first: float, last: float) -> list[Group]:
    scale: list[Group] = []
    frame = rectangle(0.0, 0.0, WIDTH_MM, HEIGHT_MM)
    words = []
    ticks = []
    for deg in range(30 * math.ceil(first / 30), math.floor(last) + 1, 30):
        y = (deg - first) / (last - first) * HEIGHT_MM
        ticks.append(line((WIDTH_MM, y), (WIDTH_MM + 1.5, y)))
        ms = (deg - first) * plot.ms_per_deg
        words.append(Text((WIDTH_MM + 2.5, y - 0.5 * NOTE_MM), f"{deg % 360}°  {ms:.1f} ms", NOTE_MM))
    words.append(Text((WIDTH_MM + 2.5, HEIGHT_MM + 2.0), "crank angle and time", NOTE_MM))
    scale.append(group("scale", frame, *ticks, *words))
    for mark in plot.marks:
        y = ((mark.x - first) % 360.0) / (last - first) * HEIGHT_MM
        scale.append(group("centre", line((-1.5, y), (WIDTH_MM, y))))
        scale.append(group("note", Text((-2.5, y - 0.5 * NOTE_MM), mark.words, NOTE_MM, "end")))
    scale.append(group("note", Text((0.0, HEIGHT_MM + 5.5), "pressure against the air outside, bar", NAME_MM)))
    key = "contours at ±0.1, ±0.3, ±0.5 ... bar; full lines and red tint: above, broken lines and grey tint: below"
    scale.append(group("note", Text((0.0, HEIGHT_MM + 2.0), key, 0.85 * NOTE_MM)))
    return scale


def _pipe(plot: WavePlot, far: float) -> list[Group]:
    """The pipe in outline under the map, diameters larger than life by what fits."""
    middle = -8.0 - 0.5 * _PIPE_MM
    tall = _PIPE_MM / max(plot.bore_mm)
    start = plot.x_mm[0]
    along = [(x - start) / (far - start) * WIDTH_MM for x in plot.x_mm]
    upper = [(x, middle + 0.5 * tall * d) for x, d in zip(along, plot.bore_mm, strict=True)]
    lower = [(x, 2 * middle - y) for x, y in upper]
    ticks, words = [], []
    base = middle - 0.5 * _PIPE_MM - 2.0
    step_mm, number = (100.0, 100) if plot.units == "mm" else (4 * float(MM_PER_INCH), 4)
    for i in range(math.floor(far / step_mm) + 1):
        x = (i * step_mm - start) / (far - start) * WIDTH_MM
        if x < -1e-6:
            x = 0.0
        ticks.append(line((x, base), (x, base - 1.5)))
        words.append(Text((x, base - 2.5 - NOTE_MM), str(i * number), NOTE_MM, "middle"))
    along_it = f"{unit_of(plot.units)} along the pipe from the bore"
    words.append(Text((0.5 * WIDTH_MM, base - 5.5 - 2 * NOTE_MM), along_it, NOTE_MM, "middle"))
    return [
        group("outline", path(*simplified(upper, 0.05)), path(*simplified(lower, 0.05)), about="the pipe in outline"),
        group("centre", line((-2.0, middle), (WIDTH_MM + 2.0, middle))),
        group("scale", line((0, base), (WIDTH_MM, base)), *ticks, *words),
    ]


def _description(plot: WavePlot) -> str:
    highest = max((value, j, i) for j, row in enumerate(plot.bar) for i, value in enumerate(row))
    lowest = min((value, j, i) for j, row in enumerate(plot.bar) for i, value in enumerate(row))
    said = [
        f"{words} {value:+.2f} bar, {length(plot.x_mm[i], plot.units, 0)} from the bore "
        f"at {plot.deg[j] % 360:.0f} degrees"
        for words, (value, j, i) in (("highest", highest), ("lowest", lowest))
    ]
    return f"Pressure against the air outside along the exhaust pipe through one turn: {'; '.join(said)}."
