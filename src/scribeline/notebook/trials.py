"""Trials in the notebook: a journal per trial, to which entries are added and from which nothing is taken.

To this room an entry is a kind, a reason, a small JSON object and perhaps a file. What they mean, and what follows
from all of a trial's entries together, is known in `scribeline.tasks`.
"""

import json
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa

from scribeline.errors import NotebookError, NotThereError
from scribeline.notebook import rows, tables
from scribeline.notebook.entries import (
    FileToAttach,
    accepted_file,
    accepted_name,
    accepted_text,
    canonical,
    same_name,
    sha256_of,
)
from scribeline.notebook.store import Notebook


@dataclass(frozen=True)
class Trial:
    """A trial: its name, and the build and revision that was driven, where it was said."""

    id: str
    name: str
    build_name: str | None
    revision_number: int | None
    created_at: datetime
    note: str


@dataclass(frozen=True)
class Entry:
    """One entry of a trial's journal. sha256, file_name, media_type : of a file that was added; else None."""

    id: str
    number: int
    kind: str
    author: str
    note: str
    made_at: datetime
    data: Mapping[str, Any]
    sha256: str | None = None
    file_name: str | None = None
    media_type: str | None = None


@dataclass(frozen=True)
class EntryToKeep:
    """An entry as it comes in."""

    kind: str
    data: Mapping[str, Any]
    note: str = ""
    file: FileToAttach | None = None


@dataclass(frozen=True)
class TrialSummary:
    """A trial and how much there is of it."""

    trial: Trial
    entry_count: int
    last_at: datetime | None


def begin_trial(
    notebook: Notebook,
    name: str,
    *,
    build_name: str | None,
    revision_number: int | None,
    note: str,
    author: str,
    entries: Iterable[EntryToKeep] = (),
) -> Trial:
    """Begin a trial, with its first entries, in one transaction; refused where the name is taken.

    revision_number : the latest of the build where None
    """
    name, note = accepted_name(name, "trial"), accepted_text(note, "note")
    prepared = _prepared(entries, author)
    with notebook.database.writing("begin the trial") as connection:
        if (there := _like(connection, name)) is not None:
            raise NotebookError(
                f"There is a trial called {there.name!r} already.\n    kept: nothing\n    what to do: add to it with "
                f"`scribeline trial add '{there.name}' FILES`, or choose another name"
            )
        build_id = None
        if build_name is not None:
            build = rows.find_build(connection, notebook.address, build_name)
            revision = rows.find_revision(connection, notebook.address, build, revision_number)
            build_id, build_name, revision_number = build.id, build.name, revision.number
        trial = Trial(str(uuid.uuid4()), name, build_name, revision_number if build_id else None, _now(), note)
        insert_trial(connection, trial, build_id)
        _append(connection, trial, prepared, 0)
    return trial


def add_entries(notebook: Notebook, trial_name: str, entries: Iterable[EntryToKeep], *, author: str) -> list[Entry]:
    """Add entries to a trial's journal, all in one transaction."""
    prepared = _prepared(entries, author)
    with notebook.database.writing("keep the entries") as connection:
        trial = _find(connection, notebook, trial_name)
        last = sa.select(sa.func.max(tables.trial_entries.c.number)).where(tables.trial_entries.c.trial_id == trial.id)
        return _append(connection, trial, prepared, connection.execute(last).scalar() or 0)


def trials(notebook: Notebook) -> list[TrialSummary]:
    """Every trial, by name."""
    entry = tables.trial_entries.c
    counted = (
        sa.select(
            entry.trial_id,
            sa.func.count().label("entry_count"),
            sa.func.max(entry.made_at, type_=tables.UtcTime()).label("last_at"),
        )
        .group_by(entry.trial_id)
        .subquery()
    )
    listed = TRIALS.add_columns(counted.c.entry_count, counted.c.last_at).outerjoin(
        counted, counted.c.trial_id == tables.trials.c.id
    )
    with notebook.database.reading() as connection:
        found = connection.execute(listed).all()
    summaries = [TrialSummary(trial_of(row), row.entry_count or 0, row.last_at) for row in found]
    return sorted(summaries, key=lambda one: (one.trial.name.casefold(), one.trial.name))


def trials_of(notebook: Notebook, build_name: str) -> list[Trial]:
    """The trials that were driven with a build, in order of time; a notebook of thousands does not slow it down."""
    with notebook.database.reading() as connection:
        build = rows.find_build(connection, notebook.address, build_name)
        found = connection.execute(TRIALS.where(tables.trials.c.build_id == build.id))
        return sorted(map(trial_of, found), key=lambda one: one.created_at)


def find_trial(notebook: Notebook, name: str) -> tuple[Trial, list[Entry]]:
    """A trial and its journal, oldest entry first."""
    with notebook.database.reading() as connection:
        trial = _find(connection, notebook, name)
        return trial, entries_of(connection, trial)


