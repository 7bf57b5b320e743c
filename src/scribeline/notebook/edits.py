"""Editing the work in hand of a build, one transaction per call. How it is kept stands in journal.py.

A place is a path of keys and list positions with dots between them, such as ``record.ports.0.roof_from_deck_mm``. At
a position of a list where nothing was seen before, a value is put in between; taking one away closes the gap.
"""

import uuid
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Literal

from scribeline.errors import EditConflict, NotebookError
from scribeline.notebook import rows
from scribeline.notebook.entries import Build, accepted_name, accepted_text, json_of
from scribeline.notebook.journal import (
    Edit,
    Work,
    begun,
    edit_of,
    entry_rows,
    insert_edit,
    insert_step,
    made,
    work_of,
)
from scribeline.notebook.places import at, checked, inserts, is_same, normal, put, whole
from scribeline.notebook.store import Notebook


@dataclass(frozen=True)
class Put:
    """What is to be put at a place, None to take away what is there.

    before : what the device saw there, None for nothing
    """

    path: str
    after: Any
    before: Any = None


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


def make_edits(notebook: Notebook, build_name: str, puts: Sequence[Put], *, device: str, label: str) -> Work:
    """Edit one place of the work in hand, or several as one step, which is undone and redone as one.

    Each place is looked at as those before it in the step have left it. Where something else is there now than the
    device saw, EditConflict, and nothing of the step is kept; where that is what was to be put there, it is left so.
    """
    wanted = [(one.path, checked(one.path), normal(one.before), normal(one.after)) for one in puts]
    with notebook.database.writing("keep the edit") as connection:
        build = rows.find_build(connection, notebook.address, build_name)
        work = work_of(connection, notebook.journals, notebook.address, build)
        document, to_put = work.document, []
        for path, place, before, after in wanted:
            if not inserts(document, place, before, after):
                now = at(document, place)
                if is_same(now, after):
                    continue
                if not is_same(now, before):
                    entries = [edit_of(row) for row in entry_rows(connection, build.id, 2)]
                    raise _conflict(entries, path, after, now)
            wider, value = whole(document, place, after)
            document = put(document, wider, before, value)
            to_put.append((wider, before, value))
        if not to_put:
            return work
        last = begun(connection, notebook.address, work)
        step = (
            made(number, "edit", None, wider, before, value, label, device)
            for number, (wider, before, value) in enumerate(to_put, start=last)
        )
        insert_step(connection, build, step)
    return work_in_hand(notebook, build_name)


def make_edit(
    notebook: Notebook, build_name: str, path: str, after: Any, *, before: Any, device: str, label: str
) -> Work:
    """Edit one place; see `make_edits`."""
    return make_edits(notebook, build_name, [Put(path, after, before)], device=device, label=label)


def turn_back(
    notebook: Notebook, build_name: str, kind: Literal["undo", "redo"], *, device: str, of: int | None = None
) -> Work:
    """Undo the last step that is not undone, or redo the last that is; no change where there is none.

    of : number of the first entry of the step that is meant; where another one's turn has come meanwhile, nothing is
    changed
    """
    with notebook.database.writing(f"keep the {kind}") as connection:
        build = rows.find_build(connection, notebook.address, build_name)
        work = work_of(connection, notebook.journals, notebook.address, build)
        first = work.undoable if kind == "undo" else work.redoable
        if first is None or of not in (None, first.number):
            return work
        played = notebook.journals.to_the_end(connection, build)
        edits = [edit_of(row) for row in (played.done if kind == "undo" else played.undone)[-1]]
        insert_step(connection, build, _turned(edits, kind, work.number, device))
    return work_in_hand(notebook, build_name)


def _turned(edits: Sequence[Edit], kind: Literal["undo", "redo"], last: int, device: str) -> Iterator[Edit]:
    """The entries that undo a step, from its last to its first, or that make it again."""
    for number, edit in enumerate(reversed(edits) if kind == "undo" else edits, start=last):
        before, after = (edit.after, edit.before) if kind == "undo" else (edit.before, edit.after)
        yield made(number, kind, edit.number, edit.path, before, after, edit.label, device)


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
