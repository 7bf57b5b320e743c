"""The work in hand and its journal, in both databases: nothing lost, nothing overwritten unseen, nothing changed."""

import hashlib
import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import psycopg
import pytest

from scribeline.errors import EditConflict, NotebookError
from scribeline.notebook import (
    Notebook,
    Put,
    Work,
    begin_work,
    edits_after,
    export,
    make_edit,
    make_edits,
    open_archive,
    open_notebook,
    restore,
    turn_back,
    work_in_hand,
)
from scribeline.notebook.journal import PlayedJournals
from tests.notebook.archives import entries_of, fill, index_of, pack, with_index
from tests.notebook.test_importing import everything


def put(notebook: Notebook, path: str, after: Any, before: Any = None, device: str = "bench", label: str = "") -> Work:
    return make_edit(notebook, "kart", path, after, before=before, device=device, label=label or f"{path} {after}")


def undo(notebook: Notebook, device: str = "bench") -> Work:
    return turn_back(notebook, "kart", "undo", device=device)


def redo(notebook: Notebook, device: str = "bench") -> Work:
    return turn_back(notebook, "kart", "redo", device=device)


def work_on(notebook: Notebook) -> None:
    """Two builds with work in hand and one without: one that has revisions, one that has none."""
    fill(notebook)
    put(notebook, "record.a_mm", 2.6, 2.5)
    put(notebook, "record.ports.0.name", "exhaust", device="phone")
    put(notebook, "record.ports.0", None, {"name": "exhaust"})
    undo(notebook)
    undo(notebook, "phone")
    redo(notebook)
    begin_work(notebook, "new one", {"name": "new"}, note="empty", label="a new cylinder", device="phone")


def test_work_begins_from_the_latest_revision(where: str) -> None:
    with open_notebook(where, create=True) as notebook:
        fill(notebook)
        at_first = work_in_hand(notebook, "KART")
        assert (at_first.number, at_first.document) == (0, {"record": {"name": "kart", "a_mm": 2.5}})
        assert (at_first.undoable, at_first.redoable, at_first.revision_number) == (None, None, 2)
        work = put(notebook, "record.a_mm", {"value": 2.54, "typed": "0.1 in"}, 2.5, label="a 0.1 in")
        assert work.document == {"record": {"name": "kart", "a_mm": {"value": 2.54, "typed": "0.1 in"}}}
        assert work.undoable is not None
        assert (work.undoable.number, work.undoable.label, work.undoable.before) == (2, "a 0.1 in", 2.5)
        assert [(one.kind, one.of, one.device) for one in edits_after(notebook, "kart", 0)] == [
            ("begin", None, "notebook"),
            ("edit", None, "bench"),
        ]


def test_undo_and_redo_go_through_the_whole_history(where: str) -> None:
    with open_notebook(where, create=True) as notebook:
        work_on(notebook)
    with open_notebook(where) as notebook:
        assert work_in_hand(notebook, "kart").document["record"]["ports"] == [{"name": "exhaust"}]
        for _ in range(3):
            work = undo(notebook)
        assert work.document == {"record": {"name": "kart", "a_mm": 2.5}}
        assert work.undoable is None
        for _ in range(9):
            work = redo(notebook)
        assert work.document["record"] == {"name": "kart", "a_mm": 2.6, "ports": []}
        assert work.redoable is None
        kinds = [(one.number, one.kind, one.of) for one in edits_after(notebook, "kart", 4)]
        assert kinds[:5] == [(5, "undo", 4), (6, "undo", 3), (7, "redo", 3), (8, "undo", 3), (9, "undo", 2)]


def test_editing_ends_what_could_be_redone(notebook: Notebook) -> None:
    work_on(notebook)
    undo(notebook)
    assert put(notebook, "record.b", 1).redoable is None
    assert turn_back(notebook, "kart", "redo", device="bench").number == work_in_hand(notebook, "kart").number


def test_only_the_edit_that_was_seen_is_undone(notebook: Notebook) -> None:
    fill(notebook)
    first = put(notebook, "record.a", 1).undoable
    second = put(notebook, "record.b", 2).undoable
    assert first is not None
    assert second is not None
    assert turn_back(notebook, "kart", "undo", device="phone", of=first.number).number == 3
    assert turn_back(notebook, "kart", "undo", device="phone", of=second.number).number == 4


