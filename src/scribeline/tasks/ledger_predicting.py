"""Keeping predictions when they are made: by hand, from a plan, from a simulated curve. Never changed afterwards.

`where` and `tell` are those of `scribeline.tasks.notebook`.
"""

import math
import uuid
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from scribeline import __version__
from scribeline.engine import read_record
from scribeline.errors import LedgerError
from scribeline.geometry.work_out import WorkedOut, work_out
from scribeline.learning import Prediction
from scribeline.notebook import LedgerEntryToKeep, Notebook, Revision, add_to_ledger
from scribeline.plan.order import in_order
from scribeline.plan.phrases import shown as step_words
from scribeline.plan.steps import Plan
from scribeline.plan.what_if import what_if
from scribeline.tasks.ledger_state import Promise, prediction_data, prediction_of
from scribeline.tasks.notebook import Tell, Where, opened, silently, user_name
from scribeline.tasks.plan_in_hand import plan_of_document

Progress = Callable[[int, int], bool | None]

_QUANTITIES = {
    "mm": "length", "deg": "crank angle", "ratio": "ratio", "cc": "volume", "mm2": "area", "share": "share",
    "s mm2": "time-area", "s/m": "time-area", "mm2 deg": "time-area", "m/s": "speed", "rpm": "speed", "km/h": "speed",
}  # fmt: skip
"""Numbers of the card that are counted together, by their unit; another one counts alone."""


@dataclass(frozen=True)
class Promised:
    """A prediction on its way into the journal. name : by which a measurement finds it."""

    prediction: Prediction
    name: str
    settings: Mapping[str, Any]


def keep_prediction(
    build: str,
    what: str,
    value: float,
    low: float,
    high: float,
    unit: str,
    *,
    quantity: str = "",
    came_from: str = "own judgement",
    revision: int | None = None,
    settings: Mapping[str, Any] | None = None,
    note: str = "",
    author: str | None = None,
    where: Where = None,
    tell: Tell = silently,
) -> Promise:
    """Keep one prediction, however it was made: what is foretold, its value and the ends of its band, about 95 %.

    quantity : what it is counted with in the ledger; `what` where left out
    came_from : by which way; only like is counted with like
    revision : the engine it starts from; the latest where None. Raises LedgerError for a band without its value
    """
    one = Promised(Prediction(quantity or what, what, unit, value, low, high, came_from, ""), what, settings or {})
    with opened(where, tell=tell) as notebook:
        number = notebook.revision(build, revision).number
        return _keep(notebook, build, number, [one], note, author)[0]


def keep_plan_predictions(
    build: str,
    plan: Plan,
    *,
    steps: int | None = None,
    revision: int | None = None,
    note: str = "",
    author: str | None = None,
    where: Where = None,
    tell: Tell = silently,
) -> list[Promise]:
    """Keep what a plan says of the card: every number that it moves, with the +/- of the readings as its band.

    steps : only so many of its steps, in the order they are done, where it is measured again after those; all where
    None. Raises PlanError where a step cannot be done, and LedgerError where the plan moves nothing.
    """
    with opened(where, tell=tell) as notebook:
        kept = notebook.revision(build, revision)
        first = in_order(plan.steps)[0][:steps]
        done = what_if(read_record(kept.record_toml, kept.build_name), replace(plan, steps=first))
        after = work_out(done.after.record)
        settings = {"plan": plan.name, "steps": [step_words(step) for step in done.steps]}
        moved = [one.name for one in done.moved if not one.inner]
        promised = [one for name in moved if (one := _of_card(after, name, settings)) is not None]
        if not promised:
            raise LedgerError(
                f"the plan {plan.name!r} moves no number of the card\n    accepted: a plan with a step that cuts or "
                "swaps something\n    what to do: add a step"
            )
        return _keep(notebook, build, kept.number, promised, note or f"Plan: {plan.name}", author)


def plan_of_work(document: Mapping[str, Any]) -> Plan:
    """The plan in hand, from the document of a desk. Raises PlanError, and LedgerError where it holds no step."""
    table = document.get("plan") or {}
    if not isinstance(table, Mapping) or not table.get("steps"):
        raise LedgerError(
            "there is no plan in hand\n    accepted: a plan with a step\n    what to do: go to the step Plan first"
        )
    return plan_of_document(table)


def keep_road_predictions(
    build: str,
    gates: Sequence[str],
    *,
    revision: int | None = None,
    plan: Plan | None = None,
    air: str | None = None,
    speeds_rpm: Sequence[float] | None = None,
    note: str = "",
    author: str | None = None,
    progress: Progress | None = None,
    where: Where = None,
    tell: Tell = silently,
) -> list[Promise]:
    """Simulate a revision, drive it through gates, and keep what comes out: gate times, most power, top speed.

    Arguments and errors are those of `road_predictions`.
    """
    with opened(where, tell=tell) as notebook:
        kept = notebook.revision(build, revision)
    found = road_predictions(kept, gates, plan=plan, air=air, speeds_rpm=speeds_rpm, progress=progress)
    return keep_promised(build, found, revision=kept.number, note=note, author=author, where=where, tell=tell)


