"""A notebook with all that a builder makes in a season goes out and comes back: every row, and all that it means."""

import io
from pathlib import Path
from typing import Any

from PIL import Image

from scribeline.notebook import Notebook, export, open_archive, open_notebook, restore
from scribeline.tasks import desk, ledger, photos, trial_undo, trials
from scribeline.tasks.answers import trial as trial_in_full
from scribeline.tasks.answers_files import comparison
from scribeline.tasks.demonstration import keep_demonstration
from scribeline.tasks.history import timeline
from scribeline.tasks.ledger_text import ledger_json
from scribeline.tasks.notebook import attach_named, attached_file, show_build
from tests.notebook.archives import entries_of
from tests.notebook.test_importing import everything
from tests.tasks.trial_files import recording

ROLL = "time s,speed km/h\n"
UNFINISHED = "Küchenmoped №2"


def season(notebook: Notebook, folder: Path) -> str:
    """The demonstration's story, and what it leaves out: photographs, ticks, steps, undone work, recordings."""
    kart = keep_demonstration(author="Kim", where=notebook)
    picture = folder / "before.png"
    Image.new("RGB", (64, 48), "grey").save(picture)
    attach_named(kart, {"ports before.png": picture}, revision=1, where=notebook)
    (photo,) = attach_named(kart, {"Abdruck ü.png": picture}, where=notebook)

    def edit(path: str, after: Any, before: Any = None, build: str = kart) -> None:
        desk.edit(build, path, after, before=before, device="phone", label=f"{path} edited", where=notebook)

    found = {"squish/readings/0/gap_mm": {"value": 1.2, "typed": "1,2"}}
    edit("marking.bench.steps.1-raise-exhaust-roof", {"done_at": "2026-11-26T11:00:00+00:00", "at_end": found})
    edit("marking.bars", {"across": "99.6 mm", "up": "100"})
    printed = {"at": "2026-11-26", "pages": 3, "paper": "A4", "revision": "x", "printer": "-", "sheets": ["cut-list"]}
    edit("marking.printed.0", printed)
    edit("rubbing", {"photo": photo.sha256, "name": "Abdruck ü.png"})
    puts = [desk.Put("as_if", {"exhaust": {"roof_mm": 0.5}}), desk.Put("plan.goal", "most")]
    desk.edit_all(kart, puts, device="bench", label="two places at once", where=notebook)
    desk.undo(kart, device="bench", where=notebook)
    desk.redo(kart, device="phone", where=notebook)
    edit("plan.of_another_day", "taken back later")
    desk.undo(kart, device="phone", where=notebook)

    desk.begin_build(UNFINISHED, {"cylinder": {"bore_mm": {"value": 38.9, "typed": "38,9"}}}, "barn", where=notebook)
    edit("record.ports.0", {"name": "exhaust"}, build=UNFINISHED)
    desk.undo(UNFINISHED, device="phone", where=notebook)

    day = trials.list_trials(where=notebook)[0].trial.name
    run = trials.show_trial(day, where=notebook).measured.runs[0]
    trials.drop_run(day, run.name, "brakes dragged", author="Kim", where=notebook)
    trial_undo.undo_in_trial(day, trials.journal_number(day, where=notebook), author="Ada", where=notebook)
    trials.set_trial(day, air="18 C, 1003 hPa, 60 %", band="6000 to 9000", author="Kim", where=notebook)
    driven = recording("ride", pulls=2)
    channel = driven.channels["speed_m_s"]
    rows = "".join(f"{t:.2f},{3.6 * v:.3f}\n" for t, v in zip(channel.time_s, channel.values, strict=True))
    ride = folder / "Fahrt 1.csv"
    ride.write_text(ROLL + rows)
    trials.new_trial("ride", build=kart, gates=["30 to 60 km/h"], where=notebook)
    (added,) = trials.add_files("ride", [ride], setup="as it is", where=notebook)
    assert (added.why_not, added.runs) == ("", 2)
    trials.edit_pull("ride", "2.1", "leave-out", "a car in the way", where=notebook)

    entry = ledger.write_lesson(kart, "A lesson that was none.", where=notebook)
    ledger.leave_out(kart, entry.number, "said in anger", where=notebook)
    return kart


