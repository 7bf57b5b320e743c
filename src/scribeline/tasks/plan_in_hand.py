"""The plan in hand: what a document of steps makes of an engine, each step judged where it stands.

A plan file is refused as a whole; a plan that is being made is not. A step that cannot be done keeps its place and its
reason, and the steps after it go on from the engine without it, so that drawings and numbers follow what can be done.
"""

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from scribeline.engine import EngineRecord, record_of
from scribeline.errors import PlanError, Problem
from scribeline.geometry.work_out import WorkedOut, work_out
from scribeline.plan.box import Box
from scribeline.plan.carry_out import carry_out_one, possible_for
from scribeline.plan.description import Amount, Operation, Possible, Stage
from scribeline.plan.limit_table import LimitTable
from scribeline.plan.limits import Statement, Warning, limits, statements, warnings
from scribeline.plan.not_held import not_held_words
from scribeline.plan.operations import BY_KEY
from scribeline.plan.operations.gaskets import JOIN, NONE
from scribeline.plan.order import in_order
from scribeline.plan.phrases import shown
from scribeline.plan.plan_file import VERSION, plan_of_table, step_of_table, step_table, write_plan
from scribeline.plan.stacks import FITTED
from scribeline.plan.steps import Plan, Step
from scribeline.plan.what_if import Moved, what_moved

HEADLINES = (
    "squish_gap_mm", "squish_gap_min_mm", "compression_ratio_trapped", "exhaust_duration_deg", "blowdown_deg",
    "transfer_duration_deg", "intake_duration_deg", "exhaust_time_area_s_mm2", "pipe_length_mm", "road_speed_km_h",
)  # fmt: skip
"""Numbers that stand on top, changed or not, where the engine has them."""
INSTEAD: Mapping[str, tuple[str, ...]] = {
    "deck barrel top": ("swap head gasket",),
    "deck barrel base": ("swap base gasket",),
    "face head": ("swap head gasket",),
    "sink squish band": ("face head", "swap head gasket"),
    "open bowl": ("face head", "swap head gasket"),
    "raise exhaust roof": ("swap base gasket", "remove base gasket", "deck barrel base"),
    "raise transfer roof": ("swap base gasket", "remove base gasket", "deck barrel base"),
    "raise intake roof": ("swap base gasket", "remove base gasket"),
    "lower exhaust floor": ("swap base gasket",),
    "lower intake floor": ("swap base gasket", "fit reed"),
    "trim skirt": ("swap base gasket", "fit reed"),
}
"""What moves things the other way where an operation would have to add metal: the operations that `instead` names."""


@dataclass(frozen=True)
class StepInHand:
    """One step of the plan. `place` : in the document, from 0; `number` : in the order it is done, from 1.

    step : None where its table cannot be read; why_here : why it is done earlier than it was written
    problems : why it cannot be done, empty where it can; alternatives : what could be done instead, that exists here
    before, after : the engine worked out on either side of it; the same where it cannot be done
    """

    place: int
    number: int
    table: Mapping[str, Any]
    step: Step | None
    operation: Operation | None
    targets: tuple[str, ...]
    amount: Amount | None
    choices: tuple[str, ...]
    why_here: str
    problems: tuple[Problem, ...]
    alternatives: tuple[str, ...]
    before: WorkedOut
    after: WorkedOut
    table_of_limits: LimitTable

    @property
    def says(self) -> str:
        """The step in one line."""
        return shown(self.step) if self.step is not None else str(self.table.get("do", "a step without an operation"))

    @property
    def what(self) -> str:
        """What it does, in a sentence; "" for an operation that nobody knows."""
        return f"{_upper(self.operation.what)}." if self.operation is not None else ""

    @property
    def done(self) -> bool:
        """Whether it can be done."""
        return not self.problems

    def moved(self) -> tuple[Moved, ...]:
        """What this step alone moves, in the order of the card."""
        return tuple(one for one in what_moved(self.before, self.after) if not one.inner)

    def new_limits(self) -> tuple[Warning, ...]:
        """Limits that are passed after it and were not before."""
        if self.after is self.before:
            return ()
        old = {one.about for one in warnings(self.before, self.table_of_limits)}
        return tuple(one for one in warnings(self.after, self.table_of_limits) if one.about not in old)

    def headlines(self) -> tuple[Moved, ...]:
        """Of what it moves the numbers that stand on top."""
        return tuple(one for one in self.moved() if one.name in HEADLINES)


