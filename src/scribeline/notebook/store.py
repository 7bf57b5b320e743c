"""Keeping and reading: the one object through which the rest of the program uses a notebook.

Each call is one transaction. What a call has returned is on the disk; a call that raises has kept nothing.
"""

import uuid
from collections.abc import Iterable
from datetime import UTC, datetime
from types import TracebackType
from typing import Self

import sqlalchemy as sa

from scribeline.errors import NotebookError
from scribeline.notebook import journal, rows, tables
from scribeline.notebook.address import Address
from scribeline.notebook.database import Database
from scribeline.notebook.entries import (
    Attachment,
    Build,
    BuildSummary,
    FileToAttach,
    Kept,
    Revision,
    accepted_file,
    accepted_name,
    accepted_text,
    document_of,
    sha256_of,
)


class Notebook:
    """An open notebook; close it, or use it in a `with` block. `open_notebook` makes one."""

    def __init__(self, database: Database) -> None:
        self.database = database
        self.journals = journal.PlayedJournals()

    @property
    def address(self) -> Address:
        """Where it is."""
        return self.database.address

    def close(self) -> None:
        """Let go of the file or the server."""
        self.database.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def builds(self) -> list[BuildSummary]:
        """Every build, by name."""
        build, revision, attachment = tables.builds.c, tables.revisions.c, tables.attachments.c
        per_build = (
            sa.select(
                tables.builds,
                sa.func.count(revision.number).label("revision_count"),
                sa.func.max(revision.number).label("last_number"),
                sa.func.max(revision.kept_at, type_=tables.UtcTime()).label("last_kept_at"),
            )
            .select_from(tables.builds.outerjoin(tables.revisions))
            .group_by(build.id, build.name, build.created_at, build.note)
        )
        files = sa.select(attachment.build_id, sa.func.count()).group_by(attachment.build_id)
        hashes = sa.select(revision.build_id, revision.number, revision.record_sha256)
        with self.database.reading() as connection:
            found = connection.execute(per_build).all()
            file_counts = {row[0]: row[1] for row in connection.execute(files)}
            sha256 = {(row[0], row[1]): row[2] for row in connection.execute(hashes)}
            edited = {row[0]: row[1] for row in connection.execute(journal.LAST_EDITED)}
        return [
            BuildSummary(
                rows.build_of(row),
                row.revision_count,
                file_counts.get(row.id, 0),
                row.last_number,
                row.last_kept_at,
                edited.get(row.id),
                sha256.get((row.id, row.last_number)),
            )
            for row in sorted(found, key=lambda row: (row.name.casefold(), row.name))
        ]

    def build(self, name: str) -> Build:
        """The build of this name; capitals do not matter."""
        with self.database.reading() as connection:
            return rows.find_build(connection, self.address, name)

    def history(self, build_name: str) -> list[Revision]:
        """Every revision of a build, oldest first, each proved against its hash."""
        with self.database.reading() as connection:
            build = rows.find_build(connection, self.address, build_name)
            query = rows.REVISIONS.where(tables.revisions.c.build_id == build.id)
            found = connection.execute(query.order_by(tables.revisions.c.number))
            return [rows.revision_of(row, self.address) for row in found]

    def revision(self, build_name: str, number: int | None = None) -> Revision:
        """One revision of a build, the latest where no number is given, proved against its hash."""
        with self.database.reading() as connection:
            build = rows.find_build(connection, self.address, build_name)
            return rows.find_revision(connection, self.address, build, number)

    def attachments(self, build_name: str) -> list[Attachment]:
        """The files of a build, in the order in which they were attached."""
        with self.database.reading() as connection:
            build = rows.find_build(connection, self.address, build_name)
            query = rows.ATTACHMENTS.where(tables.attachments.c.build_id == build.id)
            found = connection.execute(query.order_by(tables.attachments.c.attached_at, tables.attachments.c.id))
            return [rows.attachment_of(row) for row in found]

    def content(self, sha256: str) -> bytes:
        """The content of an attached file, proved against its hash."""
        with self.database.reading() as connection:
            return rows.content_of(connection, self.address, sha256)

    def keep(
        self,
        build_name: str,
        record_toml: str,
        *,
        author: str,
        note: str = "",
        build_note: str | None = None,
        files: Iterable[FileToAttach] = (),
        from_work_in_hand: bool = False,
    ) -> Kept:
        """Keep a record as the next revision of a build, made from its latest; a new name begins a new build.

        record_toml : the record's text, kept to the letter; whether it is a possible engine is judged by the caller
        build_note : what the build is; only for a new one
        files : attached to this revision, in the same transaction
        from_work_in_hand : whether the record is what is in hand; any other is taken over into the work in hand,
            as an edit that can be undone

        Refused where the text is the same as that of the latest revision.
        """
        name = accepted_name(build_name, "build")
        author, note = accepted_text(author, "author", at_least=1), accepted_text(note, "note")
        document = document_of(record_toml)
        sha256 = sha256_of(record_toml.encode())
        accepted = [accepted_file(file) for file in files]
        with self.database.writing("keep the revision") as connection:
            now = datetime.now(UTC)
            build = rows.build_like(connection, name)
            latest = None
            if new_build := build is None:
                build = Build(str(uuid.uuid4()), name, now, accepted_text(build_note or "", "build's note"))
                rows.insert_build(connection, build)
            else:
                _refuse_second_note(build, build_note)
                latest = rows.latest_revision(connection, self.address, build)
                _refuse_identical(latest, sha256)
            revision = Revision(
                id=str(uuid.uuid4()),
                build_name=build.name,
                number=latest.number + 1 if latest else 1,
                parent_number=latest.number if latest else None,
                author=author,
                note=note,
                kept_at=now,
                record_toml=record_toml,
                record_sha256=sha256,
            )
            rows.insert_revision(connection, build, revision, document)
            if not from_work_in_hand:
                journal.follow(connection, self.journals, build, document, f"revision {revision.number}")
            attached = [rows.attach(connection, build, revision.number, file, now) for file in accepted]
        return Kept(revision, new_build, attached)

    def attach(
        self, build_name: str, files: Iterable[FileToAttach], revision_number: int | None = None
    ) -> list[Attachment]:
        """Attach files to a build and, where a number is given, to that revision of it."""
        accepted = [accepted_file(file) for file in files]
        with self.database.writing("keep the files") as connection:
            now = datetime.now(UTC)
            build = rows.find_build(connection, self.address, build_name)
            if revision_number is not None:
                rows.find_revision(connection, self.address, build, revision_number)
            return [rows.attach(connection, build, revision_number, file, now) for file in accepted]


def _refuse_second_note(build: Build, build_note: str | None) -> None:
    if build_note is not None and build_note != build.note:
        raise NotebookError(
            f"The build {build.name!r} has its note already: {build.note!r}.\n"
            f"    kept: nothing\n    what to do: say what is new in the revision's own note"
        )


def _refuse_identical(latest: Revision | None, sha256: str) -> None:
    if latest is not None and latest.record_sha256 == sha256:
        raise NotebookError(
            f"The record is identical to revision {latest.number}, the latest of {latest.build_name!r}: "
            f"there is nothing new to keep.\n"
            f"    kept: nothing\n"
            f"    what to do: change the record first; a file alone is kept with `scribeline notebook attach`"
        )
