"""A plan on an engine: put together from files and typed steps, worked out, cut into stages, and taken up again.

How it is written down stands in plan_text and, as JSON, here.
"""

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scribeline import __version__
from scribeline.data.cautions import Caution, cautions_for
from scribeline.engine import EngineRecord, read_record, read_record_file, write_record
from scribeline.errors import PlanError, Problem
from scribeline.plan.box import Box, Pipe, read_box_file
from scribeline.plan.carry_out import possible_for
from scribeline.plan.cut_list import CutList, CutStep, cut_list
from scribeline.plan.description import Possible
from scribeline.plan.from_here import Rest, rest_of
from scribeline.plan.limit_table import read_limits_file
from scribeline.plan.limits import limits
from scribeline.plan.not_held import not_held_words
from scribeline.plan.phrases import read_step, shown
from scribeline.plan.plan_file import read_plan_file, step_table, write_plan
from scribeline.plan.steps import Plan
from scribeline.plan.what_if import WhatIf, what_if

if TYPE_CHECKING:
    from scribeline.tasks.notebook import Where


@dataclass(frozen=True)
class Planned:
    """A plan worked out on an engine; `rest` where it was taken up again, `list` where the cut list was asked for."""

    done: WhatIf
    cautions: tuple[Caution, ...]
    list: CutList | None = None
    rest: Rest | None = None

    @property
    def record(self) -> EngineRecord:
        """The engine as it is now."""
        return self.done.before.record

    @property
    def predicted(self) -> EngineRecord:
        """The record one would expect to measure once all is done."""
        return self.done.after.record


def plan_from(
    plan: Path | None = None,
    do: Iterable[str] = (),
    *,
    box: Path | None = None,
    limits_file: Path | None = None,
    pipes_of: Iterable[Path] = (),
    pipes_of_builds: Iterable[str] = (),
    where: "Where" = None,
) -> Plan:
    """A plan from a file, then the steps typed one by one.

    box : what is at hand, in place of the plan's own; limits_file : the builder's limits, in place of the plan's own
    pipes_of : records whose pipes are at hand, by the engine's name; pipes_of_builds : the same for the latest revision
    of builds in the notebook, by the build's name. Raises PlanError, RecordError or NotebookError.
    """
    made = read_plan_file(plan) if plan is not None else Plan(())
    steps = (*made.steps, *(read_step(text) for text in do))
    at_hand = read_box_file(box) if box is not None else made.box
    found = [pipe_of_record(record.name, record) for record in map(read_record_file, pipes_of)]
    found += [pipe_of_record(build, _latest(build, where)) for build in pipes_of_builds]
    at_hand = at_hand.model_copy(update={"pipes": (*at_hand.pipes, *found)})
    table = read_limits_file(limits_file) if limits_file is not None else made.limits
    limits(table=table)  # a name that is no limit is refused here, before anything is worked out
    return replace(made, steps=steps, box=at_hand, limits=table)


def _latest(build: str, where: "Where") -> EngineRecord:
    from scribeline.tasks.notebook import opened  # with it comes the database, which a plan seldom needs

    with opened(where) as notebook:
        return read_record(notebook.revision(build).record_toml, build)


def pipe_of_record(name: str, record: EngineRecord) -> Pipe:
    """The pipe of a record as a part at hand; PlanError where it has none."""
    if record.exhaust is None:
        remedy = "measure its pipe, or name another record"
        raise PlanError([Problem("pipe", None, f"{name} has no pipe", "a record with [[exhaust.sections]]", remedy)])
    return Pipe(name=name, sections=record.exhaust.sections)


def planned(engine: Path, plan: Plan, *, draws: int = 0, staged: bool = False) -> Planned:
    """Work out a plan on a record file; `staged` : with its cut list."""
    return planned_on(read_record_file(engine), plan, draws=draws, staged=staged)


def planned_on(record: EngineRecord, plan: Plan, *, draws: int = 0, staged: bool = False) -> Planned:
    """Work out a plan on a record; `staged` : with its cut list."""
    done = what_if(record, plan, draws=draws)
    kinds = ("cut-plan", "compression") if any(step.do for step in done.steps) else ("measure",)
    return Planned(done, tuple(cautions_for(*kinds)), cut_list(done) if staged else None)


def taken_up(engine: Path, plan: Plan, after_step: int, measured: Path, *, staged: bool = True) -> Planned:
    """The steps after `after_step` worked out again for the engine as it was measured then.

    engine : the record that the plan was made for; measured : the record of the engine as it is now
    """
    rest = rest_of(what_if(read_record_file(engine), plan), after_step, now := read_record_file(measured))
    return replace(planned_on(now, rest.plan, staged=staged), rest=rest)


def possible(engine: Path, box: Box) -> tuple[Possible, ...]:
    """What can be done to an engine with what is at hand."""
    return possible_for(read_record_file(engine), box)


def plan_toml(made: Planned) -> str:
    """The plan as a file, its steps in the order they are done."""
    return write_plan(replace(made.done.plan, steps=made.done.steps))


def write_files(made: Planned, plan: Path | None, record: Path | None) -> None:
    """Write the plan and the record to expect to files, where they are named."""
    from scribeline.tasks.curve_page import write_page  # with it comes the simulation, which a plain plan does without

    if plan is not None:
        write_page(plan_toml(made), plan)
    if record is not None:
        write_page(write_record(made.predicted), record)


def plan_json(made: Planned, curves: str | None = None) -> str:
    """Everything about a plan as one JSON document; `curves` : both power curves as `curve_json` gives them."""
    done = made.done
    document: dict[str, Any] = {
        "scribeline": __version__,
        "engine": {"name": made.record.name, "invented": made.record.invented},
        "plan": {"name": done.plan.name, "note": done.plan.note},
        "steps": [{"says": shown(step), **step_table(step)} for step in done.steps],
        "reordered": [
            {"step": shown(one.step), "written": one.written, "done": one.done, "why": one.why}
            for one in done.reordered
        ],
        "moved": [
            {"name": m.name, "label": m.label, "unit": m.unit, "before": m.before, "after": m.after}
            for m in done.moved
            if not m.inner
        ],
        "warnings_before": [vars(warning) for warning in done.warnings_before],
        "warnings_after": [vars(warning) for warning in done.warnings_after],
        "limits_said": [statement.text for statement in done.statements],
        "limits_not_held": not_held_words(done.after, done.plan.limits),
        "notes": list(made.rest.notes) if made.rest else [],
        "cautions": [caution.text for caution in made.cautions],
    }
    if made.list is not None:
        document["cut_list"] = [_cut_json(step) for step in made.list.steps]
    if curves is not None:
        document["curves"] = json.loads(curves)
    return json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False)


def _cut_json(step: CutStep) -> dict[str, Any]:
    return {
        "number": step.number,
        "step": step.title,
        "stage": step.stage.words,
        "measure_first": step.measure_first,
        "stop_at": step.amount_stop,
        "lines": [asdict(line) for line in step.lines],
        "widths": [asdict(width) for width in step.widths],
        "instructions": [asdict(one) for one in step.instructions],
        "expected": [asdict(one) for one in step.expected],
        "moved": [asdict(one) for one in step.also],
        "tools": list(step.operation.tools),
        "skill": step.operation.skill,
        "undo": step.operation.undo,
        "caution": step.operation.caution,
    }
