"""Beginning trials, adding files to them, looking at them, and correcting what they hold. Nothing is ever deleted.

`where` and `tell` are those of `scribeline.tasks.notebook`.
"""

import tempfile
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal, cast

from scribeline.engine import EngineRecord, read_record
from scribeline.errors import RecordingError, ScribelineError, TrialError
from scribeline.notebook import (
    Entry,
    EntryToKeep,
    FileToAttach,
    Notebook,
    Trial,
    TrialSummary,
    add_entries,
    begin_trial,
    find_trial,
    last_entry_like,
    trials,
)
from scribeline.recordings import Channel, GateTable, Note, ReadOptions, Recording, read
from scribeline.tasks.notebook import Tell, Where, bytes_of, opened, silently, user_name
from scribeline.tasks.trial_files import AROUND_S, media_type_of, speed_trace, trace_json, what_was_read
from scribeline.tasks.trial_sound import channel_of, heard, json_of, laid_over, slip_words
from scribeline.tasks.trial_state import Measured, State, edit_of, measured, name_of, state_of
from scribeline.tasks.trial_typed import air_of, band_of, gates_of
from scribeline.tasks.trial_vehicle import Vehicle, vehicle_of
from scribeline.trials.pulls import Action, PullEdit, check, find_pulls
from scribeline.trials.runs import dropped

Decimal = Literal[".", ","]
SpeedUnit = Literal["km/h", "m/s", "mph", "kn"]


@dataclass(frozen=True)
class Added:
    """What became of one file: how many rows or pulls it brought, what was noted, or why it stayed out."""

    path: Path
    format: str = ""
    runs: int = 0
    notes: tuple[str, ...] = ()
    why_not: str = ""


@dataclass(frozen=True)
class Shown:
    """A trial as it stands, measured, with the record of what was driven."""

    state: State
    measured: Measured
    record: EngineRecord | None
    vehicle: Vehicle | None


def new_trial(
    name: str,
    *,
    build: str | None = None,
    revision: int | None = None,
    note: str = "",
    gates: Sequence[str] = (),
    air: str | None = None,
    band: str | None = None,
    author: str | None = None,
    where: Where = None,
    tell: Tell = silently,
) -> Trial:
    """Begin a trial: a day of test runs on one build."""
    settings = settings_of(gates, air, band)
    first = [EntryToKeep("settings", settings)] if settings else []
    with opened(where, create=True, tell=tell) as notebook:
        return begin_trial(
            notebook, name, build_name=build, revision_number=revision, note=note, author=author or user_name(),
            entries=first,
        )  # fmt: skip


def set_trial(
    name: str,
    *,
    gates: Sequence[str] = (),
    air: str | None = None,
    band: str | None = None,
    author: str | None = None,
    where: Where = None,
    tell: Tell = silently,
) -> None:
    """Say which gates are wanted, what the air was, which band of engine speeds. What was said before stays."""
    settings = settings_of(gates, air, band)
    if not settings:
        raise TrialError(
            "nothing to set\n    accepted: gates, air or band\n    what to do: give --gate, --air or --band"
        )
    with opened(where, tell=tell) as notebook:
        add_entries(notebook, name, [EntryToKeep("settings", settings)], author=author or user_name())


def settings_of(gates: Sequence[str], air: str | None, band: str | None) -> dict[str, Any]:
    """The data of a settings entry; only what was typed."""
    settings: dict[str, Any] = {}
    if gates:
        settings["gates"] = [[gate.from_m_s, gate.to_m_s] for gate in gates_of(gates)]
    if air is not None:
        settings["air"] = air_of(air)
    if band is not None:
        settings["band"] = band_of(band)
    return settings


