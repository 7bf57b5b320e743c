"""What can still be judged of a record after a part of it was refused.

So that a builder sees every reason at once, the refused values are taken out, with whatever then lacks something
needed, and the checks of `possible` run over the rest. A table that something was taken out of is not judged.
"""

import copy
from dataclasses import replace
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from scribeline.engine.lines import Location
from scribeline.engine.possible import Impossible, impossibilities
from scribeline.engine.record import EngineRecord

# No check of `possible` looks at these, so that a refused one need not end the search.
_STAND_INS = {"scribeline_record": 1, "name": "engine", "speed_rpm": 9000.0}
_MOST_TAKEN_OUT = 200  # rounds; each takes at least one thing out


def validated(data: dict[str, Any]) -> EngineRecord:
    """Make a record of what the TOML reader gave; raises pydantic's ValidationError."""
    return EngineRecord.model_validate(_tuples(data), by_alias=True, by_name=False)


def still_impossible(data: dict[str, Any], errors: list[ErrorDetails]) -> list[Impossible]:
    """What `impossibilities` finds in what is left of `data` without the places of `errors`.

    Nothing where crank or cylinder cannot be read: every other check rests on them.
    """
    rest = {**copy.deepcopy(data), **_STAND_INS}
    places = {_refused(error, rest) for error in errors if error["loc"][0] not in _STAND_INS}
    unjudged: set[Location] = set()
    while () not in places:
        unjudged |= {place if len(place) == 1 or isinstance(place[-1], int) else place[:-1] for place in places}
        for place in places:
            _take_out(place, rest)
        try:
            record = validated(rest)
        except ValidationError as error:
            places = {_refused(one, rest) for one in error.errors(include_url=False)}
            continue
        findings = [replace(one, location=_original(one.location, rest)) for one in impossibilities(record)]
        return [one for one in findings if not any(_one_in_other(one.location, place) for place in unjudged)]
    return []


def salvaged(data: dict[str, Any], *, possible: bool = True) -> EngineRecord | None:
    """What is left of a record without anything that is refused, as a record; None where that is no engine any more.

    A speed or a name that is missing is stood in for. What contradicts something else is taken out with its table;
    `possible` False leaves that in, such as a port whose floor is still to be measured.
    """
    rest = copy.deepcopy(data)
    for _ in range(_MOST_TAKEN_OUT):
        rest = {**_STAND_INS, **rest}
        try:
            record = validated(rest)
            places = {_original(one.location, rest) for one in (impossibilities(record) if possible else ())}
        except ValidationError as error:
            places = {_refused(one, rest) for one in error.errors(include_url=False)}
        else:
            if not places:
                return record
            # The whole of a port, a reading or a section; a number of another table alone.
            places = {place[: max(i for i, part in enumerate(place) if isinstance(part, int)) + 1]
                      if any(isinstance(part, int) for part in place) else place for place in places}  # fmt: skip
        if places & {(), ("crank",), ("cylinder",)}:
            return None
        for place in places:
            _take_out(place, rest)
    return None


def _tuples(value: Any) -> Any:
    """TOML arrays come as lists; the record is frozen and keeps tuples. What was taken out of a list stays out."""
    if isinstance(value, list):
        return tuple(_tuples(one) for one in value if one is not None)
    if isinstance(value, dict):
        return {key: _tuples(one) for key, one in value.items()}
    return value


def _refused(error: ErrorDetails, rest: dict[str, Any]) -> Location:
    """The place to take out: what was refused or, where something is missing, the table that lacks it."""
    place = _original(error["loc"][:-1] if error["type"] == "missing" else error["loc"], rest)
    value: Any = rest
    for length, part in enumerate(place):
        if not isinstance(value, list | dict):
            return place[:length]  # a bare number is refused as the `value` of a table that is not in the file
        value = _inside(value, part)
    return place


def _original(location: Location, rest: Any) -> Location:
    """A location counted as in the file, with the list elements that were taken out."""
    place: Location = ()
    for part in location:
        if isinstance(rest, list) and isinstance(part, int):
            part = [index for index, one in enumerate(rest) if one is not None][part]
        rest = _inside(rest, part)
        place = (*place, part)
    return place


def _take_out(place: Location, rest: Any) -> None:
    """Delete a key; leave None in place of a list element, so that the others keep their numbers."""
    for part in place[:-1]:
        rest = _inside(rest, part)
    last: Any = place[-1]
    if isinstance(rest, list):
        rest[last] = None
    elif isinstance(rest, dict):
        rest.pop(last, None)


def _inside(value: Any, part: Any) -> Any:
    if isinstance(value, list):
        return value[part]
    return value.get(part) if isinstance(value, dict) else None


def _one_in_other(a: Location, b: Location) -> bool:
    return all(one == other for one, other in zip(a, b, strict=False))
