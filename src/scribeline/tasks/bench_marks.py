"""What was ticked and measured at the bench, as it stands in the document of the work in hand, and what it says.

    "marking": {"bench": {"steps": {"2": {
        "title": "deck barrel top: 0.35 mm",
        "stopped_at": "2026-11-26T14:03:00+00:00", "done_at": ...,
        "at_stop": {"squish/readings/0/gap_mm": {"value": 0.98, "typed": "0.98"}}, "at_end": {...}}}}}

A mark names the step it was made on; where the plan has another step in that place, it is told and counts for nothing.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any, Literal, cast

from scribeline.errors import TypedValueError
from scribeline.tasks.bench import Ask, Bench, BenchStep
from scribeline.units import RecordUnit, read_quantity, show

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


def marks_of(document: Mapping[str, Any], bench: Bench) -> dict[int, Mark]:
    """The marks on the steps of a plan, by the step's number; one for every step."""
    kept = _kept(document)
    return {step.number: _mark(kept.get(str(step.number)), step.title) for step in bench.steps}


def strays(document: Mapping[str, Any], bench: Bench) -> tuple[str, ...]:
    """Steps that were ticked or measured and are not in the plan any more, as they were called."""
    titles = {str(step.number): step.title for step in bench.steps}
    kept = _kept(document).items()
    return tuple(str(one.get("title")) for number, one in kept if one.get("title") != titles.get(number))


def _kept(document: Mapping[str, Any]) -> Mapping[str, Any]:
    steps = ((document.get("marking") or {}).get("bench") or {}).get("steps") or {}
    return {number: one for number, one in steps.items() if isinstance(one, Mapping)}


def _mark(kept: Any, title: str) -> Mark:
    if not isinstance(kept, Mapping) or kept.get("title") != title:
        return Mark()
    found = {
        when: {place: Found(one["value"], one["typed"]) for place, one in (kept.get(when) or {}).items() if one}
        for when in ("at_stop", "at_end")
    }
    return Mark(kept.get("stopped_at") or "", kept.get("done_at") or "", found["at_stop"], found["at_end"])


def now_at(bench: Bench, marks: Mapping[int, Mark]) -> int:
    """The number of the step in hand: the first that is not done; one more than there are when all is done."""
    return next((step.number for step in bench.steps if not marks[step.number].done_at), len(bench.steps) + 1)


def marked(
    document: Mapping[str, Any],
    step: BenchStep,
    *,
    stopped: bool | None = None,
    done: bool | None = None,
    when: When = "at_stop",
    found: Mapping[str, Found | None] | None = None,
    now: datetime | None = None,
) -> dict[str, Any]:
    """A step's entry of the document with something ticked or measured; `found` with None takes a number out again."""
    kept = _kept(document).get(str(step.number))
    entry: dict[str, Any] = {"title": step.title}
    if kept and kept.get("title") == step.title:
        entry = dict(kept)
    at = (now or datetime.now(UTC)).isoformat(timespec="seconds")
    for key, ticked in (("stopped_at", stopped), ("done_at", done)):
        if ticked is not None:
            entry = {name: one for name, one in entry.items() if name != key} | ({key: at} if ticked else {})
    if found:
        numbers = dict(entry.get(when) or {})
        numbers |= {place: {"value": one.value, "typed": one.typed} for place, one in found.items() if one is not None}
        entry[when] = {place: one for place, one in numbers.items() if found.get(place, one) is not None}
    return entry


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


def read_found(ask: Ask, typed: str, unit: str = "mm") -> Found | None:
    """What was typed for a number; None for an empty field. unit : "inch" where lengths are typed in inches.

    Raises TypedValueError.

    >>> read_found(Ask("x", "squish", "mm", 1.4, 1.2, 0.06, "", True), "1,18").value
    1.18
    """
    text = typed.strip()
    if not text:
        return None
    if unit == "inch" and ask.unit == "mm" and text[-1:].isdigit():
        text += " in"
    value = read_quantity(text, cast(RecordUnit, ask.unit)).value
    if abs(value) > 1e6:
        raise TypedValueError(f"“{typed.strip()}” is refused: no part is that long\n    what to do: type it again")
    return Found(value, typed.strip())


@dataclass(frozen=True)
class Judged:
    """A measured number held against what was expected."""

    within: bool
    words: str


def judged(ask: Ask, found: Found) -> Judged:
    """Whether a number is what was expected, in words.

    >>> ask = Ask("x", "squish", "mm", 1.4, 1.2, 0.06, "", True)
    >>> judged(ask, Found(1.18, "1.18")).words
    'As expected: 1.200 ± 0.060 mm.'
    >>> judged(ask, Found(1.05, "1.05")).words
    'Not as expected: 0.15 mm less than 1.200 ± 0.060 mm.'
    """
    apart = found.value - ask.expected
    expected = show(ask.expected, ask.unit, ask.plus_minus or None)
    if abs(apart) <= ask.plus_minus + 1e-9:
        return Judged(True, f"As expected: {expected}.")
    by = show(round(abs(apart), 3), ask.unit)
    return Judged(False, f"Not as expected: {by} {'more' if apart > 0 else 'less'} than {expected}.")


def outside(asked: Iterable[Ask], found: Mapping[str, Found]) -> list[Ask]:
    """The numbers that were measured and not found as expected."""
    return [ask for ask in asked if ask.place in found and not judged(ask, found[ask.place]).within]