def road_predictions(
    revision: Revision,
    gates: Sequence[str],
    *,
    plan: Plan | None = None,
    air: str | None = None,
    speeds_rpm: Sequence[float] | None = None,
    progress: Progress | None = None,
) -> list[Promised]:
    """What the simulated curve of a revision says of the road; nothing is kept yet.

    gates : typed as "25 to 50 km/h"; air : of the day to come, as `trial new --air`; plan : what will have been done to
    the revision by then. What cannot be predicted is left away; LedgerError where nothing can. Raises CycleError,
    PlanError and TrialError as the parts do.
    """
    from scribeline.tasks.curve import power_curve
    from scribeline.tasks.trial_prediction import CURVE_SHARE, road_of_curve
    from scribeline.tasks.trial_state import PEAK
    from scribeline.tasks.trial_typed import air_of, gates_of, weather_of
    from scribeline.tasks.trial_vehicle import vehicle_of

    wanted, told = gates_of(gates), air_of(air) if air else None
    record = read_record(revision.record_toml, revision.build_name)
    if plan is not None:
        record = what_if(record, plan).after.record
    curve = power_curve(record, speeds_rpm, progress=progress)
    road = road_of_curve(curve, vehicle_of(record), wanted, weather_of(told) if told else None)
    settings: dict[str, Any] = {
        "cell_mm": 1e3 * curve.settings.cell_m,
        "speeds_rpm": [point.speed_rpm for point in curve.points],
        **({"air": told} if told else {}),
        **({"plan": plan.name, "steps": [step_words(step) for step in plan.steps]} if plan else {}),
    }
    way = "plan, then simulation" if plan else "simulation"
    promised = []
    rows = [("gate time", gate.name, "s", 1.0, one) for gate, one in road.gates]
    rows.append(("top speed", "top speed", "km/h", 3.6, road.top_m_s))
    for quantity, name, unit, scale, one in rows:
        if isinstance(one, str) or not one.low <= one.value <= one.high < math.inf:
            continue
        ends = scale * one.value, scale * one.low, scale * one.high
        promised.append(Promised(Prediction(quantity, name, unit, *ends, way, ""), name, settings))
    if curve.best is not None:
        most = curve.best.got.power_w / 1e3
        band = most, (1.0 - CURVE_SHARE) * most, (1.0 + CURVE_SHARE) * most
        promised.append(Promised(Prediction("power", PEAK.key, "kW", *band, way, ""), PEAK.key, settings))
    if not promised:
        raise LedgerError(
            "nothing can be predicted for the road\n    accepted: a record with drivetrain and mass, gates it reaches\n"
            "    what to do: scribeline curve ENGINE.toml says what the simulation lacks"
        )
    return promised


def road_predictions_of(
    revision: Revision, gates: Sequence[str], *, tell: Callable[[Any], object], stopped: Callable[[], bool]
) -> list[Promised]:
    """The same in a worker process: speeds done and in all are told."""

    def tick(done: int, of: int) -> bool:
        tell((done, of))
        return stopped()

    return road_predictions(revision, gates, progress=tick)


def keep_promised(
    build: str,
    promised: Sequence[Promised],
    *,
    revision: int | None = None,
    note: str = "",
    author: str | None = None,
    where: Where = None,
    tell: Tell = silently,
) -> list[Promise]:
    """Keep predictions that were made elsewhere, such as in a worker process."""
    with opened(where, tell=tell) as notebook:
        number = notebook.revision(build, revision).number
        return _keep(notebook, build, number, promised, note, author)


def _of_card(out: WorkedOut, name: str, settings: Mapping[str, Any]) -> Promised | None:
    one = out.values.get(name)
    if one is None or one.value is None:
        return None
    half = one.plus_minus or 0.0
    quantity = _QUANTITIES.get(one.unit, one.label)
    band = one.value, one.value - half, one.value + half
    return Promised(Prediction(quantity, one.label, one.unit, *band, "plan", ""), name, settings)


def _keep(
    notebook: Notebook, build: str, revision: int, promised: Sequence[Promised], note: str, author: str | None
) -> list[Promise]:
    together = str(uuid.uuid4())
    entries = [
        LedgerEntryToKeep(
            "prediction", prediction_data(one.prediction, one.name, dict(one.settings), __version__, together), note,
            revision,
        )
        for one in promised
    ]  # fmt: skip
    kept = add_to_ledger(notebook, build, entries, author=author or user_name())
    return [Promise(entry, prediction_of(entry), None, None, "") for entry in kept]