def last_number(notebook: Notebook, name: str) -> int:
    """Number of the last entry in a trial's journal, 0 where it has none: by it a device sees that something came."""
    with notebook.database.reading() as connection:
        trial = _find(connection, notebook, name)
        last = sa.select(sa.func.max(tables.trial_entries.c.number)).where(tables.trial_entries.c.trial_id == trial.id)
        return connection.execute(last).scalar() or 0


def last_entry_like(notebook: Notebook, kind: str, key: str, value: str) -> Entry | None:
    """The latest entry of a kind, in any trial, whose data holds this text under this key."""
    entry = tables.trial_entries
    query = sa.select(entry).where(entry.c.kind == kind).order_by(entry.c.made_at.desc(), entry.c.number.desc())
    with notebook.database.reading() as connection:
        for row in connection.execute(query):
            found = entry_of(row)
            if found.data.get(key) == value:
                return found
    return None


# --- inside a transaction --------------------------------------------------------------------------------------------

TRIALS = sa.select(tables.trials, tables.builds.c.name.label("build_name")).select_from(
    tables.trials.outerjoin(tables.builds)
)


def trial_of(row: sa.Row[Any]) -> Trial:
    """The trial a row of TRIALS holds."""
    return Trial(row.id, row.name, row.build_name, row.revision_number, row.created_at, row.note)


def entry_of(row: sa.Row[Any]) -> Entry:
    """The entry a row holds."""
    values = {name: getattr(row, name) for name in Entry.__dataclass_fields__}
    return Entry(**(values | {"data": json.loads(row.data)}))


def entries_of(connection: sa.Connection, trial: Trial) -> list[Entry]:
    """The journal of a trial, oldest first."""
    entry = tables.trial_entries
    query = sa.select(entry).where(entry.c.trial_id == trial.id).order_by(entry.c.number)
    return [entry_of(row) for row in connection.execute(query)]


def insert_trial(connection: sa.Connection, trial: Trial, build_id: str | None) -> None:
    """Write one trial's row."""
    values = {key: value for key, value in vars(trial).items() if key != "build_name"}
    connection.execute(sa.insert(tables.trials).values(build_id=build_id, **values))


def insert_entry(connection: sa.Connection, trial: Trial, entry: Entry) -> None:
    """Write one entry's row; its content is there already."""
    values = vars(entry) | {"data": canonical(entry.data), "trial_id": trial.id}
    connection.execute(sa.insert(tables.trial_entries).values(**values))


def _append(
    connection: sa.Connection, trial: Trial, prepared: list[tuple[Entry, bytes | None]], last: int
) -> list[Entry]:
    kept = []
    for number, (entry, data) in enumerate(prepared, start=last + 1):
        if data is not None and entry.sha256 is not None:
            rows.insert_content(connection, entry.sha256, data)
        numbered = Entry(**(vars(entry) | {"number": number, "made_at": _now()}))
        insert_entry(connection, trial, numbered)
        kept.append(numbered)
    return kept


def _prepared(entries: Iterable[EntryToKeep], author: str) -> list[tuple[Entry, bytes | None]]:
    """Entries judged and given their identity, with the bytes of their files, before anything is written."""
    author = accepted_text(author, "author", at_least=1)
    prepared: list[tuple[Entry, bytes | None]] = []
    for one in entries:
        note, kind = accepted_text(one.note, "note"), accepted_text(one.kind, "kind of entry", at_least=1)
        canonical(one.data)
        entry = Entry(str(uuid.uuid4()), 0, kind, author, note, _now(), dict(one.data))
        if one.file is None:
            prepared.append((entry, None))
            continue
        file = accepted_file(one.file)
        named = {"sha256": sha256_of(file.data), "file_name": file.name, "media_type": file.media_type}
        prepared.append((Entry(**(vars(entry) | named)), file.data))
    return prepared


def _like(connection: sa.Connection, name: str) -> Trial | None:
    """The trial of this name, where capitals do not matter, or None."""
    name = accepted_name(name, "trial")
    found = [trial_of(row) for row in connection.execute(TRIALS)]
    exactly = [trial for trial in found if trial.name == name]
    return next(iter(exactly or [trial for trial in found if same_name(trial.name, name)]), None)


def _find(connection: sa.Connection, notebook: Notebook, name: str) -> Trial:
    trial = _like(connection, name)
    if trial is not None:
        return trial
    names = connection.execute(sa.select(tables.trials.c.name).order_by(tables.trials.c.name)).scalars().all()
    there = ", ".join(names[:10]) + (", ..." if len(names) > 10 else "")
    raise NotThereError(
        f"There is no trial called {name!r} in {notebook.address}.\n"
        f"    there is: {there or 'none'}\n    what to do: `scribeline trial list` shows them all; "
        f"`scribeline trial new '{name}'` begins one"
    )


def _now() -> datetime:
    return datetime.now(UTC)
