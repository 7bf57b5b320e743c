"""From a goal to a handful of plans that really differ: searched at the quick setting, confirmed at the fine one.

1. Many designs are tried (`search`), limits first, each over nine speeds with long cells.
2. Of those that nothing beats, a few that differ are taken (`choose`), and what brings next to nothing is left out of
   each (`pruned`): a search leaves small cuts behind that are noise, and metal does not grow back.
3. Each is simulated again with the usual cells, and again as it may come out: readings drawn within their +/-, cuts
   made as a hand makes them. What is told of a plan is what is left of it then.
"""

import hashlib
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import isfinite
from pathlib import Path

import numpy as np

from scribeline._compiled_cache import digest_of
from scribeline.errors import SearchError, WorkingError
from scribeline.geometry.work_out import work_out
from scribeline.plan.merits import FINE, SEARCH, Road, Speeds, Swept, merits_of, sweep_many
from scribeline.plan.search import Design, Found, Judge, Option, Tried, Variable, nondominated, search
from scribeline.plan.search_finalists import (
    WORTH,
    Tolerance,
    changed_geometry,
    choose,
    pruned,
    still_apart,
    tolerances,
    worth_their_metal,
)
from scribeline.plan.search_goals import Goal, road_for, speeds_for
from scribeline.plan.search_judging import SIMULATED, Conflict, PlanSearch
from scribeline.plan.search_space import REACHES, Space, metal_mm
from scribeline.plan.search_workers import Workers
from scribeline.plan.stacks import PLACES, Place, range_of, solve
from scribeline.plan.steps import Step

MOST_PLANS = 8
NOTHING_KEPT = (
    "stopped before the first engine was simulated: nothing was found yet; a journal of before stays as it is\n"
    "    accepted: a search that may go on for a few seconds; from then on all it finds is kept\n"
    "    what to do: give the same command again"
)
DRAWS = 6
WORTH_PROCESSES = 300
"""Evaluations from which on worker processes are begun: at 200 they cost as much as they save (docs/performance.md), at
2,000 they save a quarter. In between judgement."""
Progress = Callable[[str, int, int, str], bool | None]
"""Told what is being done, how much of it is done, of how much, and the best so far in words; True stops."""


@dataclass(frozen=True)
class PlanFound:
    """One plan. merits, curve : at the fine setting; quick : merits at the setting for searches

    gain : of the goal's number over today's engine; of_gain, of_metal : shares of the most that any plan gains and cuts
    geometry : name of a card's number -> before and after, those that change
    lost : name of what is done -> how much of the goal's number goes when it alone is left out, at the quick setting
    quick_gain : the gain at the quick setting, which the tolerance is of
    """

    steps: tuple[Step, ...]
    design: Design
    metal_mm: float
    merits: Mapping[str, float]
    quick: Mapping[str, float]
    curve: Swept
    gain: float
    of_gain: float
    of_metal: float
    geometry: Mapping[str, tuple[float, float]]
    tolerance: Tolerance
    lost: Mapping[str, float]
    quick_gain: float

    @property
    def least_gain(self) -> float:
        """The gain where it came out worst by hand: the fine figure with the spread of the quick setting."""
        return self.gain + self.tolerance.least - self.quick_gain

    @property
    def most_gain(self) -> float:
        """The gain where it came out best."""
        return self.gain + self.tolerance.most - self.quick_gain


@dataclass(frozen=True)
class Searched:
    """What a search came to. plans : gentlest first; before, curve : today's engine at the fine setting

    conflicts : where no design keeps all limits, what would have to give, the least first
    finished : False where it was interrupted: the plans are the best so far
    """

    goal: Goal
    speeds: Speeds
    space: Space
    road: Road | None
    before: Mapping[str, float]
    curve: Swept
    plans: tuple[PlanFound, ...]
    conflicts: tuple[Conflict, ...]
    evaluated: int
    refused: int
    generations: int
    finished: bool
    seconds: float

    @property
    def best(self) -> PlanFound | None:
        """The plan that gains most."""
        return max(self.plans, key=lambda one: one.gain, default=None)

    @property
    def reached(self) -> bool:
        """Whether a plan comes to what was asked for at least; True where nothing was."""
        best = self.best
        return self.goal.least is None or (best is not None and best.merits[self.goal.merit] >= self.goal.least)


