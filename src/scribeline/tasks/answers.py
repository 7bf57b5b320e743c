"""Answers for programs: a record's text in, a JSON document (or files) out. Run in a worker process.

Each takes, besides its own arguments, `tell` for its progress and `stopped`, as `scribeline.web.workers` gives them.
Nothing here reads a file that an argument names.
"""

import io
import json
import math
import zipfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from scribeline.engine import read_record
from scribeline.errors import PlanError, Problem, SearchError, SheetError
from scribeline.tasks.answers_made import plan_of

Tell = Callable[[Any], None]
Stopped = Callable[[], bool]


def card(record_toml: str, origin: str, speed_rpm: float | None, *, tell: Tell, stopped: Stopped) -> str:
    """The engine card, as `card_json` writes it."""
    from scribeline.tasks.card import card_json, engine_card

    return card_json(engine_card(read_record(record_toml, origin), speed_rpm=speed_rpm))


def what_if(
    record_toml: str, origin: str, asked: Mapping[str, Any], measured: tuple[str, str] | None, *, tell: Tell,
    stopped: Stopped,
) -> str:  # fmt: skip
    """What a plan would move, as `plan_json` writes it, with the plan as a file and the record to expect.

    asked : steps, which come after those of plan_toml; cut_list; from_here: so many steps are done, and the rest is
    worked out again for the engine as it was `measured`
    """
    from scribeline.engine import write_record
    from scribeline.plan.from_here import rest_of
    from scribeline.plan.what_if import what_if as worked
    from scribeline.tasks.plan import plan_json, plan_toml, planned_on

    record, plan = read_record(record_toml, origin), plan_of(asked["steps"], asked["plan_toml"])
    rest = None
    if asked["from_here"] is not None:
        if measured is None:
            why = "the engine as it was measured then"
            raise PlanError([Problem("measured", None, "nothing", why, "send measured_toml, or measured_of")])
        now = read_record(*measured)
        rest = rest_of(worked(record, plan), asked["from_here"], now)
        record, plan = now, rest.plan
    planned = replace(planned_on(record, plan, staged=asked["cut_list"]), rest=rest)
    document = json.loads(plan_json(planned))
    document |= {"plan_toml": plan_toml(planned), "record_to_expect_toml": write_record(planned.predicted)}
    return json.dumps(document, ensure_ascii=False)


def operations(record_toml: str, origin: str, plan_toml: str | None, *, tell: Tell, stopped: Stopped) -> str:
    """What can be done to an engine with what is at hand, and why the rest cannot."""
    from scribeline.plan.carry_out import possible_for

    found = possible_for(read_record(record_toml, origin), plan_of((), plan_toml).box)
    each = [
        {
            "do": one.operation.key, "what": one.operation.what, "at": one.target, "choices": list(one.choices),
            "amount": asdict(one.amount) if one.amount else None, "tools": list(one.operation.tools),
        }
        for one in found
    ]  # fmt: skip
    return json.dumps(finite(each), default=str, ensure_ascii=False)


def stacks(
    record_toml: str,
    origin: str,
    gaskets: str | None,
    tools: str | None,
    most: int,
    range_mm: tuple[float | None, float | None] = (None, None),
    *,
    tell: Tell,
    stopped: Stopped,
) -> str:
    """Every gasket stack that puts the squish gap in range, least metal first. range_mm : of the gap, else the usual"""
    from scribeline.plan.box import Box
    from scribeline.plan.phrases import shown
    from scribeline.plan.stacks import PLACES
    from scribeline.plan.typed_gaskets import gaskets_of
    from scribeline.tasks.search import stack_rows, stacks_of, stacks_within, tools_of

    record = read_record(record_toml, origin)
    box = gaskets_of(gaskets) if gaskets else Box()
    with_range = range_mm != (None, None)
    found = (stacks_within(record, box, tools_of(tools), *range_mm) if with_range
             else stacks_of(record, box, tools_of(tools)))  # fmt: skip
    if found is None:
        raise SearchError(
            f"{origin} does not tell its squish gap\n    accepted: a record with the squish measured\n"
            "    what to do: measure it, see the page on measuring the squish"
        )
    rows = [
        {
            **{key: value for key, value in asdict(row.stack).items() if key not in ("base_lift_mm", "head_lift_mm")},
            "steps": [shown(step) for step in row.stack.steps(row.place or PLACES[0], record)],
            "cut_where": row.place,
            "timing": dict(row.timing),
        }
        for row in stack_rows(found, record, box, most)
    ]
    asked = {"low_mm": found.asked.low_mm, "high_mm": found.asked.high_mm}
    give = [asdict(one) for one in found.relaxations]
    return json.dumps(finite({"asked": asked, "tried": found.tried, "stacks": rows, "would_have_to_give": give}))


