"""Logs of satellite receivers in NMEA 0183 sentences. README.md tells which sentences are read."""

import re
from array import array
from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import pynmea2
from numpy.typing import NDArray

from scribeline.errors import RecordingError
from scribeline.recordings.assembling import Counts, assemble
from scribeline.recordings.formats import NO, YES, Answer, ReadOptions, unsupported
from scribeline.recordings.nmea.sentences import READ, Said, said_by
from scribeline.recordings.recording import Recording
from scribeline.recordings.text import check_size, encoding_of

NAME = "nmea"
WHAT = "a satellite receiver's log in NMEA 0183 sentences ($GPRMC, $GPGGA ...)"

Floats = NDArray[np.float64]
_SENTENCE = re.compile(rb"\$[A-Z]{2}(RMC|GGA|VTG|ZDA|GLL|GSA|GSV|GNS),[^\r\n]{4,}")
_FIELDS = ("speed_m_s", "latitude_deg", "longitude_deg", "altitude_m", "course_deg", "hdop", "satellites")
_LONGEST = 200  # characters of a line: a sentence has 82 at most, a log may put its own stamp in front


def recognise(path: Path, head: bytes) -> Answer:
    """By a sentence of a receiver at the beginning of one of the first lines."""
    found = _SENTENCE.search(head)
    if not found or head.lstrip()[:1] in (b"<", b"{"):
        return NO
    types = {match[1] for match in _SENTENCE.finditer(head)}
    if types & {b"RMC", b"GGA"}:
        return YES
    return unsupported("it has neither RMC nor GGA sentences; let the receiver or the app write RMC")


def read(path: Path, options: ReadOptions) -> Recording:
    """Sentences of one moment make one row; RMC's speed and position are taken before VTG's and GGA's."""
    check_size(path)
    rows = _Rows()
    with path.open("rb") as file:
        encoding = encoding_of(file.read(4096))
    with path.open(encoding=encoding, errors="replace", newline=None) as lines:
        while line := lines.readline(_LONGEST):
            rows.take(line)
    dated = rows.end_of_log()
    stamps_s, columns = rows.columns()
    if not len(stamps_s):
        reasons = "".join(f"\n    {note}" for note in rows.counts.notes())
        raise RecordingError(f"{path.name}: no sentence with a time could be read{reasons}")
    return assemble(path.name, NAME, stamps_s, columns, rows.counts.notes(), on_a_clock=dated)


class _Rows:
    """Rows as they grow: one for each moment that a sentence names."""

    def __init__(self) -> None:
        self.counts = Counts()
        self._stamps, self._table = array("d"), array("d")
        self._day: date | None = None
        self._midnight_s = 0.0
        self._second: float | None = None
        self._row: dict[str, float] = {}
        self._waiting: list[tuple[float, dict[str, float]]] = []  # seconds of a day that is not known yet

    def take(self, line: str) -> None:
        """Take one line of the log."""
        begin = line.find("$")
        if begin < 0:
            if line.strip():
                self.counts.add("lines that are no sentence were left out")
            return
        text = line[begin:].strip()
        if text[3:6] not in READ:
            return
        try:
            self._merge(said_by(text))
        except pynmea2.ChecksumError:
            self.counts.add("sentences with a wrong or missing checksum were left out")
        except (pynmea2.ParseError, ValueError, TypeError, AttributeError, IndexError, KeyError, OverflowError):
            self.counts.add("sentences that are damaged were left out")

    def _merge(self, said: Said) -> None:
        if said.second is None:
            if said.kind != "VTG":
                self.counts.add("sentences without a time were left out")
            elif self._second is not None:
                self._row = {**said.values, **self._row}
            return
        self._moment(said.second)
        if said.day is not None and said.day != self._day:
            self._set_day(said.day)
        if said.kind == "RMC":
            if not said.fix:
                self.counts.add("moments at which the receiver had no fix")
            self._row.update(said.values)
        else:
            self._row = {**said.values, **self._row}

    def _moment(self, second: float) -> None:
        if self._second is not None and second != self._second:
            self.end()
            if self._day is not None and second < self._second - 43_200:
                self._begin(self._day + timedelta(days=1))
        self._second = second

    def _set_day(self, day: date) -> None:
        if day.year < 1990:
            self.counts.add("dates of a clock that was never set were left out")
            return
        self._begin(day)

    def _begin(self, day: date) -> None:
        self._day = day
        self._midnight_s = datetime(day.year, day.month, day.day, tzinfo=UTC).timestamp()
        for second, row in self._waiting:
            self._keep(second, row)
        self._waiting.clear()

    def end(self) -> None:
        """Finish the row of the moment that has gone by."""
        if self._second is None:
            return
        row, self._row = self._row, {}
        if self._day is None:
            self._waiting.append((self._second, row))
        else:
            self._keep(self._second, row)

    def end_of_log(self) -> bool:
        """Finish the last row; False where no sentence brought a date, so that the times are of an unknown day."""
        self.end()
        if self._day is not None:
            return True
        if self._waiting:
            self.counts.add("no sentence gives the date")
        self._begin(date(1970, 1, 1))
        return False

    def columns(self) -> tuple[Floats, Mapping[str, Floats]]:
        """Stamps (n,), and a column (n,) for each of _FIELDS."""
        table = np.frombuffer(self._table, dtype=np.float64).reshape(-1, len(_FIELDS))
        return np.frombuffer(self._stamps, dtype=np.float64), {name: table[:, i] for i, name in enumerate(_FIELDS)}

    def _keep(self, second: float, row: Mapping[str, float]) -> None:
        self._stamps.append(self._midnight_s + second)
        self._table.extend([row.get(name, np.nan) for name in _FIELDS])
