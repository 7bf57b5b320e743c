"""From a goal to a handful of plans that really differ: searched at the quick setting, confirmed at the fine one.

1. Many designs are tried (`search`), limits first, each over nine speeds with long cells.
2. Of those that nothing beats, a few that differ are taken (`choose`).
3. Each is simulated again with the usual cells, and again as it may come out: readings drawn within their +/-, cuts
   made as a hand makes them. What is told of a plan is what is left of it then.
"""

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import isfinite
from pathlib import Path

import numpy as np

from scribeline.engine import EngineRecord
from scribeline.errors import GeometryError, PlanError, RecordError, SearchError, WorkingError
from scribeline.geometry.work_out import work_out
from scribeline.plan.carry_out import carry_out
from scribeline.plan.limits import MEAN_PISTON_SPEED_MAX_M_S
from scribeline.plan.merits import FINE, SEARCH, Road, Speeds, Swept, merits_of, sweep_many
from scribeline.plan.search import Design, Found, Tried, nondominated, search
from scribeline.plan.search_goals import Goal, road_for, speeds_for
from scribeline.plan.search_space import AS_IT_IS, REACHES, Space, beyond, metal_mm
from scribeline.plan.stacks import PLACES, Place, solve
from scribeline.plan.steps import Step
from scribeline.plan.within import drawn_within

MOST_PLANS = 12
DRAWS = 6
WORTH = 0.004
"""Share of today's figure by which a plan must be better to be told at all. Judgement: about what the setting for
searches is unsure by when it compares two engines (docs/performance-cycle.md)."""
DIFFERENT = 0.12
"""How far two plans must lie apart to be told both: 1 is from nothing to the most of everything. Judgement."""
_BAD = 1e6
Progress = Callable[[str, int, int, str], bool | None]
"""Told what is being done, how much of it is done, of how much, and the best so far in words; True stops."""


@dataclass(frozen=True)
class Tolerance:
    """A plan as it may come out.

    gains : of the goal's number against the same engine before, one for each engine that was drawn
    passed : limit -> in how many of them it is passed that today's engine keeps; unmade : how many could not be built
    """

    gains: tuple[float, ...]
    passed: Mapping[str, int]
    unmade: int = 0

    @property
    def drawn(self) -> int:
        return len(self.gains) + self.unmade

    @property
    def least(self) -> float:
        return min(self.gains, default=float("nan"))

    @property
    def most(self) -> float:
        return max(self.gains, default=float("nan"))


