"""Files of test runs on their way into a trial: told how to read them, read, kept.

Reading is apart from keeping, so that a damaged or enormous file can be read by a process that may die: `reading_of`
looks up what a reader may know, `read_run` reads and needs no notebook, `keep_run` writes. `add_files` does all three.
"""

import tempfile
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from hashlib import sha256
from pathlib import Path
from typing import Any, Literal

from scribeline.engine import EngineRecord, read_record
from scribeline.errors import RecordingError, ScribelineError, TrialError
from scribeline.notebook import (
    Entry,
    EntryToKeep,
    FileToAttach,
    Notebook,
    Trial,
    add_entries,
    find_trial,
    last_entry_like,
)
from scribeline.recordings import Channel, GateTable, Note, ReadOptions, Recording, read
from scribeline.tasks.notebook import Tell, Where, bytes_of, opened, silently, user_name
from scribeline.tasks.trial_files import media_type_of, speed_trace, what_was_read
from scribeline.tasks.trial_sound import channel_of, heard, json_of, laid_over, slip_words
from scribeline.tasks.trial_state import state_of
from scribeline.tasks.trial_undo import in_force
from scribeline.tasks.trial_vehicle import vehicle_of
from scribeline.trials.pulls import find_pulls

NO_PULL = (
    "no pull was found: nowhere does the speed rise by 11 km/h as under full throttle; one that was missed is added "
    "with `scribeline trial edit TRIAL FILE add --from SECONDS --to SECONDS`"
)
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
class Reading:
    """Everything that reading one file needs; it can be sent to another process.

    called : the file's own name, which a copy of it need not have; record_toml : of the build that was driven, or None
    sound : about an engine that is heard, from `told_of_sound`; road : a road speed beside it that was laid over its
        clock before, as the journal holds it
    chosen : what was said of a table this time, to be
        remembered by `header`, its first line
    """

    called: str
    setup: str = ""
    direction: str = ""
    record_toml: str | None = None
    build_name: str = ""
    columns: Mapping[str, str] = field(default_factory=dict)
    decimal: Decimal | None = None
    speed_unit: SpeedUnit | None = None
    utc_offset_h: float | None = None
    sound: Mapping[str, Any] = field(default_factory=dict)
    chosen: Mapping[str, Any] = field(default_factory=dict)
    header: str = ""
    road: Mapping[str, Any] | None = None

    @property
    def options(self) -> ReadOptions:
        """The same as readers take it."""
        record = read_record(self.record_toml, self.build_name) if self.record_toml is not None else None
        return ReadOptions(
            columns=dict(self.columns), decimal=self.decimal, speed_unit=self.speed_unit,
            utc_offset_h=self.utc_offset_h,
            sound=heard(record, vehicle_of(record) if record else None, self.sound),
        )  # fmt: skip


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
    names: Mapping[Path, str] | None = None,
    author: str | None = None,
    where: Where = None,
    tell: Tell = silently,
) -> list[Added]:
    """Read files into a trial; each is kept, to the byte, with what was read of it.

    sound : about an engine that is heard, from `told_of_sound`; else the record's cylinders, and two strokes
    road : a recording of the road speed during the one sound in `paths`: it settles octaves and shows the clutch
    names : what a file is called where that is not its path's last part, such as one that came in through a page

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
        for path in paths:
            try:
                data = bytes_of(path)
                called = (names or {}).get(path, path.name)
                reading = reading_of(
                    notebook, trial.name, called, data[:4096], setup=setup, direction=direction, columns=columns,
                    decimal=decimal, speed_unit=speed_unit, utc_offset_h=utc_offset_h, sound=sound,
                )  # fmt: skip
                document = read_run(path, reading, road)
                keep_run(trial.name, reading, document, data, author=author, where=notebook)
            except ScribelineError as error:
                added.append(Added(path, why_not=str(error)))
                continue
            added.append(became(path, document))
    return added


def became(path: Path, document: Mapping[str, Any]) -> Added:
    """What a file that was read has brought."""
    runs = len(document["table"]) if "table" in document else len(document["found"])
    return Added(path, document["format"], runs, (*document["notes"], *(() if runs else (NO_PULL,))))


def reading_of(
    where: Where,
    name: str,
    called: str,
    head: bytes,
    *,
    setup: str = "",
    direction: str = "",
    columns: Mapping[str, str] | None = None,
    decimal: Decimal | None = None,
    speed_unit: SpeedUnit | None = None,
    utc_offset_h: float | None = None,
    sound: Mapping[str, Any] | None = None,
) -> Reading:
    """How to read a file into a trial: as told, else as was told for the last table with the same first line.

    head : its first 4 kB
    """
    header = head[:4096].splitlines()[0].decode(errors="replace").strip() if head[:4096].strip() else ""
    chosen: dict[str, Any] = {}
    if columns:
        chosen["columns"] = dict(columns)
    if decimal:
        chosen["decimal"] = decimal
    if speed_unit:
        chosen["speed_unit"] = speed_unit
    with opened(where) as notebook:
        trial, _ = find_trial(notebook, name)
        record_toml = record_text(notebook, trial)
        known: Mapping[str, Any] = chosen
        if not chosen and Path(called).suffix.lower() in (".csv", ".tsv", ".txt"):
            remembered = last_entry_like(notebook, "columns", "header", header)
            known = remembered.data if remembered else {}
    return Reading(
        called, setup, direction, record_toml, trial.build_name or "", dict(known.get("columns", {})),
        known.get("decimal"), known.get("speed_unit"), utc_offset_h, dict(sound or {}), chosen, header,
    )  # fmt: skip


def read_run(
    path: Path, reading: Reading, road: Path | None = None, *, road_called: str = "",
    tell: Callable[[Any], object] | None = None, stopped: Callable[[], bool] | None = None,
) -> dict[str, Any]:  # fmt: skip
    """Read one file as `reading` says: what the journal keeps of it. Raises RecordingError and TrialError.

    road : as in `add_files`; road_called : its own name, where the copy has another
    tell, stopped : of a worker process, for which there is nothing to do here
    """

    def named(words: str) -> str:
        """With the names that people know: a copy has one of its own."""
        words = words.replace(path.name, reading.called)
        return words.replace(road.name, road_called) if road is not None and road_called else words

    try:
        record = read_record(reading.record_toml, reading.build_name) if reading.record_toml is not None else None
        vehicle, options = vehicle_of(record) if record else None, reading.options
        found = read(path, options)
        beside: dict[str, Any] = {"heard": dict(reading.sound)} if reading.sound else {}
        if road is not None:
            speed = _laid_over(path, found, road, options)
            found, beside["road"] = _heard_beside(path, speed, road_called or road.name, options)
        elif reading.road is not None:
            called = str(reading.road.get("called", "the recording beside it"))
            found, beside["road"] = _heard_beside(path, channel_of(reading.road), called, options)
        document = what_was_read(found, vehicle, options.sound.camera == "standing") | beside
    except (RecordingError, TrialError) as error:
        raise type(error)(named(str(error))) from None
    document["notes"] = [named(note) for note in document["notes"]]
    return document | {"setup": reading.setup, "direction": reading.direction, "options": _told(options)}


def keep_run(
    name: str, reading: Reading, document: Mapping[str, Any], data: bytes, *, author: str | None = None,
    where: Where = None,
) -> int:  # fmt: skip
    """Keep a file that was read, to the byte, with what was read of it. Returns the number of its entry."""
    file = FileToAttach(reading.called, media_type_of(Path(reading.called)), data)
    entries = [EntryToKeep("file", document, file=file)]
    if reading.chosen:
        entries.append(EntryToKeep("columns", {"header": reading.header, **reading.chosen}))
    with opened(where) as notebook:
        refuse_twice(notebook, name, reading.called, data)
        return add_entries(notebook, name, entries, author=author or user_name())[0].number


def refuse_twice(notebook: Notebook, name: str, called: str, data: bytes) -> None:
    """TrialError for a file that the trial has already, to the byte: the same runs would pass for twice the proof.

    One whose pulls were all left out may come again, told better how to read it.
    """
    trial, entries = find_trial(notebook, name)
    same = [one for one in in_force(entries) if one.kind == "file" and one.sha256 == sha256(data).hexdigest()]
    pulls = state_of(trial, entries).pulls if same else ()
    for one in same:
        otherwise = (
            f"If it came in with a wrong setup or direction: `scribeline trial undo '{trial.name}'`, and add it again"
            if "found" not in one.data
            else "To have it read otherwise, with a road speed beside or under another setup: "
            f"`scribeline trial read-anew '{trial.name}' {one.number}`, or Read it anew under Pulls on the page"
        )
        if "found" not in one.data or any(pull.file == one.number and not pull.pull.left_out for pull in pulls):
            raise TrialError(
                f"{called} is here already, to the byte: {one.file_name}, file {one.number}\n    accepted: each file "
                f"once; the same runs twice would pass for twice the proof\n    what to do: nothing. {otherwise}"
            )


def keep_file(
    name: str, reading: Reading, document: Mapping[str, Any], path: Path, *, author: str | None = None,
    where: Where = None,
) -> Added:  # fmt: skip
    """Keep a file that lies on the disk, perhaps under another name, with what was read of it."""
    try:
        data = bytes_of(path)
    except ScribelineError as error:
        raise type(error)(str(error).replace(path.name, reading.called)) from None
    keep_run(name, reading, document, data, author=author, where=where)
    return became(Path(reading.called), document)


def read_again(entry: Entry, content: bytes, record: EngineRecord | None) -> Recording:
    """A recording of the journal read once more from its bytes, with what was told when it came in."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / Path(str(entry.file_name)).name
        path.write_bytes(content)
        known = heard(record, vehicle_of(record) if record else None, entry.data.get("heard", {}))
        if "road" in entry.data:
            known = replace(known, speed=channel_of(entry.data["road"]))
        found = read(path, ReadOptions(**dict(entry.data.get("options", {})), sound=known))
    if isinstance(found, GateTable):
        raise RecordingError(f"{entry.file_name} is a table now\n    what to do: add the file again")
    return found


