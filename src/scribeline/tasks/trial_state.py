"""A trial as it stands: its journal played from the beginning. Nothing is looked up, nothing is written.

Kinds of entries, and what their data hold:

    settings     gates [[from, to], ...] in m/s; band [low, high] in rpm; air {t_c, p_hpa, humidity | dew_point_c};
                 way (trial_way.py); turning (trial_turning.py)
    file         what was read (trial_files.py), setup, direction, options it was read with; the file itself beside it
    columns      header of a table, columns chosen for it: found again for the next file with the same header
    drop run     run, with its setup; the note is the reason        take run back    the same; the note says why
    typed        cells [[row, column, text], ...] of the grid of typed times (trial_rows.py)
    undo, redo   of: number of the entry that counts no more, or again (trial_undo.py)
    read anew    a recording read once more (trial_anew.py): the last one stands for what its file has brought
    edit pull    file (number of its entry), action, pull, start_s, end_s, gear, direction, and traces where the new
                 ends reach beyond the readings that were kept; the note is the reason
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import lru_cache
from typing import Any

import numpy as np

from scribeline.errors import TrialError
from scribeline.models.moist_air import Air
from scribeline.models.power_correction import factor
from scribeline.notebook import Entry, Trial
from scribeline.recordings import GateTable
from scribeline.tasks.trial_files import BY_ENGINE, Trace, table_of, trace_of
from scribeline.tasks.trial_rows import TypedTable, typed_table
from scribeline.tasks.trial_table import acceleration_measure, gate_measure, runs_of_table, with_acceleration
from scribeline.tasks.trial_turning import Turning, turning_kept, turning_words
from scribeline.tasks.trial_typed import weather_of
from scribeline.tasks.trial_undo import in_force, redoable, undoable, undone_at
from scribeline.tasks.trial_vehicle import HeldBack, Vehicle, held_back_kept
from scribeline.tasks.trial_way import Way, way_kept, way_words
from scribeline.trials.gates import Gate, gate_time
from scribeline.trials.pulls import Pull, PullEdit, edited
from scribeline.trials.road_power import PowerRun, above, mean_in_band_kw, power_of
from scribeline.trials.runs import Measure, Run, Value, dropped
from scribeline.trials.smoothing import Smooth, choose_reach, smooth

PEAK = Measure("most power at the crank", "kW", "more")
GATE_STEP_M_S = 5.0 / 3.6
BAND_STEP_RPM = 500.0


@dataclass(frozen=True)
class DrivenPull:
    """One pull of a recording, ready to be measured.

    by_engine : whether its speed is engine speed through the highest gear; speed_share : +/- of that speed as a share,
        which neighbouring readings have in common, so that smoothing takes nothing off it
    """

    file: int
    file_name: str
    setup: str
    direction: str
    pull: Pull
    trace: Trace | None
    when: datetime | None
    by_engine: bool = False
    speed_share: float = 0.0


@dataclass(frozen=True)
class State:
    """A trial as it stands.

    entries : those of its journal that count; number : of the last one of all; undoable, redoable : what undo would
        take back and redo bring again; undone_at : when that was taken back
    typed : the grid of typed times; its runs are among the table_runs
    pulls : of every recording, with corrections laid over; table_runs, table_measures : of the typed tables
    dropped : setup and name of a run -> reason; gates : asked for, or empty
    band_rpm : asked for, or None; air : of the day, or None; way : wind and slope, or None; turning : what
        is known of what turns, or None; held_back : what roll-outs gave and somebody took over, or None
    """

    trial: Trial
    entries: tuple[Entry, ...]
    typed: TypedTable
    pulls: tuple[DrivenPull, ...]
    table_runs: tuple[Run, ...]
    table_measures: tuple[Measure, ...]
    dropped: dict[str, str]
    gates: tuple[Gate, ...]
    band_rpm: tuple[float, float] | None
    air: Air | None
    way: Way | None = None
    number: int = 0
    undoable: Entry | None = None
    redoable: Entry | None = None
    turning: Turning | None = None
    held_back: HeldBack | None = None
    undone_at: datetime | None = None

    @property
    def files(self) -> list[Entry]:
        """The entries that brought a file."""
        return [entry for entry in self.entries if entry.kind == "file"]


@dataclass(frozen=True)
class Measured:
    """The runs of a trial with their measures, and the curves and traces that can be drawn of them."""

    runs: list[Run]
    measures: list[Measure]
    traces: dict[str, tuple[str, Smooth]]
    powers: dict[str, tuple[str, PowerRun]]
    said: list[str]
    when: dict[str, datetime]


def state_of(trial: Trial, entries: Sequence[Entry]) -> State:
    """Play a journal. Raises TrialError for an entry that cannot be understood."""
    number = entries[-1].number if entries else 0
    back, again, back_at = undoable(entries), redoable(entries), undone_at(entries)
    entries = as_read_last(in_force(entries))
    pulls: list[DrivenPull] = []
    runs: list[Run] = []
    measures: dict[str, Measure] = {}
    out: dict[str, str] = {}
    settings: dict[str, Any] = {}
    edits: dict[int, list[PullEdit]] = {}
    further: dict[int, list[Any]] = {}
    for file in (one for one in entries if one.kind == "file"):
        made = corrections(entries, file)
        edits[file.number] = [edit_of(one) for one in made]
        further[file.number] = [trace for one in made for trace in one.data.get("traces", ())]
    for entry in entries:
        if entry.kind == "settings":
            settings |= entry.data
        elif entry.kind == "drop run":
            out[str(entry.data["run"])] = entry.note
        elif entry.kind == "take run back":
            out.pop(str(entry.data["run"]), None)
        elif entry.kind == "file" and "table" in entry.data:
            setup = str(entry.data.get("setup") or trial.name)
            found, theirs = runs_of_table(table_of(entry.data, str(entry.file_name)), setup)
            runs += found
            measures |= {one.key: one for one in theirs}
        elif entry.kind == "file":
            out |= entry.data.get("dropped", {})
            pulls += _pulls_of(trial, entry, edits.get(entry.number, []), further.get(entry.number, []))
    typed = typed_table(entries, trial.name)
    if typed.times:
        found, theirs = runs_of_table(GateTable("typed times", "typed", typed.times, ()), trial.name)
        runs += found
        measures |= {one.key: one for one in theirs}
    given = settings.get("air")
    weather = weather_of(given) if given else None
    gates = tuple(Gate(float(a), float(b)) for a, b in settings.get("gates", ()))
    band = settings.get("band")
    return State(
        trial, tuple(entries), typed, tuple(pulls), tuple(runs), tuple(measures.values()), out, gates,
        (float(band[0]), float(band[1])) if band else None, weather, way_kept(settings.get("way")), number, back, again,
        turning_kept(settings.get("turning")), held_back_kept(settings.get("coasted")), back_at,
    )  # fmt: skip


def as_read_last(entries: Sequence[Entry]) -> list[Entry]:
    """The entries that count, each file with what its last reading has brought. since : number of that reading."""
    last = {int(one.data["file"]): one for one in entries if one.kind == "read anew"}
    return [
        replace(one, data=_as_file(last[one.number])) if one.kind == "file" and one.number in last else one
        for one in entries
    ]


def _as_file(anew: Entry) -> dict[str, Any]:
    beside = {"pulls": anew.data["pulls"], "dropped": anew.data["dropped"], "since": anew.number}
    return dict(anew.data["reading"]) | beside


def corrections(entries: Sequence[Entry], file: Entry) -> list[Entry]:
    """The corrections of a file's pulls since it was read last; those before are in the pulls of that reading."""
    since = int(file.data.get("since", 0))
    return [
        one for one in entries
        if one.kind == "edit pull" and int(one.data["file"]) == file.number and one.number > since
    ]  # fmt: skip


