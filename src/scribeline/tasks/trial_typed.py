"""What is typed for a trial: gates, the air of the day, a band of engine speeds. Refused where it is not clear."""

import re
from collections.abc import Mapping, Sequence
from typing import Any

from scribeline.errors import TrialError
from scribeline.models.moist_air import Air, air
from scribeline.notebook import Entry
from scribeline.trials.gates import Gate
from scribeline.units import read_quantity

_TO = re.compile(r"\s*(?:\bto\b|:|–|—|-(?=\s*\d))\s*")


def gates_of(texts: Sequence[str]) -> list[Gate]:
    """Gates typed as "30 to 55 km/h"; without a unit they are km/h. Raises TypedValueError and TrialError.

    >>> [gate.name for gate in gates_of(["30 to 55", "15-30 mph"])]
    ['30 to 55 km/h', '24.1 to 48.3 km/h']
    """
    found = []
    for text in texts:
        parts = _TO.split(text.strip())
        if len(parts) != 2:
            raise TrialError(
                f"a gate typed as {text!r}\n    accepted: two speeds, as in 30 to 55 km/h\n    what to do: write it so"
            )
        unit = re.sub(r"^[\d.,\s]+", "", parts[1])
        first = parts[0] if re.search(r"[a-zA-Z]", parts[0]) else f"{parts[0]} {unit}"
        low, high = (read_quantity(one, "km/h").value / 3.6 for one in (first, parts[1]))
        if low == high or min(low, high) < 0.0:
            raise TrialError(
                f"a gate typed as {text!r}\n    accepted: two different speeds\n    what to do: write both ends"
            )
        found.append(Gate(low, high))
    return found


def air_of(text: str) -> dict[str, Any]:
    """The air of a day typed as "18 C, 1003 hPa, 60 %" or "18 C, 1003 hPa, dew 9 C"; the humidity may be left out.

    Returns what the journal keeps. Raises TrialError for what no air is.

    >>> air_of("18 C, 1003 hPa, 60 %")
    {'t_c': 18.0, 'p_hpa': 1003.0, 'humidity': 0.6}
    """
    number = r"(-?\d+(?:[.,]\d+)?)"
    plain = text.replace("°", "").replace("\u2212", "-")
    dew = re.search(rf"dew(?:\s*point)?\s*{number}\s*C?\b", plain, re.IGNORECASE)
    rest = plain.replace(dew[0], "") if dew else plain
    temperature = re.search(rf"{number}\s*C\b", rest, re.IGNORECASE)
    pressure = re.search(rf"{number}\s*(hPa|mbar|kPa)\b", rest, re.IGNORECASE)
    humidity = re.search(rf"{number}\s*%", rest)
    if not temperature or not pressure:
        raise TrialError(
            f"air typed as {text!r}\n    accepted: temperature and the barometer's own pressure, such as 18 C, "
            "1003 hPa, 60 %\n    what to do: write it so; dew 9 C in place of the percentage"
        )
    scale = 10.0 if pressure[2].lower() == "kpa" else 1.0
    found: dict[str, Any] = {"t_c": _number(temperature[1]), "p_hpa": scale * _number(pressure[1])}
    if humidity:
        found["humidity"] = round(_number(humidity[1]) / 100.0, 6)
    if dew:
        found["dew_point_c"] = _number(dew[1])
    weather_of(found)
    return found


def air_words(entries: Sequence[Entry]) -> str:
    """The air of a trial as it could have been typed; "" where nobody said it."""
    given = next((one.data["air"] for one in reversed(entries) if one.kind == "settings" and "air" in one.data), None)
    if not given:
        return ""
    humid = f", {100 * given['humidity']:g} %" if "humidity" in given else ""
    dew = f", dew {given['dew_point_c']:g} C" if "dew_point_c" in given else ""
    return f"{given['t_c']:g} C, {given['p_hpa']:g} hPa{humid}{dew}"


def weather_of(found: Mapping[str, Any]) -> Air:
    """The air that the journal keeps. Raises TrialError for what no air is."""
    return air(float(found["t_c"]), 100.0 * float(found["p_hpa"]), found.get("humidity"), found.get("dew_point_c"))


def band_of(text: str) -> list[float]:
    """A band of engine speeds typed as "6000 to 9000", in rpm. Raises TrialError.

    >>> band_of("6000 to 9000")
    [6000.0, 9000.0]
    """
    parts = _TO.split(text.strip().removesuffix("rpm").strip())
    try:
        low, high = (float(part) for part in parts)
    except ValueError:
        low = high = 0.0
    if not 500.0 <= low < high <= 30_000.0:
        raise TrialError(
            f"a band typed as {text!r}\n    accepted: two engine speeds from 500 to 30000 rpm, the lower first\n"
            "    what to do: write it as 6000 to 9000"
        )
    return [low, high]


def _number(text: str) -> float:
    return float(text.replace(",", "."))