@dataclass(frozen=True)
class PlanFound:
    """One plan. merits, curve : at the fine setting; quick : merits at the setting for searches

    gain : of the goal's number over today's engine; of_gain, of_metal : shares of the most that any plan gains and cuts
    geometry : name of a card's number -> before and after, those that change
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


@dataclass(frozen=True)
class Conflict:
    """Limits that a design passes, by how much each, and the steps that come that near."""

    passed: Mapping[str, float]
    steps: tuple[Step, ...]


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


@dataclass
class PlanSearch:
    """A search for plans of one engine. kept : further numbers to keep high while the goal's is raised."""

    space: Space
    goal: Goal
    speeds: Speeds
    road: Road | None
    kept: tuple[str, ...] = ("low_nm",)
    threads: int = 2
    quick_before: dict[str, float] = field(default_factory=dict)
    conflicts: dict[tuple[str, ...], Conflict] = field(default_factory=dict)
    _passed: dict[str, dict[str, float]] = field(default_factory=dict)

    @property
    def aimed(self) -> tuple[str, ...]:
        """Numbers that should be high, the goal's first."""
        return (self.goal.merit, *(key for key in self.kept if key != self.goal.merit))

    def refuse(self, design: Design) -> tuple[float, ...]:
        """By how much limits are passed, relative to what each allows; empty where all are kept."""
        key = repr(sorted(design.items()))
        if key not in self._passed:
            passed = self._passed[key] = self.space.passed(design)
            names = tuple(sorted(passed))
            if names and (names not in self.conflicts or _size(passed) < _size(self.conflicts[names].passed)):
                self.conflicts[names] = Conflict(passed, self.space.steps(design))
        return tuple(self._passed[key].values())

    def evaluate(self, designs: Sequence[Design]) -> Iterator[Tried]:
        """Simulate designs at the setting for searches."""
        records = [self.space.built(design) for design in designs]
        curves = sweep_many(records, self.speeds.points, SEARCH, threads=self.threads)
        for design, record, curve in zip(designs, records, curves, strict=True):
            yield self.judged(design, record, merits_of(curve, self.speeds, self.road))

    def judged(self, design: Design, record: EngineRecord, merits: Mapping[str, float]) -> Tried:
        """Aims and limits of a simulated design: more of what is aimed at, less metal; knock and piston in bounds."""
        steps = self.space.steps(design)
        metal = metal_mm(steps, record)
        if not isfinite(merits[self.goal.merit]):
            return Tried(design, (_BAD,) * (len(self.aimed) + 1), (1.0, 1.0), dict(merits))
        aims = (*(-merits[key] for key in self.aimed), metal + 0.01 * len(steps))
        return Tried(design, aims, self.simulated_limits(record, merits), dict(merits))

    def simulated_limits(self, record: EngineRecord, merits: Mapping[str, float]) -> tuple[float, float]:
        """By how much the knock margin falls below 0, and the piston passes its speed, further than they do today."""
        knock = -merits["octane_margin"] - max(0.0, -self.quick_before.get("octane_margin", 0.0))
        stroke_m = record.crank.stroke_mm.value / 1000.0
        today = 2.0 * stroke_m * self.quick_before.get("middle_rpm", 0.0) / 60.0
        piston = 2.0 * stroke_m * merits["middle_rpm"] / 60.0 - max(MEAN_PISTON_SPEED_MAX_M_S, today)
        return knock - 1e-9, piston - 1e-9


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
    threads: int = 2,
    speeds: Speeds | None = None,
    progress: Progress | None = None,
) -> Searched:
    """Search for plans towards a goal and say what is left of each when it is made by hand.

    evaluations : engines simulated at most; draws : engines drawn for the tolerance of each plan
    journal : file in which everything evaluated is kept, to go on from; progress : see `Progress`
    KeyboardInterrupt ends the search early and the plans are the best so far. Raises SearchError where today's engine
    cannot be simulated over the goal's speeds.
    """
    start = time.monotonic()
    record = space.record
    over = speeds or speeds_for(goal, record)
    one = PlanSearch(space, goal, over, road_for(goal, record), tuple(kept), threads)
    (today,) = sweep_many([record], over.points, SEARCH, threads=threads)
    one.quick_before.update(merits_of(today, over, one.road))
    if not isfinite(one.quick_before[goal.merit]):
        raise SearchError(
            f"today's engine gives no curve over {over.points[0]:g} to {over.points[-1]:g} rev/min: "
            + "; ".join(today.why_not[:1])
            + "\n    accepted: an engine that `scribeline curve` simulates\n    what to do: look at its curve first"
        )

    def told(found: Found, most: int) -> bool | None:
        return progress("searching", len(found.tried), most, _best_words(found, one)) if progress else None

    found = search(
        space.variables, one.evaluate, aims=len(one.aimed) + 1, limits=2, refuse=one.refuse, first=starts(space),
        evaluations=evaluations, seed=seed, journal=journal, purpose=purpose(one, seed), progress=told,
    )  # fmt: skip
    return finish(one, found, most_plans, draws, seed, progress, time.monotonic() - start)


