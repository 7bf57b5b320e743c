"""What was ticked and measured at the bench, as it stands in the document of the work in hand, and what it says.

    "marking": {"bench": {"steps": {"2-deck-barrel-top-0-35-mm": {
        "stopped_at": "2026-11-26T14:03:00+00:00", "done_at": ...,
        "at_stop": {"squish/readings/0/gap_mm": {"value": 0.98, "typed": "0.98"}}, "at_end": {...}}}}}

The key is the step's number and its words: where the plan has another step in that place, what was marked on the old
one counts for nothing and is told.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any, Literal, cast

from scribeline.errors import TypedValueError
from scribeline.tasks.bench import Ask, Bench, BenchStep
from scribeline.tasks.bench_words import expected_words
from scribeline.tasks.marking_in_hand import marking_of
from scribeline.units import RecordUnit, Units, as_meant, length, read_quantity, show, typed_shown

When = Literal["at_stop", "at_end"]
WHERE = "marking.bench.steps"


@dataclass(frozen=True)
class Found:
    """A number as it was measured at the bench, and as it was typed."""

    value: float
    typed: str


@dataclass(frozen=True)
class Mark:
    """What was ticked and measured on one step; times as text, "" where it has not been ticked."""

    stopped_at: str = ""
    done_at: str = ""
    at_stop: Mapping[str, Found] = field(default_factory=dict)
    at_end: Mapping[str, Found] = field(default_factory=dict)

    def found(self, when: When) -> Mapping[str, Found]:
        """What was measured at the stop line, or when the step was done."""
        return self.at_stop if when == "at_stop" else self.at_end


def key_of(step: BenchStep) -> str:
    """What a step's marks stand under: its number and its words, without anything that a path cannot hold."""
    return re.sub(r"[^a-z0-9]+", "-", f"{step.number} {step.title}".lower()).strip("-")[:120]


def tick_path(step: BenchStep, when: When) -> str:
    """Where in the document it stands that a step was cut to its stop line, or is done."""
    return f"{WHERE}.{key_of(step)}.{'stopped_at' if when == 'at_stop' else 'done_at'}"


def found_path(step: BenchStep, when: When, ask: Ask) -> str:
    """Where in the document a measured number stands."""
    return f"{WHERE}.{key_of(step)}.{when}.{ask.place}"


def marks_of(document: Mapping[str, Any], bench: Bench) -> dict[int, Mark]:
    """The marks on the steps of a plan, by the step's number; one for every step."""
    kept = _kept(document)
    return {step.number: _mark(kept.get(key_of(step)) or {}) for step in bench.steps}


def strays(document: Mapping[str, Any], bench: Bench) -> tuple[str, ...]:
    """Steps that were ticked or measured and are not in the plan any more, as their keys call them."""
    known = {key_of(step) for step in bench.steps}
    return tuple(
        key.replace("-", " ") for key, one in _kept(document).items() if key not in known and any(one.values())
    )


def _kept(document: Mapping[str, Any]) -> Mapping[str, Any]:
    found: Mapping[str, Any] = marking_of(document).get("bench", {}).get("steps", {})
    return found


def _mark(kept: Mapping[str, Any]) -> Mark:
    found = {
        when: {place: Found(one["value"], one["typed"]) for place, one in (kept.get(when) or {}).items() if one}
        for when in ("at_stop", "at_end")
    }
    return Mark(kept.get("stopped_at") or "", kept.get("done_at") or "", found["at_stop"], found["at_end"])


def now_at(bench: Bench, marks: Mapping[int, Mark]) -> int:
    """The number of the step in hand: the first that is not done; one more than there are when all is done."""
    return next((step.number for step in bench.steps if not marks[step.number].done_at), len(bench.steps) + 1)


def ticked_at(now: datetime | None = None) -> str:
    """The time as it is kept with a tick."""
    return (now or datetime.now(UTC)).isoformat(timespec="seconds")


