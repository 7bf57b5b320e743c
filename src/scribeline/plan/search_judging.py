"""How a design is judged in a search for plans: limits first, then the few numbers that are aimed at."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from math import inf, isfinite

from scribeline.cycle.simulate import Running
from scribeline.engine import EngineRecord
from scribeline.geometry.work_out import WorkedOut, work_out
from scribeline.plan.limits import limits, simulated_limits
from scribeline.plan.merits import SEARCH, Road, Speeds, Swept, merits_of, sweep_many
from scribeline.plan.search import Design, Found, Judge, Option, Refused, Tried, Variable, Verdict
from scribeline.plan.search_goals import Goal
from scribeline.plan.search_relaxing import Known, smallest_relaxation
from scribeline.plan.search_space import NO_ENGINE, Space, metal_mm
from scribeline.plan.steps import Step

_BAD = 1e6
SIMULATED = ("knock_margin_octane", "mean_piston_speed_m_s", "speed_under_redline_rpm")
"""Limits that are held against a simulated curve, in the order of `PlanSearch.simulated_limits`."""
MOST_SIMULATED = 120
"""Designs simulated to make one conflict smaller; some four rounds of changes to each thing. Judgement: ten seconds."""


@dataclass(frozen=True)
class Conflict:
    """Limits that a design passes, by how much each, and the steps that come that near."""

    passed: Mapping[str, float]
    steps: tuple[Step, ...]
    design: Design = field(default_factory=dict)


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
    begun: list[Running | None] = field(default_factory=list)
    """Today's engine as it stands at each speed, for designs to start from; without it, from the slower neighbour."""
    _bounds: dict[str, float] = field(default_factory=dict)

    @property
    def aimed(self) -> tuple[str, ...]:
        """Numbers that should be high, the goal's first."""
        return (self.goal.merit, *(key for key in self.kept if key != self.goal.merit))

    def looked_at(self, design: Design) -> Refused | WorkedOut:
        """A design worked out where limits allow it."""
        passed, out = self.space.looked_at(design)
        return Refused(design, passed) if out is None or passed else out

    def judge(self, designs: Sequence[Design], most: int) -> Iterator[tuple[int, Verdict]]:
        """Judge in this process, see `search.Judge`: simulating begins while limits of the next are looked at."""
        refused: list[tuple[int, Refused]] = []
        allowed: list[tuple[int, WorkedOut]] = []

        def worked_out() -> Iterator[WorkedOut]:
            for number, design in enumerate(designs):
                out = self.looked_at(design)
                if isinstance(out, Refused):
                    refused.append((number, out))
                elif len(allowed) < most:
                    allowed.append((number, out))
                    yield out

        curves = sweep_many(worked_out(), self.speeds.points, SEARCH, threads=self.threads, begun=self.begun or None)
        for done, curve in enumerate(curves):
            number, out = allowed[done]
            yield number, self.judged(designs[number], out.record, curve)
        yield from refused

    def judged(self, design: Design, record: EngineRecord, curve: Swept) -> Tried:
        """Aims and limits of a simulated design: more of what is aimed at, less metal; knock and piston in bounds."""
        merits = merits_of(curve, self.speeds, self.road)
        steps = self.space.steps(design)
        metal = metal_mm(steps, record)
        if not isfinite(merits[self.goal.merit]):
            return Tried(design, (_BAD,) * (len(self.aimed) + 1), (1.0,) * len(SIMULATED), dict(merits))
        aims = (*(-merits[key] for key in self.aimed), metal + 0.01 * len(steps))
        return Tried(design, aims, self.simulated_limits(record, merits), dict(merits))

    def simulated_limits(self, record: EngineRecord, merits: Mapping[str, float]) -> tuple[float, float, float]:
        """By how much the limits of SIMULATED are passed further than they are today, each as the builder set it.

        The piston's speed is that of the middle of the band above 90 % of most power. So is the redline's, and where
        a top speed is asked for the crank speed at which it is reached.
        """
        bounds = {one.name: one for one in (*simulated_limits(self.space.table), *limits(record, self.space.table))}
        margin, speed, under = (bounds.get(name) for name in SIMULATED)
        least = -inf if margin is None or margin.low is None else margin.low
        most = inf if speed is None or speed.high is None else speed.high
        knock = least - merits["octane_margin"]
        knock -= max(0.0, least - self.quick_before.get("octane_margin", inf))
        stroke_m = record.crank.stroke_mm.value / 1000.0
        today = 2.0 * stroke_m * self.quick_before.get("middle_rpm", 0.0) / 60.0
        piston = 2.0 * stroke_m * merits["middle_rpm"] / 60.0 - max(most, today)
        redline = record.drivetrain.redline_rpm
        fastest = inf if under is None or under.low is None or redline is None else redline.value - under.low
        turning = self._turning(merits) - max(fastest, self._turning(self.quick_before))
        return knock - 1e-9, piston - 1e-9, turning - 1e-9

    def _turning(self, merits: Mapping[str, float]) -> float:
        middle = merits.get("middle_rpm", 0.0)
        if self.goal.merit != "top_km_h" or self.road is None or "top_km_h" not in merits:
            return middle
        return max(middle, merits["top_km_h"] / self.road.km_h_per_rpm)

    def met(self, found: Found) -> list[Conflict]:
        """Of each set of limits that designs of a search passed, what passes them least."""
        least: dict[tuple[str, ...], Conflict] = {}
        verdicts: list[Verdict] = [*found.refused, *found.tried]
        for one in verdicts:
            passed = self._over(one)
            names = tuple(sorted(passed or ()))
            if passed and (names not in least or size(passed) < size(least[names].passed)):
                least[names] = Conflict(passed, self.space.steps(one.design), one.design)
        return [*least.values()]

    def _over(self, verdict: Verdict) -> dict[str, float] | None:
        """By how much limits are passed, by name; None where a design came to no curve."""
        if isinstance(verdict, Refused):
            return {name: by for name, by in verdict.passed.items() if by > 0.0}
        if not isfinite(verdict.data[self.goal.merit]):
            return None
        return {name: by for name, by in zip(SIMULATED, verdict.passed, strict=True) if by > 0.0}

    def smallest_conflicts(self, met: Iterable[Conflict], most: int = 3, judge: Judge | None = None) -> list[Conflict]:
        """What would have to give, the least first (`share`): over all limits together, then each of these alone.

        met : what the search did (`met`). It is among those compared, moved for as long as less is passed (`least`);
        where a limit of the simulated curve is passed by `judge`, and without one it comes back as it is. Of two sets
        of limits one of which holds the other, the larger is told only where it asks for less.
        """
        bounds, known = self.bounds(), Known()
        compared = [*met]
        first = smallest_relaxation(self.space, bounds, known=known)
        simulated = any(set(one.passed) & set(SIMULATED) for one in compared)
        if first is not None and not first.passed and not simulated:
            return [Conflict({}, self.space.steps(first.design), first.design)]
        if first is not None and first.passed:
            only = first.passed if len(first.passed) > 1 else ()
            alone = [smallest_relaxation(self.space, bounds, [name], known) for name in only]
            found = [one for one in (first, *alone) if one is not None and one.passed]
            compared += [Conflict(one.passed, self.space.steps(one.design), one.design) for one in found]
        best: dict[tuple[str, ...], Conflict] = {}
        for one in sorted(compared, key=self.share):
            best.setdefault(tuple(sorted(one.passed)), one)
        # the nearest few are moved; whoever holds another set and asks for no less is left out
        nearest = sorted(best.values(), key=lambda one: (NO_ENGINE in one.passed, self.share(one)))[: 2 * most]
        moved = [self.least_simulated(one, judge) if set(one.passed) & set(SIMULATED) else self.least(one)
                 for one in nearest]  # fmt: skip
        ranked = sorted(moved, key=lambda one: (NO_ENGINE in one.passed, self.share(one)))
        told: list[Conflict] = []
        for one in ranked:
            if not any(set(other.passed) <= set(one.passed) for other in told):
                told.append(one)
        return told[:most]

    def share(self, conflict: Conflict) -> float:
        """How far limits are passed, each as a share of its own bound, added up: millimetres and degrees in one.

        Where the bound is 0, of the number as it is today, or of 1 in its unit.
        """
        bounds = self.bounds()
        return sum(by / bounds.get(name, 1.0) for name, by in conflict.passed.items())

    def bounds(self) -> dict[str, float]:
        """What a share of each limit is of: its bound, or the number as it is today, or 1 in its unit."""
        if self._bounds:
            return self._bounds
        table, record = self.space.table, self.space.record
        bounds = {one.name: one.high if one.low is None else one.low for one in
                  (*limits(record, table), *simulated_limits(table))}  # fmt: skip
        values = work_out(record, draws=0).values

        def whole(name: str) -> float:
            worked = values.get(name)
            today = worked.value if worked is not None else None
            return abs(bounds[name] or 0.0) or abs(today or 0.0) or 1.0

        self._bounds.update({name: whole(name) for name in bounds})
        return self._bounds

    def least(self, conflict: Conflict, most_looks: int = 200) -> Conflict:
        """A conflict with what is needless left out and the rest moved for as long as limits are passed by less.

        Each thing in turn is left out, changed by one step or by ten, or swapped for every other choice; no other
        limit may come to be passed. By geometry alone, for limits that geometry knows.
        """
        names, at, looks = set(conflict.passed), dict(conflict.design), 0
        cost = self._cost
        now, moved = (cost(at, conflict.passed), conflict.passed), True
        while moved and looks < most_looks:
            moved = False
            for variable in self.space.variables:
                for value in _beside(variable, at.get(variable.name, 0.0)):
                    looks += 1
                    other = {**at, variable.name: value}
                    passed = self.space.passed(other)
                    if set(passed) <= names and passed and (new := cost(other, passed)) < now[0]:
                        at, now, moved = other, (new, passed), True
        return Conflict(now[1], self.space.steps(at), at)

    def least_simulated(self, conflict: Conflict, judge: Judge | None, most: int = MOST_SIMULATED) -> Conflict:
        """As `least`, for limits of the simulated curve: every change of one thing is simulated, and the best is taken.

        So on until none is better or `most` were simulated. Passed is empty where one keeps all limits after all.
        """
        names, at, passed = set(conflict.passed), dict(conflict.design), conflict.passed
        seen: set[str] = set()
        while judge is not None and passed and most > 0:
            beside = {repr(sorted(design.items())): design for variable in self.space.variables
                      for value in _beside(variable, at.get(variable.name, 0.0))
                      for design in ({**at, variable.name: value},)}  # fmt: skip
            new = [design for key, design in beside.items() if key not in seen]
            seen |= set(beside)
            verdicts = [verdict for _, verdict in judge(new, most)]
            most -= sum(isinstance(verdict, Tried) for verdict in verdicts)
            over = [(verdict.design, self._over(verdict)) for verdict in verdicts]
            allowed = [(self._cost(design, by), repr(design), design, by)
                       for design, by in over if by is not None and set(by) <= names]  # fmt: skip
            if not allowed or min(allowed)[0] >= self._cost(at, passed):
                break
            _, _, best, passed = min(allowed)
            at = dict(best)
        return Conflict(passed, self.space.steps(at), at)

    def _cost(self, design: Design, passed: Mapping[str, float]) -> tuple[float, float, int]:
        """What is compared: how far limits are passed, then metal, then how much there is to do."""
        steps = self.space.steps(design)
        return round(self.share(Conflict(passed, steps)), 9), metal_mm(steps, self.space.record), len(steps)


def _beside(variable: Variable, value: float | str) -> list[float | str]:
    if isinstance(variable, Option):
        return [option for option in variable.options if option != value]
    now = float(value)
    steps = (now + k * variable.step for k in (-1, 1, -10, 10))
    inside = [round(one, 9) for one in steps if variable.low <= one <= variable.most and abs(one) >= variable.least]
    return [0.0, *inside] if now else list(inside)


def size(passed: Mapping[str, float]) -> float:
    """How far limits are passed, all together; only to compare two designs that pass the same ones."""
    return sum(passed.values())