def add_files(
    name: str,
    paths: Iterable[Path],
    *,
    setup: str = "",
    direction: str = "",
    columns: Mapping[str, str] | None = None,
    decimal: Decimal | None = None,
    speed_unit: SpeedUnit | None = None,
    utc_offset_h: float | None = None,
    sound: Mapping[str, Any] | None = None,
    road: Path | None = None,
    author: str | None = None,
    where: Where = None,
    tell: Tell = silently,
) -> list[Added]:
    """Read files into a trial; each is kept, to the byte, with what was read of it.

    sound : about an engine that is heard, from `told_of_sound`; else the record's cylinders, and two strokes
    road : a recording of the road speed during the one sound in `paths`: it settles octaves and shows the clutch

    A file that cannot be read stays out with its reason, and the others still come in. Columns that are chosen for a
    table are remembered for the next one with the same first line.
    """
    added = []
    paths = list(paths)
    if road is not None and len(paths) != 1:
        raise TrialError(
            f"{len(paths)} files beside one road speed\n    accepted: one sound\n    what to do: add them one by one"
        )
    with opened(where, tell=tell) as notebook:
        trial, _ = find_trial(notebook, name)
        record = record_of(notebook, trial)
        vehicle = vehicle_of(record) if record else None
        for path in paths:
            try:
                data = bytes_of(path)
                options, choice = _options(notebook, path, data, columns, decimal, speed_unit, utc_offset_h)
                options = replace(options, sound=heard(record, vehicle, sound or {}))
                found = read(path, options)
                beside: dict[str, Any] = {"heard": dict(sound)} if sound else {}
                if road is not None:
                    found, beside["road"] = _with_road(path, found, road, options)
                document = (
                    what_was_read(found, vehicle, options.sound.camera == "standing")
                    | beside
                    | {
                        "setup": setup,
                        "direction": direction,
                        "options": _told(options),
                    }
                )
                file = FileToAttach(path.name, media_type_of(path), data)
                entries = [EntryToKeep("file", document, file=file), *choice]
                add_entries(notebook, trial.name, entries, author=author or user_name())
            except ScribelineError as error:
                added.append(Added(path, why_not=str(error)))
                continue
            runs = len(found.rows) if isinstance(found, GateTable) else len(document["found"])
            added.append(Added(path, found.format, runs, tuple(document["notes"])))
    return added


def _options(
    notebook: Notebook,
    path: Path,
    data: bytes,
    columns: Mapping[str, str] | None,
    decimal: Decimal | None,
    speed_unit: SpeedUnit | None,
    utc_offset_h: float | None,
) -> tuple[ReadOptions, list[EntryToKeep]]:
    """How to read a file: as told, else as was told for the last table with the same first line."""
    header = data[:4096].splitlines()[0].decode(errors="replace").strip() if data[:4096].strip() else ""
    choice: dict[str, Any] = {}
    if columns:
        choice["columns"] = dict(columns)
    if decimal:
        choice["decimal"] = decimal
    if speed_unit:
        choice["speed_unit"] = speed_unit
    entries = []
    if choice:
        entries.append(EntryToKeep("columns", {"header": header} | choice))
    elif path.suffix.lower() in (".csv", ".tsv", ".txt"):
        remembered = last_entry_like(notebook, "columns", "header", header)
        choice = dict(remembered.data) if remembered else {}
    return (
        ReadOptions(
            columns=dict(choice.get("columns", {})), decimal=choice.get("decimal"),
            speed_unit=choice.get("speed_unit"), utc_offset_h=utc_offset_h,
        ),
        entries,
    )  # fmt: skip


def _told(options: ReadOptions) -> dict[str, Any]:
    """What a reader was told about a file, so that it can be read in the same way again."""
    told = {
        "columns": dict(options.columns),
        "decimal": options.decimal,
        "speed_unit": options.speed_unit,
        "utc_offset_h": options.utc_offset_h,
    }
    return {key: value for key, value in told.items() if value}


