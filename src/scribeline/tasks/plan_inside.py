"""One revolution opened up for the plan page: lines through one turn and waves in the pipe, as it is and after.

Kept as a document, as everything that takes a while (`plan_kept`). Drawings that name lengths are kept in both units.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from scribeline.engine import EngineRecord
from scribeline.errors import CycleError
from scribeline.marking.shapes import Drawing
from scribeline.plan.carry_out import carry_out
from scribeline.plan.steps import Plan
from scribeline.tasks.curve import COLUMNS
from scribeline.tasks.inline_drawings import inline_drawing
from scribeline.tasks.pipe_on_page import LEAST_RPM, MOST_RPM
from scribeline.tasks.plan_aim import goal_parts
from scribeline.tasks.plan_kept import keep
from scribeline.tasks.trace import Trace, states, trace, turn_drawing, waves_begin, waves_drawing
from scribeline.tasks.trace_more import over_drawing
from scribeline.units import Units, read_quantity

BEFORE, AFTER = "as it is", "after the plan"
STATE_HEADS = ("", "cylinder, bar", "crankcase, bar", "pipe at the port, bar", "fresh in the cylinder, %")
_BOTH: tuple[Units, ...] = ("mm", "inch")


def inside_rpm(curve: Mapping[str, Any] | None, goal: str, record: EngineRecord) -> float:
    """A crank speed to begin with, rev/min: that of most power after the plan, else the middle of the goal's speeds.

    curve : what is kept of the power curves; None for nothing yet

    >>> inside_rpm({"speeds": [8000.0, 8500.0, 9000.0], "after": [9.1, 9.4, None]}, "", None)
    8500.0
    """
    pairs = zip(curve["after"], curve["speeds"], strict=True) if curve else ()
    best = max(((power, speed) for power, speed in pairs if power is not None), default=None)
    if best is not None:
        return float(best[1])
    parts = goal_parts(goal, record)
    assert parts.first is not None
    assert parts.last is not None
    return round(0.5 * (parts.first + parts.last), -1)


def speed_typed(typed: str) -> float:
    """A typed crank speed, rev/min. TypedValueError where it is no number, CycleError where no engine is simulated."""
    speed = read_quantity(typed, "rpm").value
    if not LEAST_RPM <= speed <= MOST_RPM:
        raise CycleError(
            f"one revolution at {speed:g} rev/min\n    accepted: {LEAST_RPM:g} to {MOST_RPM:g} rev/min\n"
            "    what to do: type another speed"
        )
    return speed


def inside(
    place: Path, of: str, record: EngineRecord, plan: Plan, speed_rpm: float, *,
    tell: Callable[[Mapping[str, Any]], object], stopped: Callable[[], bool],
) -> dict[str, Any] | None:  # fmt: skip
    """Open one speed up, of the engine as it is and, where the plan has steps, of the planned one; and keep it.

    Returns what is kept, None where it was stopped. CycleError where an engine cannot be simulated at this speed.
    """
    engines = {BEFORE: record} | ({AFTER: carry_out(record, plan.steps, plan.box)} if plan.steps else {})
    traces: dict[str, Trace] = {}
    for done, (which, engine) in enumerate(engines.items()):
        tell({"doing": f"one revolution, {which}", "done": done, "of": len(engines) + 1})
        if stopped():
            return None
        try:
            traces[which] = trace(engine.model_copy(update={"name": which}), speed_rpm)
        except CycleError as error:
            raise CycleError(f"the engine {which} cannot be looked into at {speed_rpm:g} rev/min: {error}") from None
    tell({"doing": "the drawings", "done": len(engines), "of": len(engines) + 1})
    drawings = {units: _drawings(traces, speed_rpm, units) for units in _BOTH}
    if stopped():
        return None
    document = {
        "of": of, "speed_rpm": speed_rpm, "drawings": drawings,
        "said": [f"What limits it, {which}: {one.point.limit}" for which, one in traces.items()],
        "careful": [f"{which}: {words}" for which, one in traces.items() for words in one.curve.remarks],
        "heads": ["", *traces], "rows": _rows(traces), "states": {which: _states(one) for which, one in traces.items()},
    }  # fmt: skip
    keep(place, "inside", document)
    tell({"kept": "inside"})
    return document


def _drawings(traces: Mapping[str, Trace], rpm: float, units: Units) -> list[dict[str, Any]]:
    """Both engines over each other first, then the waves of each, then every line of each."""
    turns: list[Drawing] = []
    waves: list[Drawing] = []
    begin = min(map(waves_begin, traces.values()))
    for number, (which, one) in enumerate(traces.items()):
        turn, wave = turn_drawing(one), waves_drawing(one, units, begin)
        turns.append(
            replace(
                turn, name=f"inside-turn-{number}", title=f"Through one turn at {rpm:g} rev/min, {which}",
                description=f"Pressure, mass flow, temperature and purity against crank angle, {which}.",
            )
        )  # fmt: skip
        waves.append(replace(wave, name=f"inside-waves-{number}", title=f"{wave.title} at {rpm:g} rev/min, {which}"))
    over: list[Drawing] = []
    if len(traces) > 1:
        over.append(
            replace(
                over_drawing(traces[AFTER], traces[BEFORE]), name="inside-over",
                title=f"Through one turn at {rpm:g} rev/min: full lines after the plan, broken lines as it is",
                description="Pressures, flows and purity against crank angle; the events are those after the plan.",
            )
        )  # fmt: skip
    made = map(inline_drawing, (*over, *waves, *turns))
    return [{"svg": one.svg, "wide_mm": one.wide_mm, "title": one.title} for one in made]


def _rows(traces: Mapping[str, Trace]) -> list[list[str]]:
    return [
        [f"{c.heading}, {c.unit}" if c.unit else c.heading, *(f"{c.of(t.point):.{c.digits}f}" for t in traces.values())]
        for c in COLUMNS
    ]


def _states(one: Trace) -> list[list[str]]:
    return [
        [f"{words}, {deg:.1f}°", *(f"{bar:.2f}" for bar in bars), f"{100.0 * fresh:.0f}"]
        for words, deg, bars, fresh in states(one.recording)
    ]