def edit_of(entry: Entry) -> PullEdit:
    """The correction that an entry holds."""
    data = entry.data
    return PullEdit(
        data["action"],
        int(data["pull"]),
        entry.note,
        data.get("start_s"),
        data.get("end_s"),
        data.get("gear"),
        str(data.get("direction", "")),
    )


def _pulls_of(trial: Trial, entry: Entry, edits: list[PullEdit], further: list[Any]) -> list[DrivenPull]:
    data = entry.data
    found = [Pull(**(one | {"reasons": tuple(one["reasons"])})) for one in data.get("pulls", ())] or [
        Pull(i, a, b, a, b) for i, (a, b) in enumerate(data["found"], start=1)
    ]
    traces = [trace_of(one) for one in (*data["traces"], *further)]
    start = datetime.fromisoformat(data["start_utc"]) if data.get("start_utc") else None
    driven = []
    for pull in edited(found, edits, float(data["duration_s"])):
        trace = next(
            (t for t in traces if t.time_s[0] - 0.6 <= pull.start_s and pull.end_s <= t.time_s[-1] + 0.6), None
        )
        direction = pull.direction or str(data.get("direction") or "") or _heading(trace, pull)
        when = start + timedelta(seconds=pull.start_s) if start else None
        setup = str(data.get("setup") or trial.name)
        by_engine = str(data.get("speed_from", "")).startswith(BY_ENGINE)
        share = float(data.get("speed_share", 0.0))
        name = str(entry.file_name)
        driven.append(DrivenPull(entry.number, name, setup, direction, pull, trace, when, by_engine, share))
    return driven


