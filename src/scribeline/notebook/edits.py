"""Editing the work in hand of a build, one transaction per call. How it is kept stands in journal.py.

A place is a path of keys and list positions with dots between them, such as ``record.ports.0.roof_from_deck_mm``. At
a position of a list where nothing was seen before, a value is put in between; taking one away closes the gap.
"""

import uuid
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any, Literal

from scribeline.errors import EditConflict, NotebookError
from scribeline.notebook import rows
from scribeline.notebook.entries import Build, accepted_name, accepted_text, json_of
from scribeline.notebook.journal import Edit, Work, begun, edit_of, entry_rows, insert_edit, made, work_of
from scribeline.notebook.places import at, checked, inserts, is_same, normal, whole
from scribeline.notebook.store import Notebook


def work_in_hand(notebook: Notebook, build_name: str) -> Work:
    """The work in hand of a build; without a journal yet, the record of its latest revision."""
    with notebook.database.reading() as connection:
        build = rows.find_build(connection, notebook.address, build_name)
        return work_of(connection, notebook.journals, notebook.address, build)


def begin_work(
    notebook: Notebook, build_name: str, record: Mapping[str, Any], *, note: str, label: str, device: str
) -> Work:
    """Begin a build without a revision, with `record` in hand; refused where the name is taken."""
    name, note = accepted_name(build_name, "build"), accepted_text(note, "build's note")
    first = made(0, "begin", None, "record", None, normal(json_of(record)), label, device)
    with notebook.database.writing("begin the build") as connection:
        if (there := rows.build_like(connection, name)) is not None:
            raise NotebookError(
                f"There is a build called {there.name!r} already.\n"
                "    kept: nothing\n    what to do: choose another name"
            )
        build = Build(str(uuid.uuid4()), name, datetime.now(UTC), note)
        rows.insert_build(connection, build)
        insert_edit(connection, build, first)
    return work_in_hand(notebook, name)


def make_edit(
    notebook: Notebook, build_name: str, path: str, after: Any, *, before: Any, device: str, label: str
) -> Work:
    """Put `after` at a place of the work in hand, or take away what is there where it is None.

    before : what the device saw there. Where something else is there now, EditConflict, and nothing is changed;
    except where that is what was to be put there, which is no edit at all.
    """
    place, after, before = checked(path), normal(after), normal(before)
    with notebook.database.writing("keep the edit") as connection:
        build = rows.find_build(connection, notebook.address, build_name)
        work = work_of(connection, notebook.journals, notebook.address, build)
        if not inserts(work.document, place, before, after):
            now = at(work.document, place)
            if is_same(now, after):
                return work
            if not is_same(now, before):
                entries = [edit_of(row) for row in entry_rows(connection, build.id, 2)]
                raise _conflict(entries, path, after, now)
        wider, value = whole(work.document, place, after)
        last = begun(connection, notebook.address, work)
        insert_edit(connection, build, made(last, "edit", None, wider, before, value, label, device))
    return work_in_hand(notebook, build_name)


def turn_back(
    notebook: Notebook, build_name: str, kind: Literal["undo", "redo"], *, device: str, of: int | None = None
) -> Work:
    """Undo the last edit that is not undone, or redo the last that is; no change where there is none.

    of : number of the edit that is meant; where another one's turn has come meanwhile, nothing is changed
    """
    with notebook.database.writing(f"keep the {kind}") as connection:
        build = rows.find_build(connection, notebook.address, build_name)
        work = work_of(connection, notebook.journals, notebook.address, build)
        edit = work.undoable if kind == "undo" else work.redoable
        if edit is None or of not in (None, edit.number):
            return work
        before, after = (edit.after, edit.before) if kind == "undo" else (edit.before, edit.after)
        entry = made(work.number, kind, edit.number, edit.path, before, after, edit.label, device)
        insert_edit(connection, build, entry)
    return work_in_hand(notebook, build_name)


def edits_after(notebook: Notebook, build_name: str, number: int) -> list[Edit]:
    """The entries of a build's journal after the one with this number, oldest first."""
    with notebook.database.reading() as connection:
        build = rows.find_build(connection, notebook.address, build_name)
        return [edit_of(row) for row in entry_rows(connection, build.id, number + 1)]


def _conflict(entries: list[Edit], path: str, yours: Any, theirs: Any) -> EditConflict:
    """Names the last edit that touched the place: at it, above it or below it."""
    for one in reversed(entries):
        if f"{one.path}.".startswith(f"{path}.") or f"{path}.".startswith(f"{one.path}."):
            return EditConflict(path, yours, theirs, one.device, one.label)
    return EditConflict(path, yours, theirs)