STEP = [
    Put("record.a_mm", 2.6, 2.5),
    Put("plan.steps.0", "raise roof"),
    Put("plan.steps.1", "face head"),
    Put("record.ports.0.name", "exhaust"),
]


def in_one_step(notebook: Notebook, puts: list[Put] = STEP, device: str = "bench") -> Work:
    return make_edits(notebook, "kart", puts, device=device, label="taken over")


def test_several_places_are_edited_undone_and_redone_as_one_step(where: str) -> None:
    with open_notebook(where, create=True) as notebook:
        fill(notebook)
        first = put(notebook, "record.b", 1).document
        work = in_one_step(notebook)
        assert work.document == {
            "record": {"name": "kart", "a_mm": 2.6, "b": 1, "ports": [{"name": "exhaust"}]},
            "plan": {"steps": ["raise roof", "face head"]},
        }
        assert work.undoable is not None
        assert (work.step, work.number, work.undoable.number, work.undoable.label) == (3, 6, 3, "taken over")
        assert undo(notebook).document == first
    with open_notebook(where) as notebook:
        assert redo(notebook, "phone").document == work.document
        rows = [(one.number, one.kind, one.of, one.step, one.device) for one in edits_after(notebook, "kart", 6)]
        assert rows == [
            (7, "undo", 6, None, "bench"), (8, "undo", 5, 7, "bench"), (9, "undo", 4, 7, "bench"),
            (10, "undo", 3, 7, "bench"), (11, "redo", 3, None, "phone"), (12, "redo", 4, 11, "phone"),
            (13, "redo", 5, 11, "phone"), (14, "redo", 6, 11, "phone"),
        ]  # fmt: skip
        assert turn_back(notebook, "kart", "undo", device="phone", of=6).number == 14, "not the first of the step"
        assert turn_back(notebook, "kart", "undo", device="phone", of=3).document == first
        assert undo(notebook).document == {"record": {"name": "kart", "a_mm": 2.5}}
        assert redo(notebook).document == first
        assert redo(notebook).document == work.document
        assert redo(notebook).number == work_in_hand(notebook, "kart").number


def test_of_a_step_that_conflicts_anywhere_nothing_is_kept(where: str) -> None:
    with open_notebook(where, create=True) as bench, open_notebook(where) as phone:
        fill(bench)
        put(phone, "record.c", 3, device="the phone", label="c 3")
        before = everything(bench)
        with pytest.raises(EditConflict, match="by the phone") as told:
            in_one_step(bench, [*STEP, Put("record.c", 4)])
        assert (told.value.path, told.value.yours, told.value.theirs) == ("record.c", 4, 3)
        with pytest.raises(NotebookError, match="no such position"):
            in_one_step(bench, [*STEP, Put("plan.steps.9", "x")])
        assert everything(bench) == before


def test_what_is_there_already_is_left_out_of_a_step(notebook: Notebook) -> None:
    fill(notebook)
    assert in_one_step(notebook, [Put("record.a_mm", 2.5, 9)]).number == 0
    work = in_one_step(notebook, [Put("record.a_mm", 2.5, 9), Put("record.b", 1)])
    assert [(one.path, one.step) for one in edits_after(notebook, "kart", 1)] == [("record.b", None)]
    assert work.step == work.number == 2


def test_two_devices_that_disagree(where: str) -> None:
    """The later one is told by whom, and nothing is overwritten; what both want alike is no conflict."""
    with open_notebook(where, create=True) as bench, open_notebook(where) as phone:
        fill(bench)
        put(bench, "record.a_mm", 2.6, 2.5, device="the bench", label="a 2.6 mm")
        with pytest.raises(EditConflict, match=r"changed by the bench in the meantime: it is 2\.6 now") as told:
            put(phone, "record.a_mm", 2.7, 2.5, device="the phone")
        assert (told.value.path, told.value.yours, told.value.theirs) == ("record.a_mm", 2.7, 2.6)
        assert (told.value.device, told.value.label) == ("the bench", "a 2.6 mm")
        assert put(phone, "record.a_mm", 2.6, 2.5, device="the phone").number == 2
        assert put(phone, "record.b_mm", 1, device="the phone").number == 3
        assert put(bench, "record.a_mm", 2.7, 2.6).document["record"] == {"name": "kart", "a_mm": 2.7, "b_mm": 1}


