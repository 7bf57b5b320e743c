"""Of each group of changes the single thing that does most by itself, where nobody has a plan yet."""

from math import isfinite

from scribeline.plan.merits import SEARCH, merits_of, sweep_many
from scribeline.plan.search import Design, Tried
from scribeline.plan.search_judging import PlanSearch
from scribeline.plan.search_plans import starts
from scribeline.plan.search_space import GROUPS, group_of
from scribeline.plan.steps import Step


def alone(one: PlanSearch) -> tuple[Step, ...]:
    """Steps of the best design of each group, of those that touch one group only: each thing half and whole.

    Limits are kept. The best of a group counts even where it brings less than nothing: that, too, is an answer.
    """
    (today,) = sweep_many([one.space.record], one.speeds.points, SEARCH, side_by_side=False, held=one.begun)
    one.quick_before.update(merits_of(today, one.speeds, one.road))
    asked: dict[str, tuple[str, Design]] = {}
    for start in starts(one.space):
        design = {name: value for name, value in start.items() if value != 0.0}
        groups = {group_of(step) for step in one.space.steps(design)}
        if len(groups) == 1:
            asked.setdefault(repr(sorted(design.items())), (groups.pop(), design))
    by_group, designs = zip(*asked.values(), strict=True) if asked else ((), ())
    tried: dict[str, list[Tried]] = {group: [] for group in GROUPS}
    for number, got in sorted(one.judge(designs, len(designs)), key=lambda told: told[0]):
        if isinstance(got, Tried) and isfinite(got.aims[0]) and got.allowed:
            tried[by_group[number]].append(got)
    best = [min(found, key=lambda t: t.aims[0]) for found in tried.values() if found]
    return tuple(step for got in best for step in one.space.steps(got.design))
