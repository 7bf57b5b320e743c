"""The work in hand of a build: a JSON document, and the journal of edits that made it. The journal only grows.

The first entry, of the kind "begin", puts a record into an empty document. Each later one puts a value at a place, or
takes it away; "undo" and "redo" are such entries too, which also name the edit they are about. So the document is the
journal played from its start, and nothing is ever lost: not what was overwritten, not what was undone.

What was done at several places at once is one step: its entries follow each other, and each after the first names the
first. They were written in one transaction, and they are undone and redone together.

Everything here happens inside a transaction that someone else has opened. To this room a document is JSON; what it
means is known in `scribeline.tasks`.
"""

import json
import threading
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Any, Literal

import sqlalchemy as sa

from scribeline.notebook import rows, tables
from scribeline.notebook.entries import Build, accepted_text, canonical, document_of, json_of
from scribeline.notebook.places import is_same, normal, put

Kind = Literal["begin", "edit", "undo", "redo"]

OUTSIDE = "notebook"
"""Device of an entry that no page made: a record that was there before, or was kept as a revision from elsewhere."""


@dataclass(frozen=True)
class Edit:
    """One entry of a journal.

    of : number of the edit that was undone or redone; None for the other kinds
    step : number of the first entry of the step that this one belongs to; None for the first itself
    before, after : the values at `path`; None where there was, or is, nothing
    label : what was done, in the builder's words; device : where
    """

    id: str
    number: int
    kind: Kind
    of: int | None
    path: str
    before: Any
    after: Any
    label: str
    device: str
    made_at: datetime
    step: int | None = None


@dataclass(frozen=True)
class Work:
    """The work in hand. number : of its last edit, 0 where it has no journal yet. The document is not to be changed.

    step : number of the first entry of the last step, 0 where there is none
    undoable, redoable : the first entry of the step that undo or redo would take
    revision_number : of the latest revision, None where there is none
    undone_at : when the step that redo would take was undone
    """

    build: Build
    number: int
    document: dict[str, Any]
    undoable: Edit | None
    redoable: Edit | None
    revision_number: int | None
    step: int = 0
    undone_at: datetime | None = None


@dataclass
class Played:
    """A journal played up to some entry. Parts of the document are shared with earlier ones, and never changed.

    done, undone : the steps, each the list of its entries; undone_at : when each of the undone was undone, as kept
    """

    number: int = 0
    last_id: str = ""
    step: int = 0
    document: dict[str, Any] = field(default_factory=dict)
    done: list[list[Any]] = field(default_factory=list)
    undone: list[list[Any]] = field(default_factory=list)
    undone_at: list[str] = field(default_factory=list)

    def play(self, row: Any) -> None:
        """Take in the next entry: a row of EDITS, or whatever has its names."""
        before, after = _values(row)
        self.document = put(self.document, row.path, before, after)
        if row.step is not None:
            if row.kind == "edit":
                self.done[-1].append(row)
        elif row.kind == "edit":
            self.done.append([row])
            self.undone.clear()
            self.undone_at.clear()
        elif row.kind == "undo":
            self.undone.append(self.done.pop())
            self.undone_at.append(row.made_at)
        elif row.kind == "redo":
            self.done.append(self.undone.pop())
            self.undone_at.pop()
        self.number, self.last_id, self.step = row.number, row.id, row.step or row.number


class PlayedJournals:
    """The journals of one open notebook as far as they were played, so that each entry is played once.

    A journal only grows, so what was played stays right; its last entry is looked at again all the same, in case
    another notebook was put in the place of this one.
    """

    AT_MOST = 64

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._played: dict[str, Played] = {}

    def to_the_end(self, connection: sa.Connection, build: Build) -> Played:
        """The journal of a build as this transaction sees it, with no more than the last of `done` and `undone`."""
        with self._lock:
            played = self._played.pop(build.id, None) or Played()
            new = entry_rows(connection, build.id, max(played.number, 1))
            if played.number and new and new[0].id == played.last_id:
                new = new[1:]
            elif played.number:
                played, new = Played(), entry_rows(connection, build.id, 1)
            for row in new:
                played.play(row)
            self._played[build.id] = played
            if len(self._played) > self.AT_MOST:
                del self._played[next(iter(self._played))]
            return replace(played, done=played.done[-1:], undone=played.undone[-1:], undone_at=played.undone_at[-1:])


