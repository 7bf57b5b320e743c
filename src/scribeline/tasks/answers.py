"""Answers for programs: a record's text in, a JSON document (or files) out. Run in a worker process.

Each takes, besides its own arguments, `tell` for its progress and `stopped`, as `scribeline.web.workers` gives them.
Nothing here reads a file that an argument names.
"""

import io
import json
import math
import zipfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from scribeline.engine import read_record
from scribeline.errors import CycleError, SearchError, SheetError, TrialError

Tell = Callable[[Any], None]
Stopped = Callable[[], bool]


def card(record_toml: str, origin: str, speed_rpm: float | None, *, tell: Tell, stopped: Stopped) -> str:
    """The engine card, as `card_json` writes it."""
    from scribeline.tasks.card import card_json, engine_card

    return card_json(engine_card(read_record(record_toml, origin), speed_rpm=speed_rpm))


def what_if(
    record_toml: str,
    origin: str,
    steps: Sequence[str],
    plan_toml: str | None,
    cut_list: bool,
    *,
    tell: Tell,
    stopped: Stopped,
) -> str:
    """What a plan would move, as `plan_json` writes it; the steps come after those of the plan."""
    from scribeline.tasks.plan import plan_json, planned_on

    plan = _plan(steps, plan_toml)
    return plan_json(planned_on(read_record(record_toml, origin), plan, staged=cut_list))


def stacks(
    record_toml: str,
    origin: str,
    gaskets: str | None,
    tools: str | None,
    most: int,
    *,
    tell: Tell,
    stopped: Stopped,
) -> str:
    """Every gasket stack that puts the squish gap in range, least metal first."""
    from scribeline.plan.box import Box
    from scribeline.plan.phrases import shown
    from scribeline.plan.stacks import PLACES
    from scribeline.plan.typed_gaskets import gaskets_of
    from scribeline.tasks.search import stack_rows, stacks_of, tools_of

    record = read_record(record_toml, origin)
    box = gaskets_of(gaskets) if gaskets else Box()
    found = stacks_of(record, box, tools_of(tools))
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
    return json.dumps(_finite({"asked": asked, "tried": found.tried, "stacks": rows, "would_have_to_give": give}))


def curve(
    record_toml: str,
    origin: str,
    speeds: str | None,
    throttle: float,
    cell_mm: float,
    *,
    tell: Tell,
    stopped: Stopped,
) -> str:
    """The power curve, as `curve_json` writes it. Tells {"done": speeds done, "of": all}."""
    from scribeline.tasks.curve import curve_json, power_curve, settings, speeds_of

    if not 2.0 <= cell_mm <= 40.0 or not 0.1 <= throttle <= 1.0:
        raise CycleError(
            f"cell_mm {cell_mm:g}, throttle {throttle:g}\n    accepted: cells of 2 to 40 mm, throttle 0.1 to 1\n"
            "    what to do: ask again with these"
        )

    def progress(done: int, count: int) -> bool:
        tell({"done": done, "of": count})
        return stopped()

    wanted = speeds_of(speeds) if speeds else None
    record = read_record(record_toml, origin)
    return curve_json(power_curve(record, wanted, settings(cell_mm), throttle=throttle, progress=progress))


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
    """The sheets in one zip. `asked` : paper, formats, only, bar_across and bar_up, as typed at the command line."""
    from datetime import UTC, datetime

    from scribeline.marking.paper import paper_named
    from scribeline.marking.sheet import Issue
    from scribeline.tasks.sheet_drawings import SHEETS, sheets_of
    from scribeline.tasks.sheet_wishes import Wishes, formats_of, worked_for
    from scribeline.tasks.sheets import files_of, printer_of

    record = read_record(record_toml, origin)
    plan = _plan(steps, plan_toml) if steps or plan_toml else None
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


def trial(name: str, where: Any, *, tell: Tell, stopped: Stopped) -> str:
    """A trial as it stands: its files, its runs with what was measured of each, what was said about them."""
    from scribeline.tasks.trials import show_trial

    shown = show_trial(name, where=where)
    one = shown.state.trial
    document = {
        "name": one.name,
        "build": one.build_name,
        "revision": one.revision_number,
        "note": one.note,
        "files": [{"name": entry.file_name, "entry": entry.number} for entry in shown.state.files],
        "measures": [asdict(measure) for measure in shown.measured.measures],
        "runs": [asdict(run) for run in shown.measured.runs],
        "said": shown.measured.said,
    }
    return json.dumps(_finite(document), default=str)


def add_recording(
    trial_name: str, path: Path, name: str, setup: str, direction: str, where: Any, *, tell: Tell, stopped: Stopped
) -> dict[str, Any]:
    """Read a recording that lies at `path` into a trial, where it is called `name`."""
    from scribeline.tasks.trials import add_files

    (added,) = add_files(trial_name, [path], setup=setup, direction=direction, names={path: name}, where=where)
    return {"format": added.format, "runs": added.runs, "notes": list(added.notes), "why_not": added.why_not}


def compare(
    names: Sequence[str], setups: Sequence[str], measure: str | None, where: Any, *, tell: Tell, stopped: Stopped
) -> str:
    """Trials of the notebook against each other, as `verdict_json` writes it; names of files are not taken."""
    from scribeline.tasks.trials import list_trials
    from scribeline.tasks.verdict_files import verdict_json
    from scribeline.tasks.verdicts import compare_named

    known = {summary.trial.name.casefold() for summary in list_trials(where=where)}
    unknown = [name for name in names if name.casefold() not in known]
    if unknown or not names:
        raise TrialError(
            f"no such trial: {', '.join(unknown) or 'none was named'}\n    accepted: names of trials in this notebook\n"
            "    what to do: ask for the list of trials"
        )
    return verdict_json(compare_named(list(names), setups=list(setups), measure=measure, where=where))


def _plan(steps: Sequence[str], plan_toml: str | None) -> Any:
    from dataclasses import replace

    from scribeline.plan.phrases import read_step
    from scribeline.plan.plan_file import read_plan
    from scribeline.plan.steps import Plan

    made = read_plan(plan_toml) if plan_toml else Plan(())
    return replace(made, steps=(*made.steps, *(read_step(text) for text in steps)))


def _finite(value: Any) -> Any:
    """The same with null where a number is none."""
    if isinstance(value, dict):
        return {str(key): _finite(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(inner) for inner in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value
