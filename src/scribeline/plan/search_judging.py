"""How a design is judged in a search for plans: limits first, then the few numbers that are aimed at."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from math import isfinite

from scribeline.engine import EngineRecord
from scribeline.plan.limits import MEAN_PISTON_SPEED_MAX_M_S
from scribeline.plan.merits import SEARCH, Road, Speeds, merits_of, sweep_many
from scribeline.plan.search import Design, Tried
from scribeline.plan.search_goals import Goal
from scribeline.plan.search_space import Space, metal_mm
from scribeline.plan.steps import Step

_BAD = 1e6


@dataclass(frozen=True)
class Conflict:
    """Limits that a design passes, by how much each, and the steps that come that near."""

    passed: Mapping[str, float]
    steps: tuple[Step, ...]


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
            if names and (names not in self.conflicts or size(passed) < size(self.conflicts[names].passed)):
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


def size(passed: Mapping[str, float]) -> float:
    """How far limits are passed, all together; only to compare two designs that pass the same ones."""
    return sum(passed.values())
