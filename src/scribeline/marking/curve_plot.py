"""Panels one above the other over one common scale: a power curve, or what happens through one turn of the crank.

Lines differ in style and carry their names at their right-hand end, so that they can be told apart without colour.
Every number comes in from outside.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from scribeline.errors import SheetError
from scribeline.marking.area_plot import tick_step
from scribeline.marking.drafting import simplified, text_width_mm
from scribeline.marking.labels import Label, column
from scribeline.marking.shapes import (
    NAME_MM,
    NOTE_MM,
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

WIDTH_MM = 130.0
_GAP_MM = 11.0
_CROSS_MM = 0.9
_Place = Callable[[float], float]


@dataclass(frozen=True)
class Line:
    """One line of a panel. `y` may hold nan where there is no value: the line is broken there.

    dots : whether each value is marked, as where a few speeds were computed and the rest is only joined up
    plus_minus : of each value, drawn as an upright with ends; empty, or nan, where there is none
    band : whether the plus_minus is drawn as one area along the line instead
    """

    name: str
    role: Role
    x: Sequence[float]
    y: Sequence[float]
    dots: bool = False
    plus_minus: Sequence[float] = ()
    band: bool = False


@dataclass(frozen=True)
class Panel:
    """One scale of its own. low, high : ends of the scale, from the values where left out; `from_zero` includes 0.

    Values beyond a given end are cut off at it.
    """

    title: str
    lines: tuple[Line, ...]
    height_mm: float = 28.0
    low: float | None = None
    high: float | None = None
    from_zero: bool = True


@dataclass(frozen=True)
class Mark:
    """An upright through all panels with a few words on top, such as "exhaust opens"."""

    x: float
    words: str


@dataclass(frozen=True)
class CurvePlot:
    """What is plotted. low, high, step : the common scale; missing : places on it that have no result."""

    name: str
    title: str
    description: str
    x_words: str
    low: float
    high: float
    step: float
    panels: tuple[Panel, ...]
    marks: tuple[Mark, ...] = ()
    missing: tuple[float, ...] = ()


def curve_plot(plot: CurvePlot) -> Drawing:
    """The panels, first on top. Raises SheetError where no panel has a value.

    >>> power = Panel("power, kW", (Line("kart", "target", (4e3, 8e3), (3.0, 9.0)),))
    >>> curve_plot(CurvePlot("power", "Power", "Power by speed.", "rev/min", 4e3, 8e3, 1e3, (power,))).title
    'Power'
    """
    panels = [panel for panel in plot.panels if any(math.isfinite(y) for one in panel.lines for y in one.y)]
    if not panels:
        raise SheetError("no value to plot: nothing could be computed at any of these places")

    def x(value: float) -> float:
        return (value - plot.low) / (plot.high - plot.low) * WIDTH_MM

    groups: list[Group] = []
    base = 0.0
    for number, panel in enumerate(reversed(panels)):
        groups += _panel(panel, base, x, plot)
        if number == 0:
            groups.append(_x_axis(plot, x))
        base += panel.height_mm + _GAP_MM
    top = base - _GAP_MM
    groups += _marks(plot, x, top)
    return Drawing(plot.name, plot.title, plot.description, tuple(groups))


def _scale(panel: Panel) -> tuple[float, float, float]:
    """Lowest and highest value on the panel's scale and the step of its ticks."""
    values = [y for one in panel.lines for y in [*one.y, *_reach(one)] if math.isfinite(y)]
    low, high = min(values), max(values)
    if panel.from_zero:
        low, high = min(low, 0.0), max(high, 0.0)
    low = panel.low if panel.low is not None else low
    high = panel.high if panel.high is not None else high
    step = tick_step(max(high - low, 1e-9 + 1e-6 * abs(high)))
    ends = step * math.floor(low / step + 1e-9), step * math.ceil(high / step - 1e-9)
    if ends[0] == ends[1]:  # every value is 0: a scale of one step, so that the line lies on its foot
        return 0.0, 1.0, 1.0
    return *ends, step


def _reach(one: Line) -> list[float]:
    """Lower and upper ends of the +/- of a line's values; nan where there is none."""
    return [y + sign * width for y, width in zip(one.y, one.plus_minus, strict=False) for sign in (-1.0, 1.0)]


