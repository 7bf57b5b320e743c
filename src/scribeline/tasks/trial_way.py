"""Wind and slope of the road of a trial, typed once for one way; on the way back both are the other way round."""

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from scribeline.errors import TrialError
from scribeline.notebook import Entry
from scribeline.units import read_quantity

MOST_WIND_M_S, STEEPEST = 20.0, 0.2
"""Beyond, somebody slipped in typing: a gale (8 Beaufort), and a slope that few roads have (judgement)."""
_TYPED = re.compile(r"\s*(?P<way>[^:]+?)\s*:\s*(?P<rest>.+)")
_WIND = re.compile(r"(?P<which>head|tail)\s*wind\s+(?P<speed>[\d.,]+\s*[a-zA-Z/]*)", re.IGNORECASE)
_SLOPE = re.compile(r"(?P<which>up|down)\s+(?P<percent>\d+(?:[.,]\d+)?)\s*%", re.IGNORECASE)


@dataclass(frozen=True)
class Way:
    """name : of the direction that is meant; head_wind_m_s : against the motion on it; grade : rise over run on it."""

    name: str
    head_wind_m_s: float = 0.0
    grade: float = 0.0

    def for_direction(self, direction: str, driven: Collection[str]) -> tuple[float, float]:
        """Head wind and slope for a run; 0 where its direction is not this one and not the only other one driven.

        >>> Way("out", 2.0, 0.01).for_direction("back", {"out", "back"})
        (-2.0, -0.01)
        """
        if direction == self.name:
            return self.head_wind_m_s, self.grade
        if direction and set(driven) - {""} == {self.name, direction}:
            return -self.head_wind_m_s, -self.grade
        return 0.0, 0.0


def way_of(text: str) -> dict[str, Any]:
    """What the journal keeps of "out: head wind 3 km/h, up 0.2 %"; either may be left out. Raises TrialError.

    >>> way_of("out: tail wind 3.6 km/h, up 0.2 %")
    {'name': 'out', 'head_wind_m_s': -1.0, 'grade': 0.002}
    """
    typed = _TYPED.fullmatch(text)
    rest = typed["rest"] if typed else ""
    wind, slope = _WIND.search(rest), _SLOPE.search(rest)
    left = _SLOPE.sub("", _WIND.sub("", rest))
    if typed is None or not (wind or slope) or left.strip(" ,;"):
        raise TrialError(
            f"wind and slope typed as {text!r}\n    accepted: the name of a direction, a colon, and head wind or tail "
            "wind, up or down\n    what to do: write it as out: head wind 3 km/h, up 0.2 %"
        )
    wind_m_s = read_quantity(wind["speed"], "km/h").value / 3.6 if wind else 0.0
    grade = float(slope["percent"].replace(",", ".")) / 100.0 if slope else 0.0
    if wind_m_s > MOST_WIND_M_S or grade > STEEPEST:
        raise TrialError(
            f"wind and slope typed as {text!r}\n    accepted: up to {3.6 * MOST_WIND_M_S:g} km/h and "
            f"{100 * STEEPEST:g} %\n    what to do: look at the unit"
        )
    return {
        "name": typed["way"],
        "head_wind_m_s": round(wind_m_s if wind is None or wind["which"].lower() == "head" else -wind_m_s, 6),
        "grade": round(grade if slope is None or slope["which"].lower() == "up" else -grade, 6),
    }


def way_kept(kept: Mapping[str, Any] | None) -> Way | None:
    """The way that the journal keeps."""
    return Way(str(kept["name"]), float(kept["head_wind_m_s"]), float(kept["grade"])) if kept else None


def way_words(entries: Sequence[Entry]) -> str:
    """Wind and slope of a trial as they could have been typed; "" where nobody said them."""
    given = next((one.data["way"] for one in reversed(entries) if one.kind == "settings" and "way" in one.data), None)
    way = way_kept(given)
    if way is None:
        return ""
    said = [
        f"{'head' if way.head_wind_m_s > 0.0 else 'tail'} wind {3.6 * abs(way.head_wind_m_s):.4g} km/h"
        if way.head_wind_m_s
        else "",
        f"{'up' if way.grade > 0.0 else 'down'} {100 * abs(way.grade):.4g} %" if way.grade else "",
    ]
    return f"{way.name}: {', '.join(one for one in said if one) or 'up 0 %'}"
