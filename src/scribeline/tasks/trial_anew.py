"""A recording of a trial read anew, told better how: with a road speed beside, other engine speeds, another setup.

The new reading takes the place of the earlier one: same file, same number, so its runs count once. What was decided
about its pulls is laid over the new ones (trials/pulls_anew.py). The earlier reading stays in the journal, and undo
brings it back.

    read anew    file, number of its entry; called, its name; reading, what a file's entry holds (trial_files.py);
                 pulls, those found anew with everything decided before; dropped, runs that are called otherwise now
                 -> reason
"""

import tempfile
from collections.abc import Callable, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any

from scribeline.errors import TrialError
from scribeline.notebook import Entry, EntryToKeep, Notebook, Trial, add_entries, find_trial
from scribeline.tasks.notebook import Where, opened, user_name
from scribeline.tasks.trial_adding import Added, Reading, became, read_again, read_run, record_of, record_text
from scribeline.tasks.trial_files import AROUND_S, speed_trace, trace_json
from scribeline.tasks.trial_state import State, name_of, state_of
from scribeline.tasks.trial_vehicle import vehicle_of
from scribeline.trials.pulls import Pull
from scribeline.trials.pulls_anew import carried_over


@dataclass(frozen=True)
class Told:
    """How to read it this time; what is left out is as it was told before.

    road : a recording of the road speed during it, by its number in the trial or as a file
    by_ear : without the road speed that was told before
    sound : about an engine that is heard, from `told_of_sound`
    """

    road: int | Path | None = None
    by_ear: bool = False
    setup: str | None = None
    direction: str | None = None
    sound: Mapping[str, Any] = field(default_factory=dict)
    utc_offset_h: float | None = None


def read_anew(
    name: str, number: int, told: Told, *, author: str | None = None, where: Where = None
) -> Added:  # fmt: skip
    """Read a recording of a trial anew, and keep that. number : of its entry, as `trial show` lists it.

    Raises TrialError for what is no recording of this trial, RecordingError and TrialError where it cannot be read so;
    the earlier reading stays then.
    """
    with opened(where) as notebook:
        return keep_anew(name, number, reading_anew(name, number, told, notebook), author=author, where=notebook)


def reading_anew(
    name: str, number: int, told: Told, where: Where = None, *, tell: Callable[[Any], object] | None = None,
    stopped: Callable[[], bool] | None = None,
) -> dict[str, Any]:  # fmt: skip
    """Only read it, from the bytes in the notebook: what `keep_anew` takes.

    tell, stopped : of a worker process, for which there is nothing to do here
    """
    with opened(where) as notebook, ExitStack() as folders:
        trial, entries = find_trial(notebook, name)
        state = state_of(trial, entries)
        entry = _recording(state, number)
        if told.road == number:
            raise _none(state, number, "another recording than itself")
        before, options = entry.data, dict(entry.data.get("options", {}))
        if told.utc_offset_h is not None:
            options["utc_offset_h"] = told.utc_offset_h
        reading = Reading(
            str(entry.file_name),
            str(before.get("setup") or "") if told.setup is None else told.setup.strip(),
            str(before.get("direction") or "") if told.direction is None else told.direction.strip(),
            record_text(notebook, trial), trial.build_name or "", **options,
            sound=dict(before.get("heard", {})) | dict(told.sound),
            road=None if told.by_ear or told.road is not None else before.get("road"),
        )  # fmt: skip
        laid = {}
        for one in (entry, _recording(state, told.road) if isinstance(told.road, int) else None):
            if one is not None:
                folder = folders.enter_context(tempfile.TemporaryDirectory())
                laid[one.number] = Path(folder) / Path(str(one.file_name)).name
                assert one.sha256 is not None
                laid[one.number].write_bytes(notebook.content(one.sha256))
        road = laid[told.road] if isinstance(told.road, int) else told.road
        return read_run(laid[number], reading, road)


def keep_anew(
    name: str, number: int, document: Mapping[str, Any], *, author: str | None = None, where: Where = None
) -> Added:  # fmt: skip
    """Keep a reading in the place of the earlier one, with what was decided about its pulls."""
    with opened(where) as notebook:
        trial, entries = find_trial(notebook, name)
        state = state_of(trial, entries)
        entry = _recording(state, number)
        there = [one for one in state.pulls if one.file == number]
        found = [Pull(i, a, b, a, b) for i, (a, b) in enumerate(document["found"], start=1)]
        carried = carried_over([one.pull for one in there], found)
        setup = str(document.get("setup") or trial.name)
        stay = {one.number for one in carried.pulls}
        dropped, gone = {}, []
        for one in there:
            because = state.dropped.get(f"{one.setup} {name_of(one)}", "")
            if one.pull.number not in stay:
                gone.append(_gone(one.pull, name_of(one), because))
            elif because and setup != one.setup:
                dropped[f"{setup} {name_of(one)}"] = because
        reading = dict(document) | {"notes": [*document["notes"], *gone]}
        data = {
            "file": number, "called": entry.file_name, "reading": reading,
            "pulls": [asdict(one) for one in carried.pulls], "dropped": dropped,
        }  # fmt: skip
        reading["traces"] = [*reading["traces"], *_further(notebook, trial, entries, data)]
        add_entries(notebook, trial.name, [EntryToKeep("read anew", data)], author=author or user_name())
        return replace(became(Path(str(entry.file_name)), reading), runs=len(carried.pulls))


def _further(notebook: Notebook, trial: Trial, entries: Sequence[Entry], data: dict[str, Any]) -> list[Any]:
    """Readings around pulls whose ends lie where the rule has kept none."""
    last = entries[-1]
    after = state_of(trial, [*entries, Entry("", last.number + 1, "read anew", "", "", last.made_at, data)])
    lack = [one.pull for one in after.pulls if one.file == data["file"] and one.trace is None]
    if not lack:
        return []
    file, record = _recording(after, data["file"]), record_of(notebook, trial)
    assert file.sha256 is not None
    found = read_again(file, notebook.content(file.sha256), record)
    whole, _ = speed_trace(found, vehicle_of(record) if record else None)
    return [trace_json(whole.between(one.start_s - AROUND_S, one.end_s + AROUND_S)) for one in lack]


def _gone(pull: Pull, name: str, dropped: str) -> str:
    said = "; ".join([*pull.reasons, *([dropped] if dropped else [])])
    lost = f", and with it what was said about it: {said}" if said else ""
    return f"pull {name}, {pull.start_s:.1f} to {pull.end_s:.1f} s, is not found any more{lost}"


def _recording(state: State, number: int) -> Entry:
    entry = next((one for one in state.files if one.number == number and "found" in one.data), None)
    if entry is None:
        raise _none(state, number, "a recording of this trial")
    return entry


def _none(state: State, number: int, wanted: str) -> TrialError:
    there = ", ".join(f"{one.number} {one.file_name}" for one in state.files if "found" in one.data) or "there is none"
    return TrialError(
        f"file {number}\n    accepted: {wanted}: {there}\n    what to do: `scribeline trial show '{state.trial.name}'` "
        "lists them; a table of gate times is taken back with undo and added again"
    )
