"""Gate times typed into a grid, cell by cell: kept as they were typed, understood as far as they can be.

    typed    cells [[row, column, text], ...]: what stands in these places from now on

A row is known by a key of the page's making and never goes away; where all its cells are empty it counts for nothing.
Columns are `COLUMNS` and gates by their names, such as "30 to 55 km/h". Two devices may type at the same time: whoever
types over what they have not seen is told, and nothing is overwritten.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scribeline.errors import EditConflict, RecordingError, TrialError, TypedValueError
from scribeline.notebook import Entry, EntryToKeep, add_entries, find_trial
from scribeline.recordings import GateTime
from scribeline.recordings.gates import LONGEST_S, SHORTEST_S, typed_time
from scribeline.tasks.notebook import Where, opened, user_name
from scribeline.tasks.trial_typed import gates_of
from scribeline.tasks.trial_undo import in_force

COLUMNS = ("setup", "direction", "order", "notes")
"""What a row has beside its times."""
MOST_ROWS, LONGEST_TEXT = 2000, 200

Cell = tuple[str, str, str]
"""Row, column, text."""


@dataclass(frozen=True)
class TypedRow:
    """One row as it was typed. number : counted from 1 as the rows came; problems : column -> why it does not count."""

    key: str
    number: int
    cells: Mapping[str, str]
    problems: Mapping[str, str]


@dataclass(frozen=True)
class TypedTable:
    """The grid as it stands: its rows, the gates that any row has a time for, and its readable times."""

    rows: tuple[TypedRow, ...]
    gates: tuple[str, ...]
    times: tuple[GateTime, ...]


def typed_table(entries: Sequence[Entry], setup: str) -> TypedTable:
    """Play the typed entries of a journal. setup : what was driven where a row does not say it."""
    cells: dict[str, dict[str, str]] = {}
    for entry in entries:
        if entry.kind == "typed":
            for row, column, text in entry.data["cells"]:
                cells.setdefault(str(row), {})[str(column)] = str(text)
    rows, times, gates = [], [], dict[str, None]()
    for number, (key, texts) in enumerate(cells.items(), start=1):
        problems: dict[str, str] = {}
        beside = {"order": texts["order"]} if texts.get("order") else {}
        for column, text in texts.items():
            if column in COLUMNS or not text:
                continue
            gates[column] = None
            try:
                seconds, spread = read_time(text)
            except TypedValueError as error:
                problems[column] = str(error)
                continue
            (gate,) = gates_of([column])
            times.append(
                GateTime(
                    texts.get("setup") or setup, f"typed {number}", gate.from_m_s, gate.to_m_s, seconds,
                    texts.get("direction", ""), texts.get("notes", ""), spread, number, beside,
                )
            )  # fmt: skip
        if texts.get("order") and not re.fullmatch(r"\d{1,4}(?:[.,]\d+)?", texts["order"]):
            problems["order"] = f"“{texts['order']}” is no place in the day; accepted: 1, 2, 3 ..."
        rows.append(TypedRow(key, number, texts, problems))
    return TypedTable(tuple(rows), tuple(gates), tuple(times))


def read_time(text: str) -> tuple[float, float | None]:
    """A typed gate time in seconds, with its +/-. Raises TypedValueError for what is none.

    >>> read_time("4,89")
    (4.89, None)
    """
    seconds, spread = typed_time(text)
    if not SHORTEST_S <= seconds <= LONGEST_S:
        raise TypedValueError(f"“{text}” is {seconds:g} s; accepted: {SHORTEST_S:g} to {LONGEST_S:g} s")
    return seconds, spread


def type_cells(
    name: str, cells: Sequence[Cell], *, seen: int, author: str | None = None, insist: bool = False,
    where: Where = None,
) -> int:  # fmt: skip
    """Keep what was typed; all of it or nothing. Returns the number of the new entry, 0 where nothing is different.

    seen : number of the trial's last entry that the person's page showed; insist : although somebody else typed there

    Raises EditConflict where another author put something else into one of the cells since, TrialError for a column
    that is none, and for too much.
    """
    for row, column, text in cells:
        if column not in COLUMNS and gate_column(column) != column:
            raise TrialError(f"a column called {column}\n    accepted: {', '.join(COLUMNS)}, or a gate")
        if len(text) > LONGEST_TEXT or not re.fullmatch(r"[\w-]{1,40}", row):
            raise TrialError(
                f"{len(text)} letters in one cell\n    accepted: {LONGEST_TEXT}\n    what to do: shorten it"
            )
    author = author or user_name()
    with opened(where) as notebook:
        trial, journal = find_trial(notebook, name)
        entries = in_force(journal)
        there = {row.key: row for row in typed_table(entries, "").rows}
        if len(there.keys() | {row for row, _, _ in cells}) > MOST_ROWS:
            raise TrialError(f"more than {MOST_ROWS} rows\n    what to do: begin another trial")
        changed = [one for one in cells if _there(there, one[0], one[1]) != one[2].strip()]
        if not insist:
            for row, column, text in changed:
                for entry in reversed(entries):
                    if entry.number > seen and entry.author != author and _touches(entry, row, column):
                        number = there[row].number if row in there else 0
                        place = f"{column} of row {number}"
                        raise EditConflict(place, text, _there(there, row, column), entry.author)
        if not changed:
            return 0
        data = {"cells": [[row, column, text.strip()] for row, column, text in changed]}
        return add_entries(notebook, trial.name, [EntryToKeep("typed", data)], author=author)[-1].number


def _there(rows: Mapping[str, TypedRow], row: str, column: str) -> str:
    return rows[row].cells.get(column, "") if row in rows else ""


def _touches(entry: Entry, row: str, column: str) -> bool:
    return entry.kind == "typed" and any(r == row and c == column for r, c, _ in entry.data["cells"])


def gate_column(text: str) -> str:
    """The name of the gate that a person typed, as columns are called. Raises TrialError.

    >>> gate_column("30-55")
    '30 to 55 km/h'
    """
    return gates_of([text])[0].name


def pasted(text: str, columns: Sequence[str], column: str, keys: Sequence[str]) -> list[Cell]:
    """What was copied from a spreadsheet, laid into the grid from one column on, a row for each line.

    columns : of the grid, in order; column : where the paste begins; keys : of the rows from there on, enough of them
    A first line of headings is understood where each of its cells names a column or a gate; the grid's own order
    counts where there is none. Raises RecordingError where there are more columns than the grid has.

    >>> pasted("cut\\t4,9\\ncut\\t4,8", ["setup", "30 to 55 km/h"], "setup", ["a", "b"])[1]
    ('a', '30 to 55 km/h', '4,9')
    """
    lines = [line.split("\t") for line in text.replace("\r\n", "\n").split("\n") if line.strip()]
    if not lines:
        return []
    heads = [_heading(cell) for cell in lines[0]]
    if all(heads) and len(heads) > 1:
        names, lines = [str(head) for head in heads], lines[1:]
    else:
        names = list(columns[list(columns).index(column) :])
    widest = max((len(line) for line in lines), default=0)
    if widest > len(names):
        raise RecordingError(
            f"{widest} columns were pasted\n    accepted: {len(names)} from “{column}” on: {', '.join(names)}\n"
            "    what to do: copy their headings as well, such as setup and 30-55 km/h, or begin further left"
        )
    return [
        (key, name, cell.strip())
        for key, line in zip(keys, lines, strict=False)
        for name, cell in zip(names, line, strict=False)
    ]


def _heading(cell: str) -> str | None:
    plain = cell.strip().casefold()
    if plain in COLUMNS:
        return plain
    if not re.search(r"\d.*(?:to|-|\u2013).*\d", plain):
        return None
    try:
        return gate_column(re.sub(r"[(\[]?\bs\b[)\]]?$", "", plain).strip().replace("\u2013", "-"))
    except (TrialError, TypedValueError):
        return None