@dataclass(frozen=True)
class Number:
    """One number of the card before and after the plan, with what its change is worth a word."""

    name: str
    label: str
    unit: str
    before: float | None
    after: float | None

    @property
    def by(self) -> float | None:
        return None if self.before is None or self.after is None else self.after - self.before


@dataclass(frozen=True)
class PlanInHand:
    """The whole plan. plan : box, limits and what is wanted, with the steps that can be done, in order

    problems : of box, limits or wanted; gone : warnings of today's engine that the plan does away with
    not_held : in one sentence the limits that nobody measured the readings for; empty for none
    """

    plan: Plan
    steps: tuple[StepInHand, ...]
    problems: tuple[Problem, ...]
    before: WorkedOut
    after: WorkedOut
    warnings: tuple[Warning, ...]
    gone: tuple[Warning, ...]
    old: frozenset[str]
    statements: tuple[Statement, ...]
    not_held: str = ""

    @property
    def record(self) -> EngineRecord:
        """The engine as it is."""
        return self.before.record

    @property
    def lowered_mm(self) -> float:
        """What comes off the barrel's top: every height from the deck gets shorter by it."""
        return sum(step.amount or 0.0 for step in self.plan.steps if step.do == "deck barrel top")

    def headlines(self) -> tuple[Number, ...]:
        """The numbers on top, changed or not."""
        return tuple(one for one in map(self._number, HEADLINES) if one is not None)

    def others(self) -> tuple[Number, ...]:
        """Every other number of the card that moves."""
        moved = (one for one in what_moved(self.before, self.after) if not one.inner and one.name not in HEADLINES)
        return tuple(Number(one.name, one.label, one.unit, one.before, one.after) for one in moved)

    def _number(self, name: str) -> Number | None:
        was, now = self.before.values.get(name), self.after.values.get(name)
        one = now or was
        if one is None or ((was is None or was.value is None) and (now is None or now.value is None)):
            return None
        return Number(name, one.label, one.unit, was.value if was else None, now.value if now else None)


def record_in_hand(document: Mapping[str, Any] | None, build: str) -> EngineRecord:
    """The engine of the work in hand; RecordError where it is not whole yet."""
    return record_of(plain(document), build)


def plan_in_hand(record: EngineRecord, document: Mapping[str, Any] | None) -> PlanInHand:
    """Work out the plan of a document, as the work in hand keeps it under "plan", on a record.

    document : as a plan file's tables; None or empty for no plan yet. Never refuses: what is wrong stands at its step,
    or in `problems` where it is of no step.
    """
    table = plain(document)
    frame, problems = _frame(table)
    tables = [one for one in table.get("steps") or [] if isinstance(one, dict)]
    read = [step_of_table(one, place) for place, one in enumerate(tables)]
    places = _order([step for step, _ in read], tables)
    why = _why([step for step, _ in read])
    before = _worked(record)
    here, steps, done = record, [], []
    for number, place in enumerate(places, start=1):
        step, wrong = read[place]
        one, here = _judged(here, frame, place, number, tables[place], step, tuple(wrong), why.get(place, ""))
        steps.append(one)
        done += [step] if one.done and step is not None else []
    after = _worked(here)
    was, now = warnings(before, frame.limits), warnings(after, frame.limits)
    still = {warning.about for warning in now}
    return PlanInHand(
        plan=replace(frame, steps=tuple(done)),
        steps=tuple(steps),
        problems=tuple(problems),
        before=before,
        after=after,
        warnings=tuple(now),
        gone=tuple(warning for warning in was if warning.about not in still),
        old=frozenset(warning.about for warning in was),
        statements=tuple(statements(frame.limits)),
        not_held=not_held_words(after, frame.limits),
    )


def document_of(plan: Plan) -> dict[str, Any]:
    """A plan as its document, such as one read from a file or picked from a search; `plan_in_hand` reads it back."""
    table = tomllib.loads(write_plan(plan))
    del table["scribeline_plan"]
    return table


def plan_file_text(document: Mapping[str, Any] | None) -> str:
    """The plan of a document as the text of a plan file. PlanError."""
    return write_plan(plan_of_document(document))


def plan_of_document(document: Mapping[str, Any] | None) -> Plan:
    """The plan of a document with every step it holds; PlanError where a plan file like it would be refused."""
    return plan_of_table({"scribeline_plan": VERSION, **plain(document)})