def find_plans(
    space: Space,
    goal: Goal,
    *,
    kept: Sequence[str] = ("low_nm",),
    evaluations: int = 2000,
    most_plans: int = MOST_PLANS,
    draws: int = DRAWS,
    seed: int = 1,
    journal: Path | None = None,
    journals: Path | None = None,
    cores: int = 2,
    apart: bool | None = None,
    speeds: Speeds | None = None,
    progress: Progress | None = None,
) -> Searched:
    """Search for plans towards a goal and say what is left of each when it is made by hand.

    evaluations : engines simulated at most; draws : engines drawn for the tolerance of each plan
    journal : file in which everything evaluated is kept, to go on from; journals : a folder in which it gets a name of
    its own where none is given, so that the same search goes on by itself; progress : see `Progress`
    cores : how many to use; apart : whether designs are judged in so many processes, and not in threads of this one, by
    default where `evaluations` are enough to pay for starting them (WORTH_PROCESSES). The result is the same.
    KeyboardInterrupt ends the search early and the plans are the best so far. Raises SearchError where today's engine
    cannot be simulated over the goal's speeds.
    """
    start = time.monotonic()
    record = space.record
    over = speeds or speeds_for(goal, record)
    one = PlanSearch(space, goal, over, road_for(goal, record), tuple(kept), cores)
    if apart is None:
        apart = cores > 1 and evaluations >= WORTH_PROCESSES

    def told(found: Found, most: int) -> bool | None:
        return progress("searching", len(found.tried), most, _best_words(found, one)) if progress else None

    with Workers(cores if apart else 0) as workers:  # they start while today's engine is simulated
        try:
            (today,) = sweep_many([record], over.points, SEARCH, side_by_side=False, held=one.begun)
        except KeyboardInterrupt:
            raise SearchError(NOTHING_KEPT) from None
        one.quick_before.update(merits_of(today, over, one.road))
        if not isfinite(one.quick_before[goal.merit]):
            raise SearchError(
                f"today's engine gives no curve over {over.points[0]:g} to {over.points[-1]:g} rev/min: "
                + "; ".join(today.why_not[:1])
                + "\n    accepted: an engine that `scribeline curve` simulates\n    what to do: look at its curve first"
            )
        workers.begin(one)
        kept_in = journal or (journals / f"{purpose(one, seed)}.json" if journals else None)
        found = search(
            space.variables, workers.judge, aims=len(one.aimed) + 1, limits=len(SIMULATED), first=starts(space),
            evaluations=evaluations, seed=seed, journal=kept_in, purpose=purpose(one, seed), progress=told,
        )  # fmt: skip
        if not found.finished and not found.tried:
            raise SearchError(NOTHING_KEPT)
        return finish(one, found, workers.judge, most_plans, draws, seed, progress, time.monotonic() - start)


def finish(
    one: PlanSearch,
    found: Found,
    judge: Judge,
    most_plans: int,
    draws: int,
    seed: int,
    progress: Progress | None,
    seconds: float,
) -> Searched:
    """Confirm the finalists of a search, score them over the tolerance, and put the gentlest first."""
    start = time.monotonic()
    record, goal, space = one.space.record, one.goal, one.space
    finalists = []
    lost: dict[str, Mapping[str, float]] = {}
    for tried, losses in pruned(one, choose(one, found.front(), most_plans), judge):
        if repr(tried.design) not in lost:
            finalists.append(tried)
            lost[repr(tried.design)] = losses
    builds = [space.built(tried.design) for tried in finalists]

    def told(what: str) -> Callable[[int, int], bool | None] | None:
        return (lambda done, of: progress(what, done, of, "")) if progress else None

    fine = list(
        sweep_many([record, *builds], one.speeds.points, FINE, threads=one.threads, progress=told("confirming"))
    )
    merits = [merits_of(curve, one.speeds, one.road) for curve in fine]
    before = merits[0]
    worth = [
        i
        for i in range(len(finalists))
        if merits[i + 1][goal.merit] - before[goal.merit] > WORTH * abs(before[goal.merit])
        and max(one.simulated_limits(builds[i], merits[i + 1])) <= max(0.0, *one.simulated_limits(record, before))
    ]
    aims = np.array([_aims(one, merits[i + 1], finalists[i]) for i in worth])
    kept = [i for i in nondominated(aims) if i in worth_their_metal(aims)] if worth else []
    apart = still_apart(one, [replace(finalists[worth[i]], aims=tuple(map(float, aims[i]))) for i in kept])
    worth = [worth[kept[i]] for i in apart]
    made = tolerances(one, [finalists[i] for i in worth], draws, seed, told("as it may come out"))
    most_gain = max((merits[i + 1][goal.merit] - before[goal.merit] for i in worth), default=0.0)
    best = max(worth, key=lambda i: merits[i + 1][goal.merit], default=None)
    plans = []
    for i, tolerance in zip(worth, made, strict=True):
        steps = space.steps(finalists[i].design)
        metal = metal_mm(steps, record)
        at_best = metal_mm(space.steps(finalists[best].design), record) if best is not None else 0.0
        gain = merits[i + 1][goal.merit] - before[goal.merit]
        plans.append(
            PlanFound(
                steps,
                finalists[i].design,
                metal,
                merits[i + 1],
                finalists[i].data,
                fine[i + 1],
                gain,
                gain / most_gain,
                metal / at_best if at_best > 0.0 else float("nan"),
                changed_geometry(record, builds[i]),
                tolerance,
                lost[repr(finalists[i].design)],
                -finalists[i].aims[0] - one.quick_before[goal.merit],
            )
        )
    plans.sort(key=lambda plan: (plan.metal_mm, len(plan.steps), -plan.gain))
    nothing = not any(tried.allowed for tried in found.tried)
    conflicts = one.smallest_conflicts(one.met(found), judge=judge) if nothing else []
    return Searched(
        goal, one.speeds, space, one.road, before, fine[0], tuple(plans), tuple(conflicts), len(found.tried),
        len(found.refused), found.generations, found.finished, seconds + time.monotonic() - start,
    )  # fmt: skip


