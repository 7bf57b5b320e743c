"""What was measured against what had been predicted: one row for each quantity, all on one scale, the prediction at 0.

Quantities of different units share the scale because each is drawn as its difference from the prediction, in per cent
of it. The numbers themselves stand at the right. A dot that lies outside the prediction's band is filled, and a word
says so.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scribeline.errors import SheetError
from scribeline.marking.labels import wrapped
from scribeline.marking.shapes import NAME_MM, NOTE_MM, Anchor, Circle, Drawing, Group, Role, Text, group, line, polygon
from scribeline.marking.trial_plot import WIDTH_MM, axis, scale

_ROW_MM = 7.0
_FEWEST_PERCENT = 5.0  # a scale is at least this wide to either side, so that trifles look like trifles (judgement)


@dataclass(frozen=True)
class Seen:
    """What was measured: whose it is ("squish set", "2026-05-16"), the value, and half its 95 % interval or None."""

    name: str
    value: float
    half_width: float | None = None


@dataclass(frozen=True)
class Held:
    """One quantity: its name, its unit, what was predicted with its band, and everything measured of it."""

    name: str
    unit: str
    predicted: float
    low: float
    high: float
    seen: tuple[Seen, ...] = ()


@dataclass(frozen=True)
class MeasuredPlot:
    """What is drawn. name : of the drawing; title, description : for people."""

    name: str
    title: str
    description: str
    rows: tuple[Held, ...]


def measured_plot(plot: MeasuredPlot) -> Drawing:
    """Each quantity's band about its prediction, and each measurement as a dot with its interval.

    Raises SheetError where nothing was measured, or a prediction is not a number other than 0.

    >>> row = Held("30 to 55 km/h", "s", 4.9, 4.3, 5.6, (Seen("as bought", 5.0, 0.1),))
    >>> measured_plot(MeasuredPlot("held", "Measured against predicted", "One gate.", (row,))).name
    'held'
    """
    for row in plot.rows:
        if not all(map(math.isfinite, (row.predicted, row.low, row.high))) or row.predicted == 0.0:
            raise SheetError(
                f"{row.name}: predicted {row.predicted:g} {row.unit}, {row.low:g} to {row.high:g}\n    accepted: "
                "numbers other than 0\n    what to do: leave this quantity away"
            )
    if not any(row.seen for row in plot.rows):
        raise SheetError("nothing was measured of what was predicted\n    what to do: drive it, and add the runs")

    def share(row: Held, value: float) -> float:
        return 100.0 * (value - row.predicted) / abs(row.predicted)

    ends = [share(row, end) for row in plot.rows for end in (row.low, row.high)]
    for row in plot.rows:
        for one in row.seen:
            ends += [share(row, one.value - (one.half_width or 0.0)), share(row, one.value + (one.half_width or 0.0))]
    low, high, step = scale([-_FEWEST_PERCENT, _FEWEST_PERCENT, *ends])

    def x(percent: float) -> float:
        return (min(max(percent, low), high) - low) / (high - low) * WIDTH_MM

    counts = [len(row.seen) + 1 for row in plot.rows]
    top = sum(counts) * _ROW_MM + (len(counts) - 1) * 0.5 * _ROW_MM
    groups = axis(low, high, step, x, 0.0, top, "difference from what was predicted, %")
    groups.append(group("outline", line((x(0.0), 0.0), (x(0.0), top)), about="as predicted"))
    y = top - 0.5 * _ROW_MM
    for row in plot.rows:
        groups += _band(row, y, x(share(row, row.low)), x(share(row, row.high)), _ROW_MM * len(row.seen))
        for one in row.seen:
            y -= _ROW_MM
            half = one.half_width or 0.0
            places = [x(share(row, value)) for value in (one.value - half, one.value, one.value + half)]
            groups += _dot(row, one, y, places)
        y -= 1.5 * _ROW_MM
    groups.append(group("note", Text((0.0, top + 3.0), plot.title, NAME_MM)))
    return Drawing(plot.name, plot.title, plot.description, tuple(groups))


def _band(row: Held, y: float, left: float, right: float, below: float) -> list[Group]:
    bottom, top = y - below - 0.3 * _ROW_MM, y + 0.3 * _ROW_MM
    said = f"predicted {row.predicted:.4g} {row.unit} ({row.low:.4g} to {row.high:.4g})"
    left, right = min(left, right), max(left, right)
    return [
        group(
            "scale",
            polygon((left, bottom), (right, bottom), (right, top), (left, top)),
            fill="wash",
            about=f"{row.name}: {said}",
        ),
        group("note", *_lines(row.name, (-3.0, y), "end"), *_lines(said, (WIDTH_MM + 3.0, y), "start")),
    ]


def _dot(row: Held, one: Seen, y: float, places: Sequence[float]) -> list[Group]:
    outside = not row.low <= one.value <= row.high
    role: Role = "target" if outside else "outline"
    said = f"{one.value:.4g} {row.unit}" + ("" if one.half_width is None else f" ±{one.half_width:.2g}")
    said += ", OUTSIDE the band" if outside else ""
    shapes = [Circle((places[1], y), 1.0)]
    bars = [line((places[0], y), (places[2], y))]
    bars += [line((end, y - 1.0), (end, y + 1.0)) for end in (places[0], places[2])]
    groups = [] if one.half_width is None else [group(role, *bars, about=f"{one.name}: {said}")]
    groups.append(group(role, *shapes, fill="accent" if outside else "paper", about=f"{one.name}: {said}"))
    groups.append(group("note", *_lines(one.name, (-3.0, y), "end"), *_lines(said, (WIDTH_MM + 3.0, y), "start")))
    return groups


def _lines(words: str, at: tuple[float, float], anchor: Anchor) -> list[Text]:
    told = wrapped(words, 44.0)
    return [
        Text((at[0], at[1] - NOTE_MM * (0.5 - 0.7 * (len(told) - 1) + 1.4 * i)), one, NOTE_MM, anchor)
        for i, one in enumerate(told)
    ]
