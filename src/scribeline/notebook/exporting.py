"""From a notebook to one zip. What the zip looks like stands in archive.py."""

import os
import tempfile
import zipfile
from pathlib import Path

import sqlalchemy as sa

from scribeline.errors import NotebookError
from scribeline.notebook import rows, tables
from scribeline.notebook.archive import (
    INDEX,
    LARGEST_INDEX_BYTES,
    LARGEST_JOURNAL_BYTES,
    ArchivedAttachment,
    ArchivedBuild,
    ArchivedEdit,
    ArchivedEntry,
    ArchivedFile,
    ArchivedLedgerEntry,
    ArchivedRevision,
    ArchivedTrial,
    Index,
    content_path,
    journal_path,
    record_path,
)
from scribeline.notebook.entries import canonical, sha256_of
from scribeline.notebook.journal import entry_rows
from scribeline.notebook.ledger import LEDGER, ledger_entry_of
from scribeline.notebook.store import Notebook
from scribeline.notebook.tables import time_text
from scribeline.notebook.trials import TRIALS, Entry, Trial, entries_of, trial_of

_STEPS = sa.select(tables.edits.c.id).where(tables.edits.c.step.is_not(None)).limit(1)


def export(notebook: Notebook, path: Path) -> Index:
    """Write the whole notebook, as it is at one moment, into a zip at `path`; returns what went into it.

    A file that is there already is not written over. What stands at `path` afterwards is whole: it is written under
    another name first.
    """
    try:
        if path.exists():
            remedy = "give another name; an older export is worth keeping"
            raise _not_written(path, "there is such a file already", remedy)
        handle, unfinished = tempfile.mkstemp(prefix=f"{path.name}.", suffix=".unfinished", dir=path.parent)
        try:
            with os.fdopen(handle, "wb") as file:
                with zipfile.ZipFile(file, "w", zipfile.ZIP_STORED) as packed:
                    index = _write(notebook, packed)
                file.flush()
                os.fsync(file.fileno())
            Path(unfinished).chmod(0o644)
            Path(unfinished).rename(path)
        except BaseException:
            Path(unfinished).unlink(missing_ok=True)
            raise
    except OSError as error:
        reason = error.strerror or str(error)
        raise _not_written(path, reason, "check the folder's name, its rights and the room on the disk") from error
    return index


def _write(notebook: Notebook, packed: zipfile.ZipFile) -> Index:
    with notebook.database.reading("be exported") as connection:
        found = sorted(connection.execute(sa.select(tables.builds)), key=lambda row: row.name)
        driven = [_archived_trial(connection, trial_of(row), row.build_id) for row in connection.execute(TRIALS)]
        driven.sort(key=lambda trial: trial.name)
        builds = [_archived(connection, notebook, row) for row in found]
        index = Index(format_version=Index.version_for(builds, driven), builds=builds, trials=driven)
        _put(packed, INDEX, _importable(index.written().encode(), LARGEST_INDEX_BYTES))
        for build in index.builds:
            for revision in build.revisions:
                row = connection.execute(rows.REVISIONS.where(tables.revisions.c.id == revision.id)).one()
                text = rows.revision_of(row, notebook.address).record_toml
                _put(packed, record_path(build.name, revision.number), text.encode())
        for build in index.builds:
            if build.edits_sha256:
                journal = _importable(_journal(connection, build.id), LARGEST_JOURNAL_BYTES)
                _put(packed, journal_path(build.name), journal)
        for sha256 in sorted(index.sizes()):
            _put(packed, content_path(sha256), rows.content_of(connection, notebook.address, sha256))
    return index


