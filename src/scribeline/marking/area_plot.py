"""Open port area against crank angle over one turn, one curve to a set of ports.

The curves differ in line style and carry their names, so that they can be told apart without colour. Areas and
angles come in from outside.
"""

import math
from bisect import bisect
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from scribeline.errors import SheetError
from scribeline.marking.drafting import Box, simplified, text_box
from scribeline.marking.labels import Label, rail, wrapped
from scribeline.marking.port_outline import PortKind
from scribeline.marking.shapes import (
    NAME_MM,
    NOTE_MM,
    Anchor,
    Circle,
    Drawing,
    Group,
    Moves,
    Point,
    Role,
    Text,
    group,
    line,
    path,
)

WIDTH_MM = 150.0
HEIGHT_MM = 70.0
_LABEL_MM = 20.0
_CURVES: dict[PortKind, Role] = {
    "exhaust": "exhaust curve",
    "transfer": "transfer curve",
    "intake": "intake curve",
}
_POINTS: dict[PortKind, Moves] = {
    "exhaust": "exhaust area",
    "transfer": "transfer area",
    "intake": "intake area",
}

# Where a name may stand beside a point of its curve.
_BESIDE: tuple[tuple[float, float, Anchor], ...] = ((0.0, 4.5, "middle"), (-2.5, 0.0, "end"), (2.5, 0.0, "start"))


@dataclass(frozen=True)
class AreaCurve:
    """One curve. `theta_deg` ascends over one turn from 0, after top dead centre; 0 to 360 in the opening angles."""

    name: str
    kind: PortKind
    theta_deg: Sequence[float]
    area_mm2: Sequence[float]
    opens_deg_atdc: float
    closes_deg_atdc: float


@dataclass(frozen=True)
class AreaPlot:
    """What the plot shows.

    measured : curves as measured, drawn thin behind those that are shown as if ports were different; behind : what
    they are, in words
    pointer : with marks at top dead centre that a page moves with the crank
    """

    curves: tuple[AreaCurve, ...]
    name: str = "areas"
    measured: tuple[AreaCurve, ...] = ()
    behind: str = "as measured"
    pointer: bool = False


def area_plot(plot: AreaPlot) -> Drawing:
    """Open area in mm2 against crank degrees after top dead centre.

    The turn begins where every port is shut, if there is such an angle, so that no curve is cut in two. A curve that
    never opens is left out; SheetError where no curve is left.

    >>> curve = AreaCurve("exhaust", "exhaust", [0.0, 90.0, 180.0, 270.0], [0.0, 0.0, 650.0, 0.0], 90.0, 270.0)
    >>> area_plot(AreaPlot((curve,))).title
    'Open port areas'
    """
    curves = [curve for curve in plot.curves if max(curve.area_mm2, default=0.0) > 0]
    if not curves:
        raise SheetError("no port opens at any crank angle: there is nothing to plot")
    first, step, top = axes_of(plot)

    def x(deg_atdc: float) -> float:
        return (deg_atdc - first) % 360.0 / 360.0 * WIDTH_MM

    groups = _axes(first, step, top)
    labels, runs = [], []
    for curve in plot.measured:
        drawn = [[(x(deg), area / top * HEIGHT_MM) for deg, area in run] for run in _runs(curve, first)]
        groups.append(
            group("today", *(path(*simplified(run, 0.02)) for run in drawn), about=f"{curve.name} {plot.behind}")
        )
    for curve in curves:
        drawn = [[(x(deg), area / top * HEIGHT_MM) for deg, area in run] for run in _runs(curve, first)]
        shapes = [path(*simplified(run, 0.02)) for run in drawn]
        groups.append(group(_CURVES[curve.kind], *shapes, about=_in_words(curve)))
        runs.append(drawn)
        for happens, deg in (("opens", curve.opens_deg_atdc), ("closes", curve.closes_deg_atdc)):
            words = (*wrapped(f"{curve.name} {happens}", _LABEL_MM), f"{deg:.1f}°")
            labels.append(Label((x(deg), 0.0), words))
    groups += rail(labels, base_mm=HEIGHT_MM + 2.0, left_mm=-10.0, right_mm=WIDTH_MM + 10.0, side="above", dots=False)
    groups += _names(curves, runs, [label.place[0] for label in labels])
    if plot.pointer:
        groups.append(group("edge", line((0, 0), (0, HEIGHT_MM)), about="crank", moves="angle"))
        groups += [group("outline", Circle((0, 0), 1.1), fill="ink", moves=_POINTS[one.kind]) for one in curves]
    return Drawing(plot.name, "Open port areas", _description(plot), tuple(groups))


def axes_of(plot: AreaPlot) -> tuple[float, float, float]:
    """Crank angle at the left end, and step and upper end of the areas, mm2; some curve must open."""
    drawn = [curve for curve in plot.curves if max(curve.area_mm2, default=0.0) > 0]
    highest = max(max(curve.area_mm2) for curve in (*drawn, *plot.measured))
    step = tick_step(highest)
    return first_deg(drawn), step, step * math.ceil(highest / step)


def first_deg(curves: Sequence[AreaCurve]) -> float:
    """The crank angle at which the plot begins: the first of 0, 10, 20 ... where everything is shut, else 0.

    >>> first_deg([AreaCurve("intake", "intake", (), (), 283.0, 77.0)])
    80.0
    """
    for first in range(0, 360, 10):
        open_for = [(curve.closes_deg_atdc - curve.opens_deg_atdc) % 360.0 for curve in curves]
        since = [(first - curve.opens_deg_atdc) % 360.0 for curve in curves]
        if all(passed >= duration for passed, duration in zip(since, open_for, strict=True)):
            return float(first)
    return 0.0


