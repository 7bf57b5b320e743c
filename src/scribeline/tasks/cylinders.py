"""The cylinders of a notebook as one looks through them, and new ones: begun by name, or from a record that came in."""

import difflib
import tomllib
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from scribeline.engine import read_record
from scribeline.errors import NotebookError, RecordError
from scribeline.notebook import BuildSummary
from scribeline.notebook.entries import LONGEST_NAME, accepted_name, json_of, same_name
from scribeline.tasks.demonstration import demonstration, keep_demonstration
from scribeline.tasks.desk import begin_build
from scribeline.tasks.notebook import Where, bytes_of, keep_record, list_builds, opened


@dataclass(frozen=True)
class Cylinder:
    """A build as one finds it again.

    stands : how far it has come, in words. touched_at : when anything was kept or edited last
    picture : what its small drawing is made from: the hash of its latest record, or "work" where none was kept yet
    """

    name: str
    note: str
    stands: str
    picture: str
    files: int
    touched_at: datetime


def cylinders(*, where: Where = None) -> list[Cylinder]:
    """Every build, the one touched last first."""
    found = [_cylinder(one) for one in list_builds(where=where)]
    return sorted(found, key=lambda one: one.touched_at, reverse=True)


def _cylinder(one: BuildSummary) -> Cylinder:
    times = (one.build.created_at, one.last_kept_at, one.last_edited_at)
    touched = max(time for time in times if time is not None)
    if one.last_number is None:
        stands = "begun; no revision kept yet"
    else:
        stands = f"revision {one.last_number}"
        if one.last_edited_at is not None and one.last_kept_at is not None and one.last_edited_at > one.last_kept_at:
            stands += ", edited since"
    name, note = one.build.name, one.build.note
    return Cylinder(name, note, stands, one.last_sha256 or "work", one.file_count, touched)


def on_the_clock(time: datetime) -> str:
    """A time of the notebook as the computer's clock showed it."""
    return f"{time.astimezone():%Y-%m-%d %H:%M}"


def alike(name: str, *, where: Where = None) -> list[str]:
    """The cylinders whose names come nearest to one that is not there, the nearest first.

    How near is difflib's ratio; from 0.5 on two names are taken for mistaken for each other, which is judgement.
    """
    names = {one.build.name.casefold(): one.build.name for one in list_builds(where=where)}
    return [names[one] for one in difflib.get_close_matches(name.casefold(), [*names], n=3, cutoff=0.5)]


@dataclass(frozen=True)
class Begun:
    """A cylinder that was begun. refusal : why its record is not kept yet, but only in hand; None where it was kept."""

    build: str
    refusal: RecordError | None = None


def begin_from_file(path: Path, name: str, *, author: str | None = None, where: Where = None) -> Begun:
    """Begin a cylinder from a record file. It gets a name of its own where another has the record's already.

    name : as the file is called, for refusals. A record that is refused is not lost: it is taken in hand, to be put
    right there. Raises NotebookError for a file that is no TOML at all.
    """
    try:
        document = tomllib.loads(bytes_of(path).decode())
    except ValueError as error:
        raise NotebookError(
            f"{name} is no engine record: {error}.\n    accepted: TOML text in UTF-8\n    kept: nothing\n"
            "    what to do: choose a record that scribeline wrote, or put it right in a text editor"
        ) from None
    build = free_name(str(document.get("name") or Path(name).stem), where=where)
    try:
        read_record(bytes_of(path).decode(), name)
    except RecordError as refusal:
        begin_build(
            build, json_of(document) | {"name": build}, note="from a file", device=author or "a file", where=where
        )
        return Begun(build, refusal)
    keep_record(path, build=build, note="from a file", author=author, where=where)
    return Begun(build)


def begin_demonstration(*, author: str | None = None, where: Where = None) -> Begun:
    """Take the demonstration engine with its story into the notebook, or find it there."""
    name = read_record(demonstration().read_text(encoding="utf-8")).name
    with opened(where, create=True):
        pass
    if any(same_name(one.build.name, name) for one in list_builds(where=where)):
        return Begun(name)
    return Begun(keep_demonstration(author=author, where=where))


def free_name(wished: str, *, where: Where = None) -> str:
    """The name, or with a number behind it where it is taken.

    What cannot stand in a name is left out of it.
    """
    kept = "".join(c if c.isprintable() and c not in '/\\:*?"<>|' else " " for c in wished)
    kept = " ".join(kept.split()).strip(".")[: LONGEST_NAME - 4].strip(". ") or "a cylinder"
    taken = [one.build.name for one in list_builds(where=where)]
    one, number = kept, 1
    while any(same_name(one, name) for name in taken):
        number += 1
        one = f"{kept} {number}"
    return accepted_name(one, "build")
