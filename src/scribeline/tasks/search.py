"""Finding a plan: a goal, gaskets and tools go in, a handful of plans comes out, and who limits the engine."""

import json
import math
import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import platformdirs

from scribeline import __version__
from scribeline.data.cautions import Caution, cautions_for
from scribeline.engine import EngineRecord, read_record_file
from scribeline.errors import SearchError
from scribeline.geometry.work_out import work_out
from scribeline.plan.box import Box
from scribeline.plan.carry_out import carry_out
from scribeline.plan.limit_table import LimitTable
from scribeline.plan.limits import statements
from scribeline.plan.merits import MERITS
from scribeline.plan.phrases import shown
from scribeline.plan.plan_file import read_plan_file, write_plan
from scribeline.plan.search_alone import alone
from scribeline.plan.search_goals import Goal, goal_of, road_for, speeds_for
from scribeline.plan.search_judging import PlanSearch
from scribeline.plan.search_plans import MOST_PLANS, PlanFound, Progress, Searched, find_plans
from scribeline.plan.search_space import CUTTING_TOOLS, GROUPS, USUAL_TOOLS, group_of, space_for
from scribeline.plan.search_words import NEVER_PROVED, careful, explained, verdict
from scribeline.plan.stacks import PLACES, GapRange, Place, Stack, Stacks, range_of, solve, usual_range
from scribeline.plan.steps import Plan, Step
from scribeline.plan.typed_gaskets import box_of
from scribeline.plan.who_limits import WhoLimits, answer, replaced, who_limits

EVALUATIONS = 1000
MOST_JOURNALS = 20
ALSO = {"pull": "low_nm", "trapped": "trapped_mg", "knock": "octane_margin", "peak": "peak_kw", "band": "band_kw"}
"""What may be kept high beside the goal, by the word that a builder types."""
SOURCES = ("deb-2002", "shapley-1953", "grabisch-roubens-1999", "jcgm-101", "judgement", "common-practice")
_TIMING = ("exhaust_duration_deg", "transfer_duration_deg", "intake_duration_deg")


@dataclass(frozen=True)
class Search:
    """Plans for an engine, who limits it as far as the best plan goes, and the gasket stacks that set its squish."""

    searched: Searched
    stacks: Stacks | None
    who: WhoLimits | None
    cautions: tuple[Caution, ...]

    @property
    def record(self) -> EngineRecord:
        return self.searched.space.record


@dataclass(frozen=True)
class StackRow:
    """A gasket stack with what it does to the ports: degrees open before and after, for a cut in the best place."""

    stack: Stack
    place: Place | None
    timing: Mapping[str, float]


def search_of_file(
    path: Path,
    goal: str,
    *,
    made: Plan | None = None,
    gaskets: str | None = None,
    tools: Sequence[str] = USUAL_TOOLS,
    keep: Sequence[str] = (),
    mend: bool | None = None,
    kept: Sequence[str] = ("low_nm",),
    evaluations: int = EVALUATIONS,
    most_plans: int = MOST_PLANS,
    seed: int = 1,
    journal: Path | None = None,
    shares: bool = True,
    cores: int = 2,
    progress: Progress | None = None,
) -> Search:
    """Search for plans for a record file; see `search_plans`. RecordError where the file is refused.

    made : parts at hand and limits that the builder gave elsewhere; gaskets : more of them, a file or a typed list
    """
    plan = made or Plan(())
    return search_plans(
        read_record_file(path), goal_of(goal), together(plan.box, gaskets), tools=tools, keep=keep, limits=plan.limits,
        mend=mend, kept=kept, evaluations=evaluations, most_plans=most_plans, seed=seed, journal=journal, shares=shares,
        cores=cores, progress=progress,
    )  # fmt: skip


def together(box: Box, gaskets: str | None) -> Box:
    """Parts at hand and what `--gaskets` names besides."""
    return box if gaskets is None else in_one(box, box_of(gaskets))


def in_one(box: Box, more: Box) -> Box:
    """The parts of two boxes."""
    lists = {key: getattr(box, key) + getattr(more, key) for key in Box.model_fields if key != "invented"}
    return Box.model_validate({**lists, "invented": box.invented or more.invented})


