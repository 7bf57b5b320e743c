"""The part "marking" in the document of the work in hand, as far as it is what the page of marking out keeps there.

Pages, programs and older scribelines write into the same document. What is of another kind than it should be is left
out here, and said: the rest of it goes on.
"""

from collections.abc import Mapping
from typing import Any

Shape = Any
"""str, float or bool; [shape] for a list; {name: shape} for a table; {EACH: shape} for one with any names."""

EACH = "*"
_WORDS = {str: "words", float: "a number", bool: "yes or no", list: "a list", dict: "a table"}
_MOST_SAID = 8

_NUMBERS = {EACH: {"value": float, "typed": str}}
_STEPS = {EACH: {"stopped_at": str, "done_at": str, "at_stop": _NUMBERS, "at_end": _NUMBERS}}
_BARS = {"across": str, "up": str}
_TYPED = ("paper", "thickness", "sleeve", "bolt", "metal", "stock", "wheels", "turns", "units")
_PRINTED = {"at": str, "pages": float, "paper": str, "revision": str, "printer": str, "sheets": [str]}
MARKING: Shape = dict.fromkeys(_TYPED, str) | {
    "windows": bool,
    "sheets": [str],
    "bars": _BARS,
    "proof": _BARS,
    "printed": [_PRINTED],
    "bench": {"steps": _STEPS, "behind": [{"taken_at": str, "done": [str], "steps": _STEPS}]},
}
_WHOLE = (_NUMBERS[EACH], _PRINTED)  # tables of which no part says anything without the others


def marking_of(document: Mapping[str, Any]) -> dict[str, Any]:
    """What is marked out, without whatever is of another kind than it should be.

    >>> marking_of({"marking": {"paper": "A3", "bench": 7}})
    {'paper': 'A3'}
    """
    return marking_and_faults(document)[0]


def marking_and_faults(document: Mapping[str, Any]) -> tuple[dict[str, Any], tuple[str, ...]]:
    """The same, and one sentence for each thing that was left out.

    >>> marking_and_faults({"marking": {"paper": "A3", "bench": 7}})[1]
    ('marking.bench: 7 stands there, a table is meant.',)
    """
    faults: list[str] = []
    found = _sifted(document.get("marking"), MARKING, "marking", faults)
    said = faults if len(faults) <= _MOST_SAID else [*faults[:_MOST_SAID], f"And {len(faults) - _MOST_SAID} more."]
    return found or {}, tuple(said)


def _sifted(value: Any, shape: Shape, path: str, faults: list[str]) -> Any:
    """What of a value has its shape, None for nothing of it."""
    if value is None:
        return None
    kind = shape if isinstance(shape, type) else type(shape)
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if kind is str and number:
        return f"{value:g}"  # as a program may have written what was typed
    if not (number if kind is float else isinstance(value, kind)):
        faults.append(f"{path}: {str(value)[:40]} stands there, {_WORDS[kind]} is meant.")
        return None
    if kind is list:
        each = (_sifted(one, shape[0], f"{path}.{place}", faults) for place, one in enumerate(value))
        return [one for one in each if one is not None]
    if kind is not dict:
        return value
    shapes = {name: shape.get(name, shape.get(EACH)) for name in value}
    parts = {
        name: one if shapes[name] is None else _sifted(one, shapes[name], f"{path}.{name}", faults)
        for name, one in value.items()
    }
    found = {name: one for name, one in parts.items() if one is not None}
    if shape in _WHOLE and (missing := [name for name in shape if name not in found]):
        if all(name not in value for name in missing):
            faults.append(f"{path}: {', '.join(missing)} is missing there.")
        return None
    return found
