"""From a zip into an empty notebook: everything, or nothing."""

import json

import sqlalchemy as sa

from scribeline.notebook import rows, tables
from scribeline.notebook.archive import Archive, ArchivedBuild, ArchivedTrial
from scribeline.notebook.entries import Attachment, Build, Revision
from scribeline.notebook.faults import NOTHING_NEW, refusal
from scribeline.notebook.journal import Edit, insert_edit
from scribeline.notebook.ledger import LedgerEntry, insert_ledger_entry
from scribeline.notebook.store import Notebook
from scribeline.notebook.tables import time_from_text
from scribeline.notebook.trials import Entry, Trial, insert_entry, insert_trial


def restore(archive: Archive, notebook: Notebook) -> None:
    """Write all of an archive into an empty notebook in one transaction: identities, times, notes, parents, files.

    Records are not judged anew: they were when they were first kept, and rules may have become stricter since.
    """
    with notebook.database.writing("import the archive") as connection:
        if any(connection.execute(sa.select(table.c.id).limit(1)).first() for table in (tables.builds, tables.trials)):
            raise refusal(
                notebook.address,
                "import the archive",
                "there are builds or trials in it already, and two histories are not mixed",
                NOTHING_NEW,
                "import into a notebook of its own: --notebook NEW.sqlite",
            )
        for sha256 in archive.index.sizes():
            rows.insert_content(connection, sha256, archive.content(sha256))
        for build in archive.index.builds:
            _restore_build(connection, archive, build)
        for trial in archive.index.trials:
            _restore_trial(connection, archive, trial)


def _restore_build(connection: sa.Connection, archive: Archive, archived: ArchivedBuild) -> None:
    build = Build(archived.id, archived.name, time_from_text(archived.created_at), archived.note)
    rows.insert_build(connection, build)
    for one in archived.revisions:
        text, document = archive.record(archived, one)
        fields = one.model_dump() | {"kept_at": time_from_text(one.kept_at)}
        revision = Revision(build_name=build.name, record_toml=text, **fields)
        rows.insert_revision(connection, build, revision, document)
    for edit in archive.edits(archived):
        values = {
            key: None if (text := getattr(edit, key)) is None else json.loads(text) for key in ("before", "after")
        }
        made_at = time_from_text(edit.made_at)
        insert_edit(connection, build, Edit(**(edit.model_dump() | values | {"made_at": made_at})))
    for file in archived.attachments:
        fields = file.model_dump() | {"attached_at": time_from_text(file.attached_at)}
        rows.insert_attachment(connection, build, Attachment(build_name=build.name, **fields))
    for entry in archived.ledger:
        fields = entry.model_dump() | {"made_at": time_from_text(entry.made_at), "data": json.loads(entry.data)}
        insert_ledger_entry(connection, build, LedgerEntry(build_name=build.name, **fields))


def _restore_trial(connection: sa.Connection, archive: Archive, archived: ArchivedTrial) -> None:
    names = {build.id: build.name for build in archive.index.builds}
    build_name = names[archived.build_id] if archived.build_id else None
    trial = Trial(
        archived.id, archived.name, build_name, archived.revision_number, time_from_text(archived.created_at),
        archived.note,
    )  # fmt: skip
    insert_trial(connection, trial, archived.build_id)
    for one in archived.entries:
        file = one.file
        entry = Entry(
            one.id, one.number, one.kind, one.author, one.note, time_from_text(one.made_at), json.loads(one.data),
            file.sha256 if file else None, file.name if file else None, file.media_type if file else None,
        )  # fmt: skip
        insert_entry(connection, trial, entry)