def search_plans(
    record: EngineRecord,
    goal: Goal,
    box: Box,
    *,
    tools: Sequence[str] = USUAL_TOOLS,
    keep: Sequence[str] = (),
    limits: LimitTable | None = None,
    mend: bool | None = None,
    kept: Sequence[str] = ("low_nm",),
    evaluations: int = EVALUATIONS,
    most_plans: int = MOST_PLANS,
    seed: int = 1,
    journal: Path | None = None,
    shares: bool = True,
    cores: int = 2,
    progress: Progress | None = None,
) -> Search:
    """Search for plans, and share the best one's gain out among its groups.

    mend : whether limits that today's engine passes must be kept; by default for the goal "most", which is asked within
    all limits. kept : keys of further numbers to keep high. The rest as `find_plans`. SearchError as there.
    """
    must = goal.merit == "peak_kw" if mend is None else mend
    space = space_for(record, box, tools, keep, mend=must, table=limits)
    searched = find_plans(
        space, goal, kept=kept, evaluations=evaluations, most_plans=most_plans, seed=seed, journal=journal,
        journals=None if journal else journals(),
        cores=cores, progress=progress,
    )  # fmt: skip
    who = None
    if shares and searched.finished and searched.best is not None:
        who = who_limits_of(record, searched.best.steps, box, goal, cores=cores, progress=_told(progress))
    given = ("cut-plan", "simulation", "compression")
    return Search(searched, stacks_of(record, box, tools, limits), who, tuple(cautions_for(*given)))


def journals() -> Path | None:
    """The folder in which searches are kept that nobody named a file for, the latest MOST_JOURNALS of them.

    SCRIBELINE_SEARCHES, else in the user's cache folder; None where it cannot be made.
    """
    named = os.environ.get("SCRIBELINE_SEARCHES")
    folder = Path(named) if named else platformdirs.user_cache_path("scribeline", appauthor=False) / "searches"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        files = sorted(folder.glob("*.json"), key=lambda file: file.stat().st_mtime)
        for old in files[:-MOST_JOURNALS]:
            old.unlink()
    except OSError:
        return None
    return folder if os.access(folder, os.W_OK) else None


def who_of_file(
    path: Path,
    goal: str,
    *,
    made: Plan | None = None,
    against: Path | None = None,
    gaskets: str | None = None,
    tools: Sequence[str] = USUAL_TOOLS,
    draws: int = 4,
    cores: int = 2,
    progress: Progress | None = None,
) -> tuple[EngineRecord, WhoLimits]:
    """Who limits an engine, as far as a plan goes, or another record, or the best single thing of each group.

    made : a plan whose steps are shared out; against : a record whose parts take the place of this one's
    Raises SearchError with fewer than two groups that change anything.
    """
    plan = made or Plan(())
    other = None if against is None else read_record_file(against)
    plan = replace(plan, box=together(plan.box, gaskets))
    record = read_record_file(path)
    return record, who_of(record, goal, plan, other, tools=tools, draws=draws, cores=cores, progress=progress)


def who_of(
    record: EngineRecord,
    goal: str,
    plan: Plan,
    other: EngineRecord | None = None,
    *,
    tools: Sequence[str] = USUAL_TOOLS,
    draws: int = 4,
    cores: int = 2,
    progress: Progress | None = None,
) -> WhoLimits:
    """The same for a record; `plan` has the parts at hand too, `other` is the record that is taken over."""
    wanted, told = goal_of(goal), _told(progress)
    if other is not None:
        fields = {name: parts for name, parts in PARTS.items() if any(_differ(record, other, part) for part in parts)}
        _two(fields, "the two records differ in")
        groups = {name: replaced(*parts, other=other) for name, parts in fields.items()}
        said = {name: f"{', '.join(parts)} of {other.name}" for name, parts in fields.items()}
        return who_limits(record, groups, said, speeds_for(wanted, record), draws=draws, threads=cores, progress=told)
    box, steps = plan.box, plan.steps
    if not steps:
        space = space_for(record, box, tools)
        steps = alone(PlanSearch(space, wanted, speeds_for(wanted, record), road_for(wanted, record), threads=cores))
    _two({group_of(step): step for step in steps}, "what is done is of")
    who = who_limits_of(record, steps, box, wanted, draws=draws, cores=cores, progress=told)
    assert who is not None
    return who


PARTS = {
    "compression": ("gaskets", "head", "squish", "cylinder"), "ports": ("ports",), "piston": ("piston",),
    "intake": ("intake", "crankcase"), "pipe": ("exhaust",), "ignition": ("ignition",), "fuel": ("fuel",),
}  # fmt: skip
"""Parts of a record by the group they are compared in."""


def _differ(record: EngineRecord, other: EngineRecord, part: str) -> bool:
    return bool(getattr(record, part) != getattr(other, part))


def _two(groups: Mapping[str, object], what: str) -> None:
    if len(groups) < 2:
        raise SearchError(
            f"{what} {', '.join(groups) or 'nothing'} alone\n    accepted: two groups or more, such as ports and pipe\n"
            "    what to do: change more, or name another plan or record"
        )