def test_an_edit_inside_what_another_device_took_away_or_made_is_a_conflict(notebook: Notebook) -> None:
    fill(notebook)
    put(notebook, "record.crank.stroke_mm", 50)
    put(notebook, "record.crank", None, {"stroke_mm": 50}, device="phone")
    with pytest.raises(EditConflict, match=r"by phone .* it is nothing now, and was to become 51"):
        put(notebook, "record.crank.stroke_mm", 51, 50)
    with pytest.raises(EditConflict, match=r"record\.a_mm was changed"):
        put(notebook, "record.a_mm.value", 51)
    assert work_in_hand(notebook, "kart").document == {"record": {"name": "kart", "a_mm": 2.5}}


def test_a_revision_kept_from_elsewhere_comes_into_the_work_in_hand(where: str) -> None:
    with open_notebook(where, create=True) as notebook:
        fill(notebook)
        put(notebook, "record.a_mm", 2.6, 2.5)
        put(notebook, "plan.goal", "more")
        notebook.keep("kart", "a_mm = 3.0", author="Kim")
        work = work_in_hand(notebook, "kart")
        assert work.document == {"record": {"a_mm": 3.0}, "plan": {"goal": "more"}}
        assert work.revision_number == 3
        assert work.undoable is not None
        assert (work.undoable.label, work.undoable.device) == ("revision 3", "notebook")
        assert undo(notebook).document["record"] == {"name": "kart", "a_mm": 2.6}
        before = work_in_hand(notebook, "kart").number
        notebook.keep("kart", "name = 'kart'\na_mm = 2.6 # the same", author="Kim")
        notebook.keep("kart", "a_mm = 9", author="Kim", from_work_in_hand=True)
        assert work_in_hand(notebook, "kart").number == before


def test_a_build_without_a_revision(where: str) -> None:
    with open_notebook(where, create=True) as notebook:
        record = {"name": "new", "note": None}
        work = begin_work(notebook, " kart ", record, note="spare", label="a new cylinder", device="phone")
        assert (work.number, work.document, work.undoable, work.revision_number) == (
            1, {"record": {"name": "new"}}, None, None,
        )  # fmt: skip
        (summary,) = notebook.builds()
        assert (summary.build.name, summary.revision_count, summary.last_number) == ("kart", 0, None)
        assert summary.last_edited_at == edits_after(notebook, "kart", 0)[0].made_at
        with pytest.raises(NotebookError, match=r"'kart' has no revision yet.*\n.*its work in hand"):
            notebook.revision("kart")
        with pytest.raises(NotebookError, match="a build called 'kart' already"):
            begin_work(notebook, "KART", {}, note="", label="", device="phone")
        put(notebook, "record.a_mm", 1)
        kept = notebook.keep("kart", "a_mm = 1", author="Kim")
        assert (kept.new_build, kept.revision.number, kept.revision.parent_number) == (False, 1, None)


def test_an_edit_that_cannot_be_kept_keeps_nothing(notebook: Notebook) -> None:
    fill(notebook)
    for path, after, device, label in (
        ("record..a", 1, "bench", ""),
        ("record.a", float("nan"), "bench", ""),
        ("record.a", "x" * 5_000_000, "bench", ""),
        ("record.a", "\0", "bench", ""),
        ("record.ports.1", 1, "bench", ""),
        ("record.a", 1, "", ""),
        ("record.a", 1, "bench", "\x1b"),
    ):
        with pytest.raises(NotebookError):
            put(notebook, path, after, device=device, label=label)
    assert work_in_hand(notebook, "kart").number == 0
    with pytest.raises(NotebookError, match="no build called 'none'"):
        make_edit(notebook, "none", "record.a", 1, before=None, device="bench", label="")


def test_what_is_read_is_not_shared_with_what_comes_later(notebook: Notebook) -> None:
    fill(notebook)
    before = put(notebook, "record.ports.0.name", "a")
    put(notebook, "record.ports.0.name", "b", "a")
    assert before.document["record"]["ports"] == [{"name": "a"}]


