"""Gate times typed by hand: how long it took from one speed to another. README.md shows the tables that are read."""

import re
from collections.abc import Iterable, Mapping, Sequence
from itertools import chain
from pathlib import Path
from typing import NamedTuple

from scribeline.errors import RecordingError, TypedValueError
from scribeline.recordings.formats import NO, YES, Answer, ReadOptions
from scribeline.recordings.recording import GateTable, GateTime, Note
from scribeline.recordings.tables import LONGEST_HEADER, Mark, cells_of, decimal_of, delimiter_of, lines_of
from scribeline.recordings.text import decoded, looks_like_text
from scribeline.units import read_measured, read_plus_minus, read_quantity

NAME = "gates"
WHAT = "a table of gate times (setup, run, from, to, seconds)"

MOST_LINES = 10_000
SHORTEST_S, LONGEST_S = 0.2, 300.0
FASTEST_M_S = 120.0
_ROLES = {
    "setup": r"set ?up|build|variant|configuration|state",
    "run": r"run|run (no|nr|number)\.?|no\.?|nr\.?|number|#|pull",
    "from": r"from|v1|v 1|start|start speed|from speed|speed from",
    "to": r"to|v2|v 2|end|end speed|to speed|speed to",
    "time": r"time|seconds|t|duration|gate time|elapsed",
    "direction": r"direction|dir\.?|way|heading",
    "notes": r"notes?|remarks?|comments?",
    "plus_minus": r"\+/-|±|\+-|plus minus|plus/minus|uncertainty",
}
_UNIT = r"km/?h|kph|m/s|mph|kn|kt|s|sec|seconds|ms"
_HEADER = re.compile(rf"(?P<name>.*?)[\s_,]*[(\[]?\s*(?P<unit>{_UNIT})?\s*[)\]]?", re.IGNORECASE)
_GATE = re.compile(
    r"(?:time |t )?(?P<low>[0-9]+(?:[.,][0-9]+)?) ?(?P<one>km/?h|kph|m/s|mph|kn|kt)? ?(?:-|–|—|→|->|to|\.\.+) ?"
    r"(?P<high>[0-9]+(?:[.,][0-9]+)?) ?[(\[]?(?P<unit>km/?h|kph|m/s|mph|kn|kt)?[)\]]?"
    r",? ?(?:[(\[]? ?(?:s|sec|seconds)[)\]]?)?",
    re.IGNORECASE,
)
_MINUTES = re.compile(r"(?:(?P<hours>[0-9]{1,2}):)?(?P<minutes>[0-9]{1,3}):(?P<seconds>[0-5]?[0-9](?:[.,][0-9]+)?)")
_SPEEDS = {"kmh": "km/h", "kph": "km/h", "kt": "kn"}


class _Layout(NamedTuple):
    """Where each role stands, which columns are gates of their own, and the units that headers give."""

    roles: Mapping[str, int]
    gates: Mapping[int, tuple[str, str, str | None]]  # column -> from, to, unit
    units: Mapping[str, str]
    beside: Mapping[int, str]  # column -> header, for whatever else was written down


def recognise(path: Path, head: bytes) -> Answer:
    """A text table whose header has from, to and time, or gates such as 25-40 km/h."""
    if not looks_like_text(head):
        return NO
    lines = decoded(head).splitlines()[:100]
    delimiter = delimiter_of(lines)
    return YES if _find_header(_rows(lines, delimiter)) else NO


