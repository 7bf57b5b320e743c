"""Logs of satellite receivers in NMEA 0183 sentences. README.md tells which sentences are read."""

import re
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import pynmea2

from scribeline.errors import RecordingError
from scribeline.recordings.assembling import Counts, assemble
from scribeline.recordings.formats import NO, YES, Answer, ReadOptions, unsupported
from scribeline.recordings.recording import Recording
from scribeline.recordings.text import check_size, encoding_of

NAME = "nmea"
WHAT = "a satellite receiver's log in NMEA 0183 sentences ($GPRMC, $GPGGA ...)"

_SENTENCE = re.compile(rb"\$[A-Z]{2}(RMC|GGA|VTG|ZDA|GLL|GSA|GSV|GNS),[^\r\n]{4,}")
_READ = ("RMC", "GGA", "VTG", "ZDA")
KNOT_M_S = 1852 / 3600  # exact: the international nautical mile is 1852 m
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
    if not rows.stamps:
        reasons = "".join(f"\n    {note}" for note in rows.counts.notes())
        raise RecordingError(f"{path.name}: no sentence with a time could be read{reasons}")
    table = np.array(rows.table, dtype=np.float64)
    columns = {name: table[:, i] for i, name in enumerate(_FIELDS)}
    return assemble(path.name, NAME, np.array(rows.stamps), columns, rows.counts.notes(), on_a_clock=dated)


class _Rows:
    """Rows as they grow: one for each moment that a sentence names."""

    def __init__(self) -> None:
        self.stamps: list[float] = []
        self.table: list[list[float]] = []
        self.counts = Counts()
        self._day: date | None = None
        self._second: float | None = None
        self._row: dict[str, float] = {}
        self._waiting: list[tuple[float, list[float]]] = []  # seconds of a day that is not known yet

    def take(self, line: str) -> None:
        """Take one line of the log."""
        begin = line.find("$")
        if begin < 0:
            if line.strip():
                self.counts.add("lines that are no sentence were left out")
            return
        text = line[begin:].strip()
        if text[3:6] not in _READ:
            return
        try:
            sentence = pynmea2.parse(text, check=True)
            self._merge(sentence, text[3:6])
        except pynmea2.ChecksumError:
            self.counts.add("sentences with a wrong or missing checksum were left out")
        except (pynmea2.ParseError, ValueError, TypeError, AttributeError, IndexError, KeyError, OverflowError):
            self.counts.add("sentences that are damaged were left out")

    def _merge(self, sentence: pynmea2.NMEASentence, kind: str) -> None:
        if kind == "VTG":
            if sentence.spd_over_grnd_kmph is not None and self._second is not None:
                self._row.setdefault("speed_m_s", float(sentence.spd_over_grnd_kmph) / 3.6)
            return
        if sentence.timestamp is None:
            self.counts.add("sentences without a time were left out")
            return
        t = sentence.timestamp
        self._moment(t.hour * 3600 + t.minute * 60 + t.second + t.microsecond / 1e6)
        if kind == "ZDA":
            self._set_day(date(int(sentence.year), int(sentence.month), int(sentence.day)))
            return
        if kind == "RMC":
            if sentence.datestamp is not None:
                self._set_day(sentence.datestamp)
            if sentence.status != "A":
                self.counts.add("moments at which the receiver had no fix")
                return
            if sentence.spd_over_grnd is not None:
                self._row["speed_m_s"] = float(sentence.spd_over_grnd) * KNOT_M_S
            if sentence.true_course is not None:
                self._row["course_deg"] = float(sentence.true_course)
            self._place(sentence)
            return
        if int(sentence.gps_qual or 0) == 0:
            return
        for name, value in (("hdop", sentence.horizontal_dil), ("satellites", sentence.num_sats)):
            if value not in (None, ""):
                self._row[name] = float(value)
        if sentence.altitude is not None and sentence.altitude_units == "M":
            self._row["altitude_m"] = float(sentence.altitude)
        if "latitude_deg" not in self._row:
            self._place(sentence)

    def _place(self, sentence: pynmea2.NMEASentence) -> None:
        if sentence.lat and sentence.lon:
            self._row["latitude_deg"], self._row["longitude_deg"] = sentence.latitude, sentence.longitude

    def _moment(self, second: float) -> None:
        if self._second is not None and second != self._second:
            self.end()
            if self._day is not None and second < self._second - 43_200:
                self._day += timedelta(days=1)
        self._second = second

    def _set_day(self, day: date) -> None:
        if day.year < 1990:
            self.counts.add("dates of a clock that was never set were left out")
            return
        self._day = day
        for second, row in self._waiting:
            self._keep(second, row)
        self._waiting.clear()

    def end(self) -> None:
        """Finish the row of the moment that has gone by."""
        if self._second is None:
            return
        row = [self._row.get(name, np.nan) for name in _FIELDS]
        self._row = {}
        if self._day is None:
            self._waiting.append((self._second, row))
        else:
            self._keep(self._second, row)

    def end_of_log(self) -> bool:
        """Finish the last row; False where no sentence brought a date, so that the times are of an unknown day."""
        self.end()
        if self._day is not None:
            return True
        self._day = date(1970, 1, 1)
        for second, row in self._waiting:
            self._keep(second, row)
        if self._waiting:
            self.counts.add("no sentence gives the date")
        return False

    def _keep(self, second: float, row: list[float]) -> None:
        assert self._day is not None
        midnight = datetime(self._day.year, self._day.month, self._day.day, tzinfo=UTC)
        self.stamps.append(midnight.timestamp() + second)
        self.table.append(row)
