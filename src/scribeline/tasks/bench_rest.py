"""The rest of a plan worked out again from what was measured at the bench, shown before it is taken over.

The engine as it is now follows from the record that the plan was made on: every step that is done is carried out, and
what was measured after it is put in place of what was expected; of the step in hand as much as its stop line says. A
face that came out deeper than meant carries the deck with it: the amount that was really taken off is worked out from
the deck, else from the squish, before the step is carried out.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from scribeline.engine import EngineRecord, Measured, judged_again
from scribeline.errors import PlanError, RecordError, ScribelineError
from scribeline.plan.carry_out import carry_out_one
from scribeline.plan.cut_list import CutList, cut_list
from scribeline.plan.from_here import rest_of
from scribeline.plan.phrases import number, shown
from scribeline.plan.steps import Step
from scribeline.plan.what_if import WhatIf, what_if
from scribeline.tasks.bench import Place, at_stop_line, label_of, numbers, slashed, stop_amount, worked
from scribeline.tasks.bench_marks import Found, Mark
from scribeline.tasks.in_hand import record_document, steps_document
from scribeline.tasks.marking_in_hand import marking_of
from scribeline.units import Units, in_inches, length, length_number, show, with_inches

_FACES = ("deck barrel top", "deck barrel base", "face head")
_DECK: Place = ("cylinder", "deck_clearance_at_tdc_mm")
_WAYS = ("from_deck_mm", "from_crown_tdc_mm", "from_crown_bdc_mm", "opens_deg_atdc", "closes_deg_atdc")
_KEY_NUMBERS = (
    "squish_gap_mm", "squish_gap_min_mm", "compression_ratio_trapped", "exhaust_duration_deg", "transfer_duration_deg",
    "blowdown_deg", "intake_duration_deg",
)  # fmt: skip
_LEAST_MM = 5e-4


@dataclass(frozen=True)
class Row:
    """One thing beside what it becomes; "" where it is not there on that side."""

    what: str
    was: str
    becomes: str


@dataclass(frozen=True)
class RestShown:
    """What taking the rest from here would change, and what it would write.

    refusal : why it cannot be taken over, "" where it can; notes : what changed in the steps, in words
    steps, lines, ends : the steps left, the lines they are cut to, and where the engine ends, before and after
    record, plan_steps : for the document; measured, carried : how many numbers of it were measured now, and how many
    follow from the steps alone
    """

    refusal: str
    notes: tuple[str, ...]
    steps: tuple[Row, ...]
    lines: tuple[Row, ...]
    ends: tuple[Row, ...]
    warnings: tuple[str, ...]
    record: Mapping[str, Any]
    plan_steps: tuple[Mapping[str, Any], ...]
    measured: int
    carried: tuple[str, ...]


def rest_shown(record: str, plan: str, marks: Mapping[int, Mark], units: Units = "mm") -> RestShown:
    """The rest of a plan from where the marks say it stands. Raises RecordError and PlanError for what is no plan.

    units : what steps, lines and ends are read in; notes and warnings say both
    """
    done = worked(record, plan)
    after = _done_count(done, marks)
    try:
        now, notes = engine_now(done, marks)
        rest = rest_of(done, after, now)
        again = what_if(now, rest.plan)
        was, becomes = cut_list(done, 0), cut_list(again, 0)
    except (PlanError, RecordError) as refused:
        words = "\n".join(f"{one.where}: {one.value}; {one.remedy}" for one in refused.problems)
        return RestShown(with_inches(words, units), (), (), (), (), (), {}, (), 0, ())
    known = {one.message for one in done.warnings_after}
    measured = {place for mark in marks.values() for place in (*mark.at_stop, *mark.at_end)}
    return RestShown(
        refusal="",
        notes=tuple(with_inches(one, units) for one in (*notes, *rest.notes)),
        steps=tuple(_steps(done.steps[after:], rest.plan.steps, units)),
        lines=tuple(_lines(was, becomes, after, units)),
        ends=tuple(_ends(done, again, units)),
        warnings=tuple(
            with_inches(f"{one.message} {one.remedy}", units)
            for one in again.warnings_after
            if one.message not in known
        ),
        record=record_document(now),
        plan_steps=tuple(steps_document(rest.plan)),
        measured=len(measured),
        carried=tuple(_carried(done.before.record, now, measured)),
    )


def _done_count(done: WhatIf, marks: Mapping[int, Mark]) -> int:
    count = 0
    while count < len(done.steps) and marks.get(count + 1, Mark()).done_at:
        count += 1
    return count


def engine_now(done: WhatIf, marks: Mapping[int, Mark]) -> tuple[EngineRecord, tuple[str, ...]]:
    """The record of the engine as it stands at the bench, and what was concluded on the way, in words."""
    now: EngineRecord = done.before.record
    notes: list[str] = []
    after = _done_count(done, marks)
    for place, step in enumerate(done.steps[:after], start=1):
        now, note = _carried_out(now, step, marks[place].at_end, done, place)
        notes += note
    mark = marks.get(after + 1, Mark())
    if mark.at_stop and at_stop_line(done, after + 1) is not None:
        halfway = replace(done.steps[after], amount=stop_amount(done, after + 1))
        now, note = _carried_out(now, halfway, mark.at_stop, done, after + 1)
        notes += note
    return judged_again(now), tuple(notes)


def _carried_out(
    before: EngineRecord, step: Step, found: Mapping[str, Found], done: WhatIf, place: int
) -> tuple[EngineRecord, list[str]]:
    """A step done, by as much as was really taken off, and what was measured afterwards put in its place."""
    box, notes = done.plan.box, []
    expected = carry_out_one(before, step, box, place)
    if step.do in _FACES and step.amount:
        deeper = _deeper_mm(expected, step, found)
        if abs(deeper) > _LEAST_MM:
            really = replace(step, amount=round(step.amount + deeper, 4))
            try:
                expected = carry_out_one(before, really, box, place)
                notes = [f"Step {place}, {step.do}: {number(really.amount or 0.0)} mm came off, meant were "
                         f"{number(step.amount)} mm; what stands on that face is taken along."]  # fmt: skip
            except ScribelineError:  # outside what the step can be: then only what was measured is put in place
                pass
    return with_found(expected, found), notes


def _deeper_mm(expected: EngineRecord, step: Step, found: Mapping[str, Found]) -> float:
    """How much more came off than meant: by the deck where the barrel's top was cut, else by the mean of the solder."""
    values = {slashed(place): measured.value for place, measured, _, _ in numbers(expected)}
    by_deck = step.do != "face head" and slashed(_DECK) in found
    solder = [word for word in found if word.startswith("squish/readings/")]
    words = [slashed(_DECK)] if by_deck else solder
    return sum(values[word] - found[word].value for word in words if word in values) / len(words) if words else 0.0


