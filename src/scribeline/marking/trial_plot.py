"""Test runs drawn: every run as a dot with the interval of its setup, every run as a line, curves with their bands.

All numbers come in from outside. Setups are told apart by their place, their line's style and their name at its end,
never by colour alone; the first one is drawn in ink, the second in the accent.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from scribeline.errors import SheetError
from scribeline.marking.area_plot import tick_step
from scribeline.marking.drafting import simplified, text_width_mm
from scribeline.marking.labels import wrapped
from scribeline.marking.shapes import (
    NAME_MM,
    NOTE_MM,
    Anchor,
    Circle,
    Drawing,
    Fill,
    Group,
    Point,
    Role,
    Shape,
    Text,
    group,
    line,
    path,
    polygon,
)

WIDTH_MM = 120.0
_ROW_MM = 15.0
_DOT_MM = 0.75
_PENS: tuple[tuple[Role, Role, Fill], ...] = (
    # middle line, each run's own line, band
    ("outline", "today", "wash"),
    ("target", "measured", "accent wash"),
    ("transfer curve", "centre", "wash"),
    ("intake curve", "hatch", "wash"),
)


@dataclass(frozen=True)
class DotRow:
    """One setup: its runs, their mean with half its interval; dropped runs are crossed. values may be empty."""

    name: str
    values: tuple[float, ...]
    mean: float
    half_width: float
    dropped: tuple[float, ...] = ()


@dataclass(frozen=True)
class DifferenceRow:
    """The difference of a setup from the first one, with its interval; shown : whether it counts as one."""

    name: str
    difference: float
    low: float
    high: float
    shown: bool


@dataclass(frozen=True)
class DotPlot:
    """What is drawn of one measure. axis : its words with the unit; what : the differences' words with the unit."""

    name: str
    title: str
    description: str
    axis: str
    what: str
    rows: tuple[DotRow, ...]
    differences: tuple[DifferenceRow, ...]


@dataclass(frozen=True)
class Bundle:
    """The lines of one setup: each run's own, and a middle one with its band where there is one. nan breaks a line."""

    name: str
    lines: tuple[tuple[Sequence[float], Sequence[float]], ...] = ()
    middle: tuple[Sequence[float], Sequence[float]] | None = None
    band: tuple[Sequence[float], Sequence[float], Sequence[float]] | None = field(default=None)


@dataclass(frozen=True)
class BundlePlot:
    """What is drawn: bundles over one pair of axes. from_zero : whether the upright one begins at 0."""

    name: str
    title: str
    description: str
    x_words: str
    y_words: str
    bundles: tuple[Bundle, ...]
    height_mm: float = 75.0
    from_zero: bool = False


def dot_plot(plot: DotPlot) -> Drawing:
    """Runs as dots above, differences with their intervals below. Raises SheetError where there is nothing to draw.

    >>> rows = (DotRow("stock", (8.4, 8.5), 8.45, 0.2), DotRow("cut", (8.2, 8.3), 8.25, 0.2))
    >>> difference = (DifferenceRow("cut less stock", -0.2, -0.4, 0.0, False),)
    >>> dot_plot(DotPlot("gate", "Gate", "Two setups.", "s", "s", rows, difference)).title
    'Gate'
    """
    values = [v for row in plot.rows for v in (*row.values, row.mean) if math.isfinite(v)]
    if not values:
        raise SheetError("no run to draw: none of them has a value of this measure")
    ends = [end for row in plot.rows for end in (row.mean - row.half_width, row.mean + row.half_width)]
    # A mean of two runs has an interval far wider than the runs; it is cut off rather than squeezing the dots.
    room = 1.5 * (max(values) - min(values)) or 0.02 * abs(values[0]) or 1.0
    inside = [end for end in ends if math.isfinite(end) and min(values) - room <= end <= max(values) + room]
    low, high, step = scale([*values, *inside])
    below = len(plot.differences) * _ROW_MM + 16.0 if plot.differences else 0.0

    def x(value: float) -> float:
        return (min(max(value, low), high) - low) / (high - low) * WIDTH_MM

    groups = axis(low, high, step, x, below, below + len(plot.rows) * _ROW_MM, plot.axis)
    for i, row in enumerate(plot.rows):
        y = below + (len(plot.rows) - i - 0.5) * _ROW_MM
        groups += _dot_row(row, y, x, _PENS[min(i, len(_PENS) - 1)], (low, high))
    if plot.differences:
        groups += _difference_panel(plot)
    top = below + len(plot.rows) * _ROW_MM
    groups.append(group("note", Text((0.0, top + 3.0), plot.title, NAME_MM)))
    return Drawing(plot.name, plot.title, plot.description, tuple(groups))