EDITS = sa.select(*(c for c in tables.edits.c if c.name not in ("build_id", "made_at"))).add_columns(
    sa.type_coerce(tables.edits.c.made_at, sa.Text).label("made_at")  # thousands are read, few are looked at
)

_last = sa.select(tables.edits.c.build_id, sa.func.max(tables.edits.c.number).label("number"))
_last_of_build = _last.group_by(tables.edits.c.build_id).subquery()
LAST_EDITED = sa.select(tables.edits.c.build_id, tables.edits.c.made_at).join(
    _last_of_build,
    sa.and_(tables.edits.c.build_id == _last_of_build.c.build_id, tables.edits.c.number == _last_of_build.c.number),
)


def edit_of(row: sa.Row[Any]) -> Edit:
    """The edit a row of EDITS holds."""
    made_at = tables.time_from_text(row.made_at)
    return Edit(
        row.id, row.number, row.kind, row.of_number, row.path, *_values(row), row.label, row.device, made_at, row.step
    )


def entry_rows(connection: sa.Connection, build_id: str, first: int) -> list[sa.Row[Any]]:
    """The rows of a journal from one number on, oldest first."""
    edit = tables.edits.c
    query = EDITS.where(edit.build_id == build_id, edit.number >= first).order_by(edit.number)
    return list(connection.execute(query).all())


def insert_edit(connection: sa.Connection, build: Build, edit: Edit) -> None:
    """Write one entry's row."""
    values = {key: value for key, value in vars(edit).items() if key not in ("of", "before", "after")}
    texts = {key: None if (value := getattr(edit, key)) is None else json_text(value) for key in ("before", "after")}
    connection.execute(sa.insert(tables.edits).values(build_id=build.id, of_number=edit.of, **values, **texts))


def json_text(value: Any) -> str:
    """A value as a journal keeps it; NotebookError where it is too large."""
    return canonical(value, "The edit")


def made(last: int, kind: Kind, of: int | None, path: str, before: Any, after: Any, label: str, device: str) -> Edit:
    """The entry that follows the one with the number `last`, a step of its own."""
    label, device = accepted_text(label, "label"), accepted_text(device, "device", at_least=1)
    return Edit(str(uuid.uuid4()), last + 1, kind, of, path, before, after, label, device, datetime.now(UTC))


def insert_step(connection: sa.Connection, build: Build, entries: Iterable[Edit]) -> None:
    """Write entries that follow each other as one step."""
    first: int | None = None
    for entry in entries:
        insert_edit(connection, build, replace(entry, step=first))
        first = first or entry.number


def work_of(connection: sa.Connection, journals: PlayedJournals, where: object, build: Build) -> Work:
    """The work in hand; where there is no journal yet, the record of the latest revision, or an empty one."""
    played = journals.to_the_end(connection, build)
    document = played.document
    if not played.number:
        latest = rows.latest_revision(connection, where, build)
        document = {"record": normal(json_of(document_of(latest.record_toml))) if latest else {}}
    undoable, redoable = (edit_of(some[-1][0]) if some else None for some in (played.done, played.undone))
    last_revision = sa.select(sa.func.max(tables.revisions.c.number)).where(tables.revisions.c.build_id == build.id)
    latest_number = connection.execute(last_revision).scalar()
    undone_at = tables.time_from_text(played.undone_at[-1]) if played.undone_at else None
    return Work(build, played.number, document, undoable, redoable, latest_number, played.step, undone_at)


def begun(connection: sa.Connection, where: object, work: Work) -> int:
    """Begin the journal where there is none yet, with what is in hand; returns the number of its last entry."""
    if work.number:
        return work.number
    latest = rows.latest_revision(connection, where, work.build)
    label, record = f"revision {latest.number}" if latest else "a new build", work.document["record"]
    insert_edit(connection, work.build, made(0, "begin", None, "record", None, record, label, OUTSIDE))
    return 1


def follow(
    connection: sa.Connection, journals: PlayedJournals, build: Build, record: Mapping[str, Any], label: str
) -> None:
    """Take a record that was kept from elsewhere over into the work in hand, where a journal of it was begun."""
    played = journals.to_the_end(connection, build)
    there, record = played.document.get("record"), normal(json_of(record))
    if played.number and not is_same(there, record):
        insert_edit(connection, build, made(played.number, "edit", None, "record", there, record, label, OUTSIDE))


def _values(row: sa.Row[Any]) -> tuple[Any, Any]:
    return (
        None if row.before is None else json.loads(row.before),
        None if row.after is None else json.loads(row.after),
    )
