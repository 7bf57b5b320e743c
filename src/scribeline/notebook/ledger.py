"""The ledger in the notebook: one journal for each build, to which entries are added and from which nothing is taken.

To this room an entry is a kind, a note and a small JSON object, of a build and perhaps of one revision of it. What a
prediction, a measurement or a lesson is, and which belong together, is known in `scribeline.tasks.ledger`.
"""

import json
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa

from scribeline.notebook import rows, tables
from scribeline.notebook.entries import Build, accepted_text, canonical
from scribeline.notebook.store import Notebook


@dataclass(frozen=True)
class LedgerEntry:
    """One entry of a build's ledger. number : counts from 1 within the build; revision_number : what it is about."""

    id: str
    build_name: str
    number: int
    revision_number: int | None
    kind: str
    author: str
    note: str
    made_at: datetime
    data: Mapping[str, Any]


@dataclass(frozen=True)
class LedgerEntryToKeep:
    """An entry as it comes in."""

    kind: str
    data: Mapping[str, Any]
    note: str = ""
    revision_number: int | None = None


def add_to_ledger(
    notebook: Notebook, build_name: str, entries: Iterable[LedgerEntryToKeep], *, author: str
) -> list[LedgerEntry]:
    """Add entries to a build's ledger, all in one transaction."""
    author = accepted_text(author, "author", at_least=1)
    prepared = list(entries)
    for one in prepared:
        accepted_text(one.note, "note")
        accepted_text(one.kind, "kind of entry", at_least=1)
        canonical(one.data)
    kept = []
    with notebook.database.writing("keep the entries") as connection:
        build = rows.find_build(connection, notebook.address, build_name)
        highest = sa.select(sa.func.max(tables.ledger_entries.c.number))
        of_build = tables.ledger_entries.c.build_id == build.id
        last = connection.execute(highest.where(of_build)).scalar() or 0
        for number, one in enumerate(prepared, start=last + 1):
            if one.revision_number is not None:
                rows.find_revision(connection, notebook.address, build, one.revision_number)
            entry = LedgerEntry(
                str(uuid.uuid4()), build.name, number, one.revision_number, one.kind, author, one.note,
                datetime.now(UTC), dict(one.data),
            )  # fmt: skip
            insert_ledger_entry(connection, build, entry)
            kept.append(entry)
    return kept


def ledger_entries(notebook: Notebook, build_name: str | None = None) -> list[LedgerEntry]:
    """The ledger of a build, oldest first; of every build, by its name, where none is named."""
    with notebook.database.reading() as connection:
        build = None if build_name is None else rows.find_build(connection, notebook.address, build_name)
        found = LEDGER if build is None else LEDGER.where(tables.ledger_entries.c.build_id == build.id)
        return [ledger_entry_of(row) for row in connection.execute(found)]


def how_much_of(notebook: Notebook, build_name: str) -> tuple[int, ...]:
    """How many revisions, attachments, ledger entries, trials and entries of trials a build has: it only grows.

    Cheap, so that a page can ask often whether there is anything new.
    """
    trial, entry = tables.trials.c, tables.trial_entries.c
    with notebook.database.reading() as connection:
        build = rows.find_build(connection, notebook.address, build_name)
        of_build = [
            sa.select(sa.func.count()).select_from(table).where(table.c.build_id == build.id)
            for table in (tables.revisions, tables.attachments, tables.ledger_entries, tables.trials)
        ]
        of_trials = sa.select(sa.func.count()).where(entry.trial_id == trial.id, trial.build_id == build.id)
        return tuple(connection.execute(query).scalar_one() for query in (*of_build, of_trials))


# --- inside a transaction --------------------------------------------------------------------------------------------

LEDGER = (
    sa.select(tables.ledger_entries, tables.builds.c.name.label("build_name"))
    .select_from(tables.ledger_entries.join(tables.builds))
    .order_by(tables.builds.c.name, tables.ledger_entries.c.number)
)


def ledger_entry_of(row: sa.Row[Any]) -> LedgerEntry:
    """The entry a row of LEDGER holds."""
    values = {name: getattr(row, name) for name in LedgerEntry.__dataclass_fields__}
    return LedgerEntry(**(values | {"data": json.loads(row.data)}))


def insert_ledger_entry(connection: sa.Connection, build: Build, entry: LedgerEntry) -> None:
    """Write one entry's row."""
    values = {key: value for key, value in vars(entry).items() if key != "build_name"}
    values["data"] = canonical(entry.data)
    connection.execute(sa.insert(tables.ledger_entries).values(build_id=build.id, **values))
