"""Places in a JSON document: reading one, putting a value there, taking it away. Nothing is changed in place."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from scribeline.errors import EditConflict, NotebookError

LONGEST_PATH = 400


def checked(path: str) -> list[str]:
    """The parts of a path, or a NotebookError.

    >>> checked("record.ports.0.name")
    ['record', 'ports', '0', 'name']
    """
    parts = path.split(".")
    if not all(part and part.isprintable() for part in parts) or len(path) > LONGEST_PATH:
        raise NotebookError(
            f"{path[:60]!r} is no place in the work in hand.\n    accepted: keys and list positions with dots between "
            "them, such as record.ports.0.name\n    kept: nothing\n    what to do: please report it"
        )
    return parts


def normal(value: Any) -> Any:
    """The value as JSON keeps it: keys that hold nothing are left out. NotebookError for what JSON does not know."""
    if isinstance(value, Mapping):
        if not all(isinstance(key, str) for key in value):
            raise _unknown(value)
        return {key: normal(inner) for key, inner in value.items() if inner is not None}
    if isinstance(value, list | tuple):
        if any(inner is None for inner in value):
            raise _unknown(value)
        return [normal(inner) for inner in value]
    if isinstance(value, float) and not math.isfinite(value):
        raise _unknown(value)
    if value is None or isinstance(value, bool | int | float | str):
        return value
    raise _unknown(value)


def is_same(one: Any, other: Any) -> bool:
    """Whether two values are the same: 50 and 50.0 are, 1 and true are not."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(is_same(inner, other[key]) for key, inner in one.items())
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(is_same, one, other))
    return isinstance(one, bool) == isinstance(other, bool) and bool(one == other)


def at(document: Any, place: Sequence[str]) -> Any:
    """What is at a place, None for nothing; EditConflict where the way there is barred by a single value.

    >>> at({"ports": [{"name": "boost"}]}, ["ports", "0", "name"])
    'boost'
    """
    value = document
    for depth, part in enumerate(place):
        if value is None:
            return None
        if not isinstance(value, dict | list):
            raise EditConflict(".".join(place[:depth]), None, value)
        value = _inside(value, part)
    return value


def inserts(document: Any, place: Sequence[str], before: Any, after: Any) -> bool:
    """Whether putting `after` there makes a list longer: a position in one, where nothing was seen."""
    return before is None and after is not None and isinstance(at(document, place[:-1]), list)


def whole(document: Any, place: Sequence[str], after: Any) -> tuple[str, Any]:
    """Path and value to put: where tables on the way are missing, the first of them, filled.

    So each entry of a journal says all that it changed, and undoing it leaves no empty tables behind.

    >>> whole({"record": {}}, ["record", "ports", "0", "name"], "boost")
    ('record.ports', [{'name': 'boost'}])
    """
    for depth in range(1, len(place)):
        if at(document, place[:depth]) is None:
            for part in reversed(place[depth:]):
                if part.isdigit() and part != "0":
                    raise no_such_position(place)
                after = [after] if part == "0" else {part: after}
            return _path(document, place[:depth]), after
    return _path(document, place), after


def put(document: Any, path: str, before: Any, after: Any) -> Any:
    """The document with `after` at a place; taken away where that is None, put in between where `before` is.

    >>> put({"a": [1, 3]}, "a.1", None, 2), put({"a": [1, 3]}, "a.1", 3, None)
    ({'a': [1, 2, 3]}, {'a': [1]})
    """
    return _put(document, path.split("."), before, after)


def no_such_position(place: Sequence[str]) -> NotebookError:
    """The refusal of a position that no list has."""
    return NotebookError(
        f"{'.'.join(place)}: there is no such position in the list.\n    accepted: positions from 0 to one after the "
        "last\n    kept: nothing\n    what to do: load the page again"
    )


def _path(document: Any, place: Sequence[str]) -> str:
    """The path of a place whose table is there; NotebookError for a position beyond its list."""
    if isinstance(holder := at(document, place[:-1]), list) and not (
        place[-1].isdigit() and int(place[-1]) <= len(holder)
    ):
        raise no_such_position(place)
    return ".".join(place)


def _inside(value: Any, part: str) -> Any:
    if isinstance(value, dict):
        return value.get(part)
    return value[int(part)] if part.isdigit() and int(part) < len(value) else None


def _put(value: Any, parts: Sequence[str], before: Any, after: Any) -> Any:
    first, rest = parts[0], parts[1:]
    if isinstance(value, list):
        items, position = list(value), int(first)
        if rest:
            items[position] = _put(items[position], rest, before, after)
        elif after is None:
            del items[position]
        elif before is None:
            items.insert(position, after)
        else:
            items[position] = after
        return items
    table = dict(value)
    if rest:
        table[first] = _put(table[first], rest, before, after)
    elif after is None:
        del table[first]
    else:
        table[first] = after
    return table


def _unknown(value: Any) -> NotebookError:
    return NotebookError(
        f"{str(value)[:60]!r} cannot be put into the work in hand.\n    accepted: what JSON knows: words, numbers, yes "
        "and no, lists and tables of these\n    kept: nothing\n    what to do: please report it"
    )
