"""The link to the cycle: what the simulated curve of a record says the stopwatch should show, beside what it showed."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np
from scipy import special

from scribeline.cycle.simulate import Settings
from scribeline.engine import EngineRecord, read_record
from scribeline.errors import TrialError
from scribeline.models.moist_air import Air
from scribeline.tasks.curve import Curve, power_curve
from scribeline.tasks.trial_typed import gates_of
from scribeline.tasks.trial_vehicle import Vehicle, vehicle_of
from scribeline.tasks.trials import Shown
from scribeline.trials.describe import mean, scatter
from scribeline.trials.gates import Gate
from scribeline.trials.predict import Predicted, Unsure, predict_gate, predict_top_speed
from scribeline.trials.runs import counted, setups_of

CURVE_SHARE = 0.15
"""How far a simulated curve may be off, about 95 %: judgement, until engines of the notebook tell better."""


class Seen(NamedTuple):
    """What the runs of one setup took through a gate: mean [s], half its 95 % interval, number of runs."""

    setup: str
    mean: float
    half_width: float
    runs: int


Measured = Mapping[str, Sequence[Seen]]
"""By the gate's name, each setup: a trial names one build, and only who drove knows which setup that was."""


@dataclass(frozen=True)
class RoadPrediction:
    """What a curve says of the road: a time with its band for each gate, top speed, and what both rest on.

    gates : gate -> time [s], or the reason why there is none; top_m_s : top speed, or the reason
    rpm, power_kw : the simulated curve that it rests on, at the crank
    """

    name: str
    gates: tuple[tuple[Gate, Predicted | str], ...]
    top_m_s: Predicted | str
    assumed: tuple[str, ...]
    rpm: tuple[float, ...] = ()
    power_kw: tuple[float, ...] = ()


def predict_road(
    record: EngineRecord,
    gates: Sequence[Gate],
    air: Air | None = None,
    *,
    speeds_rpm: Sequence[float] | None = None,
    settings: Settings | None = None,
    vehicle: Vehicle | None = None,
    progress: Callable[[int, int], bool | None] | None = None,
) -> RoadPrediction:
    """Simulate a record and drive it through gates.

    vehicle : what a trial knows of it, None for what the record says. Raises CycleError and TrialError as the parts do.
    """
    curve = power_curve(record, speeds_rpm, settings, progress=progress)
    return road_of_curve(curve, vehicle or vehicle_of(record), gates, air)


def road_of_curve(curve: Curve, vehicle: Vehicle, gates: Sequence[Gate], air: Air | None = None) -> RoadPrediction:
    """The same from a curve that is there already."""
    points = [point for point in curve.points if point.result is not None]
    rpm = np.array([point.speed_rpm for point in points])
    power = np.maximum(np.array([point.got.power_w for point in points]), 0.0)
    machine = vehicle.machine(rpm, power, air)
    drive_share = vehicle.efficiency_pm / vehicle.efficiency
    unsure = Unsure(float(np.hypot(CURVE_SHARE, drive_share)), vehicle.load_pm_share, vehicle.inertia_pm_share)
    # The curve's lower end limits what can be driven only where no clutch slips below it.
    if machine.clutch_rpm and machine.clutch_rpm < rpm[0]:
        machine = replace(machine, clutch_rpm=float(rpm[0]))
    found: list[tuple[Gate, Predicted | str]] = []
    for gate in gates:
        try:
            found.append((gate, predict_gate(machine, gate, unsure)))
        except TrialError as error:
            found.append((gate, str(error).splitlines()[-1].strip()))
    try:
        top: Predicted | str = predict_top_speed(machine, unsure)
    except TrialError as error:
        top = str(error).splitlines()[0]
    assumed = (f"the curve may be off by {100 * CURVE_SHARE:g} %: judgement", *vehicle.assumed)
    kw = tuple(float(one) / 1e3 for one in power)
    return RoadPrediction(curve.name, tuple(found), top, assumed, tuple(map(float, rpm)), kw)