def starts(space: Space) -> list[dict[str, float | str]]:
    """Designs to begin with: today's engine, the gentlest ways to set the squish, each thing alone, half and whole."""
    first: list[dict[str, float | str]] = [{}]
    names = {variable.name for variable in space.variables}
    places: list[Place] = [place for place in PLACES if place in names]
    try:
        stacks = solve(work_out(space.record), space.box, asked=range_of(space.table), places=places).found[:4]
    except (SearchError, WorkingError):
        stacks = ()
    squish: list[dict[str, float | str]] = []
    for stack in stacks:
        design: dict[str, float | str] = {}
        for step in stack.steps(places[0] if places else PLACES[0], space.record):
            design[step.do] = step.choice or _rounded_up(step.do, step.amount or 0.0)
        if set(design) <= names:
            squish.append(design)
    first += squish
    for variable in space.variables:
        alone: list[dict[str, float | str]] = [{variable.name: end} for end in _ends(variable)]
        first += alone
        if squish:
            first += [{**squish[0], **design} for design in alone[:1] if not set(design) & set(squish[0])]
    return first


def _ends(variable: Variable) -> tuple[float, ...] | tuple[str, ...]:
    """The first two choices, or half and all of an amount, shorter as well as longer where it goes both ways."""
    if isinstance(variable, Option):
        return variable.options[1:3]
    both = (0.5 * variable.most, variable.most, 0.5 * variable.low, variable.low)
    return tuple(end for end in both if end != 0.0)


def purpose(one: PlanSearch, seed: int) -> str:
    """What a journal is for: everything that a result of this search depends on, the program itself included."""
    told = (
        digest_of(("kernels", "models", "cycle", "geometry", "engine", "plan")),
        one.space.record.model_dump_json(), one.space.box.model_dump_json(), repr(one.space.variables), one.goal.typed,
        repr(one.speeds), repr(one.kept), repr(one.space.mend), repr(one.space.table), repr(SEARCH), str(seed),
    )  # fmt: skip
    return hashlib.sha256("\n".join(told).encode()).hexdigest()[:32]


def _aims(one: PlanSearch, merits: Mapping[str, float], tried: Tried) -> tuple[float, ...]:
    return (*(-merits[key] for key in one.aimed), tried.aims[-1])


def _best_words(found: Found, one: PlanSearch) -> str:
    best = max((t.data[one.goal.merit] for t in found.tried if t.allowed), default=float("nan"))
    merit = one.goal.number
    gain = best - one.quick_before[one.goal.merit]
    return f"best so far {best:.{merit.digits}f} {merit.unit} ({gain:+.{merit.digits}f})" if isfinite(best) else ""


def _rounded_up(operation: str, amount: float) -> float:
    step = REACHES[operation].step
    return round(float(np.ceil(amount / step - 1e-9)) * step, 9)