def _archived(connection: sa.Connection, notebook: Notebook, row: sa.Row[tuple[object, ...]]) -> ArchivedBuild:
    build = rows.build_of(row)
    revisions, attachments = tables.revisions.c, tables.attachments.c
    of_revisions = rows.REVISIONS.where(revisions.build_id == build.id).order_by(revisions.number)
    of_attachments = rows.ATTACHMENTS.where(attachments.build_id == build.id).order_by(
        attachments.attached_at, attachments.id
    )
    of_ledger = LEDGER.where(tables.ledger_entries.c.build_id == build.id)
    return ArchivedBuild(
        id=build.id,
        name=build.name,
        created_at=time_text(build.created_at),
        note=build.note,
        revisions=[
            ArchivedRevision(
                id=one.id,
                number=one.number,
                parent_number=one.parent_number,
                author=one.author,
                note=one.note,
                kept_at=time_text(one.kept_at),
                record_sha256=one.record_sha256,
            )
            for one in (rows.revision_of(row, notebook.address) for row in connection.execute(of_revisions))
        ],
        attachments=[
            ArchivedAttachment(
                id=one.id,
                revision_number=one.revision_number,
                sha256=one.sha256,
                size_bytes=one.size_bytes,
                name=one.name,
                media_type=one.media_type,
                attached_at=time_text(one.attached_at),
            )
            for one in (rows.attachment_of(row) for row in connection.execute(of_attachments))
        ],
        ledger=[
            ArchivedLedgerEntry(
                id=one.id,
                number=one.number,
                revision_number=one.revision_number,
                kind=one.kind,
                author=one.author,
                note=one.note,
                made_at=time_text(one.made_at),
                data=canonical(one.data),
            )
            for one in map(ledger_entry_of, connection.execute(of_ledger))
        ],
        edits_sha256=sha256_of(journal) if (journal := _journal(connection, build.id)) else None,
        steps=connection.execute(_STEPS.where(tables.edits.c.build_id == build.id)).first() is not None,
    )


def _journal(connection: sa.Connection, build_id: str) -> bytes:
    """The text of edits.jsonl; empty where there is no journal."""
    edits = [
        ArchivedEdit(
            id=row.id, number=row.number, kind=row.kind, of=row.of_number, path=row.path, before=row.before,
            after=row.after, label=row.label, device=row.device, made_at=row.made_at, step=row.step,
        )
        for row in entry_rows(connection, build_id, 1)
    ]  # fmt: skip
    return "".join(one.line() for one in edits).encode()


def _archived_trial(connection: sa.Connection, trial: Trial, build_id: str | None) -> ArchivedTrial:
    return ArchivedTrial(
        id=trial.id,
        name=trial.name,
        build_id=build_id,
        revision_number=trial.revision_number,
        created_at=time_text(trial.created_at),
        note=trial.note,
        entries=[
            ArchivedEntry(
                id=one.id,
                number=one.number,
                kind=one.kind,
                author=one.author,
                note=one.note,
                made_at=time_text(one.made_at),
                data=canonical(one.data),
                file=_archived_file(connection, one),
            )
            for one in entries_of(connection, trial)
        ],
    )


def _archived_file(connection: sa.Connection, entry: Entry) -> ArchivedFile | None:
    if entry.sha256 is None or entry.file_name is None or entry.media_type is None:
        return None
    size = sa.select(tables.contents.c.size_bytes).where(tables.contents.c.sha256 == entry.sha256)
    return ArchivedFile(
        sha256=entry.sha256,
        size_bytes=connection.execute(size).scalar_one(),
        name=entry.file_name,
        media_type=entry.media_type,
    )


def _put(packed: zipfile.ZipFile, name: str, data: bytes) -> None:
    """One entry whose bytes depend on its name and content alone, on every system."""
    info = zipfile.ZipInfo(name)  # without a date given it is the first that a zip can hold
    info.create_system = 3
    info.external_attr = 0o100644 << 16
    packed.writestr(info, data)


def _importable(data: bytes, largest_bytes: int) -> bytes:
    """The bytes, unless an import would refuse so many: an export that cannot be read back is worse than none."""
    if len(data) > largest_bytes:
        raise OSError(f"its journals have {len(data)} bytes, more than the {largest_bytes} that an import accepts")
    return data


def _not_written(path: Path, reason: str, remedy: str) -> NotebookError:
    return NotebookError(
        f"The export {path} was not written: {reason}.\n    kept: the notebook is as it was\n    what to do: {remedy}"
    )
