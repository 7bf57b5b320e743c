"""Engines that the readings allow: every measured number moved within its +/-, an engine that could be on the bench.

A record tells one engine; its +/- allow many. What is said of the record should hold for most of them.
"""

import zlib
from typing import TypeVar

import numpy as np

from scribeline.engine import COVERAGE_FACTOR, EngineRecord, Measured, Part, judged_again
from scribeline.errors import RecordError, SearchError

P = TypeVar("P", bound=Part)
_MOST_TRIES = 40


def drawn_within(record: EngineRecord, number: int, seed: int = 1) -> EngineRecord:
    """Engine `number` of those that the readings allow; the same number and seed give the same engine.

    Each reading moves by a normal step whose two standard deviations are its +/-, independently of the others. As on
    the card, the step of a reading depends on its place, number and seed only: two builds of one engine that share a
    reading share its error. A draw that no engine can be (a floor above its roof) is drawn again.
    Raises SearchError where the +/- are so wide that hardly any draw is an engine.
    """
    for attempt in range(_MOST_TRIES):
        moved = _moved(record, "", (seed, number, attempt))
        try:
            return judged_again(moved)
        except RecordError:
            continue
    raise SearchError(
        f"of {_MOST_TRIES} engines drawn within the +/- of the readings none could be an engine\n"
        "    accepted: readings whose +/- leave the parts in order\n    what to do: measure the widest of them again"
    )


def _moved(part: P, place: str, seed: tuple[int, ...]) -> P:
    """The part with every reading below it moved."""
    changed: dict[str, object] = {}
    for field in part.model_fields_set:
        value = getattr(part, field)
        here = f"{place}.{field}" if place else field
        if isinstance(value, tuple):
            moved: object = tuple(_one(part, field, one, _named(here, one, i), seed) for i, one in enumerate(value, 1))
        else:
            moved = _one(part, field, value, here, seed)
        if moved is not value and moved != value:
            changed[field] = moved
    return part.model_copy(update=changed) if changed else part


def _named(here: str, one: object, number: int) -> str:
    return f"{here}.{getattr(one, 'name', None) or number}"


def _one(part: Part, field: str, value: object, place: str, seed: tuple[int, ...]) -> object:
    if isinstance(value, Part):
        return _moved(value, place, seed)
    spec = part.spec(field)
    if not isinstance(value, Measured) or spec is None:
        return value
    width = value.resolved_plus_minus(spec)
    if width == 0.0:
        return value
    step = np.random.Generator(np.random.SFC64([*seed, zlib.crc32(place.encode())])).standard_normal()
    there = min(max(value.value + width / COVERAGE_FACTOR * float(step), spec.low), spec.high)
    return value.model_copy(update={"value": round(there, 9), "typed": None})
