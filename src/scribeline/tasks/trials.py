"""Beginning trials, adding files to them, looking at them, and correcting what they hold. Nothing is ever deleted.

`where` and `tell` are those of `scribeline.tasks.notebook`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, cast

from scribeline.engine import EngineRecord, read_record
from scribeline.errors import TrialError
from scribeline.notebook import (
    Entry,
    EntryToKeep,
    Notebook,
    Trial,
    TrialSummary,
    add_entries,
    begin_trial,
    find_trial,
    last_number,
    trials,
)
from scribeline.tasks.notebook import Tell, Where, opened, silently, user_name
from scribeline.tasks.trial_adding import Added, add_files, read_again, record_of, record_text
from scribeline.tasks.trial_files import AROUND_S, speed_trace, trace_json
from scribeline.tasks.trial_state import Measured, State, edit_of, measured, name_of, state_of
from scribeline.tasks.trial_turning import turning_kept, turning_of
from scribeline.tasks.trial_typed import air_of, band_of, gates_of
from scribeline.tasks.trial_vehicle import Vehicle, vehicle_of
from scribeline.tasks.trial_way import way_of
from scribeline.trials.pulls import Action, PullEdit, check
from scribeline.trials.runs import dropped


@dataclass(frozen=True)
class Shown:
    """A trial as it stands, measured, with the record of what was driven, also as the text that was kept."""

    state: State
    measured: Measured
    record: EngineRecord | None
    vehicle: Vehicle | None
    record_toml: str | None = None


def new_trial(
    name: str,
    *,
    build: str | None = None,
    revision: int | None = None,
    note: str = "",
    gates: Sequence[str] = (),
    air: str | None = None,
    band: str | None = None,
    way: str | None = None,
    turning: str | None = None,
    author: str | None = None,
    where: Where = None,
    tell: Tell = silently,
) -> Trial:
    """Begin a trial: a day of test runs on one build. Raises TrialError for what cannot be, also of its vehicle."""
    settings = settings_of(gates, air, band, way, turning)
    first = [EntryToKeep("settings", settings)] if settings else []
    with opened(where, create=True, tell=tell) as notebook:
        if build is not None and turning is not None:
            driven = notebook.revision(build, revision)
            vehicle_of(read_record(driven.record_toml, driven.build_name)).turned(turning_kept(settings["turning"]))
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
    way: str | None = None,
    turning: str | None = None,
    author: str | None = None,
    where: Where = None,
    tell: Tell = silently,
) -> None:
    """Say which gates are wanted, what the air was, which band of engine speeds, how wind and slope lay, what turns.

    What was said before stays. Raises TrialError for what cannot be, also of this vehicle.
    """
    settings = settings_of(gates, air, band, way, turning)
    if not settings:
        raise TrialError(
            "nothing to set\n    accepted: gates, air, band, wind and slope, what turns\n    what to do: give --gate, "
            "--air, --band, --way or --turning"
        )
    with opened(where, tell=tell) as notebook:
        vehicle = _vehicle(notebook, find_trial(notebook, name)[0])
        if vehicle is not None:
            vehicle.turned(turning_kept(settings.get("turning")))  # kept, it would be refused at every look
        add_entries(notebook, name, [EntryToKeep("settings", settings)], author=author or user_name())


def settings_of(
    gates: Sequence[str], air: str | None, band: str | None, way: str | None = None, turning: str | None = None
) -> dict[str, Any]:
    """The data of a settings entry; only what was typed."""
    settings: dict[str, Any] = {}
    if gates:
        settings["gates"] = [[gate.from_m_s, gate.to_m_s] for gate in gates_of(gates)]
    if air is not None:
        settings["air"] = air_of(air)
    if band is not None:
        settings["band"] = band_of(band)
    if way is not None:
        settings["way"] = way_of(way)
    if turning is not None:
        settings["turning"] = turning_of(turning)
    return settings


def list_trials(*, where: Where = None, tell: Tell = silently) -> list[TrialSummary]:
    """Every trial in the notebook, by name."""
    with opened(where, tell=tell) as notebook:
        return trials(notebook)


def trials_of(build: str, *, where: Where = None) -> list[TrialSummary]:
    """The trials that were driven on one build, the latest first."""
    with opened(where) as notebook:
        found = [one for one in trials(notebook) if one.trial.build_name == build]
    return sorted(found, key=lambda one: one.trial.created_at, reverse=True)


def journal_number(name: str, *, where: Where = None) -> int:
    """Number of the last entry in a trial's journal: it grows with everything that anybody adds."""
    with opened(where) as notebook:
        return last_number(notebook, name)


def content_of(entry: Entry, *, where: Where = None) -> bytes:
    """The bytes of the file that an entry brought."""
    assert entry.sha256 is not None
    with opened(where) as notebook:
        return notebook.content(entry.sha256)


