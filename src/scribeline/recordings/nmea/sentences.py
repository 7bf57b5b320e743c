"""What one sentence says. `pynmea2` takes sentences apart; RMC and GGA that are whole and plain need no library.

A log at 50 Hz is nearly all of those two, and they go six times as fast here. Whatever is not exactly of the plain form
(an empty field, no fix, a wrong checksum, a stray character) goes to the library, which judges it.
"""

import re
from collections.abc import Mapping
from datetime import date, datetime
from functools import lru_cache
from typing import NamedTuple

import pynmea2

KNOT_M_S = 1852 / 3600  # exact: the international nautical mile is 1852 m
READ = ("RMC", "GGA", "VTG", "ZDA")

_CLOCK = r"(\d\d)(\d\d)(\d\d(?:\.\d+)?)"
_PLACE = r"(\d\d)(\d\d\.\d+),([NS]),(\d{3})(\d\d\.\d+),([EW])"
_END = r"([ -)+-~]*)\*([0-9A-F]{2})"
_RMC = re.compile(rf"\$[A-Z]{{2}}RMC,{_CLOCK},A,{_PLACE},(\d+(?:\.\d*)?),(\d+(?:\.\d*)?),(\d{{6}}){_END}", re.ASCII)
_GGA = re.compile(rf"\$[A-Z]{{2}}GGA,{_CLOCK},{_PLACE},[1-9],(\d+),(\d+(?:\.\d*)?),(-?\d+(?:\.\d*)?),M{_END}", re.ASCII)


class Said(NamedTuple):
    """Of one sentence: its kind, the second of the day, the day, values by channel; None where it does not say it.

    fix : False where the receiver says that it has none
    """

    kind: str
    second: float | None
    day: date | None
    values: Mapping[str, float]
    fix: bool = True


def said_by(text: str) -> Said:
    """Take apart one sentence of the kinds in READ, from its `$` to its checksum.

    Raises what the library raises: its own ChecksumError and ParseError, and Python's errors for damaged fields.

    >>> said_by("$GPRMC,120000.50,A,4806.0,N,01130.0,E,20.0,90.0,140526,,,A*5E").second
    43200.5
    """
    kind = text[3:6]
    if kind == "RMC" and (found := _RMC.fullmatch(text)) and _sum(text) == int(found[14], 16):
        second = _second(found[1], found[2], found[3])
        values = {
            "speed_m_s": float(found[10]) * KNOT_M_S,
            "course_deg": float(found[11]),
            "latitude_deg": _degrees(found[4], found[5], found[6] == "S"),
            "longitude_deg": _degrees(found[7], found[8], found[9] == "W"),
        }
        return Said(kind, second, _day(found[12]), values)
    if kind == "GGA" and (found := _GGA.fullmatch(text)) and _sum(text) == int(found[14], 16):
        second = _second(found[1], found[2], found[3])
        values = {
            "latitude_deg": _degrees(found[4], found[5], found[6] == "S"),
            "longitude_deg": _degrees(found[7], found[8], found[9] == "W"),
            "satellites": float(found[10]),
            "hdop": float(found[11]),
            "altitude_m": float(found[12]),
        }
        return Said(kind, second, None, values)
    return by_library(text)


def by_library(text: str) -> Said:
    """The same for every sentence of these kinds, however it is written."""
    sentence, kind = pynmea2.parse(text, check=True), text[3:6]
    if kind == "VTG":
        speed = sentence.spd_over_grnd_kmph
        return Said(kind, None, None, {} if speed is None else {"speed_m_s": float(speed) / 3.6})
    t = sentence.timestamp
    second = None if t is None else t.hour * 3600 + t.minute * 60 + t.second + t.microsecond / 1e6
    if second is None:
        return Said(kind, None, None, {})
    if kind == "ZDA":
        return Said(kind, second, date(int(sentence.year), int(sentence.month), int(sentence.day)), {})
    values: dict[str, float] = {}
    day: date | None = None
    if kind == "RMC":
        day = sentence.datestamp
        if not isinstance(day, date | None):  # the library hands on as text what it cannot read
            raise ValueError(f"{day} is no date")
        if sentence.status != "A":
            return Said(kind, second, day, {}, fix=False)
        if sentence.spd_over_grnd is not None:
            values["speed_m_s"] = float(sentence.spd_over_grnd) * KNOT_M_S
        if sentence.true_course is not None:
            values["course_deg"] = float(sentence.true_course)
    elif int(sentence.gps_qual or 0) == 0:
        return Said(kind, second, None, {}, fix=False)
    else:
        for name, value in (("hdop", sentence.horizontal_dil), ("satellites", sentence.num_sats)):
            if value not in (None, ""):
                values[name] = float(value)
        if sentence.altitude is not None and sentence.altitude_units == "M":
            values["altitude_m"] = float(sentence.altitude)
    if sentence.lat and sentence.lon:
        values["latitude_deg"], values["longitude_deg"] = sentence.latitude, sentence.longitude
    return Said(kind, second, day, values)


def _sum(text: str) -> int:
    """Exclusive or of all characters between `$` and `*`, at most 256 of them: halves laid over each other."""
    bits = int.from_bytes(text[1:-3].encode("ascii"), "big")
    for half in (1024, 512, 256, 128, 64, 32, 16, 8):
        bits ^= bits >> half
    return bits & 0xFF


def _second(hours: str, minutes: str, seconds: str) -> float:
    h, m, s = int(hours), int(minutes), float(seconds)
    if h > 23 or m > 59 or s >= 60.0:
        raise ValueError(f"{hours}:{minutes}:{seconds} is no time of day")
    return h * 3600 + m * 60 + s


def _degrees(degrees: str, minutes: str, negative: bool) -> float:
    value = int(degrees) + float(minutes) / 60
    return -value if negative else value


@lru_cache(maxsize=64)
def _day(text: str) -> date:
    return datetime.strptime(text, "%d%m%y").date()
