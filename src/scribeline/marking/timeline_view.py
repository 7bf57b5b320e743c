"""The history of one cylinder as a line that is scribed from left to right: what it was, what was tried on it.

Records stand on the line as numbered circles; what was done with the cylinder in between stands above it, and above
that every promise is a bar from when it was made to when it was measured. Places follow the order of time, not its
length: between two cuts there may be an hour or a winter. Words and order come in from outside.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from scribeline.errors import SheetError
from scribeline.marking.labels import wrapped
from scribeline.marking.shapes import (
    LINE_STEP,
    NAME_MM,
    NOTE_MM,
    Circle,
    Drawing,
    Group,
    Point,
    Shape,
    Text,
    group,
    line,
    path,
    polygon,
)

Kind = Literal["record", "runs", "sheets", "lesson", "file", "promise", "measured"]
Fate = Literal["open", "inside", "at the edge", "outside", "left out"]

PITCH_MM = 27.0
STATION_MM = 3.6
"""Radius of the circle of a record."""
_WORDS_MM = 25.0
_SIGN_MM = 9.0
"""Height of the signs over the line."""
_LANE_MM = 7.0
_MOST_LINES = 4


@dataclass(frozen=True)
class Stop:
    """One thing that happened. number, parent : of a record, and of the one it was made from; words : a few."""

    kind: Kind
    when: str
    words: str
    number: int = 0
    parent: int | None = None


@dataclass(frozen=True)
class Bar:
    """A promise, or several made at once: from which stop to which; `end` None where nothing is measured yet.

    words : what was promised and what became of it
    """

    words: str
    start: int
    end: int | None
    fate: Fate


@dataclass(frozen=True)
class History:
    """What is drawn, in order of time."""

    title: str
    stops: tuple[Stop, ...]
    bars: tuple[Bar, ...] = ()
    name: str = "history"


def timeline_view(history: History) -> Drawing:
    """The line with everything on it. Raises SheetError where nothing happened yet.

    >>> timeline_view(History("kart", (Stop("record", "1 March", "as bought", 1),))).name
    'history'
    """
    if not history.stops:
        raise SheetError("nothing to draw: this cylinder has no history yet\n    what to do: keep its first record")
    end = (len(history.stops) - 1) * PITCH_MM
    groups = [
        group("outline", line((-8.0, 0.0), (end + 12.0, 0.0)), about="the line of time, from left to right"),
        *_arrow(end + 12.0),
        *_branches(history.stops),
    ]
    for i, stop in enumerate(history.stops):
        groups += _record(stop, i * PITCH_MM) if stop.kind == "record" else _sign(stop, i * PITCH_MM)
    groups += _bars(history.bars, end, _top(history.stops) + 6.0)
    return Drawing(history.name, history.title, _description(history), tuple(groups))


def place_of(index: int) -> Point:
    """Where on the paper a stop stands, for whoever lays something over it."""
    return index * PITCH_MM, 0.0


def _arrow(x: float) -> list[Group]:
    return [group("outline", polygon((x, 0.0), (x - 3.0, 0.8), (x - 3.0, -0.8)), fill="ink")]


def _record(stop: Stop, x: float) -> list[Group]:
    about = f"revision {stop.number}, {stop.when}: {stop.words}"
    words = list(_column(x, -STATION_MM - 2.6 - NOTE_MM, (stop.when, *_few(stop.words)), way=-1.0))
    return [
        group("target", Circle((x, 0.0), STATION_MM), fill="paper", about=about),
        group("note", Text((x, -0.5 * NAME_MM), str(stop.number), NAME_MM, "middle", bold=True)),
        group("note", *words),
    ]


def _branches(stops: Sequence[Stop]) -> Iterator[Group]:
    """A broken line under the others from a record to one that was made from it, where another came in between."""
    at = {stop.number: i * PITCH_MM for i, stop in enumerate(stops) if stop.kind == "record"}
    for stop in stops:
        if stop.kind == "record" and stop.parent in at and stop.parent != stop.number - 1:
            start, end, low = at[stop.parent], at[stop.number], STATION_MM + 1.2
            shape = path((start, -STATION_MM), (start + 2.0, -low), (end - 2.0, -low), (end, -STATION_MM))
            yield group("today", shape, about=f"revision {stop.number} was made from revision {stop.parent}")


def _sign(stop: Stop, x: float) -> list[Group]:
    y = _SIGN_MM - 4.0
    shapes: dict[str, tuple[Shape, ...]] = {
        "runs": (polygon((x, y + 3.4), (x + 4.4, y + 2.2), (x, y + 1.0)), line((x, 0.0), (x, y + 3.4))),
        "sheets": (polygon((x - 1.6, y), (x + 1.6, y), (x + 1.6, y + 2.9), (x + 0.5, y + 4.0), (x - 1.6, y + 4.0)),
                   path((x + 1.6, y + 2.9), (x + 0.5, y + 2.9), (x + 0.5, y + 4.0)), line((x, 0.0), (x, y))),
        "lesson": (polygon((x, y), (x + 1.8, y + 1.4), (x + 1.8, y + 4.0), (x - 1.8, y + 4.0), (x - 1.8, y + 1.4)),
                   line((x - 1.0, y + 2.9), (x + 1.0, y + 2.9)), line((x - 1.0, y + 2.0), (x + 1.0, y + 2.0)),
                   line((x, 0.0), (x, y))),
        "file": (polygon((x - 2.2, y), (x + 2.2, y), (x + 2.2, y + 3.4), (x - 2.2, y + 3.4)),
                 Circle((x, y + 1.7), 1.0), line((x, 0.0), (x, y))),
        "promise": (line((x, 0.0), (x, y)), Circle((x, y + 1.3), 1.3)),
        "measured": (line((x, 0.0), (x, y)), *(line((x + a, y + 1.3 - b), (x - a, y + 1.3 + b))
                                               for a, b in ((1.3, 0.0), (0.0, 1.3)))),
    }  # fmt: skip
    words = list(_column(x, _SIGN_MM + 2.0, (stop.when, *_few(stop.words)), way=1.0))
    about = f"{stop.when}: {stop.words}"
    return [group("scale", *shapes[stop.kind], fill="paper", about=about), group("note", *words)]


def _few(words: str) -> tuple[str, ...]:
    """The first lines of some words; three dots where there are more."""
    lines = wrapped(words, _WORDS_MM)
    if len(lines) < _MOST_LINES:
        return lines
    return (*lines[: _MOST_LINES - 2], lines[_MOST_LINES - 2] + " ...")


def _column(x: float, y: float, lines: Sequence[str], way: float) -> Iterator[Text]:
    """Lines one under the other: downwards from y, or with their last one at y."""
    step = LINE_STEP * NOTE_MM
    first = y if way < 0.0 else y + step * (len(lines) - 1)
    for i, words in enumerate(lines):
        yield Text((x, first - i * step), words, NOTE_MM, "middle")


def _top(stops: Sequence[Stop]) -> float:
    """The upper edge of the words over the line."""
    most = max((1 + len(_few(stop.words)) for stop in stops if stop.kind != "record"), default=0)
    return _SIGN_MM + 2.0 + LINE_STEP * NOTE_MM * most


def _bars(bars: Sequence[Bar], end: float, base: float) -> Iterator[Group]:
    """Each promise in the lowest lane that is free over its length and its words."""
    free: list[float] = []
    for bar in bars:
        left = bar.start * PITCH_MM
        right = end + 9.0 if bar.end is None else bar.end * PITCH_MM
        lane = next((i for i, taken in enumerate(free) if taken < left), len(free))
        free[lane:lane + 1] = [max(right + 8.0, left + 1.4 * NOTE_MM * len(bar.words))]  # fmt: skip
        yield from _bar(bar, left, right, base + lane * _LANE_MM)


def _bar(bar: Bar, left: float, right: float, y: float) -> Iterator[Group]:
    if bar.fate in ("open", "left out"):
        yield group("today", line((left, y), (right, y)), about=bar.words)
    else:
        yield group("target", line((left, y), (right, y)), about=bar.words)
    yield group("outline", Circle((left, y), 1.0), fill="paper")
    if bar.fate == "inside":
        yield group("target", Circle((right, y), 1.4), fill="accent")
    elif bar.fate == "at the edge":
        yield group("target", Circle((right, y), 1.4), fill="paper")
    elif bar.fate == "outside":
        cross = [
            line((right - 1.3, y - 1.3), (right + 1.3, y + 1.3)),
            line((right - 1.3, y + 1.3), (right + 1.3, y - 1.3)),
        ]
        yield group("target", *cross)
    yield group("note", Text((left + 2.0, y + 1.6), bar.words, NOTE_MM))


def _description(history: History) -> str:
    told = [f"{stop.when}: {f'revision {stop.number}, ' if stop.number else ''}{stop.words}." for stop in history.stops]
    told += [f"{bar.words}." for bar in history.bars]
    return f"From left to right in order of time. {' '.join(told)}"
