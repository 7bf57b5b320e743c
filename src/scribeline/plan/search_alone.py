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
    by_group: dict[str, list[Design]] = {group: [] for group in GROUPS}
    seen = set()
    for start in starts(one.space):
        design = {name: value for name, value in start.items() if value != 0.0}
        groups = {group_of(step) for step in one.space.steps(design)}
        if len(groups) == 1 and repr(sorted(design.items())) not in seen and not one.refuse(design):
            seen.add(repr(sorted(design.items())))
            by_group[groups.pop()].append(design)
    flat = [(group, design) for group, designs in by_group.items() for design in designs]
    tried: dict[str, list[Tried]] = {}
    for (group, _), got in zip(flat, one.evaluate([design for _, design in flat]), strict=True):
        if isfinite(got.aims[0]) and got.allowed:
            tried.setdefault(group, []).append(got)
    best = [min(found, key=lambda t: t.aims[0]) for found in tried.values()]
    return tuple(step for got in best for step in one.space.steps(got.design))