def show_trial(name: str, *, correction: str | None = None, where: Where = None, tell: Tell = silently) -> Shown:
    """A trial as it stands, with every run measured."""
    with opened(where, tell=tell) as notebook:
        return shown(notebook, name, correction)


def shown(notebook: Notebook, name: str, correction: str | None = None) -> Shown:
    """The same from a notebook that is open already."""
    trial, entries = find_trial(notebook, name)
    text = record_text(notebook, trial)
    record = read_record(text, trial.build_name or "") if text is not None else None
    state = state_of(trial, entries)
    vehicle = vehicle_of(record).turned(state.turning).coasted(state.held_back) if record else None
    return Shown(state, measured(state, vehicle, correction), record, vehicle, text)


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


@dataclass(frozen=True)
class PullChange:
    """One correction as it is asked for; run : FILE.PULL as listed, such as 3.2; FILE alone for "add"."""

    run: str
    action: str
    start_s: float | None = None
    end_s: float | None = None
    gear: int | None = None
    direction: str = ""


def edit_pull(
    name: str,
    run: str,
    action: str,
    because: str,
    *,
    start_s: float | None = None,
    end_s: float | None = None,
    gear: int | None = None,
    direction: str = "",
    author: str | None = None,
    where: Where = None,
    tell: Tell = silently,
) -> None:
    """Correct a pull, or add one that was missed. The recording and what was found in it stay as they were.

    run : FILE.PULL as listed, such as 3.2; FILE alone for "add". action : one of pulls.ACTIONS, - for a space
    """
    change = PullChange(run, action, start_s, end_s, gear, direction)
    edit_pulls(name, [change], because, author=author, where=where, tell=tell)


def edit_pulls(
    name: str, changes: Sequence[PullChange], because: str, *, author: str | None = None, where: Where = None,
    tell: Tell = silently,
) -> None:  # fmt: skip
    """Several corrections with one reason, all of them or none."""
    with opened(where, tell=tell) as notebook:
        trial, entries = find_trial(notebook, name)
        made: list[EntryToKeep] = []
        played = list(entries)
        for change in changes:
            chosen = cast("Action", change.action.replace("-", " "))
            state = state_of(trial, played)
            number, pull = _place(state, change.run, chosen)
            file = next(entry for entry in state.files if entry.number == number)
            edit = PullEdit(chosen, pull, because.strip(), change.start_s, change.end_s, change.gear, change.direction)
            check(edit, float(file.data["duration_s"]))
            if change.gear is not None and (vehicle := _vehicle(notebook, trial)):
                vehicle.rpm_per_m_s(change.gear)
            data = {
                "file": number, "action": chosen, "pull": pull, "start_s": change.start_s, "end_s": change.end_s,
                "gear": change.gear, "direction": change.direction.strip() or None,
            }  # fmt: skip
            kept = {key: one for key, one in data.items() if one is not None}
            entry = EntryToKeep("edit pull", kept, because.strip())
            after = state_of(trial, [*played, _as_if_kept(entry, played)])
            entry = _with_readings(notebook, trial, after, entry, number)
            played.append(_as_if_kept(entry, played))
            made.append(entry)
        add_entries(notebook, trial.name, made, author=author or user_name())


def join_pulls(
    name: str, run: str, following: str, because: str, *, author: str | None = None, where: Where = None
) -> None:
    """Make two pulls of one recording one, from where the first begins to where the other ends."""
    with opened(where) as notebook:
        trial, entries = find_trial(notebook, name)
        state = state_of(trial, entries)
        there = {name_of(one): one for one in state.pulls}
        ends = [there[one] for one in (run, following) if one in there]
        if len(ends) < 2 or ends[0].file != ends[1].file or ends[0] is ends[1]:
            raise TrialError(
                f"pulls {run} and {following}\n    accepted: two pulls of one recording: {', '.join(there)}\n"
                "    what to do: choose two that follow each other"
            )
        start, end = min(one.pull.start_s for one in ends), max(one.pull.end_s for one in ends)
        changes = [PullChange(run, "trim", start, end), PullChange(following, "leave out")]
        edit_pulls(name, changes, because, author=author, where=notebook)


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
    found = read_again(file, notebook.content(file.sha256), record_of(notebook, trial))
    whole, _ = speed_trace(found, _vehicle(notebook, trial))
    traces = [trace_json(whole.between(one.pull.start_s - AROUND_S, one.pull.end_s + AROUND_S)) for one in edited]
    return EntryToKeep(entry.kind, dict(entry.data) | {"traces": traces}, entry.note)


__all__ = [
    "Added",
    "PullChange",
    "Shown",
    "add_files",
    "content_of",
    "drop_run",
    "edit_of",
    "edit_pull",
    "edit_pulls",
    "join_pulls",
    "journal_number",
    "list_trials",
    "new_trial",
    "set_trial",
    "show_trial",
    "shown",
    "trials_of",
]
