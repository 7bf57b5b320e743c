"""Long work on a plan in hand, as functions that a worker process runs: both curves, and who limits what.

Each tells how far it is, asks now and then whether it should stop, and keeps what it has in a file at every stage
(`plan_kept`): the page that asked for it, the worker and the server may all be gone by then.
"""

import math
import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
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
from scribeline.tasks.plan_curves import curves_document, curves_drawing, has_come
from scribeline.tasks.plan_kept import keep, kept
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

    So is every fine speed as soon as both engines have ended there: whatever was kept of this very plan by this very
    program, and cut off, goes on from there. Returns the last document, None where it was stopped before there was
    any. ScribelineError where neither engine can be simulated.
    """
    after = carry_out(record, plan.steps, plan.box)
    told, same = _Teller(tell, stopped), record == after
    document = _begun(place, of, record, after)
    mine = {of, (kept(place, "curve") or {}).get("of")}

    def keep_it(found: dict[str, Any]) -> dict[str, Any]:
        now = kept(place, "curve")
        if now is not None and now["of"] not in mine:  # of another plan: nobody waits for this one any more
            raise _StopError
        return _kept(place, tell, found)

    try:
        speeds = tuple(usual_speeds(record))
        few = speeds[::2]
        if document is None:
            coarse = _both(record, after, few, SEARCH, told.of("quick curves", " speeds"))
            document = keep_it(_document(of, "coarse", few, coarse, same))
        if not has_come(document, of, "fine") and upto != "coarse":

            def part(done: Sequence[float]) -> None:
                nonlocal document
                if len(done) < len(speeds):
                    document = keep_it(_in_part(of, record, after, few, speeds, done))

            fine = _both(record, after, speeds, FINE, told.of("fine curves", " speeds"), part)
            document = keep_it(_document(of, "fine", speeds, fine, same))
        if has_come(document, of, upto):
            return document
        fine = _both(record, after, speeds, FINE, told.of("fine curves", " speeds"))
        widths, engines, whole = _widths(record, plan, few, told.of("what your measuring leaves open", " engines"))
        at = [np.interp(speeds, few, one) for one in widths]
        document = _document(of, "band", speeds, fine, same, (at[0], at[1], at[2]), engines, whole=whole)
        return keep_it(document)
    except _StopError:
        return document


def _begun(place: Path, of: str, record: EngineRecord, after: EngineRecord) -> dict[str, Any] | None:
    """What is kept of this very plan by this very program, its figures remembered; None where nothing is."""
    document = kept(place, "curve")
    if document is None or not has_come(document, of, "coarse"):
        return None
    for which, one in (("before", record), ("after", after)):
        margins = document["margins"][0 if which == "before" else 1]
        for speed, power, margin in zip(document["speeds"], document[which], margins, strict=True):
            if power is not None and margin is not None:  # why another has no result is found out once more
                of_setting = _figures.setdefault((one, speed in document["fine"]), {})
                of_setting.setdefault(speed, _Figure(power, margin))
    return document


def _document(
    of: str, stage: str, speeds: Sequence[float], both: "_Both", same: bool,
    widths: tuple[Sequence[float], Sequence[float], Sequence[float]] | None = None, engines: int = 0,
    fine: Sequence[float] | None = None, fine_of: int = 0, *, whole: bool = True,
) -> dict[str, Any]:  # fmt: skip
    for which, one in zip(("as it is", "after the plan"), both, strict=True):
        if not any(math.isfinite(figure.power_kw) for figure in one):
            why = next((figure.why_not for figure in one if figure.why_not), "no speed came to a sound end")
            raise CycleError(f"the engine {which} gives no curve: {why}")
    said = list(dict.fromkeys(figure.why_not for one in both for figure in one if figure.why_not))[:3]
    before, after = ([figure.power_kw for figure in one] for one in both)
    margins = [[figure.margin for figure in one] for one in both]
    return curves_document(
        of, stage, speeds, before, after, (margins[0], margins[1]), widths, engines=engines, same=same, said=said,
        fine=fine if fine is not None else speeds if stage != "coarse" else (), fine_of=fine_of or len(speeds),
        whole=whole,
    )  # fmt: skip


def _in_part(
    of: str, record: EngineRecord, after: EngineRecord, few: Sequence[float], speeds: Sequence[float],
    done: Sequence[float],
) -> dict[str, Any]:  # fmt: skip
    """The fine speeds that are done, and the quick curves at the others."""
    fine = set(done)
    quick = [speed for speed in few if all(speed in _figures.get((one, False), ()) for one in (record, after))]
    here = sorted({*quick, *fine})
    both = [[_figures[one, speed in fine][speed] for speed in here] for one in (record, after)]
    return _document(
        of, "part", here, (both[0], both[1]), record == after, fine=done, fine_of=len(speeds), whole=False
    )  # fmt: skip


def _kept(place: Path, tell: Tell, document: dict[str, Any]) -> dict[str, Any]:
    drawing = inline_drawing(curves_drawing(document))
    document["drawing"] = {"svg": drawing.svg, "wide_mm": drawing.wide_mm, "title": drawing.title}
    keep(place, "curve", document)
    tell({"kept": "curve", "stage": document["stage"]})
    return document


@dataclass(frozen=True)
class _Figure:
    """One engine at one speed; nan, and why, where it came to no sound end."""

    power_kw: float
    margin: float
    why_not: str = ""


_Both = tuple[Sequence[_Figure], Sequence[_Figure]]
_figures: dict[tuple[EngineRecord, bool], dict[float, _Figure]] = {}
"""Of engines that were simulated, quickly and finely: today's stays the same while the plan changes."""