def with_found(record: EngineRecord, found: Mapping[str, Found]) -> EngineRecord:
    """A record with numbers that were measured put in; other ways of measuring the same edge, which nobody repeated,
    are taken out: they are not what the engine is now.
    """
    known = {slashed(place): (place, measured) for place, measured, _, _ in numbers(record)}
    data = record.model_dump(by_alias=False)
    for word, one in found.items():
        if word not in known:
            continue
        place, measured = known[word]
        new = Measured(value=one.value, plus_minus=None, instrument=measured.instrument, typed=one.typed)
        _put(data, place, new.model_dump(by_alias=False))
        edge, _, way = str(place[-1]).partition("_")
        if place[0] == "ports" and way in _WAYS:
            for other in _WAYS:
                if other != way and slashed((*place[:-1], f"{edge}_{other}")) not in found:
                    _put(data, (*place[:-1], f"{edge}_{other}"), None)
    return EngineRecord.model_validate(data, strict=False)


def _put(data: Any, place: Place, value: Any) -> None:
    for key in place[:-1]:
        data = data[key]
    data[place[-1]] = value


def _steps(was: Iterable[Step], becomes: tuple[Step, ...], units: Units) -> Iterable[Row]:
    """Steps that are left beside what they become; one may become several, or none."""

    def said(step: Step) -> str:
        return in_inches(shown(step), units)

    left = list(becomes)
    for step in was:
        mine = []
        while left and left[0].do == step.do and (left[0].at == step.at or step.at not in {s.at for s in becomes}):
            mine.append(left.pop(0))
            if mine[-1].at == step.at:
                break
        yield Row(step.do, said(step), "; ".join(map(said, mine)) or "nothing left to do")
    yield from (Row(step.do, "", said(step)) for step in left)


