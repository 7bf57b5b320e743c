"""Who limits what, in one look: for each number a bar for every group of changes, the largest share on top.

Every number comes in from outside.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scribeline.errors import SheetError
from scribeline.marking.drafting import text_width_mm
from scribeline.marking.shapes import NAME_MM, NOTE_MM, Drawing, Group, Shape, Text, group, line, polygon, rectangle

_BARS_MM = 74.0
_BAR_MM = 5.0
_STEP_MM = 8.0
_GAP_MM = 9.0


@dataclass(frozen=True)
class Bar:
    """One group's share. plus_minus : nan where there is none; alone : its gain when it is made alone."""

    name: str
    share: float
    plus_minus: float
    alone: float


@dataclass(frozen=True)
class SharesPanel:
    """One number: its title, unit, digits, and a bar for each group."""

    title: str
    unit: str
    digits: int
    bars: tuple[Bar, ...]


def shares_plot(name: str, title: str, description: str, panels: Sequence[SharesPanel]) -> Drawing:
    """Panels one below the other, each with its own scale through zero.

    The largest share is in colour, a line across its end is the +/-, a small diamond marks what the group gives when it
    is made alone. Raises SheetError without any bar.

    >>> bar = Bar("pipe", 1.2, 0.1, 0.8)
    >>> shares_plot("who", "Who limits what", "The pipe.", [SharesPanel("most power", "kW", 2, (bar,))]).title
    'Who limits what'
    """
    if not any(panel.bars for panel in panels):
        raise SheetError("no share to draw\n    accepted: one group at least\n    what to do: change something")
    names = max(text_width_mm(bar.name, NAME_MM) for panel in panels for bar in panel.bars)
    groups: list[Group] = []
    top = 0.0
    for panel in panels:
        groups += _panel(panel, top, names + 3.0)
        top -= NAME_MM * 2.2 + len(panel.bars) * _STEP_MM + _GAP_MM
    note = "bar: share of the gain, averaged over every order of making the changes; line: ±; diamond: made alone"
    groups.append(group("note", Text((0.0, top + 3.0), note, NOTE_MM)))
    return Drawing(name, title, description, tuple(groups))


def _panel(panel: SharesPanel, top: float, left: float) -> list[Group]:
    bars = sorted(panel.bars, key=lambda bar: -abs(bar.share))
    ends = [0.0]
    for bar in bars:
        width = bar.plus_minus if math.isfinite(bar.plus_minus) else 0.0
        ends += [bar.share - width, bar.share + width, bar.alone]
    low, high = min(ends), max(ends)
    scale = _BARS_MM / (high - low) if high > low else 1.0

    def x(value: float) -> float:
        return left + (value - low) * scale

    groups = [group("note", Text((0.0, top - NAME_MM), f"{panel.title}, {panel.unit}", NAME_MM))]
    base = top - 2.2 * NAME_MM
    largest: list[Shape] = []
    others: list[Shape] = []
    widths: list[Shape] = []
    alone: list[Shape] = []
    words: list[Shape] = []
    for i, bar in enumerate(bars):
        middle = base - (i + 0.5) * _STEP_MM
        box = rectangle(
            min(x(0.0), x(bar.share)), middle - 0.5 * _BAR_MM, max(x(0.0), x(bar.share)), middle + 0.5 * _BAR_MM
        )
        (largest if i == 0 else others).append(box)
        if math.isfinite(bar.plus_minus):
            a, b = x(bar.share - bar.plus_minus), x(bar.share + bar.plus_minus)
            widths += [line((a, middle), (b, middle)), *(line((e, middle - 1.0), (e, middle + 1.0)) for e in (a, b))]
        at = x(bar.alone)
        alone.append(polygon((at - 1.1, middle), (at, middle + 1.1), (at + 1.1, middle), (at, middle - 1.1)))
        words.append(Text((left - 3.0, middle - 0.5 * NAME_MM), bar.name, NAME_MM, "end"))
        said = f"{round(bar.share, panel.digits) + 0.0:+.{panel.digits}f}"
        said += f" ± {bar.plus_minus:.{panel.digits}f}" if math.isfinite(bar.plus_minus) else ""
        words.append(Text((left + _BARS_MM + 3.0, middle - 0.5 * NOTE_MM), f"{said} {panel.unit}", NOTE_MM))
    if others:
        groups.append(group("outline", *others, fill="wash"))
    groups.append(group("target", *largest, fill="accent wash", about=_in_words(panel, bars)))
    if widths:
        groups.append(group("outline", *widths))
    groups.append(group("note", *alone, fill="paper"))
    foot = base - len(bars) * _STEP_MM
    groups.append(group("scale", line((x(0.0), base + 0.5), (x(0.0), foot - 0.5))))
    groups.append(group("note", *words))
    return groups


def _in_words(panel: SharesPanel, bars: Sequence[Bar]) -> str:
    shares = ", ".join(f"{bar.name} {round(bar.share, panel.digits) + 0.0:+.{panel.digits}f}" for bar in bars)
    return f"{panel.title} in {panel.unit}: {shares}"
