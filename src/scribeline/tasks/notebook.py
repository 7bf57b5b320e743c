"""Keeping records in the notebook, looking at what is kept, and moving a notebook elsewhere.

`where` is everywhere the notebook that is meant: a path, a URL, None for SCRIBELINE_NOTEBOOK or the user's own, or a
notebook that is open already, which stays open.
`tell` is given a sentence when something was done unasked that a person should know, such as a backup copy.
"""

import getpass
import mimetypes
import tomllib
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from scribeline.engine import read_record
from scribeline.errors import NotebookError, NotThereError
from scribeline.notebook import (
    Address,
    Attachment,
    Build,
    BuildSummary,
    Change,
    FileToAttach,
    Kept,
    Notebook,
    Revision,
    differences,
    export,
    open_archive,
    open_notebook,
    resolve,
    restore,
)
from scribeline.notebook.address import default_path
from scribeline.notebook.archive import Index
from scribeline.notebook.difference import ABSENT
from scribeline.notebook.entries import LARGEST_FILE_BYTES, json_of, sha256_of

Where = str | Path | Address | Notebook | None
Tell = Callable[[str], None]


def silently(sentence: str) -> None:
    """A `tell` that says nothing."""


@contextmanager
def opened(where: Where, *, create: bool = False, tell: Tell = silently) -> Iterator[Notebook]:
    """The notebook that is meant, open; closed afterwards unless it was given open. Threads may share one."""
    if isinstance(where, Notebook):
        yield where
        return
    with open_notebook(where, create=create, tell=tell) as notebook:
        yield notebook


@dataclass(frozen=True)
class History:
    """A build with all its revisions, oldest first, and all its files."""

    build: Build
    revisions: list[Revision]
    attachments: list[Attachment]


@dataclass(frozen=True)
class Comparison:
    """What changed from one revision to another. `same_text` tells a change of comments or layout from none."""

    before: Revision
    after: Revision
    changes: list[Change]
    same_text: bool


@dataclass(frozen=True)
class Moved:
    """How much went into an archive or came out of one."""

    builds: int
    revisions: int
    files: int
    trials: int = 0


def keep_record(
    engine: Path,
    *,
    build: str | None = None,
    note: str = "",
    build_note: str | None = None,
    author: str | None = None,
    attach: Iterable[Path] = (),
    where: Where = None,
    tell: Tell = silently,
) -> Kept:
    """Judge a record and keep its text, to the letter, as the next revision of a build.

    build : its name; the engine's own name where None
    author : who keeps it; the name of the computer's user where None
    attach : files kept with this revision

    A record that is refused keeps nothing: not the record, not the files, not a new notebook.
    """
    text = _record_text(engine)
    record = read_record(text, str(engine))
    files = [_file_to_attach(path) for path in attach]
    with opened(where, create=True, tell=tell) as notebook:
        return notebook.keep(
            record.name if build is None else build,
            text,
            author=user_name() if author is None else author,
            note=note,
            build_note=build_note,
            files=files,
        )


def attach_files(
    build: str, paths: Iterable[Path], *, revision: int | None = None, where: Where = None, tell: Tell = silently
) -> list[Attachment]:
    """Attach files to a build and, where a number is given, to that revision of it."""
    files = [_file_to_attach(path) for path in paths]
    with opened(where, tell=tell) as notebook:
        return notebook.attach(build, files, revision)


def attach_named(
    build: str,
    files: Mapping[str, Path],
    *,
    revision: int | None = None,
    where: Where = None,
    tell: Tell = silently,
) -> list[Attachment]:
    """Attach files that are not called as they lie on the disk, such as what came in through a page."""
    named = [FileToAttach(name, media_type_of(name), bytes_of(path)) for name, path in files.items()]
    with opened(where, tell=tell) as notebook:
        return notebook.attach(build, named, revision)


def attached_file(build: str, file_id: str, *, where: Where = None, tell: Tell = silently) -> tuple[Attachment, bytes]:
    """A file of a build and its content; NotThereError where the build has none with this id."""
    with opened(where, tell=tell) as notebook:
        for one in notebook.attachments(build):
            if one.id == file_id:
                return one, notebook.content(one.sha256)
    raise NotThereError(
        f"{build!r} has no file {file_id}.\n    what to do: look at the list of its files; it may have been read before"
    )


def list_builds(*, where: Where = None, tell: Tell = silently) -> list[BuildSummary]:
    """Every build in the notebook, by name."""
    with opened(where, tell=tell) as notebook:
        return notebook.builds()


def show_build(build: str, *, where: Where = None, tell: Tell = silently) -> History:
    """One build with all that is kept of it."""
    with opened(where, tell=tell) as notebook:
        return History(notebook.build(build), notebook.history(build), notebook.attachments(build))


