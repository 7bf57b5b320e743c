"""Elements of a record's lists: a new one, a copy, a mirror image. Ports above all, and sheets, readings, sections."""

import copy
import json
from collections.abc import Mapping, Sequence
from difflib import SequenceMatcher
from typing import Any

from scribeline.engine import Part
from scribeline.engine.ports import Port
from scribeline.tasks import new_fields as fields
from scribeline.tasks.measuring_fields import field_at


def can_be_mirrored(list_path: str) -> bool:
    """Whether elements of this list stand at a clock position, so that a mirror image means something."""
    part = _part(list_path)
    return "clock_deg" in part.model_fields and "name" in part.model_fields


def new_element(list_path: str, elements: Sequence[Any]) -> dict[str, Any]:
    """An element to begin with: empty, but for a name of its own where each needs one.

    >>> new_element("record.ports", [{"name": "port 1"}])
    {'name': 'port 2'}
    """
    part = _part(list_path)
    if "name" not in part.model_fields or not part.model_fields["name"].is_required():
        return {}
    word = "port" if part is Port else fields.title_of(part).split()[-1]
    number = next(n for n in range(len(elements) + 1, len(elements) + 1000) if f"{word} {n}" not in _names(elements))
    return {"name": f"{word} {number}"}


def copied_element(elements: Sequence[Any], position: int, *, mirrored: bool = False) -> dict[str, Any]:
    """A copy with a name of its own; `mirrored` : on the other side of the bore, at 360° less its clock position.

    >>> copied_element([{"name": "rear", "clock_deg": 125}], 0, mirrored=True)
    {'name': 'rear, mirrored', 'clock_deg': 235.0}
    """
    made: dict[str, Any] = copy.deepcopy(elements[position])
    if mirrored:
        made["clock_deg"] = _other_side(made.get("clock_deg"))
        made = {key: value for key, value in made.items() if value is not None and key != "mirrored"}
    if isinstance(made.get("name"), str):
        name = f"{made['name']}, {'mirrored' if mirrored else 'copy'}"
        taken, number = _names(elements), 2
        made["name"] = name
        while made["name"] in taken:
            made["name"], number = f"{name} {number}", number + 1
    return made


def moved_to(before: Sequence[Any], after: Sequence[Any]) -> dict[int, int]:
    """Where each element of a list is after others came or went; one that is gone is not named.

    A list as long as before has only been edited. In another, elements that are the same tell which is which; between
    such, as many as there were are the same ones, edited.

    >>> moved_to(["a", "b", "c"], ["b", "C"])
    {1: 0, 2: 1}
    >>> moved_to(["", "", ""], ["a", "", ""])
    {0: 0, 1: 1, 2: 2}
    """
    if len(before) == len(after):
        return {position: position for position in range(len(after))}
    one, other = ([json.dumps(element, sort_keys=True) for element in some] for some in (before, after))
    found: dict[int, int] = {}
    for _, first, end, to, to_end in SequenceMatcher(None, one, other, autojunk=False).get_opcodes():
        found.update(zip(range(first, end), range(to, to_end), strict=False))
    return found


def _other_side(clock: Any) -> Any:
    if isinstance(clock, Mapping):
        table = {key: value for key, value in clock.items() if key != "typed"}
        return {**table, "value": _other_side(table.get("value"))}
    return (360.0 - float(clock)) % 360.0 if isinstance(clock, int | float) else None


def _names(elements: Sequence[Any]) -> set[str]:
    return {str(one["name"]) for one in elements if isinstance(one, Mapping) and "name" in one}


def _part(list_path: str) -> type[Part]:
    part: type[Part] = fields.inside(*field_at(list_path))[0]
    return part
