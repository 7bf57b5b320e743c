"""Logged columns in a text table, as data loggers and sensor apps write them. README.md tells what is recognised."""

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from datetime import UTC, datetime
from itertools import chain, islice
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scribeline.errors import RecordingError
from scribeline.recordings.assembling import EARLIEST_S, LATEST_S, Counts, assemble
from scribeline.recordings.columns.mappings import remember, remembered, usual_place
from scribeline.recordings.columns.meanings import Meaning, meaning_given, meaning_of
from scribeline.recordings.formats import NO, YES, Answer, ReadOptions, unsupported
from scribeline.recordings.recording import Recording
from scribeline.recordings.tables import LONGEST_HEADER, LOOKED_AT, Mark, cells_of, decimal_of, delimiter_of, lines_of
from scribeline.recordings.text import decoded, looks_like_text

__all__ = ["NAME", "WHAT", "Looked", "look", "read", "recognise", "remember", "usual_place"]

NAME = "columns"
WHAT = "a table of logged columns with a header (CSV)"

Floats = NDArray[np.float64]
_NUMERIC = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?")
_CLOCK = re.compile(r"(?:(\d+):)?(\d{1,2}):(\d{1,2}(?:[.,]\d+)?)")
MOST_ROWS = 20_000_000
PIECE = 20_000  # rows that are held as text at a time


def recognise(path: Path, head: bytes) -> Answer:
    """A text table with a header row above rows of numbers."""
    if head.startswith(b"PK\x03\x04") and path.suffix.lower() in (".xlsx", ".ods", ".xlsm"):
        return unsupported("a spreadsheet file is not read; save its sheet as CSV, or paste it into a text file")
    if not looks_like_text(head):
        return NO
    lines = decoded(head).splitlines()[:LOOKED_AT]
    delimiter = delimiter_of(lines)
    if not delimiter or _header_row([cells_of(line, delimiter) for line in lines]) is None:
        return NO
    return YES


def read(path: Path, options: ReadOptions) -> Recording:
    """Every column whose meaning is known or was said; the others are named in the notes.

    Raises RecordingError where no time or nothing else is known, with every column's reason.
    """
    lines = lines_of(path)
    first = list(islice(lines, LOOKED_AT))
    delimiter = delimiter_of(first)
    rows = [cells_of(line, delimiter) for line in first]
    place = _header_row(rows)
    if place is None:
        raise RecordingError(f"{path.name} has no header above rows of numbers\n    accepted: {WHAT}")
    headers, counts = _headers(rows[place]), Counts()
    said = {**remembered(options.mappings, headers), **options.columns}
    wanted, reasons = _meanings(headers, said, options)
    units_row = _units_below(rows, place, headers, wanted, reasons, said)
    decimal = decimal_of(chain.from_iterable(rows[place + 1 :]), delimiter, path.name, options.decimal)
    body = chain(rows[place + 1 + units_row :], (cells_of(line, delimiter) for line in lines))
    timed = "time" in {meaning.channel for meaning in wanted.values()}
    if not timed or len(wanted) < 2:
        missing = "no column besides the time is known" if timed else "no column is known to be the time"
        listed = "".join(f"\n    {reason}" for reason in reasons)
        raise RecordingError(
            f"{path.name}: {missing}{listed}\n    what to do: say what the columns mean, as in 'v = speed_m_s km/h'"
        )
    clock = _Clock(next(meaning for meaning in wanted.values() if meaning.channel == "time"), decimal, options, counts)
    parts: dict[str, list[Floats]] = {meaning.channel: [] for meaning in wanted.values()}
    for texts in _pieces(body, wanted, len(headers), counts):
        for index, meaning in wanted.items():
            if meaning.channel == "time":
                parts["time"].append(clock.take(texts[index]))
            else:
                numbers = _numbers(texts[index], decimal, counts, headers[index])
                parts[meaning.channel].append(numbers * meaning.factor + meaning.offset)
    columns = {channel: np.concatenate([np.empty(0), *found]) for channel, found in parts.items()}
    stamps, on_a_clock = clock.settle(columns.pop("time"))
    for reason in reasons:
        counts.add(f"left out: {reason}")
    recording = assemble(path.name, NAME, stamps, columns, counts.notes(), on_a_clock=on_a_clock)
    if options.mappings is not None and options.columns:
        remember(options.mappings, headers, said)
    return recording


class Looked(NamedTuple):
    """A table as far as it can be looked at: its headers, some of its rows, and what each header seems to mean.

    guessed : header -> meaning as `ReadOptions.columns` takes it, "" where it is not known
    reasons : why columns are not known
    """

    headers: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    guessed: Mapping[str, str]
    reasons: tuple[str, ...]


