"""What takes a blink or two and is done beside the page: the cut list of a plan, and gasket stacks for its squish."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, replace
from math import ceil, isfinite
from pathlib import Path
from typing import Any

from scribeline.engine import EngineRecord
from scribeline.errors import PlanError, ScribelineError
from scribeline.plan.cut_list import CutStep, Line, Width
from scribeline.plan.search_space import USUAL_TOOLS
from scribeline.plan.stacks import PLACES, Stack, range_of, stack_words
from scribeline.plan.steps import Plan, Step
from scribeline.tasks.plan import planned_on
from scribeline.tasks.plan_in_hand import step_document
from scribeline.tasks.plan_kept import keep
from scribeline.tasks.plan_text import numbered
from scribeline.tasks.search import cutting_places, stack_rows, stacks_of
from scribeline.units import Units, in_inches, show, unit_of

MOST_STACKS = 8
_LINE_HEADS = ("measured", "now", "stop", "target", "on the wheel: stop, then target")
Tell = Callable[[Mapping[str, Any]], object]


def cut(
    place: Path, of: str, record: EngineRecord, plan: Plan, *, tell: Tell, stopped: Callable[[], bool]
) -> dict[str, Any]:
    """The staged cut list of a plan as a document, kept; where it cannot be given, with the reason why."""
    try:
        made = planned_on(record, plan, staged=True)
    except PlanError as refused:
        document: dict[str, Any] = {"of": of, "why_not": str(refused), "steps": [], "said": []}
    else:
        assert made.list is not None
        document = {
            "of": of, "why_not": "", "steps": [_cut_step(step) for step in made.list.steps],
            "said": list(made.list.said), "plan": made.list.plan, "lowered_mm": made.list.deck_lowered_mm,
        }  # fmt: skip
    keep(place, "cut", document)
    tell({"kept": "cut"})
    return document


def _cut_step(step: CutStep) -> dict[str, Any]:
    stop = ""
    if step.amount_stop is not None and not step.lines and not step.widths and step.operation.amount:
        unit = step.operation.amount.unit
        stop = (
            f"Stop and measure at {show(round(step.amount_stop, 2), unit)}; target {show(step.step.amount or 0, unit)}."
        )
    return {
        "number": step.number, "title": step.title, "stage": step.stage.words, "measure_first": step.measure_first,
        "stop": stop, "lines": [*map(_line, step.lines), *map(_width, step.widths)],
        "instructions": [asdict(one) for one in step.instructions],
        "expected": [
            {
                "label": one.label, "value": show(one.value, one.unit, one.plus_minus or None),
                "was": "" if one.before is None else numbered(one.before, one.unit),
            }
            for one in step.expected
        ],
        "if_different": step.expected[0].if_different if step.expected else "",
        "tools": ", ".join(step.operation.tools), "skill": step.operation.skill,
        "undo": step.operation.undo, "reversible": step.operation.reversible,
        "caution": step.operation.caution,
    }  # fmt: skip


def _line(line: Line) -> dict[str, str]:
    both = f" ({line.openings} times)" if line.openings > 1 else ""
    degrees = ""
    if line.opens_deg is not None and line.stop_opens_deg is not None:
        degrees = f"{line.stop_opens_deg:.1f}°, then {show(line.opens_deg, 'deg', line.plus_minus_deg)}"
    return {
        "what": f"{line.port}, {line.edge}{both}", "from": "down from the deck",
        "now": "no port yet" if line.now_mm is None else f"{line.now_mm:.2f}", "stop": f"{line.stop_mm:.2f}",
        "target": f"{line.target_mm:.2f} ± {line.plus_minus_mm:.2f}", "degrees": degrees,
        "old_deck": f"{line.target_from_old_deck_mm:.2f}",
    }  # fmt: skip


def _width(width: Width) -> dict[str, str]:
    both = f" ({width.openings} times)" if width.openings > 1 else ""
    return {
        "what": f"{width.port}, width{both}", "from": "straight across",
        "now": "no port yet" if width.now_chord_mm is None else f"{width.now_chord_mm:.2f}",
        "stop": f"{width.stop_chord_mm:.2f}", "target": f"{width.target_chord_mm:.2f} ± {width.plus_minus_mm:.2f}",
        "degrees": "", "old_deck": "",
    }  # fmt: skip


def line_table(step: Mapping[str, Any], units: Units = "mm") -> tuple[list[str], list[list[str]]]:
    """Headings and rows for the lines of a step of a cut list's document."""
    rows = [
        [one["what"], one["from"], *(_cell(one[key], units) for key in ("now", "stop", "target")), one["degrees"]]
        for one in step["lines"]
    ]
    return [f"line, {unit_of(units)}", *_LINE_HEADS], rows


