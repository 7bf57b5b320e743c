"""What changed between two records, field by field. Works on any nested tables; knows nothing of engines."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any


class _Absent:
    def __repr__(self) -> str:
        return "(not there)"


ABSENT = _Absent()  # None would do, were it not that TOML has no such value and JSON has


@dataclass(frozen=True)
class Change:
    """One field that differs. `path` is dotted and ends in the field's name, which carries the unit."""

    path: str
    before: Any
    after: Any


def differences(before: Any, after: Any) -> list[Change]:
    """Every field in which two records differ, in the order of the later record; removed fields come last.

    Elements of a list are told apart by their `name` where each of them has one of its own, else by their place,
    counted from 1. Equal numbers are equal however they are written: 50 and 50.0.

    >>> differences({"crank": {"stroke_mm": 50}}, {"crank": {"stroke_mm": 50.5}})
    [Change(path='crank.stroke_mm', before=50, after=50.5)]
    """
    return list(_walk("", before, after))


def _walk(path: str, before: Any, after: Any) -> Iterator[Change]:
    tables = _as_tables(before, after)
    if tables is None:
        if not _same(before, after):
            yield Change(path, before, after)
        return
    first, second = tables
    for key in [*second, *(key for key in first if key not in second)]:
        inner = f"{path}.{key}" if path else key
        yield from _walk(inner, first.get(key, ABSENT), second.get(key, ABSENT))
    if isinstance(before, list) and isinstance(after, list):
        order_before, order_after = [k for k in first if k in second], [k for k in second if k in first]
        if order_before != order_after:
            yield Change(f"{path} (order)", order_before, order_after)


def _as_tables(before: Any, after: Any) -> tuple[dict[str, Any], dict[str, Any]] | None:
    """Both sides as tables to compare key by key; None where they have to be compared as a whole."""
    sides = [side for side in (before, after) if side is not ABSENT]
    if not any(sides):
        return None
    if all(isinstance(side, dict) for side in sides):
        return {} if before is ABSENT else before, {} if after is ABSENT else after
    if all(isinstance(side, list) for side in sides):
        named = all(_has_own_names(side) for side in sides)
        first, second = ({} if side is ABSENT else _by_key(side, named) for side in (before, after))
        return first, second
    return None


def _has_own_names(elements: list[Any]) -> bool:
    names = [element.get("name") if isinstance(element, dict) else None for element in elements]
    return all(isinstance(name, str) for name in names) and len(set(names)) == len(names)


def _by_key(elements: list[Any], named: bool) -> dict[str, Any]:
    return {element["name"] if named else str(place): element for place, element in enumerate(elements, 1)}


def _same(before: Any, after: Any) -> bool:
    if isinstance(before, bool) is not isinstance(after, bool):
        return False
    return bool(before == after) or (before != before and after != after)  # a number that is none equals its like
