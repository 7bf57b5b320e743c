"""What the header of a logged column means: which channel, in which unit. Words of the trade, in English.

A header is read as a name and, behind it in brackets, after a comma or as its last word, a unit. Where a quantity has
several usual units and none is written, the meaning is left open and the person is asked; a wrong guess between km/h
and mph would pass unseen through everything that follows.
"""

import math
import re
from collections.abc import Mapping
from typing import NamedTuple

from scribeline.recordings.recording import CHANNELS

G_M_S2 = 9.80665  # iso-2533: standard gravity
MILE_M, KNOT_M_S, FOOT_M = 1609.344, 1852 / 3600, 0.3048  # exact

# Each unit as (factor, offset): value in the channel's own unit = written * factor + offset.
_SPEED = {"m/s": (1.0, 0.0), "km/h": (1 / 3.6, 0.0), "mph": (MILE_M / 3600, 0.0), "kn": (KNOT_M_S, 0.0)}
_ACCELERATION = {"m/s2": (1.0, 0.0), "g": (G_M_S2, 0.0)}
_LENGTH = {"m": (1.0, 0.0), "km": (1000.0, 0.0), "ft": (FOOT_M, 0.0), "mi": (MILE_M, 0.0)}
_DEGREES = {"deg": (1.0, 0.0), "rad": (180.0 / math.pi, 0.0)}
_TEMPERATURE = {"C": (1.0, 0.0), "F": (5 / 9, -160 / 9), "K": (1.0, -273.15)}
_SHARE = {"%": (0.01, 0.0), "share": (1.0, 0.0)}
_TIME = {"s": (1.0, 0.0), "ms": (1e-3, 0.0), "us": (1e-6, 0.0), "min": (60.0, 0.0), "h": (3600.0, 0.0)}
_TURNING = {"rpm": (1.0, 0.0), "Hz": (60.0, 0.0)}
_PLAIN = {"1": (1.0, 0.0)}
_SPELLINGS = {
    "kmh": "km/h", "kph": "km/h", "kmph": "km/h", "km/hr": "km/h", "mps": "m/s", "ms-1": "m/s", "m/sec": "m/s",
    "mi/h": "mph", "kt": "kn", "kts": "kn", "knot": "kn", "knots": "kn", "m/s^2": "m/s2", "m/s²": "m/s2",
    "mps2": "m/s2", "°": "deg", "degree": "deg", "degrees": "deg", "°c": "C", "c": "C", "degc": "C", "celsius": "C",
    "°f": "F", "f": "F", "degf": "F", "k": "K", "sec": "s", "secs": "s", "second": "s", "seconds": "s", "msec": "ms",
    "milliseconds": "ms", "µs": "us", "minutes": "min", "1/min": "rpm", "r/min": "rpm", "u/min": "rpm", "hz": "Hz",
    "metres": "m", "meters": "m", "feet": "ft", "miles": "mi", "percent": "%", "pct": "%", "hours": "h",
}  # fmt: skip


class Kind(NamedTuple):
    """What a name can mean: the channel ("time" for the time), its units, and the one that needs no writing."""

    channel: str
    units: Mapping[str, tuple[float, float]]
    usual: str | None


class Meaning(NamedTuple):
    """A column's channel and how its numbers become the channel's unit; `unit` None: a moment, as text or epoch."""

    channel: str
    unit: str | None
    factor: float
    offset: float


# fmt: off
_NAMES: tuple[tuple[str, Kind], ...] = (
    (r"(elapsed |relative |log |sample )?time( elapsed)?|t|elapsed|time ?stamp|date ?time|utc( time)?|time utc|gps time"
     r"|date and time|moment|unix( time)?|epoch", Kind("time", _TIME, "s")),
    (r"(gps |ground |vehicle |road )?(speed|velocity|v)( over ground)?|sog|speed gps", Kind("speed_m_s", _SPEED, None)),
    (r"(front |rear )?wheel speed( front| rear)?", Kind("wheel_speed_m_s", _SPEED, None)),
    (r"(engine )?(rpm|revs|engine speed|crank speed|n)|engine", Kind("rpm", _TURNING, "rpm")),
    (r"(gps )?lat(itude)?", Kind("latitude_deg", _DEGREES, "deg")),
    (r"(gps )?(lon|lng|long|longitude)", Kind("longitude_deg", _DEGREES, "deg")),
    (r"(gps )?(alt(itude)?|elevation|ele|height)", Kind("altitude_m", _LENGTH, None)),
    (r"(gps )?(course|heading|bearing|track|course over ground)|cog", Kind("course_deg", _DEGREES, "deg")),
    (r"(gps )?dist(ance)?", Kind("distance_m", _LENGTH, None)),
    (r"(throttle|tps|throttle position|throttle opening)", Kind("throttle_share", _SHARE, None)),
    (r"(air|ambient|intake air) temp(erature)?", Kind("air_temperature_c", _TEMPERATURE, None)),
    (r"(cylinder )?head temp(erature)?|cht", Kind("head_temperature_c", _TEMPERATURE, None)),
    (r"exhaust( gas)? temp(erature)?|egt", Kind("exhaust_temperature_c", _TEMPERATURE, None)),
    (r"hdop", Kind("hdop", _PLAIN, "1")),
    (r"(num(ber)? )?(of )?(sats|satellites)( used| in use)?", Kind("satellites", _PLAIN, "1")),
    *((rf"(acc|accel|acceleration|a|linear acceleration|g force) ?{axis}|{axis} ?(acc|accel|acceleration)",
       Kind(f"acceleration_{axis}_m_s2", _ACCELERATION, None)) for axis in "xyz"),
)
# fmt: on
_KINDS = {kind.channel: kind for _, kind in _NAMES}
_WITH_UNIT = re.compile(r"(?P<name>.+?)\s*(?:[(\[{](?P<inside>[^)\]}]*)[)\]}]|,\s*(?P<behind>\S+))\s*")


