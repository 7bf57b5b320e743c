"""Between rows and entries: finding and writing inside a transaction that someone else has opened."""

import uuid
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from scribeline.errors import NotebookError, NotThereError
from scribeline.notebook import tables
from scribeline.notebook.entries import (
    Attachment,
    Build,
    FileToAttach,
    Revision,
    accepted_name,
    json_of,
    same_name,
    sha256_of,
)
from scribeline.notebook.faults import refusal

REVISIONS: sa.Select[Any] = sa.select(
    *(column for column in tables.revisions.c if column.name != "record_json"), tables.builds.c.name.label("build_name")
).select_from(tables.revisions.join(tables.builds))
ATTACHMENTS = sa.select(
    tables.attachments, tables.builds.c.name.label("build_name"), tables.contents.c.size_bytes
).select_from(tables.attachments.join(tables.builds).join(tables.contents))


def build_of(row: sa.Row[Any]) -> Build:
    """The build a row holds."""
    return Build(row.id, row.name, row.created_at, row.note)


def attachment_of(row: sa.Row[Any]) -> Attachment:
    """The attachment a row of ATTACHMENTS holds."""
    return Attachment(**{name: getattr(row, name) for name in Attachment.__dataclass_fields__})


def revision_of(row: sa.Row[Any], where: object) -> Revision:
    """The revision a row of REVISIONS holds, proved against its hash."""
    revision = Revision(**{name: getattr(row, name) for name in Revision.__dataclass_fields__})
    if sha256_of(revision.record_toml.encode()) != revision.record_sha256:
        raise damaged(where, f"revision {revision.number} of {revision.build_name!r} is not what was kept")
    return revision


def content_of(connection: sa.Connection, where: object, sha256: str) -> bytes:
    """The content kept under a hash, proved against it."""
    query = sa.select(tables.contents.c.data).where(tables.contents.c.sha256 == sha256)
    data = connection.execute(query).scalar()
    if data is None:
        raise NotThereError(
            f"There is no file with the hash {sha256} in {where}.\n"
            f"    what to do: `scribeline notebook show BUILD` lists the files of a build"
        )
    if sha256_of(data) != sha256:
        raise damaged(where, f"the file with the hash {sha256} is not what was kept")
    return bytes(data)


def damaged(where: object, happened: str) -> NotebookError:
    """The refusal to hand out something that does not match its hash."""
    remedy = "put a backup copy or an export in its place, and keep this one for whoever can look into it"
    return refusal(where, "be trusted", happened, "the notebook is as it was found", remedy)


def build_like(connection: sa.Connection, name: str) -> Build | None:
    """The build of this name, where capitals do not matter, or None."""
    name = accepted_name(name, "build")
    exactly = sa.select(tables.builds).where(tables.builds.c.name == name)
    if row := connection.execute(exactly).first():
        return build_of(row)
    rows = connection.execute(sa.select(tables.builds))
    return next((build_of(row) for row in rows if same_name(row.name, name)), None)


def find_build(connection: sa.Connection, where: object, name: str) -> Build:
    """The build of this name, or a NotebookError that names those there are."""
    build = build_like(connection, name)
    if build is not None:
        return build
    names = connection.execute(sa.select(tables.builds.c.name).order_by(tables.builds.c.name)).scalars().all()
    there = ", ".join(names[:10]) + (", ..." if len(names) > 10 else "")
    raise NotThereError(
        f"There is no build called {name!r} in {where}.\n"
        f"    there is: {there or 'none'}\n    what to do: `scribeline notebook list` shows them all"
    )


def find_revision(connection: sa.Connection, where: object, build: Build, number: int | None) -> Revision:
    """One revision of a build, the latest where `number` is None."""
    of_build = tables.revisions.c.build_id == build.id
    latest = connection.execute(sa.select(sa.func.max(tables.revisions.c.number)).where(of_build)).scalar() or 0
    wanted = latest if number is None else number
    if not latest:
        raise NotThereError(
            f"The build {build.name!r} has no revision yet.\n    there is: its work in hand\n"
            f"    what to do: finish the record, and keep it"
        )
    if not 1 <= wanted <= latest:
        raise NotThereError(
            f"The build {build.name!r} has no revision {wanted}.\n    there is: 1 to {latest}\n"
            f"    what to do: `scribeline notebook show '{build.name}'` lists them"
        )
    row = connection.execute(REVISIONS.where(of_build, tables.revisions.c.number == wanted)).one()
    return revision_of(row, where)


def latest_revision(connection: sa.Connection, where: object, build: Build) -> Revision | None:
    """The latest revision of a build; None where it has none yet."""
    of_build = tables.revisions.c.build_id == build.id
    row = connection.execute(REVISIONS.where(of_build).order_by(tables.revisions.c.number.desc()).limit(1)).first()
    return revision_of(row, where) if row else None


def insert_build(connection: sa.Connection, build: Build) -> None:
    """Write one build's row."""
    connection.execute(sa.insert(tables.builds).values(**vars(build)))


def insert_revision(connection: sa.Connection, build: Build, revision: Revision, document: dict[str, Any]) -> None:
    """Write one revision's row."""
    values = {key: value for key, value in vars(revision).items() if key != "build_name"}
    values["record_json"] = json_of(document)
    connection.execute(sa.insert(tables.revisions).values(build_id=build.id, **values))


def insert_content(connection: sa.Connection, sha256: str, data: bytes) -> None:
    """Write one content's row, unless it is there already."""
    there = sa.select(tables.contents.c.sha256).where(tables.contents.c.sha256 == sha256)
    if connection.execute(there).first() is None:
        values = {"sha256": sha256, "size_bytes": len(data), "data": data}
        connection.execute(sa.insert(tables.contents).values(**values))


def insert_attachment(connection: sa.Connection, build: Build, attachment: Attachment) -> None:
    """Write one attachment's row; its content is there already."""
    values = {key: value for key, value in vars(attachment).items() if key not in ("build_name", "size_bytes")}
    connection.execute(sa.insert(tables.attachments).values(build_id=build.id, **values))


def attach(
    connection: sa.Connection, build: Build, revision_number: int | None, file: FileToAttach, now: datetime
) -> Attachment:
    """Write a file that comes in: its content and its row."""
    attachment = Attachment(
        id=str(uuid.uuid4()),
        build_name=build.name,
        revision_number=revision_number,
        sha256=sha256_of(file.data),
        size_bytes=len(file.data),
        name=file.name,
        media_type=file.media_type,
        attached_at=now,
    )
    insert_content(connection, attachment.sha256, file.data)
    insert_attachment(connection, build, attachment)
    return attachment