def look(path: Path, options: ReadOptions, rows: int = 4) -> Looked:
    """Look at a table without reading it, so that a person can say what its columns are.

    Raises RecordingError where it has no header above rows of numbers.
    """
    first = list(islice(lines_of(path), LOOKED_AT))
    cells = [cells_of(line, delimiter_of(first)) for line in first]
    place = _header_row(cells)
    if place is None:
        raise RecordingError(f"{path.name} has no header above rows of numbers\n    accepted: {WHAT}")
    headers = _headers(cells[place])
    said = {**remembered(options.mappings, headers), **options.columns}
    wanted, reasons = _meanings(headers, said, options)
    below = _units_below(cells, place, headers, wanted, reasons, said)
    guessed = dict.fromkeys(headers, "")
    for index, meaning in wanted.items():
        guessed[headers[index]] = f"{meaning.channel} {meaning.unit or 'utc'}"
    shown = [tuple(row[: len(headers)]) for row in cells[place + 1 + below :] if any(row)][:rows]
    return Looked(tuple(headers), tuple(shown), guessed, tuple(reasons))


def _header_row(rows: Sequence[Sequence[str]]) -> int | None:
    """The last row without numbers before the first that is mostly numbers, with as many cells; None for none."""
    for index, row in enumerate(rows[:100]):
        numeric = sum(_is_numeric(cell) for cell in row)
        if len(row) >= 2 and numeric >= max(2, 0.5 * sum(bool(cell) for cell in row)):
            for above in range(index - 1, -1, -1):
                names = sum(bool(re.search("[A-Za-z]", cell)) for cell in rows[above])
                if len(rows[above]) >= 0.7 * len(row) and names >= 2 and not _is_units(rows[above]):
                    return above
            return None
    return None


def _is_numeric(cell: str) -> bool:
    return len(cell) <= LONGEST_HEADER and bool(_NUMERIC.fullmatch(cell) or _CLOCK.search(cell))


def _is_units(row: Sequence[str]) -> bool:
    """A row of units under the names: short, and mostly in brackets or known as units."""
    words = [cell for cell in row if cell]
    if not words or max(map(len, words)) > 8:
        return False
    known = [meaning_given(f"{kind} {cell.strip('()[]')}", cell)[0] for cell in words for kind in ("speed", "time")]
    return sum(one is not None for one in known) >= 2


def _headers(row: Sequence[str]) -> list[str]:
    """The names of the columns, made different where two are the same."""
    seen: Counts = Counts()
    names = []
    for cell in row:
        seen.add(cell)
        name = cell[:LONGEST_HEADER]
        names.append(name if seen[cell] == 1 else f"{name} #{seen[cell]}")
    return names


def _meanings(
    headers: Sequence[str], said: Mapping[str, str], options: ReadOptions
) -> tuple[dict[int, Meaning], list[str]]:
    unknown = [name for name in options.columns if name not in headers]
    if unknown:
        raise RecordingError(f"there is no column {', '.join(unknown)}\n    accepted: {', '.join(headers)}")
    wanted: dict[int, Meaning] = {}
    reasons: list[str] = []
    taken: set[str] = set()
    for given in (True, False):  # what a person said comes before what a header seems to say
        for index, header in enumerate(headers):
            if (header in said) is not given or (given and not said[header].strip()) or not header:
                continue
            meaning, reason = meaning_given(said[header], header) if given else meaning_of(header)
            if given and meaning is None:
                raise RecordingError(f"column {header} = {said[header]}: {reason}")
            if meaning is None:
                reasons.append(reason)
            elif meaning.channel in taken:
                reasons.append(f"{header}: another column is {meaning.channel} already")
            else:
                wanted[index] = meaning
                taken.add(meaning.channel)
    return wanted, reasons


def _units_below(
    rows: Sequence[Sequence[str]],
    place: int,
    headers: Sequence[str],
    wanted: dict[int, Meaning],
    reasons: list[str],
    said: Mapping[str, str],
) -> int:
    """Take the units from a row of their own under the names, where there is one; the number of such rows."""
    below = rows[place + 1] if place + 1 < len(rows) else []
    if not below or any(_NUMERIC.fullmatch(cell) for cell in below):
        return 0
    for index, (header, unit) in enumerate(zip(headers, below, strict=False)):
        if header in said or not 0 < len(unit.strip("()[] ")) <= 12:
            continue
        meaning, _ = meaning_of(f"{header} ({unit.strip('()[] ')})")
        if meaning is not None and meaning.channel not in {m.channel for i, m in wanted.items() if i != index}:
            wanted[index] = meaning
            reasons[:] = [reason for reason in reasons if not reason.startswith(f"{header} has no unit")]
    return 1