def finish(
    one: PlanSearch,
    found: Found,
    most_plans: int,
    draws: int,
    seed: int,
    progress: Progress | None,
    seconds: float,
) -> Searched:
    """Confirm the finalists of a search, score them over the tolerance, and put the gentlest first."""
    start = time.monotonic()
    record, goal, space = one.space.record, one.goal, one.space
    finalists = choose(one, found.front(), most_plans)
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
    worth = [worth[i] for i in nondominated(aims)] if worth else []
    tolerances = _tolerances(one, [finalists[i] for i in worth], draws, seed, told("as it may come out"))
    most_gain = max((merits[i + 1][goal.merit] - before[goal.merit] for i in worth), default=0.0)
    best = max(worth, key=lambda i: merits[i + 1][goal.merit], default=None)
    plans = []
    for i, tolerance in zip(worth, tolerances, strict=True):
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
            )
        )
    plans.sort(key=lambda plan: (plan.metal_mm, len(plan.steps), -plan.gain))
    nothing = not any(tried.allowed for tried in found.tried)
    conflicts = sorted(one.conflicts.values(), key=lambda c: (len(c.passed), _size(c.passed)))[:3] if nothing else []
    return Searched(
        goal, one.speeds, space, one.road, before, fine[0], tuple(plans), tuple(conflicts), len(found.tried),
        found.refused, found.generations, found.finished, seconds + time.monotonic() - start,
    )  # fmt: skip


def choose(one: PlanSearch, front: Sequence[Tried], most: int) -> list[Tried]:
    """A few designs of a front that really differ.

    The one that gains most comes first; then, again and again, the one that lies farthest from all that were taken, by
    gain, metal, what is kept and what is done; until `most` are taken or the farthest is nearer than DIFFERENT.
    """
    today = one.quick_before[one.goal.merit]
    worth = [tried for tried in front if -tried.aims[0] - today > WORTH * abs(today)]
    if not worth:
        return []
    aims = np.array([tried.aims for tried in worth])
    span = np.ptp(aims, axis=0)
    scaled = (aims - aims.min(axis=0)) / np.where(span > 0.0, span, 1.0)
    done = np.array(
        [[_how_far(one.space, tried.design, i) for i in range(len(one.space.variables))] for tried in worth]
    )
    features = np.hstack([scaled, 0.5 * done])
    taken = [int(np.argmin(aims[:, 0]))]
    while len(taken) < min(most, len(worth)):
        away = np.min([np.linalg.norm(features - features[i], axis=1) for i in taken], axis=0)
        if away.max() < DIFFERENT:
            break
        taken.append(int(away.argmax()))
    return [worth[i] for i in taken]


def starts(space: Space) -> list[dict[str, float | str]]:
    """Designs to begin with: today's engine, the gentlest ways to set the squish, each thing alone, half and whole."""
    first: list[dict[str, float | str]] = [{}]
    names = {variable.name for variable in space.variables}
    places: list[Place] = [place for place in PLACES if place in names]
    try:
        stacks = solve(work_out(space.record), space.box, places=places).found[:4]
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
        ends = variable.options[1:] if hasattr(variable, "options") else (0.5 * variable.most, variable.most)
        alone = [{variable.name: end} for end in ends[:2]]
        first += alone
        if squish:
            first += [{**squish[0], **design} for design in alone[:1] if not set(design) & set(squish[0])]
    return first


def changed_geometry(record: EngineRecord, after: EngineRecord) -> dict[str, tuple[float, float]]:
    """Timing, compression and squish before and after, those that change by more than rounding."""
    was, now = work_out(record, draws=0).values, work_out(after, draws=0).values
    found = {}
    for name in GEOMETRY:
        a, b = was.get(name), now.get(name)
        if a is None or b is None or a.value is None or b.value is None:
            continue
        if abs(b.value - a.value) > 1e-3 * max(abs(a.value), 1.0):
            found[name] = (a.value, b.value)
    return found


GEOMETRY = (
    "exhaust_duration_deg", "transfer_duration_deg", "blowdown_deg", "intake_duration_deg", "compression_ratio_trapped",
    "squish_gap_mm", "squish_velocity_max_m_s",
)  # fmt: skip


