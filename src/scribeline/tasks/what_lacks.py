"""What a record still lacks before it is one of an engine, in the words of the fields where it is put right."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from scribeline.engine import judged_document
from scribeline.tasks.measuring_fields import MeasuringField
from scribeline.tasks.measuring_state import missing_fields, path_of
from scribeline.tasks.new_fields import without_keys
from scribeline.tasks.questions import capital
from scribeline.tasks.work_out_view import place_in_words, station_of
from scribeline.units import Units, with_inches


@dataclass(frozen=True)
class Lack:
    """One thing that is missing or refused. measure : how its place on the page "Measure" is named in an address"""

    text: str
    measure: dict[str, str]


def what_lacks(record: Mapping[str, Any], units: Units = "mm") -> tuple[Lack, ...]:
    """Everything for which a record cannot be read as it is; nothing where it can.

    >>> begun = {"scribeline_record": 1, "name": "kart", "speed_rpm": 9000, "cylinder": {"bore_mm": 50.0}}
    >>> [one.text for one in what_lacks(begun)]
    ['Stroke: not measured yet.', 'Rod length: not measured yet.']
    """
    problems, _ = judged_document(dict(record))
    empty = missing_fields(record)
    found: dict[str, Lack] = {}
    for one in problems:
        path = path_of(one)
        fields = [each for each in empty if each.path == path or each.path.startswith(f"{path}.")]
        if one.value == "nothing" and fields:
            found |= {each.path: _empty(each) for each in fields}
            continue
        what = capital(place_in_words(one.where))
        said = f"{what}: {one.value}. Accepted: {one.accepted}. {capital(one.remedy)}."
        found.setdefault(path, Lack(with_inches(without_keys(said), units), dict(_place(path, one.where))))
    return tuple(found.values())


def _empty(field: MeasuringField) -> Lack:
    what = capital(field.label)
    return Lack(f"{what}: not measured yet.", dict(_place(field.path, field.path.partition(".")[2])))


def _place(path: str, where: str) -> Iterator[tuple[str, str]]:
    """The station, the port where it is one of several, and the field itself."""
    station = station_of(where)
    if not station:
        return
    yield "at", station
    keys = path.split(".")
    if keys[1:2] == ["ports"] and len(keys) > 2:
        yield "port", keys[2]
    yield "field", path
