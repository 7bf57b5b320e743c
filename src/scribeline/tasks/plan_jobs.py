"""Long work on a plan in hand, as functions that a worker process runs: both curves, and who limits what.

Each tells how far it is, asks now and then whether it should stop, and keeps what it has in a file at every stage
(`plan_kept`): the page that asked for it, the worker and the server may all be gone by then.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from scribeline.cycle.simulate import Settings
from scribeline.engine import COVERAGE_FACTOR, EngineRecord
from scribeline.errors import CycleError, ScribelineError, SearchError
from scribeline.plan.carry_out import carry_out
from scribeline.plan.merits import FINE, SEARCH, Swept, sweep_many
from scribeline.plan.search_alone import alone
from scribeline.plan.search_goals import goal_of, road_for, speeds_for
from scribeline.plan.search_judging import PlanSearch
from scribeline.plan.search_space import USUAL_TOOLS, group_of, space_for
from scribeline.plan.steps import Plan
from scribeline.plan.who_limits import answer
from scribeline.plan.within import drawn_within
from scribeline.tasks.curve import usual_speeds
from scribeline.tasks.inline_drawings import inline_drawing
from scribeline.tasks.plan_curves import curves_document, curves_drawing
from scribeline.tasks.plan_kept import keep
from scribeline.tasks.search import who_limits_of
from scribeline.tasks.search_page import who_drawing

Tell = Callable[[Mapping[str, Any]], object]
Stopped = Callable[[], bool]
ENGINES = 12
"""Engines within the +/- of the readings for the band: a standard deviation from so many is good to about 20 %."""
_WITHOUT_GOAL = "most"


def curves(
    place: Path, of: str, record: EngineRecord, plan: Plan, upto: str = "coarse", *, tell: Tell, stopped: Stopped
) -> dict[str, Any] | None:
    """Power before and after a plan: first coarse, then as far as `upto` of `plan_curves.STAGES`; each is kept.

    Returns the last document, None where it was stopped before there was any. ScribelineError where neither engine can
    be simulated.
    """
    after = carry_out(record, plan.steps, plan.box)
    told = _Teller(tell, stopped)
    document: dict[str, Any] | None = None
    try:
        speeds = usual_speeds(record)
        few = tuple(speeds[::2])
        coarse = _both(record, after, few, SEARCH, told.of("quick curves"))
        document = _kept(place, tell, _document(of, "coarse", few, coarse, record == after))
        if upto == "coarse":
            return document
        fine = _both(record, after, tuple(speeds), FINE, told.of("fine curves"))
        document = _kept(place, tell, _document(of, "fine", speeds, fine, record == after))
        if upto == "fine":
            return document
        widths, engines = _widths(record, plan, few, told.of("what your measuring leaves open"))
        at = [np.interp(speeds, few, one) for one in widths]
        document = _document(of, "band", speeds, fine, record == after, (at[0], at[1], at[2]), engines)
        return _kept(place, tell, document)
    except _StopError:
        return document


def _document(
    of: str, stage: str, speeds: Sequence[float], both: tuple[Swept, Swept], same: bool,
    widths: tuple[Sequence[float], Sequence[float], Sequence[float]] | None = None, engines: int = 0,
) -> dict[str, Any]:  # fmt: skip
    before, after = both
    for which, one in (("as it is", before), ("after the plan", after)):
        if not np.isfinite(one.power_kw).any():
            why = one.why_not[0] if one.why_not else "no speed came to a sound end"
            raise CycleError(f"the engine {which} gives no curve: {why}")
    said = list(dict.fromkeys((*before.why_not, *after.why_not)))[:3]
    return curves_document(
        of, stage, speeds, before.power_kw.tolist(), after.power_kw.tolist(),
        (before.octane_margin.tolist(), after.octane_margin.tolist()), widths, engines=engines, same=same, said=said,
    )  # fmt: skip


def _kept(place: Path, tell: Tell, document: dict[str, Any]) -> dict[str, Any]:
    drawing = inline_drawing(curves_drawing(document))
    document["drawing"] = {"svg": drawing.svg, "wide_mm": drawing.wide_mm, "title": drawing.title}
    keep(place, "curve", document)
    tell({"kept": "curve", "stage": document["stage"]})
    return document


def _both(
    record: EngineRecord, after: EngineRecord, speeds: tuple[float, ...], settings: Settings, progress: "_Progress"
) -> tuple[Swept, Swept]:
    """Both engines; today's is remembered, as it stays the same while the plan changes."""
    key = (record, speeds, settings == FINE)
    wanted = [one for one in (record, after) if (one, *key[1:]) not in _swept]
    found = sweep_many(wanted, speeds, settings, progress=progress, side_by_side=False)
    for one, swept in zip(wanted, found, strict=True):
        if len(_swept) > 40:
            _swept.clear()
        _swept[one, *key[1:]] = swept
    return _swept[key], _swept[after, *key[1:]]