def _told(options: ReadOptions) -> dict[str, Any]:
    """What a reader was told about a file, so that it can be read in the same way again."""
    told = {
        "columns": dict(options.columns),
        "decimal": options.decimal,
        "speed_unit": options.speed_unit,
        "utc_offset_h": options.utc_offset_h,
    }
    return {key: value for key, value in told.items() if value}


def _laid_over(path: Path, found: Recording | GateTable, road: Path, options: ReadOptions) -> Channel:
    """A road speed on the clock of a sound."""
    other = read(road, ReadOptions())
    if isinstance(found, GateTable) or isinstance(other, GateTable):
        raise TrialError(
            f"{path.name} beside {road.name}\n    accepted: a sound beside a recording of the road speed\n"
            "    what to do: leave --road away for a table"
        )
    trace, _ = speed_trace(other, None)
    return laid_over(found, other, Channel(trace.time_s, trace.speed_m_s, "m/s"), options.sound.metres_per_turn)


def _heard_beside(path: Path, speed: Channel, called: str, options: ReadOptions) -> tuple[Recording, dict[str, Any]]:
    """A sound heard once more with a road speed beside, and that road speed as the journal keeps it."""
    again = read(path, replace(options, sound=replace(options.sound, speed=speed)))
    assert isinstance(again, Recording)
    pulls = [(pull.start_s, pull.end_s) for pull in find_pulls(speed.time_s, speed.values)]
    rpm = again.channels.get("rpm")
    ratio = options.sound.metres_per_turn
    said = [Note(f"road speed from {called}: it settles which multiple of the firing is heard")]
    if rpm is not None and ratio and (words := slip_words(rpm, speed, ratio, pulls)):
        said.append(Note(words))
    return replace(again, notes=(*again.notes, *said)), json_of(speed) | {"called": called}


def record_of(notebook: Notebook, trial: Trial) -> EngineRecord | None:
    """The record of what was driven, where the trial says it."""
    text = record_text(notebook, trial)
    return read_record(text, trial.build_name or "") if text is not None else None


def record_text(notebook: Notebook, trial: Trial) -> str | None:
    """The same as the text that was kept."""
    if trial.build_name is None:
        return None
    return notebook.revision(trial.build_name, trial.revision_number).record_toml