def may_tick(bench: Bench, marks: Mapping[int, Mark], number: int) -> str:
    """Why a step cannot be ticked now, "" where it can: steps are done in their order and taken back from the last."""
    at = now_at(bench, marks)
    if number > at:
        first = next(step for step in bench.steps if step.number == at)
        return f"Step {at}, {first.title}, comes first."
    if number < at - 1:
        last = next(step for step in bench.steps if step.number == at - 1)
        return f"Step {at - 1}, {last.title}, is done after it: take that back first."
    return ""


def read_found(ask: Ask, typed: str, units: Units = "mm") -> Found | None:
    """What was typed for a number; None for an empty field. units : what a length without a unit is meant in.

    Raises TypedValueError.

    >>> read_found(Ask("x", "squish", "mm", 1.4, 1.2, 0.06, "", True), "1,18").value
    1.18
    """
    text = as_meant(typed.strip(), ask.unit, units)
    if not text:
        return None
    value = read_quantity(text, cast(RecordUnit, ask.unit)).value
    if abs(value) > 1e6:
        raise TypedValueError(f"“{typed.strip()}” is refused: no part is that long\n    what to do: type it again")
    return Found(value, text)


def found_document(ask: Ask, typed: str, units: Units = "mm") -> dict[str, Any] | None:
    """What was typed for a number, as it stands in the document; errors and `units` as `read_found`."""
    found = read_found(ask, typed, units)
    return None if found is None else {"value": found.value, "typed": found.typed}


def found_shown(ask: Ask, kept: Any, units: Units = "mm") -> str:
    """What was typed for a number, as its field shows it: as typed, with its unit where the field is for another.

    >>> found_shown(Ask("x", "squish", "mm", 1.4, 1.2, 0.06, "", True), {"value": 1.18, "typed": "1.18"}, "inch")
    '1.18 mm'
    """
    if not isinstance(kept, Mapping):
        return ""
    return typed_shown(kept.get("typed"), units if ask.unit == "mm" else "mm")


@dataclass(frozen=True)
class Judged:
    """A measured number held against what was expected."""

    within: bool
    words: str


def judged(ask: Ask, found: Found, units: Units = "mm") -> Judged:
    """Whether a number is what was expected, in words.

    >>> ask = Ask("x", "squish", "mm", 1.4, 1.2, 0.06, "", True)
    >>> judged(ask, Found(1.18, "1.18")).words
    'As expected: 0.02 mm less.'
    >>> judged(ask, Found(1.05, "1.05")).words
    'Not as expected: 0.15 mm less than 1.200 ± 0.060 mm.'
    """
    apart = found.value - ask.expected
    by = length(abs(apart), units) if ask.unit == "mm" else show(round(abs(apart), 3), ask.unit)
    by += " more" if apart > 0 else " less"
    if abs(apart) <= ask.plus_minus + 1e-9:
        exact = not any(digit in by for digit in "123456789")
        return Judged(True, "As expected, exactly." if exact else f"As expected: {by}.")
    return Judged(False, f"Not as expected: {by} than {expected_words(ask, units)}.")


def outside(asked: Iterable[Ask], found: Mapping[str, Found]) -> list[Ask]:
    """The numbers that were measured and not found as expected."""
    return [ask for ask in asked if ask.place in found and not judged(ask, found[ask.place]).within]


def begun(document: Mapping[str, Any]) -> bool:
    """Whether anything was ticked or measured at the bench."""
    bench = marking_of(document).get("bench", {})
    return bool(bench.get("behind")) or any(any(one.values()) for one in _kept(document).values())


def when_words(at: str) -> str:
    """A kept time as this machine's clock has it; "" for none that can be read.

    >>> when_words("nonsense")
    ''
    """
    try:
        return datetime.fromisoformat(at).astimezone().strftime("%d.%m.%Y %H:%M")
    except ValueError:
        return ""