def sheets(
    record_toml: str,
    origin: str,
    revision: str,
    steps: Sequence[str],
    plan_toml: str | None,
    asked: Mapping[str, Any],
    *,
    tell: Tell,
    stopped: Stopped,
) -> bytes:
    """The sheets in one zip. `asked` : paper, formats and so on, as typed at the command line."""
    from datetime import UTC, datetime

    from scribeline.marking.paper import paper_named
    from scribeline.marking.sheet import Issue
    from scribeline.tasks.sheet_drawings import SHEETS, sheets_of
    from scribeline.tasks.sheet_wishes import Wishes, formats_of, pipe_of, worked_for
    from scribeline.tasks.sheets import files_of, printer_of

    record = read_record(record_toml, origin)
    plan = plan_of(steps, plan_toml) if steps or plan_toml else None
    unknown = [name for name in asked.get("only", ()) if name not in SHEETS]
    if unknown:
        raise SheetError(
            f"no such sheet: {', '.join(unknown)}\n    accepted: {', '.join(SHEETS)}\n    what to do: choose from these"
        )
    wishes = Wishes(
        paper=asked.get("paper", "A4"),
        formats=formats_of(asked.get("formats", "pdf")),
        only=tuple(asked.get("only", ())),
        printer=printer_of(asked.get("bar_across"), asked.get("bar_up")),
        sheet_mm=asked["thickness_mm"],
        windows=asked["windows"],
        sleeve_mm=asked["sleeve_mm"],
        wheels_mm=tuple(asked["wheels_mm"] or Wishes().wheels_mm),
        bolt_mm=asked["bolt_mm"],
        turns=asked["turns"],
        units=asked["units"],
        pipe=pipe_of(asked["metal_mm"], asked["stock"]),
    )
    paper = paper_named(wishes.paper)
    made, left_out = sheets_of(worked_for(record, plan), wishes, paper)
    if left_out and (wishes.only or not made):
        raise SheetError("\n".join(f"{one.name}: {one.why}" for one in left_out))
    day = datetime.now(tz=UTC).astimezone().date()
    issue = Issue(record.name, revision + (" + plan" if plan else ""), day.isoformat(), record.invented)
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files_of(made, issue, paper, wishes):
            archive.writestr(name, data)
        if left_out:
            archive.writestr("not made.txt", "".join(f"{one.name}: {one.why}\n" for one in left_out))
    return packed.getvalue()


def trial(name: str, correction: str | None, where: Any, *, tell: Tell, stopped: Stopped) -> str:
    """A trial as it stands: its files and pulls, its runs with what was measured of each, and its journal."""
    from scribeline.tasks.trial_undo import entry_words
    from scribeline.tasks.trials import show_trial

    shown = show_trial(name, correction=correction, where=where)
    state, one = shown.state, shown.state.trial
    document = {
        "name": one.name,
        "build": one.build_name,
        "revision": one.revision_number,
        "note": one.note,
        "gates": [asdict(gate) for gate in state.gates],
        "band_rpm": state.band_rpm,
        "air": asdict(state.air) if state.air else None,
        "files": [
            {"name": entry.file_name, "entry": entry.number, "format": entry.data.get("format")}
            for entry in state.files
        ],
        "pulls": [
            {"file": pull.file, "setup": pull.setup, **asdict(pull.pull), "direction": pull.direction}
            for pull in state.pulls
        ],
        "measures": [asdict(measure) for measure in shown.measured.measures],
        "runs": [asdict(run) for run in shown.measured.runs],
        "dropped": state.dropped,
        "said": shown.measured.said,
        "assumed": list(shown.vehicle.assumed) if shown.vehicle else [],
        "number": state.number,
        "undoable": state.undoable.number if state.undoable else None,
        "redoable": state.redoable.number if state.redoable else None,
        "journal": [
            {
                "number": entry.number, "kind": entry.kind, "author": entry.author, "note": entry.note,
                "made_at": entry.made_at.isoformat(), "words": entry_words(entry),
            }
            for entry in state.entries
        ],
    }  # fmt: skip
    return json.dumps(finite(document), default=str)


def add_recording(
    trial_name: str, path: Path, name: str, told: Mapping[str, Any], road: Path | None, where: Any, *, tell: Tell,
    stopped: Stopped,
) -> dict[str, Any]:  # fmt: skip
    """Read a recording that lies at `path` into a trial, where it is called `name`; told : as at the command line."""
    from scribeline.tasks.trial_options import read_options
    from scribeline.tasks.trial_sound import told_of_sound
    from scribeline.tasks.trials import add_files

    options = read_options(told["column"], told["decimal"], told["speed_unit"])
    (added,) = add_files(
        trial_name, [path], setup=told["setup"], direction=told["direction"], columns=options.columns,
        decimal=options.decimal, speed_unit=options.speed_unit, utc_offset_h=told["utc_offset_h"],
        sound=told_of_sound(**told["sound"]), road=road, names={path: name}, where=where,
    )  # fmt: skip
    return {"format": added.format, "runs": added.runs, "notes": list(added.notes), "why_not": added.why_not}


def finite(value: Any) -> Any:
    """The same with null where a number is none."""
    if isinstance(value, dict):
        return {str(key): finite(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [finite(inner) for inner in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value
