"""The cut list: every edge that is cut, with what it measures now, where to stop and where to end, and boxes to write
down what was measured at each stage; then the work in its order, limits that were moved, and the cautions.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from scribeline.marking.drafting import fitted
from scribeline.marking.labels import wrapped
from scribeline.marking.moving import moved
from scribeline.marking.shapes import Drawing, Group, Shape, Text, group, line, rectangle
from scribeline.units import Units, length, length_number, unit_of

_ROW_MM = 9.0
_TEXT_MM = 1.9
_STEP_MM = 3.3
_BOX_MM = 4.0
_HEADS = ("edge", "today", "stop at", "target", "crank degrees", "marked out", "at the stop", "finished")
_HOW = (
    "Write what you measured beside the box, tick it, then decide. Stop at the stop line, measure, go on by hand. The "
    "target is never cut past."
)
_SHARES = (0.21, 0.09, 0.09, 0.09, 0.16, 0.12, 0.12, 0.12)


@dataclass(frozen=True)
class CutRow:
    """One edge or width, in words and lengths.

    edge : such as "exhaust, roof"; what : how it is measured, such as "from the deck" or "straight across (chord)"
    today, stop, target : mm, written in the list's units; stop None where it is not cut on its own line
    tolerance_mm : how far from the target is good enough; None where the plan says nothing
    degrees, degrees_note : such as "89.0° to 87.2°" and "± 0.5°, after TDC"; stop_degrees : at the stop line
    """

    edge: str
    what: str
    today: float | None
    stop: float | None
    target: float
    tolerance_mm: float | None = None
    degrees: str = ""
    degrees_note: str = ""
    stop_degrees: str = ""


@dataclass(frozen=True)
class Task:
    """One thing to do, in its order: what, how, what to measure before going on, and what to find then."""

    title: str
    do: tuple[str, ...] = ()
    measure: tuple[str, ...] = ()
    expect: tuple[str, ...] = ()


@dataclass(frozen=True)
class CutList:
    """What the list says. `limits` tells those that were loosened or switched off; `notes` what else must be known.

    units : what its lines are written in; words and notes are in them already
    """

    rows: tuple[CutRow, ...]
    tasks: tuple[Task, ...]
    limits: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    plan: str = ""
    name: str = "cut-list"
    units: Units = "mm"


@dataclass(frozen=True)
class _Block:
    """A piece that is not broken over pages: its height, and its shapes with the upper left corner at (0, 0)."""

    high: float
    groups: tuple[Group, ...]


def cut_list_drawings(cut_list: CutList, width_mm: float, height_mm: float) -> list[Drawing]:
    """The list on as many pages as it takes, each at most `width_mm` wide and `height_mm` high.

    >>> len(cut_list_drawings(CutList((), (Task("deck barrel top"),)), 170.0, 230.0))
    1
    """
    pages: list[list[_Block]] = [[]]
    left = height_mm
    for block in _blocks(cut_list, width_mm):
        if block.high > left and pages[-1]:
            pages.append([])
            left = height_mm
        pages[-1].append(block)
        left -= block.high
    drawings = []
    for number, blocks in enumerate(pages, start=1):
        groups: list[Group] = [group("frame", line((0, 0), (width_mm, 0)))]
        y = 0.0
        for block in blocks:
            groups += moved(block.groups, (0.0, y))
            y -= block.high
        several = len(pages) > 1
        name = f"{cut_list.name}-{number}" if several else cut_list.name
        title = f"Cut list, part {number} of {len(pages)}" if several else "Cut list"
        drawings.append(Drawing(name, title, _description(cut_list), tuple(groups)))
    return drawings


def _blocks(cut_list: CutList, width: float) -> Iterator[_Block]:
    if cut_list.rows:
        yield _heading(f"What is cut: caliper heights from the deck, {unit_of(cut_list.units, spelled=True)}", width)
        yield _table_head(width)
        for row in cut_list.rows:
            yield _table_row(row, width, cut_list.units)
        for words in (*cut_list.notes, _HOW):
            yield _paragraph(words, width, bold=False)
    if cut_list.limits:
        yield _heading("Limits that were loosened or switched off", width)
        for words in cut_list.limits:
            yield _paragraph(f"! {words}", width, bold=True)
    if cut_list.tasks:
        yield _heading(f"The work, in this order{': ' + cut_list.plan if cut_list.plan else ''}", width)
        for number, task in enumerate(cut_list.tasks, start=1):
            yield _task(number, task, width)
    if cut_list.cautions:
        yield _heading("Before you pick up a tool", width)
        for words in cut_list.cautions:
            yield _paragraph(f"\N{BULLET} {words}", width, bold=False)


def _heading(words: str, width: float) -> _Block:
    text = Text((0, -7.0), words, 2.6, bold=True)
    return _Block(9.0, (group("note", text), group("frame", line((0, -8.6), (width, -8.6)))))


def _edges(width: float) -> list[float]:
    places = [0.0]
    for share in _SHARES:
        places.append(places[-1] + share * width)
    return places


def _cells(width: float, high: float) -> list[Shape]:
    edges = _edges(width)
    return [*(line((x, 0), (x, -high)) for x in edges), line((0, -high), (width, -high))]


def _table_head(width: float) -> _Block:
    edges = _edges(width)
    words = [Text((edges[i] + 1.0, -4.2), head, 1.7, bold=True) for i, head in enumerate(_HEADS)]
    return _Block(6.5, (group("frame", *_cells(width, 6.5)), group("note", *words)))


def _table_row(row: CutRow, width: float, units: Units) -> _Block:
    """The numbers in large letters, and under each in small ones what belongs to it."""
    edges = _edges(width)
    cells = (
        (row.edge, row.what, True),
        ("" if row.today is None else length_number(row.today, units), "", False),
        ("" if row.stop is None else length_number(row.stop, units), row.stop_degrees, False),
        (
            length_number(row.target, units),
            "" if row.tolerance_mm is None else f"± {length_number(row.tolerance_mm, units)}",
            True,
        ),
        (row.degrees, row.degrees_note, False),
    )
    words = []
    for i, (large, small, bold) in enumerate(cells):
        x, room = edges[i] + 1.0, edges[i + 1] - edges[i] - 1.6
        words += [fitted(Text((x, -4.1), large, 2.1, bold=bold), room), fitted(Text((x, -7.4), small, 1.5), room)]
    boxes = [_tick(edges[i] + 1.0, -0.5 * (_ROW_MM - _BOX_MM)) for i in (5, 6, 7)]
    return _Block(_ROW_MM, (group("frame", *_cells(width, _ROW_MM), *boxes), group("note", *words)))


def _tick(x: float, y: float) -> Shape:
    return rectangle(x, y - _BOX_MM, x + _BOX_MM, y)


def _task(number: int, task: Task, width: float) -> _Block:
    boxes: list[Shape] = []
    words = [Text((8.0, -4.6), f"{number}  {task.title}", 2.2, bold=True)]
    boxes.append(_tick(1.0, -1.6))
    y = -4.6
    for rows, lead in ((task.do, ""), (task.measure, "Measure: "), (task.expect, "Expect ")):
        for one in rows:
            for row in wrapped(lead + one, width - 40.0, _TEXT_MM):
                y -= _STEP_MM
                words.append(Text((12.0, y), row, _TEXT_MM))
            if lead:
                boxes.append(rectangle(width - 24.0, y - 0.8, width - 1.0, y + 3.4))
                y -= 1.2
    return _Block(-y + 2.0, (group("frame", *boxes), group("note", *words)))


def _paragraph(words: str, width: float, bold: bool) -> _Block:
    rows = wrapped(words, width / (1.15 if bold else 1.0) - 2.0, _TEXT_MM)
    texts = [Text((1.0, -3.0 - i * _STEP_MM), row, _TEXT_MM, bold=bold) for i, row in enumerate(rows)]
    return _Block(_STEP_MM * len(rows) + 1.4, (group("note", *texts),))


def _description(cut_list: CutList) -> str:
    return " ".join(
        ["What is cut, and in which order.", *_sentences(cut_list.rows, cut_list.units), *_names(cut_list.tasks)]
    )


def _sentences(rows: Iterable[CutRow], units: Units) -> Iterator[str]:
    for row in rows:
        today = "" if row.today is None else f"{length(row.today, units)} today, "
        yield f"{row.edge} {row.what}: {today}target {length(row.target, units)}."


def _names(tasks: Sequence[Task]) -> Iterator[str]:
    for number, task in enumerate(tasks, start=1):
        yield f"{number}: {task.title}."