def read(path: Path, options: ReadOptions) -> GateTable:
    """Every row that can be read; the others are named with their line and reason in the notes.

    Raises RecordingError where no row can be read, or a speed has no unit and none was said.
    """
    lines = list(lines_of(path))
    if len(lines) > MOST_LINES:
        raise RecordingError(f"{path.name} has {len(lines)} lines\n    accepted: up to {MOST_LINES} typed gate times")
    delimiter = delimiter_of(lines)
    rows = _rows(lines, delimiter)
    found = _find_header(rows)
    if found is None:
        raise RecordingError(f"{path.name} has no header with from, to and time\n    accepted: {WHAT}")
    place, layout = found
    body = rows[place + 1 :]
    decimal = decimal_of(chain.from_iterable(cells for _, cells in body), delimiter, path.name, options.decimal)
    reader = _Reader(layout, options, decimal)
    for line, cells in body:
        reader.take(line, cells)
    if not reader.times:
        reasons = "".join(f"\n    {note}" for note in reader.notes)
        raise RecordingError(f"{path.name}: no gate time could be read{reasons}")
    if reader.inherited:
        reader.notes.append(Note("an empty setup was taken to be that of the row above", reader.inherited))
    return GateTable(path.name, NAME, tuple(reader.times), tuple(reader.notes))


def typed_time(cell: str, decimal: Mark | None = None) -> tuple[float, float | None]:
    """A time as people type it, in seconds, and its +/- where one was typed: `4,89`, `4.9 ±0.1`, `1:05.2`, `890 ms`.

    decimal : the decimal mark; either is taken where None, as a time has no thousands
    Raises TypedValueError for what is no time.

    >>> typed_time("4,89"), typed_time("1:05.2 ±0.1")
    ((4.89, None), (65.2, 0.1))
    """
    value, *behind = re.split(r"\s*(?:±|\+/-|\+-)\s*", cell)
    mark = decimal or ("," if "," in cell and "." not in cell else ".")
    spread = read_plus_minus(behind[0], "s", decimal=mark) if behind else None
    if minutes := _MINUTES.fullmatch(value.strip()):
        seconds = read_quantity(minutes["seconds"], "s", decimal=mark).value
        return seconds + 60 * int(minutes["minutes"]) + 3600 * int(minutes["hours"] or 0), spread
    read = read_measured(cell, "s", decimal=mark)
    return read.value, read.plus_minus


def _rows(lines: Iterable[str], delimiter: str) -> list[tuple[int, list[str]]]:
    """Lines cut into cells, with their numbers; without a delimiter, two or more spaces part the cells."""
    rows = []
    for number, line in enumerate(lines, 1):
        cells = cells_of(line, delimiter) if delimiter else re.split(r" {2,}", line.strip())
        if delimiter == "|":
            cells = cells[1:-1] if line.strip().startswith("|") and len(cells) > 2 else cells
        if any(cells) and not all(re.fullmatch(r":?-*:?", cell) for cell in cells):
            rows.append((number, cells))
    return rows


def _find_header(rows: Sequence[tuple[int, list[str]]]) -> tuple[int, _Layout] | None:
    for place, (_, cells) in enumerate(rows[:30]):
        layout = _layout(cells)
        if layout.gates or {"from", "to", "time"} <= layout.roles.keys():
            return place, layout
    return None


def _layout(cells: Sequence[str]) -> _Layout:
    roles: dict[str, int] = {}
    units: dict[str, str] = {}
    gates: dict[int, tuple[str, str, str | None]] = {}
    for index, cell in enumerate(cells):
        if len(cell) > LONGEST_HEADER:
            continue
        text = re.sub(r"[\s_]+", " ", cell).strip()
        if gate := _GATE.fullmatch(text):
            gates[index] = gate["low"], gate["high"], gate["unit"] or gate["one"]
            continue
        for whole in (True, False):  # "t" and "s" are names before they are units
            header = None if whole else _HEADER.fullmatch(text)
            name = (text if whole else header["name"] if header else "").strip().lower()
            role = next((role for role, words in _ROLES.items() if re.fullmatch(words, name)), None)
            if role and role not in roles:
                roles[role] = index
                if header and header["unit"]:
                    units[role] = header["unit"].lower()
                break
    known = {*roles.values(), *gates}
    beside = {index: cell.strip() for index, cell in enumerate(cells) if index not in known and cell.strip()}
    return _Layout(roles, gates, units, beside)