def _pieces(
    rows: Iterator[list[str]] | chain[list[str]], wanted: Mapping[int, Meaning], width: int, counts: Counts
) -> Iterator[dict[int, list[str]]]:
    """The cells of the wanted columns, some thousand rows at a time; rows with too few cells are left out."""
    texts: dict[int, list[str]] = {index: [] for index in wanted}
    last = max(wanted, default=0)
    for number, row in enumerate(rows):
        if number >= MOST_ROWS:
            counts.add(f"rows beyond {MOST_ROWS} were not read")
            break
        if not any(row):
            continue
        if len(row) <= last and len(row) < width:
            counts.add("rows with too few cells were left out")
            continue
        for index, cells in texts.items():
            cells.append(row[index])
        if number % PIECE == PIECE - 1:
            yield texts
            texts = {index: [] for index in wanted}
    yield texts


def _numbers(cells: list[str], decimal: Mark, counts: Counts, header: str) -> Floats:
    """Numbers with this decimal mark, NaN for empty cells and for what is none."""
    if decimal == ",":
        cells = [cell.replace(",", ".") if "." not in cell else f"{cell}?" for cell in cells]
    with suppress(ValueError):
        return np.array(cells, dtype=np.float64)
    numbers = np.full(len(cells), np.nan)
    for i, cell in enumerate(cells):
        if not cell or cell.lower() in ("nan", "na", "n/a", "-", "--", "null", "none"):
            continue
        if _NUMERIC.fullmatch(cell):
            numbers[i] = float(cell.replace(",", ".")) if "," not in cell else np.nan
        if np.isnan(numbers[i]):
            counts.add(f"cells of {header} that are no number were left out")
    return numbers


class _Clock:
    """The time column, piece by piece: numbers, clock times or moments, whichever its first cell is."""

    def __init__(self, meaning: Meaning, decimal: Mark, options: ReadOptions, counts: Counts) -> None:
        self._meaning, self._decimal, self._counts = meaning, decimal, counts
        self._offset_h = options.utc_offset_h
        self._numeric: bool | None = None
        self._dated = False

    def take(self, cells: list[str]) -> Floats:
        """The cells as numbers in the file's own unit, or as seconds of a day or since 1970; NaN for none."""
        if self._numeric is None:
            self._numeric = bool(_NUMERIC.fullmatch(next((cell for cell in cells if cell), "")))
        return _numbers(cells, self._decimal, self._counts, "the time") if self._numeric else self._stamps(cells)

    def settle(self, numbers: Floats) -> tuple[Floats, bool]:
        """The whole column in seconds, and whether it is a real clock (since 1970) or counts from its own zero."""
        if not self._numeric:
            return numbers, self._dated
        size = float(np.nanmax(np.abs(numbers), initial=0.0))
        if self._meaning.unit is not None and size * self._meaning.factor < 3e8:
            steps = np.diff(numbers[np.isfinite(numbers)])
            usual = float(np.median(steps[steps > 0])) if (steps > 0).any() else 0.0
            if self._meaning.unit == "s" and usual >= 5.0:
                self._counts.add(f"the time goes in steps of {usual:g} s; if these are milliseconds, say 'time ms'")
            return numbers * self._meaning.factor, False
        middle = float(np.nanmedian(numbers)) if np.isfinite(numbers).any() else 0.0
        for scale in (1.0, 1e-3, 1e-6, 1e-9):  # seconds, milliseconds ... since 1970: only one of them is a date of now
            if EARLIEST_S < middle * scale < LATEST_S:
                return numbers * scale, True
        return numbers, False

    def _stamps(self, cells: list[str]) -> Floats:
        stamps = np.full(len(cells), np.nan)
        for i, cell in enumerate(cells):
            with suppress(ValueError, OverflowError):
                moment = datetime.fromisoformat(cell.replace(",", "."))
                self._dated = True
                if moment.tzinfo is None:
                    offset_h = self._offset_h
                    said = "UTC" if offset_h is None else f"UTC{offset_h:+g} h"
                    self._counts.add(f"times have no zone and were taken as {said}")
                    stamps[i] = moment.replace(tzinfo=UTC).timestamp() - 3600.0 * (offset_h or 0.0)
                else:
                    stamps[i] = moment.timestamp()
                continue
            if len(cell) <= LONGEST_HEADER and (clock := _CLOCK.fullmatch(cell)):
                stamps[i] = int(clock[1] or 0) * 3600 + int(clock[2]) * 60 + float(clock[3].replace(",", "."))
            elif cell:
                self._counts.add("times that cannot be read were left out")
        return stamps