def who_limits_of(
    record: EngineRecord,
    steps: Sequence[Step],
    box: Box,
    goal: Goal,
    *,
    draws: int = 4,
    cores: int = 2,
    progress: Callable[[int, int], bool | None] | None = None,
) -> WhoLimits | None:
    """The gain of a plan's steps shared out among the groups they belong to; None with fewer than two groups."""
    by_group: dict[str, list[Step]] = {}
    for step in steps:
        by_group.setdefault(group_of(step), []).append(step)
    if len(by_group) < 2:
        return None
    order = [group for group in (*GROUPS, "other") if group in by_group]

    def change(group: str) -> Callable[[EngineRecord], EngineRecord]:
        return lambda engine: carry_out(engine, by_group[group], box)

    said = {group: "; ".join(shown(step) for step in by_group[group]) for group in order}
    groups = {group: change(group) for group in order}
    return who_limits(record, groups, said, speeds_for(goal, record), draws=draws, threads=cores, progress=progress)


def stacks_of(record: EngineRecord, box: Box, tools: Sequence[str], table: LimitTable | None = None) -> Stacks | None:
    """Every gasket stack with the least metal to take off; None where the record does not tell the squish gap.

    table : what the builder made of the limits, those of the squish gap among them
    """
    out = work_out(record)
    try:
        return solve(out, box, asked=range_of(table), places=cutting_places(tools))
    except SearchError:
        return None


def stacks_of_file(
    path: Path, gaskets: str | None, tools: Sequence[str], low_mm: float | None = None, high_mm: float | None = None
) -> tuple[EngineRecord, Box, Stacks]:
    """The gasket stacks of a record file for a range of the squish gap, the usual one where left out; SearchError."""
    record, box = read_record_file(path), together(Box(), gaskets)
    return record, box, stacks_within(record, box, tools, low_mm, high_mm)


def stacks_within(
    record: EngineRecord, box: Box, tools: Sequence[str], low_mm: float | None = None, high_mm: float | None = None
) -> Stacks:
    """The same for a record."""
    usual = usual_range()
    low = usual.low_mm if low_mm is None else low_mm
    high = usual.high_mm if high_mm is None else high_mm
    if not 0.05 <= low < high <= 8.0:
        raise SearchError(
            f"squish gap {low:g} to {high:g} mm\n    accepted: 0.05 to 8 mm, the least below the most\n    what to do: "
            "write --low and --high again"
        )
    return solve(work_out(record), box, asked=GapRange(low, high), places=cutting_places(tools))


def cutting_places(tools: Sequence[str]) -> tuple[Place, ...]:
    """Where metal may come off with these tools."""
    from scribeline.plan.operations import BY_KEY as OPERATIONS
    from scribeline.plan.search_space import lacking

    return tuple(place for place in PLACES if not lacking(OPERATIONS[place].tools, tools))


def stack_rows(stacks: Stacks, record: EngineRecord, box: Box, most: int = 6) -> list[StackRow]:
    """The first few stacks, with what they do to compression and ports; the cut where the ports stay."""
    rows = []
    for stack in stacks.found[:most]:
        place = stacks.places[0] if stacks.places and stack.cut_mm > 0.0 else None
        after = work_out(carry_out(record, stack.steps(place or PLACES[0], record), box), draws=0)
        timing = {name: value for name in _TIMING if (value := _value(after.values, name)) is not None}
        rows.append(StackRow(stack, place, timing))
    return rows


def chosen(search: Search, number: int) -> Plan:
    """One of the plans, by its number from 1, as a plan that can be written, marked out and solved on."""
    plans = search.searched.plans
    if not 1 <= number <= len(plans):
        accepted = f"1 to {len(plans)}" if plans else "nothing: no plan was found"
        raise SearchError(f"--choose {number}\n    accepted: {accepted}\n    what to do: choose one of the plans")
    one = plans[number - 1]
    note = " ".join((*explained(one, search.searched), NEVER_PROVED))
    name = f"{search.record.name}: plan {number} towards {search.searched.goal.typed}"
    return Plan(one.steps, search.searched.space.box, name, note, search.searched.space.table)


def chosen_text(search: Search, number: int) -> str:
    """The chosen plan as the text of a plan file."""
    return write_plan(chosen(search, number))