class _Reader:
    """Takes rows, keeps gate times, and says which cells it could not read."""

    def __init__(self, layout: _Layout, options: ReadOptions, decimal: Mark) -> None:
        self.times: list[GateTime] = []
        self.notes: list[Note] = []
        self.inherited = 0
        self._layout = layout
        self._decimal: Mark = decimal
        self._speed_unit = options.speed_unit
        self._setup = ""
        self._runs: dict[str, int] = {}

    def take(self, line: int, cells: Sequence[str]) -> None:
        """Read one row: one gate time, or one for each gate column that is filled in."""
        width = 1 + max([*self._layout.roles.values(), *self._layout.gates, *self._layout.beside])
        if len(cells) > width and any(cells[width:]):
            self._left_out(line, "more cells than the header has; a decimal comma between commas needs quotes")
            return
        cells = [*cells, *[""] * (width - len(cells))]
        texts = {role: cells[index] for role, index in self._layout.roles.items()}
        beside = {header: cells[index] for index, header in self._layout.beside.items()}
        gates = [(low, high, unit, cells[index]) for index, (low, high, unit) in self._layout.gates.items()]
        if {"from", "to", "time"} <= texts.keys():
            gates.append((texts["from"], texts["to"], None, texts["time"]))
        if not any(time for *_, time in gates):
            if any(cells):
                self._left_out(line, "no time")
            return
        setup = texts.get("setup", "")
        if setup:
            self._setup = setup
        elif "setup" in texts and self._setup:
            self.inherited += 1
        self._runs[self._setup] = self._runs.get(self._setup, 0) + 1
        run = texts.get("run", "") or str(self._runs[self._setup])
        for low, high, unit, time in gates:
            if not time:
                continue
            try:
                self.times.append(self._gate(line, run, low, high, unit, time, texts, beside))
            except TypedValueError as error:
                self._left_out(line, str(error))

    def _gate(
        self,
        line: int,
        run: str,
        low: str,
        high: str,
        unit: str | None,
        time: str,
        texts: Mapping[str, str],
        beside: Mapping[str, str],
    ) -> GateTime:
        from_m_s = self._speed(low, unit or self._layout.units.get("from") or self._layout.units.get("to"))
        to_m_s = self._speed(high, unit or self._layout.units.get("to") or self._layout.units.get("from"))
        seconds, spread = self._time(time)
        if texts.get("plus_minus"):
            spread = read_plus_minus(texts["plus_minus"], "s", decimal=self._decimal)
        if from_m_s == to_m_s:
            raise TypedValueError(f"from and to are the same speed, {low}")
        if not SHORTEST_S <= seconds <= LONGEST_S:
            raise TypedValueError(f"“{time}” is {seconds:g} s; accepted: {SHORTEST_S:g} to {LONGEST_S:g} s")
        return GateTime(
            self._setup,
            run,
            from_m_s,
            to_m_s,
            seconds,
            texts.get("direction", ""),
            texts.get("notes", ""),
            spread,
            line,
            beside,
        )

    def _speed(self, cell: str, unit: str | None) -> float:
        if not re.search("[A-Za-z]", cell):
            unit = unit or self._speed_unit
            if unit is None:
                raise RecordingError(
                    f"the speed {cell} has no unit\n    accepted: km/h, m/s, mph, kn\n"
                    "    what to do: write it in the header or behind each number, or say it"
                )
            cell = f"{cell} {_SPEEDS.get(unit.lower(), unit.lower())}"
        speed_m_s = read_quantity(cell, "km/h", decimal=self._decimal).value / 3.6
        if not 0.0 <= speed_m_s <= FASTEST_M_S:
            raise TypedValueError(f"“{cell}” is no speed of a run; accepted: 0 to {FASTEST_M_S * 3.6:g} km/h")
        return speed_m_s

    def _time(self, cell: str) -> tuple[float, float | None]:
        ms = self._layout.units.get("time") == "ms" and not re.search("[a-z:]", cell)
        return typed_time(f"{cell} ms" if ms else cell, self._decimal)

    def _left_out(self, line: int, why: str) -> None:
        self.notes.append(Note(f"line {line} was left out: {why}"))
