"""The finalists of a search for plans: few that differ, nothing idle in them, each as a hand would make it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import isfinite

import numpy as np

from scribeline.engine import EngineRecord
from scribeline.errors import GeometryError, PlanError, RecordError, WorkingError
from scribeline.geometry.work_out import work_out
from scribeline.geometry.working import FloatArray
from scribeline.plan.carry_out import carry_out
from scribeline.plan.merits import SEARCH, merits_of, sweep_many
from scribeline.plan.search import Design, Judge, Tried
from scribeline.plan.search_judging import PlanSearch
from scribeline.plan.search_space import AS_IT_IS, REACHES, Space, beyond
from scribeline.plan.steps import Step
from scribeline.plan.within import drawn_within

WORTH = 0.004
"""Share of today's figure by which a plan must be better to be told at all. Judgement: about what the setting for
searches is unsure by when it compares two engines (docs/performance-cycle.md)."""
DIFFERENT = 0.15
"""How far two plans must lie apart to be told both: 1 is from nothing to the most of everything. Judgement."""
LEAST_SHARE = 0.1
"""Share of the most gain that the gentlest plan must bring. Judgement."""
IDLE = 0.05
"""Share of a plan's gain below which something it does is not worth doing. Judgement."""
GEOMETRY = (
    "exhaust_duration_deg", "transfer_duration_deg", "blowdown_deg", "intake_duration_deg", "compression_ratio_trapped",
    "squish_gap_mm", "squish_velocity_max_m_s",
)  # fmt: skip


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


def choose(one: PlanSearch, front: Sequence[Tried], most: int) -> list[Tried]:
    """A few designs of a front that really differ.

    The one that gains most comes first and the gentlest with a share of LEAST_SHARE of its gain next; then, again and
    again, the one that lies farthest from all that were taken, by gain, metal, what is kept and what is done; until
    `most` are taken or the farthest is nearer than DIFFERENT.
    """
    today = one.quick_before[one.goal.merit]
    worth = [tried for tried in front if -tried.aims[0] - today > WORTH * abs(today)]
    if not worth:
        return []
    aims = np.array([tried.aims for tried in worth])
    taken = [int(np.argmin(aims[:, 0]))]
    most_gain = -aims[taken[0], 0] - today
    enough = np.flatnonzero(-aims[:, 0] - today >= LEAST_SHARE * most_gain)
    gentlest = int(enough[np.lexsort((aims[enough, 0], aims[enough, -1]))[0]])
    if gentlest not in taken and most > 1:
        taken.append(gentlest)
    return [worth[i] for i in _apart(one, worth, taken, most)]


def worth_their_metal(aims: FloatArray) -> list[int]:
    """Rows that are better in something, by WORTH of it, than every row that takes less metal (the last column).

    A plan that does the same for more metal is no choice. The one that gains most (the first column) always stays.
    """
    best = int(np.argmin(aims[:, 0]))
    kept = []
    for i, row in enumerate(aims):
        gentler = aims[aims[:, -1] < row[-1] - 1e-9]
        as_good = (gentler[:, :-1] <= row[:-1] + WORTH * np.abs(row[:-1])).all(axis=1)
        if i == best or not as_good.any():
            kept.append(i)
    return kept


def still_apart(one: PlanSearch, finalists: Sequence[Tried]) -> list[int]:
    """Which of the finalists still differ: two that lay apart can have become one when what was idle was left out.

    The one that gains most and the gentlest stay, then again the farthest, as in `choose`. In their own order.
    """
    if not finalists:
        return []
    aims = np.array([tried.aims for tried in finalists])
    taken = list(dict.fromkeys((int(np.argmin(aims[:, 0])), int(np.lexsort((aims[:, 0], aims[:, -1]))[0]))))
    return sorted(_apart(one, finalists, taken, len(finalists)))


def _apart(one: PlanSearch, tried: Sequence[Tried], taken: Sequence[int], most: int) -> list[int]:
    """Those taken, then again and again the farthest from all taken, until `most` or nearer than DIFFERENT."""
    aims = np.array([each.aims for each in tried])
    span = np.ptp(aims, axis=0)
    scaled = (aims - aims.min(axis=0)) / np.where(span > 0.0, span, 1.0)
    done = np.array([[_how_far(one.space, each.design, i) for i in range(len(one.space.variables))] for each in tried])
    features, found = np.hstack([scaled, 0.5 * done]), list(taken)
    while len(found) < min(most, len(tried)):
        away = np.min([np.linalg.norm(features - features[i], axis=1) for i in found], axis=0)
        if away.max() < DIFFERENT:
            break
        found.append(int(away.argmax()))
    return found