def _panel(panel: Panel, base: float, x: _Place, plot: CurvePlot) -> list[Group]:
    low, high, step = _scale(panel)

    def y(value: float) -> float:
        return base + (min(max(value, low), high) - low) / (high - low) * panel.height_mm

    top = base + panel.height_mm
    ticks: list[Shape] = [line((0, base), (0, top)), line((0, base), (WIDTH_MM, base))]
    for i in range(round((high - low) / step) + 1):
        value = low + i * step
        ticks.append(line((-1.5, y(value)), (0, y(value))))
        ticks.append(Text((-2.5, y(value) - 0.5 * NOTE_MM), f"{round(value, 9):g}", NOTE_MM, "end"))
    groups = [group("scale", *ticks), group("note", Text((0.0, top + 2.2), panel.title, NAME_MM))]
    if low < 0.0 < high:
        groups.append(group("centre", line((0, y(0.0)), (WIDTH_MM, y(0.0)))))
    labels = []
    groups += [area for one in panel.lines if one.band for area in _bands(one, x, y)]
    for one in panel.lines:
        runs = _runs(one, x, y)
        if not runs:
            continue
        shapes: list[Shape] = [path(*simplified(run, 0.03)) for run in runs if len(run) > 1]
        groups.append(group(one.role, *shapes, about=_in_words(panel, one)))
        marked = [point for run in runs for point in run if one.dots or len(run) == 1]
        groups.append(group("outline", *(s for point in marked for s in _dot(point))))
        if not one.band and (uprights := _uprights(one, x, y)):
            groups.append(group("measured", *uprights))
        labels.append(Label(runs[-1][-1], (one.name,)))
    if len(labels) > 1 or panel is plot.panels[0]:
        groups += column(labels, edge_mm=WIDTH_MM + 1.0, side="right")
    for place in plot.missing:
        at = (x(place), base)
        groups.append(group("measured", *_cross(at)))
    return groups


def _runs(one: Line, x: _Place, y: _Place) -> list[list[Point]]:
    runs: list[list[Point]] = [[]]
    for a, b in zip(one.x, one.y, strict=True):
        if math.isfinite(b):
            runs[-1].append((x(a), y(b)))
        elif runs[-1]:
            runs.append([])
    return [run for run in runs if run]


def _bands(one: Line, x: _Place, y: _Place) -> list[Group]:
    """The area between the ends of the +/-, broken where there is none."""
    reach = _reach(one)
    runs: list[list[tuple[float, float, float]]] = [[]]
    for at, low, high in zip(one.x, reach[::2], reach[1::2], strict=False):
        if math.isfinite(low):
            runs[-1].append((at, low, high))
        elif runs[-1]:
            runs.append([])
    fill: Fill = "accent wash" if one.role == "target" else "wash"
    about = f"the +/- of {one.name}"
    return [
        group("hatch", polygon(*((x(at), y(low)) for at, low, _ in run),
                               *((x(at), y(high)) for at, _, high in reversed(run))), fill=fill, about=about)
        for run in runs if len(run) > 1
    ]  # fmt: skip


def _uprights(one: Line, x: _Place, y: _Place) -> list[Shape]:
    shapes: list[Shape] = []
    reach = _reach(one)
    for at, low, high in zip(one.x, reach[::2], reach[1::2], strict=False):
        if math.isfinite(low):
            shapes.append(line((x(at), y(low)), (x(at), y(high))))
            shapes += [line((x(at) - 0.7, y(end)), (x(at) + 0.7, y(end))) for end in (low, high)]
    return shapes


def _dot(at: Point) -> list[Shape]:
    return [line((at[0] - 0.35, at[1]), (at[0] + 0.35, at[1])), line((at[0], at[1] - 0.35), (at[0], at[1] + 0.35))]


def _cross(at: Point) -> list[Shape]:
    d = _CROSS_MM
    return [line((at[0] - d, at[1] - d), (at[0] + d, at[1] + d)), line((at[0] - d, at[1] + d), (at[0] + d, at[1] - d))]


def _x_axis(plot: CurvePlot, x: _Place) -> Group:
    shapes: list[Shape] = []
    first, last = math.ceil(plot.low / plot.step - 1e-9), math.floor(plot.high / plot.step + 1e-9)
    widest = max(text_width_mm(f"{i * plot.step:g}", NOTE_MM) for i in (first, last)) + 2.0
    every = max(1, math.ceil(widest / (plot.step / (plot.high - plot.low) * WIDTH_MM)))
    for i in range(first, last + 1):
        at = x(i * plot.step)
        shapes.append(line((at, 0), (at, -1.5)))
        if (i - first) % every == 0:
            shapes.append(Text((at, -2.5 - NOTE_MM), f"{i * plot.step:g}", NOTE_MM, "middle"))
    words = plot.x_words + ("; crossed: no result there" if plot.missing else "")
    shapes.append(Text((0.5 * WIDTH_MM, -5.5 - 2 * NOTE_MM), words, NOTE_MM, "middle"))
    return group("scale", *shapes)


def _marks(plot: CurvePlot, x: _Place, top: float) -> list[Group]:
    groups: list[Group] = []
    for i, mark in enumerate(sorted(plot.marks, key=lambda one: one.x)):
        at, level = x(mark.x), top + 7.5 + (i % 3) * 1.8 * NOTE_MM
        groups.append(group("centre", line((at, 0.0), (at, level))))
        groups.append(group("note", Text((at, level + 0.6), mark.words, NOTE_MM, "middle")))
    return groups


def _in_words(panel: Panel, one: Line) -> str:
    values = [(b, a) for a, b in zip(one.x, one.y, strict=True) if math.isfinite(b)]
    high, low = max(values), min(values)
    return f"{panel.title}, {one.name}: highest {high[0]:.4g} at {high[1]:.5g}, lowest {low[0]:.4g} at {low[1]:.5g}"
