"""Plans laid out by what they gain and how much metal they cost: the further left and up, the better.

Every number comes in from outside.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from scribeline.errors import SheetError
from scribeline.marking.area_plot import tick_step
from scribeline.marking.shapes import NAME_MM, NOTE_MM, Circle, Drawing, Point, Shape, Text, group, line, path
from scribeline.units import MM_PER_INCH, Units, length, unit_of

WIDTH_MM, HEIGHT_MM = 130.0, 72.0
_DOT_MM = 2.3
_Place = Callable[[float, float], Point]


@dataclass(frozen=True)
class PlanDot:
    """One plan: number, metal to take off [mm], gain, and the range in which the gain may come out (nan: unknown)."""

    number: int
    metal_mm: float
    gain: float
    least: float = math.nan
    most: float = math.nan


def plans_plot(
    name: str, title: str, description: str, y_words: str, dots: Sequence[PlanDot], units: Units = "mm"
) -> Drawing:
    """Gain against metal. The lowest number is the gentlest plan; the one that gains most is in colour.

    A line through a plan reaches from the least to the most that came of it when it was made by hand. Raises SheetError
    without a plan.

    >>> plans_plot("plans", "Plans", "One plan.", "gain, kW", [PlanDot(1, 0.6, 0.4)]).title
    'Plans'
    """
    x_end, y_low, y_end, x_step, y_step = _scales(dots, units)
    unit_mm = _unit_mm(units)

    def at(metal: float, gain: float) -> tuple[float, float]:
        return metal / x_end * WIDTH_MM, (gain - y_low) / (y_end - y_low) * HEIGHT_MM

    best = max(dots, key=lambda dot: dot.gain)
    scale: list[Shape] = [line((0.0, 0.0), (WIDTH_MM, 0.0)), line((0.0, 0.0), (0.0, HEIGHT_MM))]
    for i in range(round(x_end / x_step) + 1):
        x = at(i * x_step, y_low)[0]
        scale += [line((x, 0.0), (x, -1.5)), Text((x, -2.5 - NOTE_MM), f"{i * x_step / unit_mm:g}", NOTE_MM, "middle")]
    for i in range(round((y_end - y_low) / y_step) + 1):
        value = round(y_low + i * y_step, 9) + 0.0
        y = at(0.0, value)[1]
        scale += [line((0.0, y), (-1.5, y)), Text((-2.5, y - 0.5 * NOTE_MM), f"{value:g}", NOTE_MM, "end")]
    words = f"metal to take off, {unit_of(units)}, all cuts added up; line through a plan: as it may come out by hand"
    scale.append(Text((0.5 * WIDTH_MM, -6.5 - 2 * NOTE_MM), words, NOTE_MM, "middle"))
    groups = [
        group("scale", *scale),
        group("note", Text((0.0, HEIGHT_MM + 3.5), y_words, NAME_MM)),
        group("centre", path(*_front(dots, at))),
    ]
    spans: list[Shape] = []
    for dot in dots:
        if math.isfinite(dot.least) and math.isfinite(dot.most):
            a, b = at(dot.metal_mm, dot.least), at(dot.metal_mm, dot.most)
            spans += [line(a, b), *(line((x - 1.2, y), (x + 1.2, y)) for x, y in (a, b))]
    if spans:
        groups.append(group("outline", *spans))
    others = [Circle(at(dot.metal_mm, dot.gain), _DOT_MM) for dot in dots if dot is not best]
    if others:
        groups.append(group("outline", *others, fill="paper"))
    highest = Circle(at(best.metal_mm, best.gain), _DOT_MM)
    groups.append(group("target", highest, fill="accent wash", about=_in_words(dots, units)))
    groups.append(group("note", *(_number(dot, at(dot.metal_mm, dot.gain)) for dot in dots)))
    return Drawing(name, title, description, tuple(groups))


def places_on_plot(dots: Sequence[PlanDot], units: Units = "mm") -> list[Point]:
    """Where each plan lies on the drawing of `plans_plot`, mm: for whoever lays something over it."""
    x_end, y_low, y_end, _, _ = _scales(dots, units)
    return [(dot.metal_mm / x_end * WIDTH_MM, (dot.gain - y_low) / (y_end - y_low) * HEIGHT_MM) for dot in dots]


def _unit_mm(units: Units) -> float:
    return float(MM_PER_INCH) if units == "inch" else 1.0


def _scales(dots: Sequence[PlanDot], units: Units) -> tuple[float, float, float, float, float]:
    """End of the metal's scale [mm], both ends of the gain's, and the steps of both."""
    if not dots:
        raise SheetError("no plan to draw\n    accepted: one at least\n    what to do: search for plans first")
    x_most = max(max(dot.metal_mm for dot in dots), 0.5)
    ends = [0.0, *(v for dot in dots for v in (dot.gain, dot.least, dot.most) if math.isfinite(v))]
    low, high = min(ends), max(ends)
    unit_mm = _unit_mm(units)
    x_step, y_step = tick_step(x_most / unit_mm) * unit_mm, tick_step(max(high - low, 1e-9))
    x_end = math.ceil(x_most / x_step - 1e-9) * x_step
    return x_end, math.floor(low / y_step + 1e-9) * y_step, math.ceil(high / y_step - 1e-9) * y_step, x_step, y_step


def _front(dots: Sequence[PlanDot], at: _Place) -> list[tuple[float, float]]:
    """The stairs under which every plan lies: what so much metal buys at most."""
    steps, highest = [at(0.0, 0.0)], 0.0
    for dot in sorted(dots, key=lambda one: (one.metal_mm, -one.gain)):
        if dot.gain > highest:
            steps += [at(dot.metal_mm, highest), at(dot.metal_mm, dot.gain)]
            highest = dot.gain
    return steps


def _number(dot: PlanDot, at: tuple[float, float]) -> Text:
    return Text((at[0], at[1] - 0.5 * NOTE_MM), str(dot.number), NOTE_MM, "middle")


def _in_words(dots: Sequence[PlanDot], units: Units) -> str:
    return ", ".join(f"plan {dot.number}: {dot.gain:+.3g} for {_metal(dot.metal_mm, units)}" for dot in dots)


def _metal(mm: float, units: Units) -> str:
    return length(float(f"{mm:.3g}"), units, None)