def _dot_row(
    row: DotRow, y: float, x: Callable[[float], float], pens: tuple[Role, Role, Fill], ends: tuple[float, float]
) -> list[Group]:
    middle, _, fill = pens
    groups: list[Group] = []
    if math.isfinite(row.half_width):
        low, high = row.mean - row.half_width, row.mean + row.half_width
        left, right = x(low), x(high)
        about = f"{row.name}: mean {row.mean:.4g}, {low:.4g} to {high:.4g}"
        bar: list[Shape] = [polygon((left, y - 3.4), (right, y - 3.4), (right, y - 1.8), (left, y - 1.8))]
        groups.append(group("scale", *bar, fill=fill, about=about))
        if low < ends[0] or high > ends[1]:
            groups.append(group("note", Text((right + 1.0, y - 3.2), "wider than drawn", NOTE_MM)))
    groups.append(group(middle, line((x(row.mean), y - 4.2), (x(row.mean), y - 1.0))))
    dots = [Circle(at, _DOT_MM) for at in _stacked([x(v) for v in row.values], y + 0.8)]
    groups.append(group("target" if middle == "target" else "outline", *dots, fill="paper"))
    crosses = [shape for v in row.dropped for shape in _cross((x(v), y + 0.8))]
    groups.append(group("edge", *crosses, about=f"{row.name}: {len(row.dropped)} dropped"))
    for v in row.dropped:
        if not ends[0] <= v <= ends[1]:  # further off than is drawn: at the edge, with its value
            side: Anchor = "end" if v > ends[1] else "start"
            shift = -2.0 if v > ends[1] else 2.0
            groups.append(group("note", Text((x(v) + shift, y + 0.1), f"dropped: {v:g}", NOTE_MM, side)))
    words = wrapped(row.name, 40.0)
    texts = [
        Text((-3.0, y - NOTE_MM * (0.5 - 0.875 * (len(words) - 1) + 1.75 * i)), word, NOTE_MM, "end")
        for i, word in enumerate(words)
    ]
    groups.append(group("note", *texts))
    return groups


def _stacked(places: Sequence[float], y: float) -> list[Point]:
    """Dots at their places, each raised until it lies on no other."""
    out: list[Point] = []
    for at in sorted(places):
        level = y
        while any(math.hypot(at - a, level - b) < 2.05 * _DOT_MM for a, b in out):
            level += 0.5 * _DOT_MM
        out.append((at, min(level, y + 5.5)))
    return out


def _difference_panel(plot: DotPlot) -> list[Group]:
    rows = plot.differences
    ends = [end for row in rows for end in (row.low, row.high) if math.isfinite(end)]
    room = 0.08 * (max([0.0, *ends]) - min([0.0, *ends]))
    low, high, step = scale([-room, room, *ends])
    top = len(rows) * _ROW_MM * 0.75

    def x(value: float) -> float:
        return (min(max(value, low), high) - low) / (high - low) * WIDTH_MM

    groups = axis(low, high, step, x, 0.0, top, plot.what)
    groups.append(group("outline", line((x(0.0), 0.0), (x(0.0), top)), about="no difference"))
    for i, row in enumerate(rows):
        y = (len(rows) - i - 0.5) * _ROW_MM * 0.75
        role: Role = "target" if row.shown else "outline"
        stops = [line((x(end), y - 1.2), (x(end), y + 1.2)) for end in (row.low, row.high)]
        about = f"{row.name}: {row.difference:.3g}, {row.low:.3g} to {row.high:.3g}"
        groups.append(group(role, line((x(row.low), y), (x(row.high), y)), *stops, about=about))
        groups.append(group(role, Circle((x(row.difference), y), 1.0), fill="accent" if row.shown else "paper"))
        words = wrapped(row.name, 40.0)
        texts = [
            Text((-3.0, y - NOTE_MM * (0.5 - 0.875 * (len(words) - 1) + 1.75 * j)), word, NOTE_MM, "end")
            for j, word in enumerate(words)
        ]
        groups.append(group("note", *texts))
    return groups


