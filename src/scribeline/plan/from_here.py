"""The rest of a plan worked out again from the engine as it was measured part of the way through.

The targets stay what the plan meant: every edge at its depth below the crown, which is its timing; every width and
corner; squish and chamber; the skirt; lengths and spark. What is left to cut follows from where the metal really is.
Where metal would have to come back the plan is refused, with what moves things the other way.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from scribeline.engine import EngineRecord, Port, readings
from scribeline.errors import PlanError, Problem
from scribeline.geometry.work_out import work_out
from scribeline.plan.carry_out import carry_out_one
from scribeline.plan.edges import Edge, chord_mm, edge_depths_mm
from scribeline.plan.operations import BY_KEY
from scribeline.plan.operations._ports import named
from scribeline.plan.phrases import number, shown
from scribeline.plan.steps import Plan, Step
from scribeline.plan.what_if import WhatIf

# Nearer to its target than this an edge counts as there [mm]; judgement: half of what a caliper in a bore tells apart.
THERE_MM = 0.07
_EDGES: dict[str, Edge] = {
    "raise exhaust roof": "roof",
    "raise transfer roof": "roof",
    "raise intake roof": "roof",
    "lower exhaust floor": "floor",
    "lower intake floor": "floor",
}
_WIDTHS = ("widen exhaust", "widen transfer", "widen intake")
# What sets the squish, and which way: a face brings head and crown together, a sunk band moves them apart.
_SQUISH = {"deck barrel top": 1.0, "face head": 1.0, "deck barrel base": 1.0, "sink squish band": -1.0}
THERE_CC = 0.15  # a chamber fuller than this short of its target counts as there; judgement, the +/- of a burette


# Further amounts that are the way from one reading to another: where it stands, its sign, and what it is.
_READINGS = {
    "square exhaust floor corners": ("ports.{at}.floor_corner_radius_mm", -1.0, "the corners of {at}"),
    "narrow squish band": ("head.squish_inner_mm", 1.0, "the band's inner diameter"),
    "change tract length": ("intake.tract.{at}.length_mm", 1.0, "the length of {at}"),
    "change pipe length": ("exhaust.sections.{at}.length_mm", 1.0, "the length of {at}"),
    "change ignition advance": ("ignition.advance_deg", 1.0, "the spark"),
}


@dataclass(frozen=True)
class Rest:
    """What is left of a plan: the steps with their new amounts, and in words what changed and why."""

    plan: Plan
    notes: tuple[str, ...]


def rest_of(done: WhatIf, after_step: int, measured: EngineRecord) -> Rest:
    """The steps after `after_step` (0: all of them) with the amounts that reach the plan's targets from `measured`.

    done : the plan worked out on the record it was made for. Raises PlanError where an edge is already past its target.
    """
    if not 0 <= after_step <= len(done.steps):
        accepted = f"0 to {len(done.steps)}"
        raise PlanError([Problem("--from-here", None, str(after_step), accepted, "name the last step that is done")])
    rest = Rest(replace(done.plan, steps=()), ())
    problems: list[Problem] = []
    here = measured
    squish_left = _squish_difference(done.records[after_step], measured)
    for place, step in enumerate(done.steps[after_step:], start=after_step + 1):
        if step.do in _SQUISH and squish_left is not None:
            left = (step.amount or 0.0) + _SQUISH[step.do] * squish_left
            found = [(replace(step, amount=_rounded(left)), "the squish")]
            squish_left = 0.0
        else:
            _not_begun(step, done.records[place - 1], done.records[place], here, place)
            found = list(_again(step, done.records[place], here))
        amounts = {new.amount for new, _ in found}
        if len(found) > 1 and len(amounts) == 1:
            found = [(replace(step, amount=amounts.pop()), step.at)]  # the group goes on as a group
        for new, what in found:
            kept, note = _judged(new, step, what, place, problems)
            if kept is not None:
                here = carry_out_one(here, kept, done.plan.box, place)
                rest = Rest(replace(rest.plan, steps=(*rest.plan.steps, kept)), rest.notes)
            rest = Rest(rest.plan, (*rest.notes, note) if note else rest.notes)
    if problems:
        raise PlanError(problems)
    if squish_left is not None and abs(squish_left) > THERE_MM:
        wider = "wider" if squish_left > 0.0 else "narrower"
        by = f"{number(abs(squish_left))} mm {wider}"
        note = f"The squish came out {by} than the plan meant, and no step is left for it."
        rest = Rest(rest.plan, (*rest.notes, note))
    return rest


def _judged(new: Step, step: Step, what: str, place: int, problems: list[Problem]) -> tuple[Step | None, str]:
    """A step that still cuts; none, with a note, where the target is reached; a problem where metal would come back."""
    operation = BY_KEY[step.do]
    if operation.amount is None or not operation.amount.metal or new.amount is None:
        return new, ""
    there = THERE_CC if operation.amount.unit == "cc" else THERE_MM
    if new.amount < -there:
        value = f"{what} is {number(-new.amount)} {operation.amount.unit} past its target"
        remedy = f"metal does not grow back; instead: {operation.instead}; or give the plan a new target"
        problems.append(Problem(f"step {place}, {step.do}", None, value, "an edge still short of its target", remedy))
        return None, ""
    if new.amount <= there and new.amount != step.amount:
        within = f"{there:g} {operation.amount.unit}"
        return None, f"Step {place}, {shown(step)}: {what} is there already, within {within}. Nothing to cut."
    changed = step.amount is not None and abs(new.amount - step.amount) > 5e-4
    return new, f"Step {place}, {shown(step)}: now {shown(new)}." if changed else ""


def _again(step: Step, target: EngineRecord, measured: EngineRecord) -> Iterator[tuple[Step, str]]:
    """The step, or one for each port of a group, with what is left to the target; and what is meant by it."""
    if step.do in _EDGES:
        edge = _EDGES[step.do]
        goal, here = edge_depths_mm(target), edge_depths_mm(measured)
        for port in named(target, step.at):
            left = _known(here, port.name, edge) - goal[port.name, edge]
            left = left if edge == "roof" else -left
            yield replace(step, at=port.name, amount=_rounded(left)), f"the {edge} of {port.name}"
    elif step.do in _WIDTHS:
        for port in named(target, step.at):
            left = chord_mm(target, port) - chord_mm(measured, _same(measured, port))
            yield replace(step, at=port.name, amount=_rounded(left)), f"the width of {port.name}"
    elif step.do == "trim skirt":
        key = f"skirt_{step.at.partition(' ')[0]}_side_mm"
        left = getattr(measured.piston, key).value - getattr(target.piston, key).value
        yield replace(step, amount=_rounded(left)), f"the skirt on the {step.at}"
    elif step.do in _READINGS:
        place, sign, what = _READINGS[step.do]
        name = place.format(at=step.at)
        goal_, here_ = _reading(target, name), _reading(measured, name)
        if goal_ is None:
            yield step, step.do
            return
        if here_ is None:
            raise PlanError([Problem("--measured", None, "nothing", name, "measure it and write it down")])
        yield replace(step, amount=_rounded(sign * (goal_ - here_))), what.format(at=step.at)
    elif step.do == "open bowl":
        meant, found = (work_out(record, draws=0).value("clearance_volume_cc") for record in (target, measured))
        if meant is None or found is None:
            raise PlanError([Problem("--measured", None, "nothing", "the head's volume", "fill it from a burette")])
        yield replace(step, amount=_rounded(meant - found)), "the chamber"
    else:
        yield step, step.do


def _reading(record: EngineRecord, place: str) -> float | None:
    return next((one.measured.value for one in readings(record) if one.place == place), None)


def _openings(record: EngineRecord) -> set[str]:
    return {port.name for port in record.ports} | {opening.name for opening in record.piston.openings}


def _not_begun(step: Step, before: EngineRecord, after: EngineRecord, measured: EngineRecord, place: int) -> None:
    """Refuse a new port or window that is there already in part: done again, it would be a second one."""
    begun = (_openings(after) - _openings(before)) & _openings(measured)
    if begun:
        remedy = f"finish it to the lines you have, measure again, and go on with --from-here {place}"
        value = f'"{begun.pop()}" is there already'
        raise PlanError([Problem(f"step {place}, {step.do}", None, value, "one that is not begun yet", remedy)])


def _known(depths: dict[tuple[str, Edge], float], port: str, edge: Edge) -> float:
    if (port, edge) not in depths:
        accepted = f"the {edge} of {port}, measured in any of its ways"
        raise PlanError([Problem("--measured", None, "nothing", accepted, "measure it and write it down")])
    return depths[port, edge]


def _rounded(left: float) -> float:
    return round(left, 4)


def _same(measured: EngineRecord, port: Port) -> Port:
    found = next((one for one in measured.ports if one.name == port.name), None)
    if found is None:
        raise PlanError(
            [Problem("--measured", None, f'no port "{port.name}"', "the same ports", "measure it and write it down")]
        )
    return found


def _squish_difference(meant: EngineRecord, measured: EngineRecord) -> float | None:
    """By how much the squish is wider than the plan expected here; None where one of the two does not know it."""
    gaps = [work_out(record, draws=0).values.get("squish_gap_mm") for record in (meant, measured)]
    if any(gap is None or gap.value is None for gap in gaps):
        return None
    first, second = (gap.value for gap in gaps if gap is not None)
    return _rounded((second or 0.0) - (first or 0.0))