def tick_step(highest: float) -> float:
    """A round step of 1, 2 or 5 that gives three to seven steps up to `highest`.

    >>> tick_step(680.0)
    100.0
    """
    power = 10.0 ** math.floor(math.log10(highest))
    return next(step * power for step in (0.2, 0.5, 1.0, 2.0) if highest <= 7.0 * step * power)


def _runs(curve: AreaCurve, first: float) -> list[list[Point]]:
    """The stretches in which the curve is above zero, as (degrees, area), each with its ends on the axis."""
    ends = [(curve.opens_deg_atdc, 0.0), (curve.closes_deg_atdc, 0.0)]
    samples = [*zip(curve.theta_deg, curve.area_mm2, strict=True), *ends]
    turned = sorted((round((deg - first) % 360.0, 9), deg, max(float(area), 0.0)) for deg, area in samples)
    runs: list[list[Point]] = [[]]
    for before, (_, deg, area), after in zip([None, *turned], turned, [*turned[1:], None], strict=False):
        lifts = after is not None and after[2] > 0
        lands = before is not None and before[2] > 0
        if area > 0 or lifts or lands:
            if area == 0 and lifts and runs[-1]:
                runs.append([])
            runs[-1].append((deg, area))
    return [run for run in runs if len(run) > 1]


def _axes(first: float, step: float, top: float) -> list[Group]:
    ticks, words = [], []
    for i in range(round(top / step) + 1):
        y = i * step / top * HEIGHT_MM
        ticks.append(line((-1.5, y), (0, y)))
        words.append(Text((-2.5, y - 0.5 * NOTE_MM), f"{i * step:g}", NOTE_MM, "end"))
    for deg in range(math.ceil(first / 10) * 10, math.floor(first) + 361, 10):
        x = (deg - first) / 360.0 * WIDTH_MM
        ticks.append(line((x, 0), (x, -2.0 if deg % 30 == 0 else -1.0)))
        if deg % 30 == 0:
            words.append(Text((x, -3.0 - NOTE_MM), str(deg % 360), NOTE_MM, "middle"))
        if deg % 180 == 0:
            words.append(Text((x, -4.2 - 2 * NOTE_MM), "BDC" if deg % 360 else "TDC", NOTE_MM, "middle"))
    below = (0.5 * WIDTH_MM, -8.0 - 3 * NOTE_MM)
    words.append(Text(below, "crank angle, degrees after top dead centre (TDC)", NOTE_MM, "middle"))
    words.append(Text((-14.0, 0.5 * HEIGHT_MM), "open area, mm²", NOTE_MM, "middle", 90.0))
    return [group("scale", line((0, 0), (0, HEIGHT_MM)), line((0, 0), (WIDTH_MM, 0)), *ticks, *words)]


def _names(curves: Sequence[AreaCurve], runs: Sequence[list[list[Point]]], uprights: Sequence[float]) -> list[Group]:
    """Each curve's name beside it, underlined in its own line style, where it touches fewest lines."""
    ink = sorted(point for drawn in runs for run in drawn for point in _dense(run))
    across = [x for x, _ in ink]
    taken: list[Box] = []
    groups = []

    def trouble(box: Box) -> int:
        beside = ink[bisect(across, box.left) : bisect(across, box.right)]
        inside = sum(box.bottom < y < box.top for _, y in beside)
        crossed = sum(box.left < x < box.right for x in uprights)
        beyond = box.left < 0 or box.right > WIDTH_MM or box.top > HEIGHT_MM + 1.0 or box.bottom < 1.0
        return inside + 5 * crossed + 100 * sum(box.overlaps(other) for other in taken) + 1000 * beyond

    for curve, drawn in zip(curves, runs, strict=True):
        places = [point for run in drawn for point in _dense(run)[::6] if point[1] > 0.1 * HEIGHT_MM]
        texts = [Text((x + dx, y + dy), curve.name, NAME_MM, anchor) for x, y in places for dx, dy, anchor in _BESIDE]
        text = min(texts, key=lambda one: trouble(_name_box(one)))
        taken.append(_name_box(text))
        box = text_box(text)
        groups.append(group("note", text))
        underline = line((box.left, box.bottom - 0.8), (box.right, box.bottom - 0.8))
        groups.append(group(_CURVES[curve.kind], underline))
    return groups


def _name_box(text: Text) -> Box:
    """The room for a name and its underline, and a little air."""
    box = text_box(text)
    return Box(box.left - 1.5, box.bottom - 2.3, box.right + 1.5, box.top + 1.0)


def _dense(run: Sequence[Point]) -> list[Point]:
    """Points along a curve, at most a millimetre apart."""
    points = []
    for (x0, y0), (x1, y1) in pairwise(run):
        count = max(1, math.ceil(math.hypot(x1 - x0, y1 - y0)))
        points += [(x0 + (x1 - x0) * i / count, y0 + (y1 - y0) * i / count) for i in range(count)]
    return points


def _in_words(curve: AreaCurve) -> str:
    return (
        f"{curve.name}: opens {curve.opens_deg_atdc:.1f}° and closes {curve.closes_deg_atdc:.1f}° after top dead "
        f"centre, largest open area {max(curve.area_mm2):.0f} mm²"
    )


def _description(plot: AreaPlot) -> str:
    curves = ". ".join(_in_words(curve) for curve in plot.curves)
    return f"Open port area against crank angle over one turn. {curves}."