def _with_road(
    path: Path, found: Recording | GateTable, road: Path, options: ReadOptions
) -> tuple[Recording, dict[str, Any]]:
    """A sound heard once more with a road speed beside, and that road speed as the journal keeps it."""
    other = read(road, ReadOptions())
    if isinstance(found, GateTable) or isinstance(other, GateTable):
        raise TrialError(
            f"{path.name} beside {road.name}\n    accepted: a sound beside a recording of the road speed\n"
            "    what to do: leave --road away for a table"
        )
    trace, _ = speed_trace(other, None)
    ratio = options.sound.metres_per_turn
    speed = laid_over(found, other, Channel(trace.time_s, trace.speed_m_s, "m/s"), ratio)
    again = read(path, replace(options, sound=replace(options.sound, speed=speed)))
    assert isinstance(again, Recording)
    pulls = [(pull.start_s, pull.end_s) for pull in find_pulls(speed.time_s, speed.values)]
    rpm = again.channels.get("rpm")
    said = [Note(f"road speed from {road.name}: it settles which multiple of the firing is heard")]
    if rpm is not None and ratio and (words := slip_words(rpm, speed, ratio, pulls)):
        said.append(Note(words))
    return replace(again, notes=(*again.notes, *said)), json_of(speed)


def list_trials(*, where: Where = None, tell: Tell = silently) -> list[TrialSummary]:
    """Every trial in the notebook, by name."""
    with opened(where, tell=tell) as notebook:
        return trials(notebook)


def show_trial(name: str, *, correction: str | None = None, where: Where = None, tell: Tell = silently) -> Shown:
    """A trial as it stands, with every run measured."""
    with opened(where, tell=tell) as notebook:
        return shown(notebook, name, correction)


def shown(notebook: Notebook, name: str, correction: str | None = None) -> Shown:
    """The same from a notebook that is open already."""
    trial, entries = find_trial(notebook, name)
    record = record_of(notebook, trial)
    vehicle = vehicle_of(record) if record else None
    state = state_of(trial, entries)
    return Shown(state, measured(state, vehicle, correction), record, vehicle)


def record_of(notebook: Notebook, trial: Trial) -> EngineRecord | None:
    """The record of what was driven, where the trial says it."""
    if trial.build_name is None:
        return None
    return read_record(notebook.revision(trial.build_name, trial.revision_number).record_toml, trial.build_name)


def _vehicle(notebook: Notebook, trial: Trial) -> Vehicle | None:
    record = record_of(notebook, trial)
    return vehicle_of(record) if record else None


def drop_run(
    name: str, run: str, because: str, *, back: bool = False, author: str | None = None, where: Where = None,
    tell: Tell = silently,
) -> str:  # fmt: skip
    """Drop a run, or take a dropped one back; both with a reason that stays. Returns the run's full name."""
    with opened(where, tell=tell) as notebook:
        trial, entries = find_trial(notebook, name)
        state = state_of(trial, entries)
        key = full_name(state, run)
        if len(because.strip()) < 3:
            dropped(measured(state, None).runs[0], because)
        if back != (key in state.dropped):
            there = ", ".join(state.dropped) or "none"
            raise TrialError(
                f"run {key} is {'not dropped' if back else 'dropped already'}\n    accepted: dropped are {there}\n"
                f"    what to do: `scribeline trial show '{trial.name}'` lists the runs"
            )
        entry = EntryToKeep("take run back" if back else "drop run", {"run": key}, because.strip())
        add_entries(notebook, trial.name, [entry], author=author or user_name())
        return key


def full_name(state: State, run: str) -> str:
    """The name of a run with its setup, from what was typed: "cut 3", or "3" where only one run is called so."""
    names = [(f"{one.setup} {one.name}", one.name) for one in state.table_runs]
    names += [(f"{one.setup} {name_of(one)}", name_of(one)) for one in state.pulls]
    exactly = [full for full, _ in names if full == run.strip()]
    found = exactly or [full for full, short in names if short == run.strip()]
    if len(found) != 1:
        listed = ", ".join(full for full, _ in names[:30]) or "there are none"
        which = "could be several" if found else "is none of them"
        raise TrialError(
            f"run {run!r} {which}\n    accepted: {listed}\n    what to do: name it with its setup, as listed"
        )
    return found[0]