def _cell(number: str, units: Units) -> str:
    """A number of the document, which is in mm, or what stands in its place."""
    return in_inches(f"{number} mm", units).removesuffix(f" {unit_of(units)}") if number[:1].isdecimal() else number


def undo_words(undo: str, *, reversible: bool = False) -> str:
    """Whether a step can be taken back, and how, as an answer.

    >>> undo_words("not: another head"), undo_words("a sleeve"), undo_words("set it back", reversible=True)
    ('No: another head.', 'Only by this: a sleeve.', 'Yes: set it back.')
    """
    if reversible:
        return f"Yes: {undo}."
    return f"No{undo.removeprefix('not')}." if undo.startswith("not") or not undo else f"Only by this: {undo}."


def stack_facts(row: Mapping[str, Any], units: Units = "mm") -> list[tuple[str, str]]:
    """What is to be known of a stack of the document, each with its name; what is not known is left out."""
    facts = [
        ("squish, mean", f"{row['mean']} mm"), ("at its tightest", f"{row['tightest']} mm"),
        ("chance outside", row["chance"]), ("trapped compression", row["trapped"]), ("exhaust open", row["exhaust"]),
        ("metal off", row["cut"]),
    ]  # fmt: skip
    return [(name, in_inches(value, units)) for name, value in facts if value]


def stacks_counted(document: Mapping[str, Any], units: Units = "mm") -> str:
    """How many stacks put the squish in its range."""
    gap = in_inches(f"{document['low_mm']:g} and {document['high_mm']:g} mm", units)
    return (
        f"{document['found']} of {document['tried']} stacks put the squish gap between {gap} with its +/-; least metal "
        "first."
    )


def stacks(
    place: Path, of: str, record: EngineRecord, plan: Plan, *, tell: Tell, stopped: Callable[[], bool]
) -> dict[str, Any]:
    """Gasket stacks that put the squish in range, as a document, kept: least metal first, then highest compression."""
    tools = USUAL_TOOLS if plan.wanted.tools is None else plan.wanted.tools
    asked = range_of(plan.limits)
    document: dict[str, Any] = {"of": of, "low_mm": asked.low_mm, "high_mm": asked.high_mm, "why_not": "", "rows": []}
    try:
        found = stacks_of(record, plan.box, tools, plan.limits)
    except ScribelineError as refused:
        found, document["why_not"] = None, str(refused)
    if found is None:
        document["why_not"] = document["why_not"] or (
            "The squish gap is not known: squeeze solder at two places opposite each other, better four, and write "
            "it down under Measure."
        )
    else:
        document |= {"tried": found.tried, "found": len(found.found), "why_not": found.why_not()}
        by_metal = stack_rows(found, record, plan.box, MOST_STACKS)
        places = cutting_places(tools)
        document["rows"] = [_row(row.stack, places[0] if places else PLACES[0], record, row.timing) for row in by_metal]
    keep(place, "stacks", document)
    tell({"kept": "stacks"})
    return document


def _row(stack: Stack, place: Any, record: EngineRecord, timing: Mapping[str, float]) -> dict[str, Any]:
    return {
        "base": stack_words(stack.base), "head": stack_words(stack.head),
        "cut": f"{stack.cut_mm:.2f} mm by: {place}" if stack.cut_mm > 0.0 else "none",
        "mean": f"{stack.mean_mm:.2f} ± {stack.mean_plus_minus_mm:.2f}",
        "tightest": f"{stack.tightest_mm:.2f} ± {stack.tightest_plus_minus_mm:.2f}",
        "chance": f"{100 * stack.chance_outside:.1f} %" if isfinite(stack.chance_outside) else "not known",
        "trapped": f"{stack.trapped:.2f}" if isfinite(stack.trapped) else "not known",
        "exhaust": f"{timing['exhaust_duration_deg']:.1f}°" if "exhaust_duration_deg" in timing else "",
        "reused": bool(stack.reused),
        "steps": [step_document(_rounded(step)) for step in stack.steps(place, record)],
    }  # fmt: skip


def _rounded(step: Step) -> Step:
    """A cut to the hundredth above: no scale on a bench shows more."""
    return step if step.amount is None else replace(step, amount=ceil(step.amount * 100.0 - 1e-6) / 100.0)


SQUISH_STEPS = ("swap base gasket", "swap head gasket", "remove base gasket", *PLACES)
"""Operations whose place a chosen stack takes."""


def with_stack(steps: Sequence[Mapping[str, Any]], row: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Steps of a document with a stack's own in place of what set the squish before."""
    kept = [dict(step) for step in steps if step.get("do") not in SQUISH_STEPS]
    return [*map(dict, row["steps"]), *kept]
