"""Predictions and what was measured afterwards: every band as wide as every other, the measurement where it fell.

Bands differ in unit and width; drawn in units of their own half width they can be laid under each other, and how far
off a measurement lies is seen at a glance. Words and numbers come in from outside.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from scribeline.errors import SheetError
from scribeline.marking.labels import wrapped
from scribeline.marking.shapes import (
    LINE_STEP,
    NAME_MM,
    NOTE_MM,
    Circle,
    Drawing,
    Group,
    Shape,
    Text,
    group,
    line,
    polygon,
    rectangle,
)

_UNIT_MM = 15.0
"""Half the width of a band."""
_MOST = 2.6
"""How many half widths from the middle are drawn; what lies beyond stands at the edge with an arrow."""
_ROW_MM = 11.0
_WORDS_MM = 44.0


@dataclass(frozen=True)
class LedgerRow:
    """One prediction. Places are in half widths of the band from the predicted value: -1 and 1 are its ends.

    what : in words; predicted, measured : as numbers with their units; measured "" where it is not measured yet
    at, reach : where the measurement lies, and its +/- in the same units; None where there is none
    held : whether it counts as held
    """

    what: str
    predicted: str
    measured: str = ""
    at: float | None = None
    reach: float = 0.0
    held: bool = True


def ledger_plot(rows: Sequence[LedgerRow], title: str, name: str = "ledger") -> Drawing:
    """The rows one under the other. Raises SheetError without any.

    >>> ledger_plot([LedgerRow("25 to 50 km/h", "8.0 s (7.4 to 8.6)", "8.2 s", 0.33, 0.5)], "kart").title
    'kart'
    """
    if not rows:
        raise SheetError("nothing to draw: no prediction is kept yet\n    what to do: keep one before the next cut")
    bottom = -len(rows) * _ROW_MM
    groups: list[Group] = []
    for i, row in enumerate(rows):
        groups += _row(row, -(i + 0.5) * _ROW_MM)
    ticks = [line((_x(end), 0.0), (_x(end), bottom)) for end in (-1.0, 0.0, 1.0)]
    heads = [
        Text((_x(-1.0), 2.0), "low", NOTE_MM, "middle"),
        Text((_x(0.0), 2.0), "predicted", NOTE_MM, "middle"),
        Text((_x(1.0), 2.0), "high", NOTE_MM, "middle"),
        Text((_x(-_MOST) - 3.0, 2.0), "what", NOTE_MM, "end"),
        Text((_x(_MOST) + 5.0, 2.0), "predicted (its band); measured", NOTE_MM),
    ]
    groups.insert(0, group("centre", *ticks))
    groups.append(group("note", *heads, Text((_x(-_MOST), 7.0), title, NAME_MM)))
    words = "filled: held; crossed: outside; bar: the measurement's own +/-; every band is drawn as wide as the others"
    foot = [
        Text((_x(0.0), bottom - 4.0 - i * LINE_STEP * NOTE_MM), one, NOTE_MM, "middle")
        for i, one in enumerate(wrapped(words, 96.0))
    ]
    groups.append(group("note", *foot))
    told = " ".join(f"{row.what}: predicted {row.predicted}, {_fate(row)}." for row in rows)
    return Drawing(name, title, f"Each prediction with its band, and the measurement beside it. {told}", tuple(groups))


def _x(place: float) -> float:
    return place * _UNIT_MM


def _fate(row: LedgerRow) -> str:
    if row.at is None:
        return "not measured yet"
    return f"measured {row.measured}, {'held' if row.held else 'outside'}"


def _row(row: LedgerRow, y: float) -> Iterator[Group]:
    yield group("hatch", line((_x(-_MOST), y - 0.5 * _ROW_MM), (_x(_MOST), y - 0.5 * _ROW_MM)))
    band = rectangle(_x(-1.0), y - 2.2, _x(1.0), y + 2.2)
    yield group("scale", band, fill="wash", about=f"{row.what}: predicted {row.predicted}")
    lines = wrapped(row.what, _WORDS_MM)
    yield group("note", *_lines(_x(-_MOST) - 3.0, y, lines, end=True))
    numbers = (row.predicted, row.measured or "not measured yet")
    yield group("note", *_lines(_x(_MOST) + 5.0, y, numbers, end=False))
    if row.at is None:
        return
    at = min(max(row.at, -_MOST), _MOST)
    x, about = _x(at), f"{row.what}: {_fate(row)}"
    ends = [_x(min(max(row.at + way * row.reach, -_MOST), _MOST)) for way in (-1.0, 1.0)]
    if ends[1] > ends[0]:
        stops = [line((end, y - 1.2), (end, y + 1.2)) for end in ends]
        yield group("outline", line((ends[0], y), (ends[1], y)), *stops)
    if abs(row.at) > _MOST:
        way = 1.0 if row.at > 0.0 else -1.0
        yield group("target", polygon((x + 2.6 * way, y), (x, y + 1.6), (x, y - 1.6)), fill="accent", about=about)
    elif row.held:
        yield group("target", Circle((x, y), 1.5), fill="accent", about=about)
    else:
        cross: list[Shape] = [
            line((x - 1.5, y - 1.5), (x + 1.5, y + 1.5)),
            line((x - 1.5, y + 1.5), (x + 1.5, y - 1.5)),
        ]
        yield group("target", *cross, about=about)


def _lines(x: float, y: float, lines: Sequence[str], *, end: bool) -> list[Text]:
    step = LINE_STEP * NOTE_MM
    first = y - 0.5 * NOTE_MM + 0.5 * step * (len(lines) - 1)
    return [Text((x, first - i * step), words, NOTE_MM, "end" if end else "start") for i, words in enumerate(lines)]