def edit_pull(
    name: str,
    run: str,
    action: str,
    because: str,
    *,
    start_s: float | None = None,
    end_s: float | None = None,
    gear: int | None = None,
    author: str | None = None,
    where: Where = None,
    tell: Tell = silently,
) -> None:
    """Correct a pull, or add one that was missed. The recording and what was found in it stay as they were.

    run : FILE.PULL as listed, such as 3.2; FILE alone for "add". action : one of pulls.ACTIONS, - for a space
    """
    chosen = cast("Action", action.replace("-", " "))
    with opened(where, tell=tell) as notebook:
        trial, entries = find_trial(notebook, name)
        state = state_of(trial, entries)
        number, pull = _place(state, run, chosen)
        file = next(entry for entry in state.files if entry.number == number)
        duration = float(file.data["duration_s"])
        edit = PullEdit(chosen, pull, because.strip(), start_s, end_s, gear)
        check(edit, duration)
        if gear is not None and (vehicle := _vehicle(notebook, trial)):
            vehicle.rpm_per_m_s(gear)
        data = {"file": number, "action": chosen, "pull": pull, "start_s": start_s, "end_s": end_s, "gear": gear}
        entry = EntryToKeep("edit pull", {key: one for key, one in data.items() if one is not None}, because.strip())
        played = [*entries, _as_if_kept(entry, entries)]
        after = state_of(trial, played)
        entry = _with_readings(notebook, trial, after, entry, number)
        add_entries(notebook, trial.name, [entry], author=author or user_name())


def _place(state: State, run: str, action: Action) -> tuple[int, int]:
    """File and pull from "3.2"; for "add" the pull is 0."""
    recordings = {entry.number for entry in state.files if "found" in entry.data}
    try:
        parts = [int(part) for part in run.strip().split(".")]
    except ValueError:
        parts = []
    if action == "add" and len(parts) == 1 and parts[0] in recordings:
        return parts[0], 0
    if action != "add" and len(parts) == 2 and parts[0] in recordings:
        return parts[0], parts[1]
    listed = ", ".join(name_of(one) for one in state.pulls) or "there are none"
    wanted = f"a recording: {', '.join(map(str, sorted(recordings))) or 'there are none'}"
    raise TrialError(
        f"run {run!r}\n    accepted: {wanted if action == 'add' else listed}\n    what to do: "
        "`scribeline trial show` lists them; times of a typed table are dropped, not edited"
    )


def _as_if_kept(entry: EntryToKeep, entries: Sequence[Entry]) -> Entry:
    last = entries[-1]
    return Entry(last.id, last.number + 1, entry.kind, last.author, entry.note, last.made_at, entry.data)


def _with_readings(notebook: Notebook, trial: Trial, after: State, entry: EntryToKeep, number: int) -> EntryToKeep:
    """With the readings of the recording again, where the pull's new ends reach beyond what was kept."""
    edited = [one for one in after.pulls if one.file == number and one.trace is None]
    if not edited:
        return entry
    file = next(one for one in after.files if one.number == number)
    assert file.sha256 is not None
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / str(file.file_name)
        path.write_bytes(notebook.content(file.sha256))
        told = dict(file.data.get("options", {}))
        record = record_of(notebook, trial)
        known = heard(record, vehicle_of(record) if record else None, file.data.get("heard", {}))
        if "road" in file.data:
            known = replace(known, speed=channel_of(file.data["road"]))
        found = read(path, ReadOptions(**told, sound=known))
    if isinstance(found, GateTable):
        raise RecordingError(f"{file.file_name} is a table now\n    what to do: add the file again")
    whole, _ = speed_trace(found, _vehicle(notebook, trial))
    traces = [trace_json(whole.between(one.pull.start_s - AROUND_S, one.pull.end_s + AROUND_S)) for one in edited]
    return EntryToKeep(entry.kind, dict(entry.data) | {"traces": traces}, entry.note)


__all__ = [
    "Added",
    "Shown",
    "add_files",
    "drop_run",
    "edit_of",
    "edit_pull",
    "list_trials",
    "new_trial",
    "set_trial",
    "show_trial",
    "shown",
]