def by_hand(steps: Sequence[Step], rng: np.random.Generator) -> tuple[Step, ...]:
    """The steps as a hand makes them: each amount off by a normal step, two standard deviations its tolerance."""
    made = []
    for step in steps:
        if step.amount is None or step.do not in REACHES:
            made.append(step)
            continue
        amount = step.amount + 0.5 * REACHES[step.do].plus_minus * float(rng.standard_normal())
        made.append(replace(step, amount=max(amount, 0.0) if REACHES[step.do].low >= 0.0 else amount))
    return tuple(made)


def purpose(one: PlanSearch, seed: int) -> str:
    """What a journal is for: everything that a result of this search depends on."""
    import hashlib

    told = (
        one.space.record.model_dump_json(), one.space.box.model_dump_json(), repr(one.space.variables), one.goal.typed,
        repr(one.speeds), repr(one.kept), repr(one.space.mend), repr(SEARCH), str(seed),
    )  # fmt: skip
    return hashlib.sha256("\n".join(told).encode()).hexdigest()[:32]


def _tolerances(
    one: PlanSearch,
    finalists: Sequence[Tried],
    draws: int,
    seed: int,
    progress: Callable[[int, int], bool | None] | None,
) -> list[Tolerance]:
    """Each finalist made `draws` times on engines within the +/-; the same engines for all."""
    if not finalists:
        return []
    engines = [drawn_within(one.space.record, number, seed) for number in range(draws)]
    builds: list[EngineRecord] = list(engines)
    places: list[tuple[int, int, int]] = []
    passed: list[dict[str, int]] = [{} for _ in finalists]
    unmade = [0] * len(finalists)
    kept = [name for name, by in one.space.before.items() if by <= 0.0]
    for k, engine in enumerate(engines):
        for i, tried in enumerate(finalists):
            steps = by_hand(one.space.steps(tried.design), np.random.default_rng([seed, k, i]))
            try:
                made = carry_out(engine, steps, one.space.box)
                over = beyond(work_out(made, draws=0), {})
            except (PlanError, RecordError, GeometryError, WorkingError):
                unmade[i] += 1
                continue
            for name in kept:
                if over[name] > 0.0:
                    passed[i][name] = passed[i].get(name, 0) + 1
            places.append((k, i, len(builds)))
            builds.append(made)
    curves = list(sweep_many(builds, one.speeds.points, SEARCH, threads=one.threads, progress=progress))
    values = [merits_of(curve, one.speeds, one.road)[one.goal.merit] for curve in curves]
    gains: list[list[float]] = [[] for _ in finalists]
    for k, i, at in places:
        gain = values[at] - values[k]
        if isfinite(gain):
            gains[i].append(gain)
        else:
            unmade[i] += 1
    return [Tolerance(tuple(gains[i]), passed[i], unmade[i]) for i in range(len(finalists))]


def _aims(one: PlanSearch, merits: Mapping[str, float], tried: Tried) -> tuple[float, ...]:
    return (*(-merits[key] for key in one.aimed), tried.aims[-1])


def _best_words(found: Found, one: PlanSearch) -> str:
    best = max((t.data[one.goal.merit] for t in found.tried if t.allowed), default=float("nan"))
    merit = one.goal.number
    gain = best - one.quick_before[one.goal.merit]
    return f"best so far {best:.{merit.digits}f} {merit.unit} ({gain:+.{merit.digits}f})" if isfinite(best) else ""


def _how_far(space: Space, design: Design, number: int) -> float:
    """0 where a thing is left as it is, 1 where it is done as far as the search goes, or swapped."""
    variable = space.variables[number]
    value = design[variable.name]
    if isinstance(value, str):
        return 0.0 if value == AS_IT_IS else 1.0
    return value / variable.most if not hasattr(variable, "options") else 0.0


def _rounded_up(operation: str, amount: float) -> float:
    step = REACHES[operation].step
    return round(float(np.ceil(amount / step - 1e-9)) * step, 9)


def _size(passed: Mapping[str, float]) -> float:
    return sum(passed.values())
