"""From a zip into an empty notebook: everything, or nothing."""

import sqlalchemy as sa

from scribeline.notebook import rows, tables
from scribeline.notebook.archive import Archive, ArchivedBuild
from scribeline.notebook.entries import Attachment, Build, Revision
from scribeline.notebook.faults import NOTHING_NEW, refusal
from scribeline.notebook.store import Notebook
from scribeline.notebook.tables import time_from_text


def restore(archive: Archive, notebook: Notebook) -> None:
    """Write all of an archive into an empty notebook in one transaction: identities, times, notes, parents, files.

    Records are not judged anew: they were when they were first kept, and rules may have become stricter since.
    """
    with notebook.database.writing("import the archive") as connection:
        if connection.execute(sa.select(tables.builds.c.id).limit(1)).first():
            raise refusal(
                notebook.address,
                "import the archive",
                "there are builds in it already, and two histories are not mixed",
                NOTHING_NEW,
                "import into a notebook of its own: --notebook NEW.sqlite",
            )
        for sha256 in archive.index.sizes():
            rows.insert_content(connection, sha256, archive.content(sha256))
        for build in archive.index.builds:
            _restore_build(connection, archive, build)


def _restore_build(connection: sa.Connection, archive: Archive, archived: ArchivedBuild) -> None:
    build = Build(archived.id, archived.name, time_from_text(archived.created_at), archived.note)
    rows.insert_build(connection, build)
    for one in archived.revisions:
        text, document = archive.record(archived, one)
        fields = one.model_dump() | {"kept_at": time_from_text(one.kept_at)}
        revision = Revision(build_name=build.name, record_toml=text, **fields)
        rows.insert_revision(connection, build, revision, document)
    for file in archived.attachments:
        fields = file.model_dump() | {"attached_at": time_from_text(file.attached_at)}
        rows.insert_attachment(connection, build, Attachment(build_name=build.name, **fields))