def pruned(
    one: PlanSearch, finalists: Sequence[Tried], judge: Judge | None = None
) -> list[tuple[Tried, Mapping[str, float]]]:
    """Each design without what brings next to nothing, and what each thing that is left brings.

    Everything done is left out once, alone. What loses less than IDLE of the gain goes, all of it at once; if the rest
    gains less than 1 - IDLE of what it did, or passes a limit, only the idlest goes. What remains out of limits without
    it (a gasket that sets the squish) stays. judge : who does it; in this process where left out
    """
    today = one.quick_before[one.goal.merit]
    without = [
        {v.name: _left_out(tried.design, [v.name]) for v in one.space.variables if _done(tried.design, v.name)}
        for tried in finalists
    ]
    known = _simulated(one, judge, [design for designs in without for design in designs.values()])
    losses: list[dict[str, float]] = []
    smaller: list[list[Design]] = []
    for tried, designs in zip(finalists, without, strict=True):
        value = -tried.aims[0]
        alone = {name: known[repr(design)] for name, design in designs.items() if repr(design) in known}
        loss = {name: value + other.aims[0] for name, other in alone.items()}
        idle = [name for name, other in alone.items() if other.allowed and loss[name] < IDLE * (value - today)]
        losses.append(loss)
        idlest = [min(idle, key=lambda name: loss[name])] if idle else []
        smaller.append([_left_out(tried.design, names) for names in (idle, idlest) if names])
    outcome = _simulated(one, judge, [design for designs in smaller for design in designs])
    results: list[tuple[Tried, Mapping[str, float]]] = []
    for tried, loss, tries in zip(finalists, losses, smaller, strict=True):
        wanted = today + (1.0 - IDLE) * (-tried.aims[0] - today)
        found = (outcome[repr(design)] for design in tries if repr(design) in outcome)
        new = next((other for other in found if other.allowed and -other.aims[0] >= wanted), tried)
        results.append((new, {name: lost for name, lost in loss.items() if _done(new.design, name)}))
    return results


def _simulated(one: PlanSearch, judge: Judge | None, designs: Sequence[Design]) -> dict[str, Tried]:
    """Of these designs those that limits allow, by their text; each once."""
    each = [*{repr(design): design for design in designs}.values()]
    verdicts = (verdict for _, verdict in (judge or one.judge)(each, len(each)))
    return {repr(verdict.design): verdict for verdict in verdicts if isinstance(verdict, Tried)}


def _done(design: Design, name: str) -> bool:
    return design[name] not in (0.0, AS_IT_IS)


def _left_out(design: Design, names: Sequence[str]) -> Design:
    return {
        name: value if name not in names else AS_IT_IS if isinstance(value, str) else 0.0
        for name, value in design.items()
    }


def tolerances(
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
                over = beyond(work_out(made, draws=0), {}, one.space.table)
            except (PlanError, RecordError, GeometryError, WorkingError):
                unmade[i] += 1
                continue
            for name in kept:
                if over[name] > 0.0:
                    passed[i][name] = passed[i].get(name, 0) + 1
            places.append((k, i, len(builds)))
            builds.append(made)
    curves = list(
        sweep_many(builds, one.speeds.points, SEARCH, threads=one.threads, progress=progress, begun=one.begun or None)
    )
    values = [merits_of(curve, one.speeds, one.road)[one.goal.merit] for curve in curves]
    gains: list[list[float]] = [[] for _ in finalists]
    for k, i, at in places:
        gain = values[at] - values[k]
        if isfinite(gain):
            gains[i].append(gain)
        else:
            unmade[i] += 1
    return [Tolerance(tuple(gains[i]), passed[i], unmade[i]) for i in range(len(finalists))]


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


def _how_far(space: Space, design: Design, number: int) -> float:
    """0 where a thing is left as it is, 1 where it is done as far as the search goes, or swapped."""
    variable = space.variables[number]
    value = design[variable.name]
    if isinstance(value, str):
        return 0.0 if value == AS_IT_IS else 1.0
    return value / variable.most if not hasattr(variable, "options") else 0.0