def meaning(notebook: Notebook, kart: str) -> dict[str, Any]:
    """What the pages would show of it, and every state that undo leads back to."""

    def nothing(*_: Any) -> bool:
        return False

    found: dict[str, Any] = {
        "history": [(one.number, one.note, one.author, one.record_toml, one.kept_at)
                    for one in show_build(kart, where=notebook).revisions],
        "files": [(one, attached_file(kart, one.id, where=notebook)[1])
                  for one in show_build(kart, where=notebook).attachments],
        "events": timeline(kart, where=notebook).events,
        "ledger": ledger_json(ledger.ledger_of(kart, where=notebook)),
        "edits": {one: desk.edits_since(one, 0, where=notebook) for one in (kart, UNFINISHED)},
        "desks": {one: desk.desk_of(one, where=notebook) for one in (kart, UNFINISHED)},
    }  # fmt: skip
    for one in trials.list_trials(where=notebook):
        name = one.trial.name
        found[name] = trial_in_full(name, None, notebook, tell=nothing, stopped=nothing)
        state = trials.show_trial(name, where=notebook).state
        found[f"{name}, files"] = [trials.content_of(entry, where=notebook) for entry in state.files]
        if name != "ride":
            asked = {"trials": [name], "setups": [], "without": [], "measure": None, "correct": None,
                     "predict": False, "form": "json"}  # fmt: skip
            found[f"{name}, verdict"] = comparison(asked, notebook, tell=nothing, stopped=nothing)
    return found


def undone(notebook: Notebook, build: str) -> list[dict[str, Any]]:
    """Every state of a build's work in hand on the way back to its beginning. It takes the notebook there."""
    states = [desk.desk_of(build, where=notebook)]
    while states[-1].undoable is not None:
        states.append(desk.undo(build, device="bench", where=notebook))
    return [one.document for one in states]


def test_a_season_comes_back_whole(where: str, tmp_path: Path) -> None:
    """From either database into a file, and from the file into another of the first kind's making: nothing differs."""
    with open_notebook(where, create=True) as source:
        kart = season(source, tmp_path)
        export(source, tmp_path / "one.zip")
        rows, before = everything(source), meaning(source, kart)
        with open_archive(tmp_path / "one.zip") as archive, open_notebook(tmp_path / "b.sqlite", create=True) as target:
            restore(archive, target)
            assert everything(target) == rows
            assert meaning(target, kart) == before
            export(target, tmp_path / "two.zip")
            assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()
            for build in (kart, UNFINISHED):
                ways_back = undone(source, build)
                assert undone(target, build) == ways_back
                assert len(ways_back) > (6 if build == kart else 0)
            photo = show_build(kart, where=target).attachments[0]
            (tmp_path / "photo.png").write_bytes(attached_file(kart, photo.id, where=target)[1])
            small = photos.small_photo(tmp_path / "photo.png", photo.name, 16)
            assert Image.open(io.BytesIO(small)).size == (16, 12)
            note = desk.desk_of(kart, where=target).document["record"].get("note")
            desk.edit(kart, "record.note", "goes on", before=note, device="bench", label="note", where=target)
            kept = desk.keep_work(kart, "goes on", "Ada", where=target).revision
            assert (kept.number, kept.parent_number) == (3, 2)


def test_a_season_comes_back_into_a_server(postgresql: str, notebook: Notebook, tmp_path: Path) -> None:
    kart = season(notebook, tmp_path)
    export(notebook, tmp_path / "one.zip")
    with open_archive(tmp_path / "one.zip") as archive, open_notebook(postgresql, create=True) as target:
        restore(archive, target)
        assert everything(target) == everything(notebook)
        assert meaning(target, kart) == meaning(notebook, kart)


def test_every_table_goes_along(notebook: Notebook, tmp_path: Path) -> None:
    """A table that somebody adds and forgets to export is found here: each holds something in this story."""
    season(notebook, tmp_path)
    empty = [number for number, rows in enumerate(everything(notebook)) if not rows]
    assert empty == []
    export(notebook, tmp_path / "one.zip")
    assert len([name for name in entries_of(tmp_path / "one.zip") if name.startswith("files/")]) == 3