_swept: dict[tuple[EngineRecord, tuple[float, ...], bool], Swept] = {}


def _widths(
    record: EngineRecord, plan: Plan, speeds: tuple[float, ...], progress: "_Progress"
) -> tuple[list[np.ndarray[Any, Any]], int]:
    """The +/- of before, after and what lies between them, from engines that share their errors before and after."""
    pairs: list[EngineRecord] = []
    for number in range(3 * ENGINES):
        if len(pairs) == 2 * ENGINES:
            break
        try:
            drawn = drawn_within(record, number)
            pairs += [drawn, carry_out(drawn, plan.steps, plan.box)]
        except ScribelineError:  # a cut at its very end may not fit every engine within the +/-
            continue
    powers = np.array([one.power_kw for one in sweep_many(pairs, speeds, SEARCH, progress=progress)])
    before, after = powers[0::2], powers[1::2]
    if len(before) < 2:
        return [np.full(len(speeds), math.nan)] * 3, 0
    with np.errstate(invalid="ignore"):
        return [COVERAGE_FACTOR * one.std(axis=0, ddof=1) for one in (before, after, after - before)], len(before)


def who(
    place: Path, of: str, record: EngineRecord, plan: Plan, *, tell: Tell, stopped: Stopped
) -> dict[str, Any] | None:
    """Who limits what: of the plan's own steps, or of the best single thing of each group where it has too few.

    Kept once it is whole. Returns None where it was stopped. SearchError where fewer than two groups change anything.
    """
    told = _Teller(tell, stopped)
    goal = goal_of(plan.wanted.goal or _WITHOUT_GOAL)
    steps, own = plan.steps, len({group_of(step) for step in plan.steps}) > 1
    try:
        if not own:
            told.of("the best single thing of each group")(0, 1)
            tools = USUAL_TOOLS if plan.wanted.tools is None else plan.wanted.tools
            space = space_for(record, plan.box, tools, plan.wanted.keep, table=plan.limits)
            steps = alone(PlanSearch(space, goal, speeds_for(goal, record), road_for(goal, record)))
        found = who_limits_of(record, steps, plan.box, goal, progress=told.of("ports or pipe? all combinations"))
    except _StopError:
        return None
    except SearchError:
        if stopped():
            return None
        raise
    if found is None:
        raise SearchError(
            "fewer than two groups change anything\n    accepted: steps of two groups, such as ports and pipe\n"
            "    what to do: add a step of another group, or allow more tools"
        )
    drawing = inline_drawing(who_drawing(found))
    document = {
        "of": of, "own": own, "goal": goal.typed, "drawn": found.drawn,
        "groups": dict(found.groups), "answers": [answer(one) for one in found.shares],
        "drawing": {"svg": drawing.svg, "wide_mm": drawing.wide_mm, "title": drawing.title},
    }  # fmt: skip
    keep(place, "who", document)
    tell({"kept": "who"})
    return document


_Progress = Callable[[int, int], bool | None]


class _StopError(Exception):
    """The builder asked for an end."""


class _Teller:
    """Tells progress in words, and ends the work where that was asked for."""

    def __init__(self, tell: Tell, stopped: Stopped) -> None:
        self.tell, self.stopped = tell, stopped

    def of(self, words: str) -> _Progress:
        def progress(done: int, count: int) -> bool | None:
            self.tell({"doing": words, "done": done, "of": count})
            if self.stopped():
                raise _StopError
            return None

        return progress