def test_a_journal_is_played_again_where_another_notebook_was_put_in_its_place(notebook: Notebook) -> None:
    fill(notebook)
    put(notebook, "record.a_mm", 2.6, 2.5)
    journals = PlayedJournals()
    with notebook.database.reading() as connection:
        build = work_in_hand(notebook, "kart").build
        journals.to_the_end(connection, build)
        (played,) = journals._played.values()
        played.last_id, played.document = "of another notebook", {"record": {"name": "other"}}
        assert journals.to_the_end(connection, build).document["record"]["a_mm"] == 2.6
        played = journals._played[build.id]
        played.number, played.document = 99, {"record": {"name": "other"}}
        assert journals.to_the_end(connection, build).document["record"]["a_mm"] == 2.6


TAMPERING = [
    "UPDATE edits SET label = 'better'",
    "UPDATE edits SET number = number + 100",
    "DELETE FROM edits",
    "DELETE FROM builds WHERE name = 'new one'",
    "INSERT INTO edits SELECT id || 'x', build_id, number + 100, 'undo', NULL, made_at, device, label, path, before, "
    "after, step FROM edits",
    "INSERT INTO edits SELECT id || 'x', build_id, number + 100, 'undo', 999, made_at, device, label, path, before, "
    "after, step FROM edits",
    "INSERT INTO edits SELECT id || 'x', build_id, number + 100, 'begin', NULL, made_at, device, label, path, before, "
    "after, step FROM edits",
    "INSERT INTO edits SELECT id || 'x', build_id, number, kind, NULL, made_at, device, label, path, before, after, "
    "step FROM edits WHERE kind = 'begin'",
    "INSERT INTO edits SELECT id || 'x', build_id, number + 100, kind, NULL, made_at, device, label, path, before, "
    "after, number + 100 FROM edits WHERE kind = 'edit'",
]


@pytest.mark.parametrize("statement", TAMPERING)
def test_no_program_can_change_the_journal(where: str, statement: str) -> None:
    refused = r"never changed|foreign key|FOREIGN KEY|check|CHECK|unique|UNIQUE"
    with open_notebook(where, create=True) as notebook:
        work_on(notebook)
        before = everything(notebook)
        if "://" in where:
            with psycopg.connect(where) as other, pytest.raises(psycopg.Error, match=refused):
                other.execute(statement)
        else:
            with closing(sqlite3.connect(where)) as raw:
                raw.execute("PRAGMA foreign_keys = ON")
                with pytest.raises(sqlite3.IntegrityError, match=refused):
                    raw.execute(statement)
        assert everything(notebook) == before


def test_an_edit_is_not_replaced_by_a_program_without_our_settings(path: Path) -> None:
    with open_notebook(path) as notebook:
        work_on(notebook)
    with closing(sqlite3.connect(path)) as raw, pytest.raises(sqlite3.IntegrityError, match="never changed"):
        raw.execute(
            "INSERT OR REPLACE INTO edits SELECT 'x' || id, build_id, number, kind, of_number, made_at, device, "
            "'better', path, before, after, step FROM edits"
        )


def test_work_in_hand_goes_out_and_comes_back_with_nothing_lost(where: str, path: Path, tmp_path: Path) -> None:
    with open_notebook(where, create=True) as source:
        work_on(source)
        export(source, tmp_path / "one.zip")
        before = everything(source)
    with open_archive(tmp_path / "one.zip") as archive, open_notebook(path) as target:
        restore(archive, target)
        assert everything(target) == before
        assert undo(target).document == {"record": {"name": "kart", "a_mm": 2.6}}
    with open_notebook(tmp_path / "again.sqlite", create=True) as again, open_archive(tmp_path / "one.zip") as archive:
        restore(archive, again)
        export(again, tmp_path / "two.zip")
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()
    assert index_of(entries_of(tmp_path / "one.zip"))["format_version"] == 3


def test_steps_go_out_and_come_back_with_nothing_lost(where: str, path: Path, tmp_path: Path) -> None:
    with open_notebook(where, create=True) as source:
        fill(source)
        in_one_step(source)
        undo(source)
        redo(source)
        export(source, tmp_path / "one.zip")
        before = everything(source)
    with open_archive(tmp_path / "one.zip") as archive, open_notebook(path) as target:
        restore(archive, target)
        assert everything(target) == before
        export(target, tmp_path / "two.zip")
        assert undo(target).document == {"record": {"name": "kart", "a_mm": 2.5}}
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()
    assert index_of(entries_of(tmp_path / "one.zip"))["format_version"] == 5