def _both(
    record: EngineRecord, after: EngineRecord, speeds: tuple[float, ...], settings: Settings, progress: "_Progress",
    part: Callable[[Sequence[float]], None] | None = None,
) -> _Both:  # fmt: skip
    """Both engines at the speeds. part : called with those at which both have ended, whenever that is one more."""
    fine, lock, told = settings == FINE, threading.Lock(), 0
    if len(_figures) > 40:
        for key in [key for key in _figures if key[0] not in (record, after)]:
            del _figures[key]
    of = [_figures.setdefault((one, fine), {}) for one in (record, after)]
    wanted = [one for one in dict.fromkeys((record, after)) if not _figures[one, fine].keys() >= set(speeds)]
    known = set(speeds).intersection(*(_figures[one, fine] for one in wanted))

    def reached(place: int, at: Swept) -> None:
        nonlocal told
        with lock:  # a thread for each engine
            _remember(_figures[wanted[place], fine], at)
            done = [speed for speed in speeds if all(speed in one for one in of)]
            if len(done) > told:
                told = len(done)
                if part is not None:
                    part(done)
                progress(told, len(speeds))

    swept = sweep_many(wanted, speeds, settings, side_by_side=False, reached=reached, leave_out=known) if wanted else ()
    for one, row in zip(wanted, swept, strict=True):
        _remember(_figures[one, fine], row)
    return [of[0][speed] for speed in speeds], [of[1][speed] for speed in speeds]


def _remember(figures: dict[float, _Figure], swept: Swept) -> None:
    """Take in speeds that are not known yet."""
    why = swept.why_not[0] if swept.why_not else ""
    rows = zip(swept.speeds_rpm.tolist(), swept.power_kw.tolist(), swept.octane_margin.tolist(), strict=True)
    for speed, power, margin in rows:
        figures.setdefault(speed, _Figure(power, margin, "" if math.isfinite(power) else why))


def _widths(
    record: EngineRecord, plan: Plan, speeds: tuple[float, ...], progress: "_Progress"
) -> tuple[list[np.ndarray[Any, Any]], int, bool]:
    """The +/- of before, after and what lies between them, from engines that share their errors before and after.

    Also how many engines it is from, and whether those are all: stopped, it is from half of them at least.
    """
    pairs: list[EngineRecord] = []
    for number in range(3 * ENGINES):
        if len(pairs) == 2 * ENGINES:
            break
        try:
            drawn = drawn_within(record, number)
            pairs += [drawn, carry_out(drawn, plan.steps, plan.box)]
        except ScribelineError:  # a cut at its very end may not fit every engine within the +/-
            continue
    rows: list[np.ndarray[Any, Any]] = []
    whole = True

    def of_engines(done: int, count: int) -> bool | None:
        return progress(done // 2, count // 2)

    try:
        for one in sweep_many(pairs, speeds, SEARCH, progress=of_engines):
            rows.append(one.power_kw)  # those before a stop are wanted
    except _StopError:
        if len(rows) < ENGINES:
            raise
        whole = False
    powers = np.array(rows[: len(rows) // 2 * 2])
    before, after = powers[0::2], powers[1::2]
    if len(before) < 2:
        return [np.full(len(speeds), math.nan)] * 3, 0, whole
    with np.errstate(invalid="ignore"):
        widths = [COVERAGE_FACTOR * one.std(axis=0, ddof=1) for one in (before, after, after - before)]
    return widths, len(before), whole


def who(
    place: Path, of: str, record: EngineRecord, plan: Plan, *, tell: Tell, stopped: Stopped
) -> dict[str, Any] | None:
    """Who limits what: of the plan's own steps, or of the best single thing of each group where it has too few.

    Kept once it is whole, or was stopped with all that it needs but for its +/-. Returns None where it was stopped
    before. SearchError where fewer than two groups change anything.
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
        doing = told.of("ports or pipe? all combinations")

        def combinations(done: int, count: int) -> bool:
            try:
                doing(done, count)
            except _StopError:
                return True
            return False

        found = who_limits_of(record, steps, plan.box, goal, progress=combinations)
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
        "of": of, "own": own, "goal": goal.typed, "drawn": found.drawn, "stopped": found.stopped,
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

    def of(self, words: str, what: str = "") -> _Progress:
        def progress(done: int, count: int) -> bool | None:
            self.tell({"doing": words, "done": done, "of": count, "what": what})
            if self.stopped():
                raise _StopError
            return None

        return progress