def bundle_plot(plot: BundlePlot) -> Drawing:
    """Lines and bands over one pair of axes. Raises SheetError where there is no line.

    >>> one = Bundle("stock", lines=(((0.0, 1.0, 2.0), (5.0, 8.0, 9.0)),))
    >>> bundle_plot(BundlePlot("runs", "Runs", "One run.", "s", "km/h", (one,))).name
    'runs'
    """
    points = [
        (x, y)
        for bundle in plot.bundles
        for xs, ys in (*bundle.lines, *([bundle.middle] if bundle.middle else []))
        for x, y in zip(xs, ys, strict=True)
        if math.isfinite(x) and math.isfinite(y)
    ]
    if not points:
        raise SheetError("no line to draw: no run has a trace")
    edges = [
        y for bundle in plot.bundles if bundle.band for y in (*bundle.band[1], *bundle.band[2]) if math.isfinite(y)
    ]
    x_low, x_high, x_step = scale([x for x, _ in points])
    y_low, y_high, y_step = scale([y for _, y in points] + edges + ([0.0] if plot.from_zero else []))

    def place(x: float, y: float) -> Point:
        return (
            (x - x_low) / (x_high - x_low) * WIDTH_MM,
            (min(max(y, y_low), y_high) - y_low) / (y_high - y_low) * plot.height_mm,
        )

    groups: list[Group] = []
    for bundle, (_, _, fill) in zip(plot.bundles, _PENS, strict=False):
        if bundle.band is not None:
            groups += _band(bundle, fill, place)
    groups += axis(x_low, x_high, x_step, lambda v: place(v, y_low)[0], 0.0, plot.height_mm, plot.x_words)
    ticks: list[Shape] = [line((0, 0), (0, plot.height_mm))]
    for i in range(round((y_high - y_low) / y_step) + 1):
        value = y_low + i * y_step
        level = place(x_low, value)[1]
        ticks += [
            line((-1.5, level), (0, level)),
            Text((-2.5, level - 0.5 * NOTE_MM), f"{round(value, 9):g}", NOTE_MM, "end"),
        ]
    groups.append(group("scale", *ticks))
    groups.append(group("note", Text((0.0, plot.height_mm + 8.0), plot.y_words, NAME_MM)))
    left = WIDTH_MM
    for bundle, (middle, own, _) in reversed(list(zip(plot.bundles, _PENS, strict=False))):
        runs = [run for xs, ys in bundle.lines for run in _broken(xs, ys, place)]
        groups.append(group(own, *(path(*simplified(run, 0.03)) for run in runs), about=f"{bundle.name}: each run"))
        if bundle.middle is not None:
            runs = _broken(*bundle.middle, place)
            groups.append(group(middle, *(path(*simplified(run, 0.03)) for run in runs), about=f"{bundle.name}: mean"))
        # A key above the right-hand end: ends of many lines lie too close to be labelled each.
        left -= text_width_mm(bundle.name, NOTE_MM)
        level = plot.height_mm + 3.0
        groups.append(group("note", Text((left, level), bundle.name, NOTE_MM)))
        sample = line((left - 9.0, level + 0.5 * NOTE_MM), (left - 1.5, level + 0.5 * NOTE_MM))
        groups.append(group(own if bundle.middle is None else middle, sample))
        left -= 13.0
    return Drawing(plot.name, plot.title, plot.description, tuple(groups))


def _band(bundle: Bundle, fill: Fill, place: Callable[[float, float], Point]) -> list[Group]:
    assert bundle.band is not None
    xs, low, high = bundle.band
    inside = [i for i in range(len(xs)) if math.isfinite(low[i]) and math.isfinite(high[i])]
    if len(inside) < 2:
        return []
    around = [place(xs[i], low[i]) for i in inside] + [place(xs[i], high[i]) for i in reversed(inside)]
    return [group("hatch", polygon(*around), fill=fill, about=f"{bundle.name}: band of about 95 %")]


def _broken(xs: Sequence[float], ys: Sequence[float], place: Callable[[float, float], Point]) -> list[list[Point]]:
    """The pieces of a line between places that have no value, each of two points at least."""
    pieces: list[list[Point]] = [[]]
    for x, y in zip(xs, ys, strict=True):
        if math.isfinite(x) and math.isfinite(y):
            pieces[-1].append(place(x, y))
        elif pieces[-1]:
            pieces.append([])
    return [piece for piece in pieces if len(piece) > 1]


def scale(values: Sequence[float]) -> tuple[float, float, float]:
    """Ends on round numbers, with a little room, and the step of the ticks."""
    low, high = min(values), max(values)
    if high - low < 1e-9 * max(abs(high), 1.0):
        low, high = low - 0.5 * max(abs(low), 1.0) * 0.02, high + 0.5 * max(abs(high), 1.0) * 0.02
    step = tick_step(high - low)
    return step * math.floor(low / step + 1e-9), step * math.ceil(high / step - 1e-9), step


def axis(
    low: float, high: float, step: float, x: Callable[[float], float], base: float, top: float, words: str
) -> list[Group]:
    """A lying axis with its ticks, and faint uprights to read by."""
    shapes: list[Shape] = [line((0.0, base), (WIDTH_MM, base))]
    guides: list[Shape] = []
    count = round((high - low) / step)
    widest = max(text_width_mm(f"{round(low + i * step, 9):g}", NOTE_MM) for i in (0, count)) + 2.0
    every = max(1, math.ceil(widest / (WIDTH_MM / max(count, 1))))
    for i in range(count + 1):
        at = x(low + i * step)
        shapes.append(line((at, base), (at, base - 1.5)))
        guides.append(line((at, base), (at, top)))
        if i % every == 0:
            shapes.append(Text((at, base - 2.5 - NOTE_MM), f"{round(low + i * step, 9):g}", NOTE_MM, "middle"))
    shapes.append(Text((0.5 * WIDTH_MM, base - 5.2 - 2 * NOTE_MM), words, NOTE_MM, "middle"))
    return [group("hatch", *guides), group("scale", *shapes)]


def _cross(at: Point) -> list[Shape]:
    d = _DOT_MM
    return [line((at[0] - d, at[1] - d), (at[0] + d, at[1] + d)), line((at[0] - d, at[1] + d), (at[0] + d, at[1] - d))]