def prediction_text(found: RoadPrediction, measured: Measured | None = None) -> str:
    """The prediction as text, each setup that was measured on a line of its own."""
    lines = [f"{found.name}: simulated, and driven through its gearing"]
    rows = [("gate", "predicted", "band", "measured", "")]
    for gate, one in found.gates:
        for seen in (measured or {}).get(gate.name) or (None,):
            told = f"{seen.setup}: {seen.mean:.2f} s ±{seen.half_width:.2f} ({seen.runs} runs)" if seen else "-"
            if isinstance(one, str):
                rows.append((gate.name, "none", "", told, one))
                continue
            inside = ""
            if seen:
                inside = "inside the band" if one.low <= seen.mean <= one.high else "OUTSIDE the band"
            rows.append((gate.name, f"{one.value:.2f} s", f"{one.low:.2f} to {one.high:.2f}", told, inside))
    widths = [max(len(row[i]) for row in rows) for i in range(5)]
    lines += [("  " + "  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True))).rstrip() for row in rows]
    if isinstance(found.top_m_s, str):
        lines.append(f"  top speed: {found.top_m_s}")
    else:
        top = found.top_m_s
        remark = f"; {top.remarks[0]}" if top.remarks else ""
        lines.append(f"  top speed {3.6 * top.value:.0f} km/h ({3.6 * top.low:.0f} to {3.6 * top.high:.0f}){remark}")
    lines += [f"  - {one}" for one in found.assumed]
    return "\n".join(lines)


def prediction_json(found: RoadPrediction, measured: Measured | None = None) -> dict[str, Any]:
    """The same for a JSON document: seconds and m/s; `why_not` in place of what cannot be predicted."""

    def told(one: Predicted | str) -> dict[str, Any]:
        if isinstance(one, str):
            return {"why_not": one}
        return {"value": one.value, "low": one.low, "high": one.high, "remarks": list(one.remarks)}

    gates = []
    for gate, one in found.gates:
        beside = []
        for seen in (measured or {}).get(gate.name, ()):
            inside = None if isinstance(one, str) else bool(one.low <= seen.mean <= one.high)
            beside.append(seen._asdict() | {"inside": inside})
        gates.append({"gate": gate.name, "unit": "s", **told(one), "measured": beside})
    top = {"unit": "m/s", **told(found.top_m_s)}
    return {"name": found.name, "gates": gates, "top_speed": top, "assumed": list(found.assumed)}


def predicted_beside(
    shown: Shown, progress: Callable[[int, int], bool | None] | None = None
) -> tuple[RoadPrediction, Measured]:
    """The prediction for a trial's build, and the means of its runs beside it, as `prediction_text` takes them.

    Raises TrialError for a trial without a build, and as `predict_road` does.
    """
    record = driven_record(shown)
    state = shown.state
    found = predict_road(record, timed_gates(shown), state.air, vehicle=shown.vehicle, progress=progress)
    return found, seen_in(shown)


def driven_record(shown: Shown) -> EngineRecord:
    """The record of what was driven. Raises TrialError for a trial that does not say it."""
    if shown.record is None:
        raise TrialError(
            f"{shown.state.trial.name} names no build\n    accepted: a trial that was begun with --build\n"
            "    what to do: keep the record in the notebook, and begin the trial with it"
        )
    return shown.record


def timed_gates(shown: Shown) -> list[Gate]:
    """The gates that a trial has times for."""
    return [gate for one in shown.measured.measures if one.unit == "s" for gate in gates_of([one.key])]


def seen_in(shown: Shown, names: Sequence[str] | None = None) -> dict[str, list[Seen]]:
    """What the runs of each setup took of these measures, else of every gate, where two runs or more count."""
    seen: dict[str, list[Seen]] = {}
    for name in [one.key for one in shown.measured.measures if one.unit == "s"] if names is None else names:
        for setup in setups_of(shown.measured.runs):
            values = [run.measures[name].value for run in counted(shown.measured.runs, name, setup)]
            if len(values) > 1:
                half = float(special.stdtrit(len(values) - 1, 0.975)) * scatter(values) / len(values) ** 0.5
                seen.setdefault(name, []).append(Seen(setup, mean(values), half, len(values)))
    return seen


def predict_in_worker(
    record_toml: str, build: str, gates: Sequence[Gate], air: Air | None, vehicle: Vehicle | None = None, *,
    tell: Callable[[Any], object], stopped: Callable[[], bool],
) -> RoadPrediction:  # fmt: skip
    """`predict_road` as a worker process runs it; tells (points done, points in all)."""

    def progress(done: int, all_of_them: int) -> bool:
        tell((done, all_of_them))
        return stopped()

    return predict_road(read_record(record_toml, build), gates, air, vehicle=vehicle, progress=progress)