def _holds(trace: Trace, pull: Pull) -> bool:
    """Whether the kept readings reach from one end of the pull to the other, to half a second."""
    return bool(trace.time_s[0] - 0.6 <= pull.start_s and pull.end_s <= trace.time_s[-1] + 0.6)


def _heading(trace: Trace | None, pull: Pull) -> str:
    """Which way it went, as one of eight compass points; "" where no course is known."""
    if trace is None or trace.course_deg is None:
        return ""
    inside = (trace.time_s >= pull.start_s) & (trace.time_s <= pull.end_s)
    if not inside.any():
        return ""
    angle = np.radians(trace.course_deg[inside])
    mean = np.degrees(np.arctan2(np.sin(angle).mean(), np.cos(angle).mean())) % 360.0
    return ("N", "NE", "E", "SE", "S", "SW", "W", "NW")[round(float(mean) / 45.0) % 8]


def name_of(driven: DrivenPull) -> str:
    """How a pull is called as a run: number of the file's entry, a dot, number of the pull."""
    return f"{driven.file}.{driven.pull.number}"


def measured(state: State, vehicle: Vehicle | None, correction: str | None = None) -> Measured:
    """Times, accelerations and powers of every run of a trial.

    vehicle : for power; None where the trial has no build. correction : a standard of models.power_correction
    """
    said: list[str] = []
    smoothed: dict[str, Smooth] = {}
    for one in state.pulls:
        if one.pull.left_out or one.trace is None:
            continue
        inside = one.trace.between(one.pull.start_s, one.pull.end_s)
        t, v = inside.time_s, inside.speed_m_s * _gear_share(one, vehicle)
        try:
            fitted = _fitted(t.tobytes(), v.tobytes())
            in_common = 0.5 * one.speed_share * np.abs(fitted.value)
            smoothed[name_of(one)] = replace(fitted, value_se=np.hypot(fitted.value_se, in_common))
        except TrialError as error:
            said.append(f"run {name_of(one)} ({one.file_name}): {str(error).splitlines()[0]}")
    gates = list(state.gates) or _common_gate(list(smoothed.values()))
    if smoothed and gates and not state.gates:
        said.append(f"no gate was asked for: {gates[0].name} is what all pulls went through")
    if smoothed:
        reaches = sorted({one.reach_s for one in smoothed.values()})
        near = " to ".join(f"{reach:g}" for reach in dict.fromkeys((reaches[0], reaches[-1])))
        said.append(f"speeds smoothed by a local parabola over {near} s to either side")
    scale, standard = 1.0, ""
    if correction:
        if state.air is None:
            raise TrialError(
                f"{correction} without the air of {state.trial.name}\n    accepted: temperature, pressure and "
                f"humidity of the day\n    what to do: scribeline trial set '{state.trial.name}' --air "
                "'18 C, 1003 hPa, 60 %'"
            )
        scale, standard = factor(correction, state.air), f", {correction}"
    powers: dict[str, tuple[str, PowerRun]] = {}
    ways = {one.direction for one in state.pulls}
    unknown: list[str] = []
    runs: list[Run] = list(state.table_runs)
    measures: dict[str, Measure] = {one.key: one for one in state.table_measures}
    when: dict[str, datetime] = {}
    for one in state.pulls:
        name = name_of(one)
        reason = one.pull.left_out or ("its readings are not kept: add the file again" if one.trace is None else "")
        values: dict[str, Value] = {}
        if name in smoothed:
            trace = smoothed[name]
            for gate in gates:
                if (timed := gate_time(trace, gate)) is not None:
                    values[gate.name] = Value(timed.seconds, timed.plus_minus_s)
                    measures.setdefault(gate.name, gate_measure(gate))
            if gates:
                values = with_acceleration(values, gates[0])
                measures.setdefault(acceleration_measure(gates[0]).key, acceleration_measure(gates[0]))
            held_back = state.way.for_direction(one.direction, ways) if state.way else (0.0, 0.0)
            driven = vehicle.driven(state.air, one.pull.gear, held_back) if vehicle else None
            if vehicle is not None and driven is not None:
                closed = above(power_of(trace, driven), vehicle.clutch_rpm)
                if closed is not None:
                    powers[name] = (one.setup, closed)
                    unknown += [name] if state.way and not any(held_back) else []
        runs.append(Run(one.setup, name, values, None, one.direction, _day(one), "", {}, reason))
        if one.when is not None:
            when[name] = one.when
    if state.turning and powers:
        said.append(f"power counts in what turns: {turning_words(state.entries)}")
    if state.held_back and powers:
        said.append(f"rolling and drag are those of {state.held_back.rests_on}")
    if state.way and powers:
        said.append(f"wind and slope are taken out of the power: {way_words(state.entries)}")
        if unknown:
            said.append(f"but not of run {', '.join(unknown)}: which way it went is not said, or neither that nor back")
    runs, power_measures = _with_power(runs, powers, state.band_rpm, scale, standard)
    measures |= {one.key: one for one in power_measures}
    runs = [_dropped(run, state.dropped.get(f"{run.setup} {run.name}")) for run in runs]
    traces = {name: (next(p.setup for p in state.pulls if name_of(p) == name), s) for name, s in smoothed.items()}
    return Measured(runs, list(measures.values()), traces, powers, said, when)