def search_json(search: Search) -> str:
    """Everything that was found, as one JSON document."""
    s = search.searched
    document = {
        "scribeline": __version__,
        "engine": {"name": search.record.name, "invented": search.record.invented},
        "goal": {"typed": s.goal.typed, "number": s.goal.merit, "least": s.goal.least, "reached": s.reached},
        "speeds_rpm": {"points": s.speeds.points, "band": s.speeds.band, "low": s.speeds.low},
        "units": {merit.key: merit.unit for merit in MERITS},
        "before": _finite(s.before),
        "verdict": verdict(s),
        "limits_said": [statement.text for statement in statements(s.space.table)],
        "plans": [_plan_json(i, plan, s) for i, plan in enumerate(s.plans, start=1)],
        "conflicts": [
            {"passed": dict(one.passed), "steps": [shown(step) for step in one.steps]} for one in s.conflicts
        ],
        "who_limits": who_json(search.who),
        "searched": {
            "evaluated": s.evaluated, "refused_by_limits": s.refused, "generations": s.generations,
            "finished": s.finished, "seconds": round(s.seconds, 1),
            "variables": [one.name for one in s.space.variables], "left_out": list(s.space.left_out),
        },
        "never_proved": NEVER_PROVED,
        "sources": list(SOURCES),
        "cautions": [caution.text for caution in search.cautions],
    }  # fmt: skip
    return json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False)


def _plan_json(number: int, plan: PlanFound, s: Searched) -> dict[str, Any]:
    t = plan.tolerance
    return {
        "number": number,
        "steps": [shown(step) for step in plan.steps],
        "metal_mm": plan.metal_mm,
        "gain": plan.gain,
        "share_of_most_gain": plan.of_gain,
        "share_of_its_metal": plan.of_metal if math.isfinite(plan.of_metal) else None,
        "explained": list(explained(plan, s)),
        "merits": _finite(plan.merits),
        "geometry": {name: list(pair) for name, pair in plan.geometry.items()},
        "brings": dict(plan.lost),
        "by_hand": {
            "made": t.drawn, "could_not_be_made": t.unmade, "limits_passed": dict(t.passed),
            **_finite({"least_gain": plan.least_gain, "most_gain": plan.most_gain}),
        },
        "careful": careful(plan, s),
    }  # fmt: skip


def who_json(who: WhoLimits | None) -> dict[str, Any] | None:
    """Who limits what, for a JSON document."""
    if who is None:
        return None
    return {
        "groups": dict(who.groups),
        "drawn": who.drawn,
        "stopped": who.stopped,
        "numbers": [
            {
                "quantity": one.quantity,
                "unit": one.unit,
                "before": one.before,
                "after": one.after,
                "shares": dict(zip(one.groups, map(float, one.shares), strict=True)),
                "plus_minus": _finite(dict(zip(one.groups, map(float, one.plus_minus), strict=True))),
                "alone": dict(zip(one.groups, map(float, one.alone), strict=True)),
                "answer": answer(one),
            }
            for one in who.shares
        ],
    }


def _finite(values: Mapping[str, float]) -> dict[str, float | None]:
    return {key: value if math.isfinite(value) else None for key, value in values.items()}


def _value(values: Mapping[str, Any], name: str) -> float | None:
    worked = values.get(name)
    return None if worked is None else worked.value


def _told(progress: Progress | None) -> Callable[[int, int], bool | None] | None:
    return (lambda done, of: progress("who limits what", done, of, "")) if progress else None


def plan_of_file(path: Path | None) -> Plan | None:
    """A plan file read, or nothing where none is named; PlanError where it is refused."""
    return None if path is None else read_plan_file(path)


def tools_of(typed: str | None) -> tuple[str, ...]:
    """Tools from a list such as "file, glass plate, lathe"; the usual ones where left out. SearchError.

    >>> tools_of("file, lathe")
    ('file', 'lathe')
    """
    return USUAL_TOOLS if typed is None else _words(typed, "--tools", CUTTING_TOOLS)


def keep_of(typed: Sequence[str] | None) -> tuple[str, ...]:
    """What is to be kept, from lists such as "pipe, head"."""
    return tuple(word for one in typed or () for word in _words(one, "--keep", None))


def also_of(typed: str | None) -> tuple[str, ...]:
    """Further numbers to keep high, from a list such as "pull, trapped"; pull where left out. SearchError.

    >>> also_of("pull, knock")
    ('low_nm', 'octane_margin')
    """
    words = ("pull",) if typed is None else _words(typed, "--also", tuple(ALSO))
    return tuple(ALSO[word] for word in words)


def refuse_choice_without_file(number: int) -> SearchError:
    """A plan was chosen, and nowhere to write it."""
    return SearchError(
        f"--choose {number} alone\n    accepted: --choose with --write FILE\n    what to do: name the file to write"
    )


def _words(typed: str, option: str, known: Sequence[str] | None) -> tuple[str, ...]:
    words = tuple(word.strip() for word in typed.split(",") if word.strip())
    for word in words:
        if known is not None and word not in known:
            raise SearchError(f"{option} {word}\n    accepted: {', '.join(known)}\n    what to do: choose of these")
    return words