def with_journal(entries: dict[str, bytes], path: Path, change: Callable[[list[Any]], Any]) -> None:
    """Open an archive whose journal was changed, with a hash that fits."""
    lines = [json.loads(line) for line in entries["builds/kart/edits.jsonl"].splitlines()]
    change(lines)
    data = "".join(json.dumps(line) + "\n" for line in lines).encode()
    entries["builds/kart/edits.jsonl"] = data
    index = index_of(entries)
    next(one for one in index["builds"] if one["name"] == "kart")["edits_sha256"] = hashlib.sha256(data).hexdigest()
    with open_archive(pack(path, with_index(entries, index))):
        pytest.fail("the archive was accepted")


def take_the_last_away(lines: list[Any]) -> None:
    del lines[-1]


BROKEN_STEPS: list[tuple[str, Callable[[list[Any]], Any], str]] = [
    ("half undone", take_the_last_away, "its last step is not whole"),
    ("of another step", lambda lines: lines[3].update(step=1), "edit 4 does not follow"),
    ("undone in another order", lambda lines: lines[6].update(of=3), "edit 7 does not follow"),
    ("undone as two steps", lambda lines: lines[6].pop("step"), "edit 7 does not follow"),
    ("no steps at all", lambda lines: [line.pop("step", None) for line in lines], "against what notebook.json says"),
]


@pytest.mark.parametrize(("change", "reason"), [case[1:] for case in BROKEN_STEPS], ids=[c[0] for c in BROKEN_STEPS])
def test_an_archive_whose_steps_cannot_be_true(
    notebook: Notebook, tmp_path: Path, change: Callable[[list[Any]], Any], reason: str
) -> None:
    fill(notebook)
    in_one_step(notebook)
    undo(notebook)
    export(notebook, tmp_path / "one.zip")
    entries = entries_of(tmp_path / "one.zip")
    with pytest.raises(NotebookError, match=reason):
        with_journal(entries, tmp_path / "x.zip", change)


CONTRADICTIONS: list[tuple[str, Callable[[list[Any]], Any], str]] = [
    ("a gap", lambda lines: lines.pop(1), "not numbered 1, 2, 3"),
    ("no journal", lambda lines: lines.clear(), "not numbered 1, 2, 3"),
    ("another value before", lambda lines: lines[1].update(before="9"), "edit 2 does not follow"),
    ("undone what was not last", lambda lines: lines[4].update(of=2), "edit 5 does not follow"),
    ("no such place", lambda lines: lines[2].update(path="record.a_mm.b"), "edit 3 does not follow"),
    ("a list that is none", lambda lines: lines[2].update(path="record.ports.7"), "edit 3 does not follow"),
    ("a second beginning", lambda lines: lines[1].update(kind="begin"), "edit 2 does not follow"),
    ("value with spaces", lambda lines: lines[1].update(after=" 2.6"), "not written as the notebook writes it"),
    ("two alike", lambda lines: lines[1].update(id=lines[0]["id"]), "two edits are the same"),
    ("more", lambda lines: lines[1].update(more=1), "Extra inputs are not permitted"),
]


@pytest.mark.parametrize(
    ("change", "reason"), [case[1:] for case in CONTRADICTIONS], ids=[c[0] for c in CONTRADICTIONS]
)
def test_an_archive_whose_journal_cannot_be_true(
    notebook: Notebook, tmp_path: Path, change: Callable[[list[Any]], Any], reason: str
) -> None:
    work_on(notebook)
    export(notebook, tmp_path / "one.zip")
    entries = entries_of(tmp_path / "one.zip")
    with pytest.raises(NotebookError, match=reason):
        with_journal(entries, tmp_path / "x.zip", change)


def test_an_export_without_work_in_hand_is_what_it_was_before_there_was_any(notebook: Notebook, tmp_path: Path) -> None:
    fill(notebook)
    export(notebook, tmp_path / "one.zip")
    text = entries_of(tmp_path / "one.zip")["notebook.json"]
    assert b"edits" not in text
    assert b'"format_version": 1' in text