@lru_cache(maxsize=2000)
def _fitted(time_s: bytes, speed_m_s: bytes) -> Smooth:
    """A pull made smooth, kept by its very readings: a page looks at all pulls again after each entry."""
    t, v = (np.frombuffer(one, np.float64) for one in (time_s, speed_m_s))
    return smooth(t, v, choose_reach(t, v))


def _gear_share(one: DrivenPull, vehicle: Vehicle | None) -> float:
    """Road speed in the gear that was driven over that in the highest one, where the engine alone says the speed."""
    if not one.by_engine or one.pull.gear is None or vehicle is None:
        return 1.0
    highest, driven = vehicle.rpm_per_m_s(), vehicle.rpm_per_m_s(one.pull.gear)
    return highest / driven if highest and driven else 1.0


def _dropped(run: Run, reason: str | None) -> Run:
    return run if reason is None else dropped(run, reason)


def _day(one: DrivenPull) -> str:
    return one.when.date().isoformat() if one.when else ""


def _common_gate(traces: Sequence[Smooth]) -> list[Gate]:
    """The widest gate in steps of 5 km/h that every pull went through; none where there is none of 10 km/h."""
    if not traces:
        return []
    low = GATE_STEP_M_S * np.ceil(max(float(t.value.min()) for t in traces) / GATE_STEP_M_S + 1e-6)
    high = GATE_STEP_M_S * np.floor(min(float(t.value.max()) for t in traces) / GATE_STEP_M_S - 1e-6)
    return [Gate(float(low), float(high))] if high - low >= 2.0 * GATE_STEP_M_S - 1e-9 else []


def _with_power(
    runs: list[Run],
    powers: dict[str, tuple[str, PowerRun]],
    band: tuple[float, float] | None,
    scale: float,
    standard: str,
) -> tuple[list[Run], list[Measure]]:
    if not powers:
        return runs, []
    curves = [power for _, power in powers.values()]
    if band is None:
        low = BAND_STEP_RPM * np.ceil(max(float(p.rpm[p.known].min()) for p in curves) / BAND_STEP_RPM)
        high = BAND_STEP_RPM * np.floor(min(float(p.rpm[p.known].max()) for p in curves) / BAND_STEP_RPM)
        # The upper half of the speeds that all pulls went through: below it the clutch slips, or nobody rides.
        low = max(low, BAND_STEP_RPM * np.ceil(0.5 * high / BAND_STEP_RPM))
        band = (float(low), float(high)) if high - low >= 2.0 * BAND_STEP_RPM else None
    peak = Measure(PEAK.key + standard, "kW", "more")
    measures = [peak]
    area = None
    if band is not None:
        area = Measure(f"mean power, {band[0]:g} to {band[1]:g} rpm{standard}", "kW", "more")
        measures.append(area)
    out = []
    for run in runs:
        if run.name in powers:
            power = powers[run.name][1]
            most, spread, _ = power.peak
            values = dict(run.measures) | {peak.key: Value(scale * most, scale * spread)}
            if area is not None and band is not None and (mean := mean_in_band_kw(power, *band)) is not None:
                values[area.key] = Value(scale * mean)
            run = Run(**(vars(run) | {"measures": values}))
        out.append(run)
    return out, measures
