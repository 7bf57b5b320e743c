"""The work in hand on one build: looking at it, editing it, undoing, and keeping its record as a revision.

The document is JSON. Under "record" stands the engine record as its TOML has it, perhaps unfinished; every page keeps
what it needs under a key of its own. What a call has returned is on the disk. Every call takes its own copy, so the
document may be looked at and cut up freely; it changes only through `edit`, `edit_all`, `undo` and `redo`.

`where` is that of `scribeline.tasks.notebook`.
"""

import copy
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from scribeline.engine import EngineRecord, read_record, record_of, write_record
from scribeline.errors import NotebookError, RecordError
from scribeline.notebook import (
    Edit,
    Kept,
    Put,
    Revision,
    Work,
    begin_work,
    edits_after,
    make_edits,
    turn_back,
    work_in_hand,
)
from scribeline.tasks.notebook import Tell, Where, opened, silently, user_name

__all__ = [
    "Desk",
    "Edit",
    "Put",
    "begin_build",
    "desk_of",
    "edit",
    "edit_all",
    "edits_since",
    "keep_work",
    "redo",
    "undo",
]


@dataclass(frozen=True)
class Desk:
    """The work in hand on one build.

    number : of its last edit, 0 where nothing was edited yet; greater in every later state
    undoable, redoable : the edit that `undo` or `redo` would take, with its label; None where there is none. Of a step
        at several places it is the first
    revision_number : of the latest revision, None where nothing was kept yet
    step : number of the first edit of the step that was made last; `number` where that was at one place
    undone_at : when the step that `redo` would take was undone
    """

    build: str
    number: int
    document: dict[str, Any]
    undoable: Edit | None
    redoable: Edit | None
    revision_number: int | None
    step: int = 0
    undone_at: datetime | None = None


def desk_of(build: str, *, where: Where = None, tell: Tell = silently) -> Desk:
    """The work in hand on a build; it begins from the latest revision."""
    with opened(where, tell=tell) as notebook:
        return _desk(work_in_hand(notebook, build))


def begin_build(
    name: str,
    record: Mapping[str, Any] | None = None,
    note: str = "",
    *,
    device: str = "notebook",
    where: Where = None,
    tell: Tell = silently,
) -> Desk:
    """Begin a new cylinder, with an empty record in hand or with `record`, which need not be whole yet.

    It has no revision until `keep_work` is called. Refused where there is a build of this name already.
    """
    begun = {"scribeline_record": 1, "name": name.strip()} | dict(record or {})
    with opened(where, create=True, tell=tell) as notebook:
        return _desk(begin_work(notebook, name, begun, note=note, label="a new cylinder", device=device))


def edit(
    build: str,
    path: str,
    after: Any,
    *,
    before: Any = None,
    device: str,
    label: str,
    where: Where = None,
    tell: Tell = silently,
) -> Desk:
    """Put a value at a place of the document, or take away what is there where `after` is None.

    path : keys and list positions from 0 with dots between them, such as ``record.ports.0.width_chord_mm``; tables on
        the way are made. At a position where `before` is None, the value is put into the list, in front of what is
        there; taking one away closes the gap.
    before : what this device saw there, None for nothing
    device : where the edit is made; label : what a builder reads of it beside undo, such as "bore 50.02 mm"

    Raises EditConflict where something else is there by now: nothing was changed then. Where what is there is what was
    wanted, it is no edit at all.
    """
    with opened(where, tell=tell) as notebook:
        return _desk(make_edits(notebook, build, [Put(path, after, before)], device=device, label=label))


def edit_all(
    build: str, puts: Sequence[Put], *, device: str, label: str, where: Where = None, tell: Tell = silently
) -> Desk:
    """Edit several places as one step: one label, one undo, one redo. Each place is as for `edit`.

    Raises EditConflict for the first place where something else is there by now: nothing of the step was kept then.
    """
    with opened(where, tell=tell) as notebook:
        return _desk(make_edits(notebook, build, puts, device=device, label=label))


def undo(build: str, *, device: str, of: int | None = None, where: Where = None, tell: Tell = silently) -> Desk:
    """Undo the last step that is not undone yet, whoever made it; no change where there is none.

    of : number of the edit, of a step its first, that the builder saw as the one to undo; where it is another by now,
        nothing is undone
    """
    with opened(where, tell=tell) as notebook:
        return _desk(turn_back(notebook, build, "undo", device=device, of=of))


def redo(build: str, *, device: str, of: int | None = None, where: Where = None, tell: Tell = silently) -> Desk:
    """Redo the step that was undone last, as long as nothing was edited since; no change where there is none."""
    with opened(where, tell=tell) as notebook:
        return _desk(turn_back(notebook, build, "redo", device=device, of=of))


def edits_since(build: str, number: int, *, where: Where = None, tell: Tell = silently) -> list[Edit]:
    """What was done to a build's document after the edit with this number, oldest first; undoing counts as doing."""
    with opened(where, tell=tell) as notebook:
        return edits_after(notebook, build, number)


def keep_work(
    build: str, note: str = "", author: str | None = None, *, where: Where = None, tell: Tell = silently
) -> Kept:
    """Keep the record in hand as the next revision.

    Raises RecordError, with all its reasons, where it is no possible engine; NotebookError where the latest revision
    says the same. The work in hand is as it was in each case.
    """
    with opened(where, tell=tell) as notebook:
        work = work_in_hand(notebook, build)
        record = record_of(work.document.get("record", {}), work.build.name)
        if work.revision_number and _says_the_same(notebook.revision(build), record):
            raise NotebookError(
                f"The record in hand says the same as revision {work.revision_number} of {work.build.name!r}.\n"
                "    kept: nothing, it is kept already\n    what to do: go on measuring"
            )
        return notebook.keep(
            work.build.name,
            write_record(record),
            author=user_name() if author is None else author,
            note=note,
            from_work_in_hand=True,
        )


def _desk(work: Work) -> Desk:
    return Desk(
        work.build.name, work.number, copy.deepcopy(work.document), work.undoable, work.redoable, work.revision_number,
        work.step, work.undone_at,
    )  # fmt: skip


def _says_the_same(revision: Revision, record: EngineRecord) -> bool:
    try:
        return read_record(revision.record_toml) == record
    except RecordError:  # kept when rules were less strict
        return False