def plain(header: str) -> str:
    """A header in small letters with single spaces: `GPS_Speed` is `gps speed`."""
    spaced = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", header.strip())
    return re.sub(r"[\s_.\-]+", " ", spaced).strip().lower()


def meaning_of(header: str) -> tuple[Meaning | None, str]:
    """What a header means, and why not where it means nothing.

    >>> meaning_of("Speed (km/h)")[0]
    Meaning(channel='speed_m_s', unit='km/h', factor=0.2777777777777778, offset=0.0)
    >>> meaning_of("speed")
    (None, 'speed has no unit: km/h, m/s, mph or kn?')
    """
    name, unit = _taken_apart(header)
    for pattern, kind in _NAMES:
        if re.fullmatch(pattern, plain(name)):
            if (
                kind.channel == "time"
                and unit is None
                and re.search("utc|date|stamp|gps|moment|unix|epoch", plain(name))
            ):
                return Meaning("time", None, 1.0, 0.0), ""
            return _resolved(kind, unit or kind.usual, header)
    return None, f"{header} is not known here"


def choices() -> list[tuple[str, str]]:
    """Everything that a person can say about a column, as `meaning_given` reads it, each with its words.

    >>> ("speed_m_s km/h", "speed over ground, km/h") in choices()
    True
    """
    found = [("time utc", "date and time of day")]
    for channel, kind in _KINDS.items():
        words = "time" if channel == "time" else CHANNELS[channel][1]
        found += [(f"{channel} {unit}", words if unit == "1" else f"{words}, {unit}") for unit in kind.units]
    return found


def meaning_given(text: str, header: str) -> tuple[Meaning | None, str]:
    """What a person said a column means: `speed_m_s km/h`, `rpm`, `time ms`; None with a reason where it is not known.

    >>> meaning_given("speed mph", "v")[0].channel
    'speed_m_s'
    """
    name, _, unit = text.strip().partition(" ")
    kind = _KINDS.get(name) or next((k for k in _KINDS.values() if k.channel.startswith(f"{name}_")), None)
    if name in CHANNELS and kind is None:
        kind = Kind(name, {CHANNELS[name][0]: (1.0, 0.0)}, CHANNELS[name][0])
    if kind is None:
        return None, f"{name} is no channel; channels are time, {', '.join(CHANNELS)}"
    if kind.channel == "time" and unit.strip() in ("utc", "local", "stamp"):
        return Meaning("time", None, 1.0, 0.0), ""
    return _resolved(kind, unit.strip() or kind.usual, header)


def _taken_apart(header: str) -> tuple[str, str | None]:
    """The name of a header and its unit, if it has one."""
    whole = header.strip()
    found = _WITH_UNIT.fullmatch(whole)
    if found:
        unit = found["inside"] if found["inside"] is not None else found["behind"]
        return found["name"], _spelled(unit) or None
    words = re.split(r"[\s_]+", whole)
    for count in (2, 1):  # Speed km h, speed_m_s, acc_x_g
        tail = "/".join(words[-count:]).lower()
        unit = {"km/h": "km/h", "m/s": "m/s", "m/s2": "m/s2"}.get(tail) if count == 2 else _spelled(words[-1])
        if len(words) > count and unit in _ALL_UNITS and not re.fullmatch("[xyz]|t|n|v", words[-1].lower()):
            return " ".join(words[:-count]), unit
    return whole, None


def _spelled(unit: str) -> str:
    compact = unit.strip().replace(" ", "")
    return _SPELLINGS.get(compact.lower(), compact if compact in _ALL_UNITS else compact.lower())


_ALL_UNITS = {unit for _, kind in _NAMES for unit in kind.units} - {"1"}


def _resolved(kind: Kind, unit: str | None, header: str) -> tuple[Meaning | None, str]:
    choices = list(kind.units)
    listed = f"{', '.join(choices[:-1])} or {choices[-1]}" if len(choices) > 1 else choices[0]
    if unit is None:
        return None, f"{header} has no unit: {listed}?"
    spelled = _spelled(unit)
    if spelled not in kind.units:
        return None, f"{header}: {unit} is not a unit of {kind.channel}, which is written in {listed}"
    return Meaning(kind.channel, spelled, *kind.units[spelled]), ""