def _lines(was: CutList, becomes: CutList, after: int, units: Units) -> Iterable[Row]:
    """Every line that is still to be cut to: stop and target from the deck, before and after."""

    def said(stop_mm: float, target_mm: float) -> str:
        return f"stop {length_number(stop_mm, units)}, target {length(target_mm, units)}"

    old = {(line.port, line.edge): line for step in was.steps if step.number > after for line in step.lines}
    new = {(line.port, line.edge): line for step in becomes.steps for line in step.lines}
    for key in {**old, **new}:
        words = [said(line[key].stop_mm, line[key].target_mm) if key in line else "" for line in (old, new)]
        yield Row(f"{key[0]}, {key[1]}, from the deck", words[0], words[1] or "no line left")
    wide = {width.port: width for step in was.steps if step.number > after for width in step.widths}
    wider = {width.port: width for step in becomes.steps for width in step.widths}
    for port in {**wide, **wider}:
        words = [said(one[port].stop_chord_mm, one[port].target_chord_mm) if port in one else ""
                 for one in (wide, wider)]  # fmt: skip
        yield Row(f"{port}, width straight across", words[0], words[1] or "no line left")


def _ends(was: WhatIf, becomes: WhatIf, units: Units) -> Iterable[Row]:
    """Where the engine ends, by the old plan as it was meant and by the rest from here."""
    for name in _KEY_NUMBERS:
        one, other = was.after.values.get(name), becomes.after.values.get(name)
        if one is not None and other is not None and one.value is not None and other.value is not None:
            digits = 1 if one.unit == "deg" else 2
            words = [
                length(value, units) if one.unit == "mm" else show(round(value, digits), one.unit)
                for value in (one.value, other.value)
            ]
            yield Row(one.label, *words)


def _carried(start: EngineRecord, now: EngineRecord, measured: set[str]) -> Iterable[str]:
    """Numbers that follow from the steps and were not measured since: what they are called."""
    was = {place: one.value for place, one, _, _ in numbers(start)}
    for place, one, _, owner in numbers(now):
        if slashed(place) not in measured and abs(was.get(place, one.value + 1.0) - one.value) > 1e-9:
            yield label_of(now, place, owner)


TAKING = "the rest taken from here"
"""How taking the rest over is called, beside undo."""


def taken_over(document: Mapping[str, Any], rest: RestShown, done: Iterable[str], at: str) -> dict[str, Any]:
    """What stands where once the rest is the plan, in the order in which it is to be put there.

    done : what was done, in words. First what was marked is put behind the plan, where it stays to be read; then come
    the steps that are left; last the engine as it is.
    """
    bench = marking_of(document).get("bench", {})
    behind = [*(bench.get("behind") or []), {"taken_at": at, "done": list(done), "steps": bench.get("steps") or {}}]
    return {
        "marking.bench": {"steps": {}, "behind": behind},
        "plan.steps": [dict(step) for step in rest.plan_steps],
        "record": dict(rest.record),
    }


def half_taken(undoable: str, redoable: str) -> bool:
    """Whether the last edit and the next, by their labels, are parts of one taking: then undo or redo is not done.

    Only notebooks kept before taking the rest was one step have its three edits apart.
    """
    parts = undoable.startswith(f"{TAKING}, ") and redoable.startswith(f"{TAKING}, ")
    return parts and "3 of 3" not in undoable
