"""Doing the steps of a plan to a record, and asking what can be done to an engine at all."""

from collections.abc import Iterable

from scribeline.engine import EngineRecord
from scribeline.errors import GeometryError, PlanError, Problem, RecordError
from scribeline.geometry.refit import compressed_mm
from scribeline.plan.box import Box
from scribeline.plan.description import Amount, Operation, Possible
from scribeline.plan.operations import BY_KEY, all_operations, backwards
from scribeline.plan.operations.gaskets import at_hand
from scribeline.plan.phrases import ADDS_METAL, METAL_OFF, shown
from scribeline.plan.steps import Step


def carry_out(record: EngineRecord, steps: Iterable[Step], box: Box | None = None) -> EngineRecord:
    """The record one would expect to measure after these steps, in this order.

    box : what is at hand for what is swapped. Raises PlanError for the first step that cannot be done, with the
    reason, what would be accepted and what to do.
    """
    for number, step in enumerate(steps, start=1):
        record = carry_out_one(record, step, box or Box(), number)
    return record


def carry_out_one(record: EngineRecord, step: Step, box: Box, number: int = 1) -> EngineRecord:
    """One step done; `number` is its place in the plan, for a refusal."""
    where = f"step {number}, {step.do}" + (f" at {step.at}" if step.at else "")
    problems = faults(record, step, box, where)
    if problems:
        raise PlanError(problems)
    operation = BY_KEY[step.do]
    try:
        return operation.change(record, with_usual(operation, step), box)
    except RecordError as error:
        raise PlanError([_of_step(where, one) for one in error.problems]) from None
    except GeometryError as error:
        raise PlanError([Problem(where, None, shown(step), "what metal allows", str(error))]) from None


def faults(record: EngineRecord, step: Step, box: Box, where: str) -> list[Problem]:
    """What is wrong with a step by itself: unknown operation or target, amount out of range, choice not at hand."""
    operation = BY_KEY.get(step.do)
    if operation is None:
        if (other := backwards(step.do)) is not None:
            return [Problem(where, None, f'"{step.do}"', METAL_OFF, f"{ADDS_METAL} {alternatives(other, record, box)}")]
        known = ", ".join(BY_KEY)
        return [Problem(where, None, f'"{step.do}"', f"one of: {known}", "choose one of the operations")]
    targets = operation.targets(record, box)
    if not targets:
        return [
            Problem(where, None, "this engine", operation.what, "this engine, or what is at hand, does not allow it")
        ]
    if step.at not in targets:
        accepted = "one of: " + ", ".join(targets) if targets != ("",) else "no target"
        return [Problem(where, None, f'at = "{step.at}"', accepted, "say where it is to be done")]
    problems = _amount_faults(record, step, operation, where, box)
    choices = operation.choices(record, step.at, box) if operation.choices else ()
    if operation.choices and step.choice not in choices and not _several(operation, step.choice, choices):
        accepted = "one of: " + ", ".join(choices) if choices else "something at hand, and there is nothing"
        problems.append(
            Problem(where, None, f'choice = "{step.choice}"', accepted, "choose one, or add it to the parts at hand")
        )
    if operation.choices is None and step.choice:
        problems.append(Problem(where, None, f'choice = "{step.choice}"', "no choice", "take it out"))
    return problems


def _several(operation: Operation, choice: str, choices: tuple[str, ...]) -> bool:
    """A stack of gaskets is several names joined by " + "; the operation itself judges it."""
    return "gasket" in operation.key and all(one in choices for one in choice.split(" + "))


def _amount_faults(record: EngineRecord, step: Step, operation: Operation, where: str, box: Box) -> list[Problem]:
    amount = operation.amount_on(record, step.at)
    wanted = [] if amount is None else [(amount, step.amount)]
    details = dict(step.details)
    wanted += [(one, details.pop(one.key, one.usual)) for one in operation.details]
    problems = [fault for one, value in wanted if (fault := _fault(one, value, operation, where, record, box))]
    if amount is None and step.amount is not None:
        problems.append(Problem(where, None, f"{step.amount:g}", "no amount", "take it out"))
    for key, value in details.items():
        known = ", ".join(one.key for one in operation.details) or "no further numbers"
        problems.append(Problem(f"{where}: {key}", None, f"{value:g}", known, "take it out"))
    return problems


def alternatives(operation: Operation, record: EngineRecord, box: Box) -> str:
    """What moves things the other way, with each gasket and spacer at hand and how much it differs from today."""
    words = operation.instead
    for side in ("base", "head"):
        today = compressed_mm(getattr(record.gaskets, side))
        there = [
            f"{name} ({compressed_mm((sheet,)) - today:+.2f} mm)"
            for name, (sheet, _) in at_hand(record, side, box).items()
            if not name.startswith("fitted")
        ]
        if f"{side} gasket" in words and there:
            words += f"; at hand for the {side}: {', '.join(there)}"
    return words


def _fault(
    amount: Amount, value: float | None, operation: Operation, where: str, record: EngineRecord, box: Box
) -> Problem | None:
    place = f"{where}: {amount.key}"
    if value is None:
        if not amount.needed:
            return None
        return Problem(place, None, "nothing", amount.accepted, f"say {amount.what}")
    if amount.low <= value <= amount.high:
        return None
    remedy = f"choose {amount.what} in this range"
    if amount.metal and value < amount.low:
        remedy = f"{ADDS_METAL} {alternatives(operation, record, box)}"
    return Problem(place, None, f"{value:g}", amount.accepted, remedy)


def with_usual(operation: Operation, step: Step) -> Step:
    """The step with the usual value of each detail it leaves out."""
    given = dict(step.details)
    details = {one.key: given.get(one.key, one.usual) for one in operation.details}
    kept = tuple((key, value) for key, value in sorted(details.items()) if value is not None)
    return step if kept == step.details else Step(step.do, step.at, step.amount, step.choice, kept)


def _of_step(where: str, problem: Problem) -> Problem:
    """What is wrong with the record after a step, told as a problem of the step."""
    return Problem(f"{where}: then {problem.where}", None, problem.value, problem.accepted, "do less of it")


def possible_for(record: EngineRecord, box: Box | None = None) -> tuple[Possible, ...]:
    """Every operation on every target that this engine, with what is at hand, allows."""
    at_hand = box or Box()
    found = []
    for operation in all_operations():
        for target in operation.targets(record, at_hand):
            amount = operation.amount_on(record, target)
            choices = operation.choices(record, target, at_hand) if operation.choices else ()
            if operation.choices is None or choices:
                found.append(Possible(operation, target, amount, choices))
    return tuple(found)