def step_document(step: Step) -> dict[str, Any]:
    """A step as it stands in a document."""
    return dict(step_table(step))


def _judged(
    here: EngineRecord, frame: Plan, place: int, number: int, table: Mapping[str, Any], step: Step | None,
    wrong: tuple[Problem, ...], why_here: str,
) -> tuple[StepInHand, EngineRecord]:  # fmt: skip
    operation = BY_KEY.get(str(table.get("do")))
    before = _worked(here)
    problems, there = wrong, here
    if step is not None and not wrong:
        try:
            there = carry_out_one(here, step, frame.box, number)
        except PlanError as refused:
            problems = tuple(refused.problems)
    after = _worked(there) if there is not here else before
    target = str(table.get("at", ""))
    targets: tuple[str, ...] = ()
    amount: Amount | None = None
    choices: tuple[str, ...] = ()
    if operation is not None:
        targets = operation.targets(here, frame.box)
        amount = operation.amount_on(here, target) if target in targets else operation.amount
        choices = operation.choices(here, target, frame.box) if operation.choices else ()
    one = StepInHand(
        place, number, table, step, operation, targets, amount, choices, why_here, problems,
        _alternatives(here, frame.box, operation, step) if problems else (), before, after, frame.limits,
    )  # fmt: skip
    return one, there


def _alternatives(record: EngineRecord, box: Box, operation: Operation | None, step: Step | None) -> tuple[str, ...]:
    """What moves things the other way, where metal would have to be added and engine and box have such a way."""
    if operation is None or operation.amount is None or not operation.amount.metal:
        return ()
    if step is None or step.amount is None or step.amount >= operation.amount.low:
        return ()
    wanted = INSTEAD.get(operation.key, ())
    possible: list[Possible] = [one for one in possible_for(record, box) if one.operation.key in wanted]
    # a swap with nothing in the box to swap for is no alternative
    there = {one.operation.key for one in possible if not one.choices or any(map(_of_the_box, one.choices))}
    return tuple(key for key in wanted if key in there)


def _of_the_box(choice: str) -> bool:
    """Whether a choice of gaskets, or of another part, takes something that is not fitted today."""
    return choice != NONE and any(not name.startswith(FITTED) for name in choice.split(JOIN))


def _order(steps: Sequence[Step | None], tables: Sequence[Mapping[str, Any]]) -> list[int]:
    """Places of the document in the order that they are done; an unread step goes where its operation would."""

    def stage(place: int) -> int:
        operation = BY_KEY.get(str(tables[place].get("do")))
        return int(operation.stage if operation else Stage.RUNNING)

    return sorted(range(len(steps)), key=stage)


def _why(steps: Sequence[Step | None]) -> dict[int, str]:
    """For each place whose step is done earlier than written the reason."""
    there = [(place, step) for place, step in enumerate(steps) if step is not None]
    _, moved = in_order([step for _, step in there])
    return {there[one.written - 1][0]: one.why for one in moved}


def _frame(table: Mapping[str, Any]) -> tuple[Plan, list[Problem]]:
    """Everything of the plan but its steps, each part at its default where it is refused."""
    problems: list[Problem] = []
    whole = {key: value for key, value in table.items() if key != "steps"} | {"scribeline_plan": VERSION}
    try:
        plan = plan_of_table(whole)
    except PlanError as refused:
        problems += refused.problems
        bad = {problem.where.partition(".")[0] for problem in refused.problems}
        try:
            plan = plan_of_table({key: value for key, value in whole.items() if key not in bad})
        except PlanError:
            plan = Plan(())
    try:
        limits(table=plan.limits)
    except PlanError as refused:
        problems += refused.problems
        plan = replace(plan, limits=type(plan.limits)())
    return plan, problems


def _upper(words: str) -> str:
    return words[0].upper() + words[1:]


def plain(value: Any) -> Any:
    """A document without what was taken out again (None), which a plan file has no sign for."""
    if isinstance(value, Mapping):
        return {str(key): plain(one) for key, one in value.items() if one is not None}
    if isinstance(value, list | tuple):
        return [plain(one) for one in value if one is not None]
    return {} if value is None else value


@lru_cache(maxsize=64)
def _worked(record: EngineRecord) -> WorkedOut:
    """A record worked out without +/-; while a slider moves, most of the records on the way are the same."""
    return work_out(record, draws=0)