def show_revision(
    build: str, number: int | None = None, *, where: Where = None, tell: Tell = silently
) -> tuple[Revision, list[Attachment]]:
    """One revision, the latest where no number is given, and the files that were attached to it."""
    with opened(where, tell=tell) as notebook:
        revision = notebook.revision(build, number)
        files = notebook.attachments(build)
    return revision, [file for file in files if file.revision_number == revision.number]


def compare_revisions(
    build: str,
    before: int | None = None,
    after: int | None = None,
    *,
    where: Where = None,
    tell: Tell = silently,
) -> Comparison:
    """What changed from one revision to another, field by field.

    before : number of the earlier one; the one that `after` was made from where None
    after : number of the later one; the latest where None
    """
    with opened(where, tell=tell) as notebook:
        later = notebook.revision(build, after)
        if before is None and later.parent_number is None:
            raise NotebookError(
                f"Revision {later.number} of {later.build_name!r} was made from no other: there is nothing to "
                f"compare it with.\n    what to do: name two revisions of this build"
            )
        earlier = notebook.revision(build, later.parent_number if before is None else before)
    changes = differences(tomllib.loads(earlier.record_toml), tomllib.loads(later.record_toml))
    return Comparison(earlier, later, changes, earlier.record_sha256 == later.record_sha256)


def plain_changes(comparison: Comparison) -> list[tuple[str, Any, Any]]:
    """Each change as its path, what was and what is, in what JSON knows; None for what is not there."""

    def plain(value: Any) -> Any:
        return None if value is ABSENT else json_of(value)

    return [(one.path, plain(one.before), plain(one.after)) for one in comparison.changes]


def export_notebook(path: Path, *, where: Where = None, tell: Tell = silently) -> Moved:
    """Write the whole notebook into one zip that `import_notebook` reads back with nothing lost."""
    with opened(where, tell=tell) as notebook:
        index = export(notebook, path)
    return _moved(index)


def import_notebook(path: Path, *, where: Where = None, tell: Tell = silently) -> Moved:
    """Read an exported zip into an empty notebook: everything, or, where anything is wrong with it, nothing."""
    with open_archive(path) as archive, opened(where, create=True, tell=tell) as notebook:
        restore(archive, notebook)
        index = archive.index
    return _moved(index)


def folder_beside(address: Address) -> Path:
    """Where a server keeps files of its own for a notebook, such as journals of searches: beside its file.

    For a notebook on a PostgreSQL server it is in the user's data folder, one for each such notebook.
    """
    if address.path is not None:
        folder = address.path.with_name(f"{address.path.stem}-files")
    else:
        folder = default_path().parent / f"postgresql-{sha256_of(str(address).encode())[:16]}-files"
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def _moved(index: Index) -> Moved:
    revisions = sum(len(build.revisions) for build in index.builds)
    return Moved(len(index.builds), revisions, len(index.sizes()), len(index.trials))


def migrate_notebook(*, where: Where = None, backup_is_made: bool = False, tell: Tell = silently) -> Address:
    """Bring a notebook to the tables of this program. Any opening does this, but PostgreSQL wants a word first."""
    if isinstance(where, Notebook):
        return where.address  # it could not be open otherwise
    address = where if isinstance(where, Address) else resolve(where)
    open_notebook(address, backup_is_made=backup_is_made, tell=tell).close()
    return address


def user_name() -> str:
    """Name of the computer's user; NotebookError where the computer does not say."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        raise NotebookError(
            "Who keeps this record? The computer does not say.\n    kept: nothing\n    what to do: give --author NAME"
        ) from None


def _record_text(path: Path) -> str:
    """The text with its line ends as they are."""
    try:
        return bytes_of(path).decode()
    except UnicodeDecodeError as error:
        raise NotebookError(
            f"{path} is not text in UTF-8: byte {error.start} is none.\n    kept: nothing\n"
            f"    what to do: save it again as UTF-8"
        ) from None


def _file_to_attach(path: Path) -> FileToAttach:
    return FileToAttach(path.name, media_type_of(path.name), bytes_of(path))


def media_type_of(name: str) -> str:
    """What a file is by the ending of its name, as far as it tells.

    >>> media_type_of("before.jpg")
    'image/jpeg'
    """
    return mimetypes.guess_type(name)[0] or "application/octet-stream"


def bytes_of(path: Path) -> bytes:
    """A file's content; NotebookError where it is none, too large, or cannot be read."""
    try:
        if path.exists() and not path.is_file():
            raise NotebookError(f"{path} is no file.\n    kept: nothing\n    what to do: name a file")
        if path.stat().st_size > LARGEST_FILE_BYTES:
            raise NotebookError(
                f"{path} has {path.stat().st_size} bytes.\n    accepted: at most {LARGEST_FILE_BYTES}\n"
                f"    kept: nothing\n    what to do: keep a smaller copy of it"
            )
        return path.read_bytes()
    except OSError as error:
        raise NotebookError(
            f"{path} cannot be read: {error.strerror or error}.\n    kept: nothing\n    what to do: check the name"
        ) from None
