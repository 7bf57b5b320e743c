"""What a list of operations makes of an engine, by geometry: both engines worked out and laid beside each other.

What else moves because of a step is not looked up anywhere: the engine is worked out before and after it, and every
number of the card that changed by more than a stated share is listed.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from scribeline.engine import EngineRecord
from scribeline.geometry.work_out import WorkedOut, work_out
from scribeline.plan.box import Box
from scribeline.plan.carry_out import carry_out_one
from scribeline.plan.limits import Statement, Warning, statements, warnings
from scribeline.plan.order import Reordered, in_order
from scribeline.plan.steps import Plan, Step

SHARE = 0.002
"""Share of itself by which a number must change to count as moved; judgement, far below every +/-."""


@dataclass(frozen=True)
class Moved:
    """One number of the card before and after; None where the engine has no such number on that side."""

    name: str
    label: str
    unit: str
    topic: str
    before: float | None
    after: float | None
    inner: bool

    @property
    def by(self) -> float | None:
        """After less before; None where one side lacks the number."""
        return None if self.before is None or self.after is None else self.after - self.before


@dataclass(frozen=True)
class WhatIf:
    """A plan's steps in their order, and the engine before, between and after them.

    stages : the engine worked out after each step, none first; steps : as done; reordered : what had to be moved
    """

    plan: Plan
    steps: tuple[Step, ...]
    reordered: tuple[Reordered, ...]
    records: tuple[EngineRecord, ...]
    before: WorkedOut
    after: WorkedOut
    moved: tuple[Moved, ...]
    warnings_before: tuple[Warning, ...]
    warnings_after: tuple[Warning, ...]
    statements: tuple[Statement, ...]


def what_if(
    record: EngineRecord, plan: Plan, *, draws: int = 0, share: float = SHARE, before: WorkedOut | None = None
) -> WhatIf:
    """Work out a record as it is and as it would be after a plan.

    before : the record worked out already, for whoever asks again and again. Raises PlanError where a step cannot be
    done, and where a limit of the plan is none.
    """
    steps, reordered = in_order(plan.steps)
    records = tuple(chain(record, steps, plan.box))
    before = before or work_out(record, draws=draws)
    after = work_out(records[-1], draws=draws)
    return WhatIf(
        plan=plan,
        steps=steps,
        reordered=reordered,
        records=records,
        before=before,
        after=after,
        moved=what_moved(before, after, share),
        warnings_before=tuple(warnings(before, plan.limits)),
        warnings_after=tuple(warnings(after, plan.limits)),
        statements=tuple(statements(plan.limits)),
    )


def chain(record: EngineRecord, steps: Sequence[Step], box: Box) -> Iterable[EngineRecord]:
    """The record as it is, then as it is after each step."""
    yield record
    for number, step in enumerate(steps, start=1):
        record = carry_out_one(record, step, box, number)
        yield record


def what_moved(before: WorkedOut, after: WorkedOut, share: float = SHARE) -> tuple[Moved, ...]:
    """Every number of the card that changed by more than `share` of itself, in the order of the card."""
    found = []
    for name in {**before.values, **after.values}:
        was, now = before.values.get(name), after.values.get(name)
        one = now or was
        assert one is not None
        a, b = was.value if was else None, now.value if now else None
        if a is None and b is None:
            continue
        if a is None or b is None or abs(b - a) > share * max(abs(a), abs(b)):
            found.append(Moved(name, one.label, one.unit, one.topic, a, b, one.inner))
    return tuple(found)
