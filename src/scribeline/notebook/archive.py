"""The zip a notebook is exported to: its layout, its limits, and the proof that one is whole.

    notebook.json            everything but the records and the files: builds, revisions, attachments, ledgers, trials
    builds/NAME/0001.toml    each record, to the letter
    builds/NAME/edits.jsonl  the journal of its work in hand, where there is one: one edit a line
    files/SHA256             the content of each attached file, once

The same notebook always gives the same bytes: fixed order, fixed dates, nothing compressed, no time of the export.
An archive is read with suspicion: exactly the entries that notebook.json calls for, no more bytes than they say, every
hash recomputed. Nothing of it is ever written under a name that comes from the archive.
"""

import json
import struct
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from scribeline.errors import NotebookError
from scribeline.notebook.entries import (
    LARGEST_FILE_BYTES,
    LARGEST_RECORD_BYTES,
    accepted_name,
    accepted_text,
    canonical,
    document_of,
    sha256_of,
)
from scribeline.notebook.journal import Played
from scribeline.notebook.places import at, checked, inserts, is_same
from scribeline.notebook.tables import time_from_text, time_text

INDEX = "notebook.json"
LARGEST_INDEX_BYTES = 1024**3  # with thousands of recordings, what was read of them alone is hundreds of megabytes
LARGEST_JOURNAL_BYTES = 1024**3

# Together the entries may unpack to this many times the archive's own size, and to this much in any case.
_UNPACKED_PER_PACKED = 50
_UNPACKED_BYTES_ALLOWED = 16 * 1024**2


def _unaltered(text: str, accepted: str) -> str:
    if text != accepted:
        raise ValueError("is not written as the notebook writes it")
    return text


def _name(text: str) -> str:
    try:
        return _unaltered(text, accepted_name(text, "entry"))
    except NotebookError as error:
        raise ValueError(str(error)) from None


def _text(text: str) -> str:
    try:
        return accepted_text(text, "text")
    except NotebookError as error:
        raise ValueError(str(error)) from None


def _canonical_value(text: str) -> str:
    try:
        return _unaltered(text, canonical(json.loads(text)))
    except (NotebookError, RecursionError) as error:
        raise ValueError(str(error)) from None


def _canonical(text: str) -> str:
    if not text.startswith("{"):
        raise ValueError("is no object")
    return _canonical_value(text)


Identity = Annotated[str, Field(pattern=r"\A[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}\z")]
Sha256 = Annotated[str, Field(pattern=r"\A[0-9a-f]{64}\z")]
Moment = Annotated[str, AfterValidator(lambda text: _unaltered(text, time_text(time_from_text(text))))]
Name = Annotated[str, AfterValidator(_name)]
Text = Annotated[str, AfterValidator(_text)]
SomeText = Annotated[str, Field(min_length=1), AfterValidator(_text)]
Number = Annotated[int, Field(ge=1, lt=2**31)]


class _Entry(BaseModel):
    model_config = ConfigDict(frozen=True, strict=True, extra="forbid")


class ArchivedRevision(_Entry):
    """One revision without its text, which stands in the file that `record_path` names."""

    id: Identity
    number: Number
    parent_number: Number | None
    author: SomeText
    note: Text
    kept_at: Moment
    record_sha256: Sha256


class ArchivedEdit(_Entry):
    """One line of edits.jsonl; `before` and `after` are JSON texts, nothing where nothing was there."""

    id: Identity
    number: Number
    kind: Literal["begin", "edit", "undo", "redo"]
    of: Number | None
    path: SomeText
    before: Annotated[str, AfterValidator(_canonical_value)] | None
    after: Annotated[str, AfterValidator(_canonical_value)] | None
    label: Text
    device: SomeText
    made_at: Moment
    step: Number | None = None

    def line(self) -> str:
        """The line; one that is a step of its own is written as it was before there were others."""
        return self.model_dump_json(exclude={"step"} if self.step is None else None) + "\n"


class ArchivedAttachment(_Entry):
    """One attachment without its content, which stands in the file that `content_path` names."""

    id: Identity
    revision_number: Number | None
    sha256: Sha256
    size_bytes: Annotated[int, Field(ge=0, le=LARGEST_FILE_BYTES)]
    name: Name
    media_type: SomeText
    attached_at: Moment


class ArchivedLedgerEntry(_Entry):
    """One entry of a build's ledger; `data` is its JSON text."""

    id: Identity
    number: Number
    revision_number: Number | None
    kind: SomeText
    author: SomeText
    note: Text
    made_at: Moment
    data: Annotated[str, AfterValidator(_canonical)]


class ArchivedBuild(_Entry):
    """One build with its history.

    edits_sha256 : of the journal of its work in hand; None where there is none
    steps : whether there are steps of several entries in that journal
    """

    id: Identity
    name: Name
    created_at: Moment
    note: Text
    revisions: list[ArchivedRevision]
    attachments: list[ArchivedAttachment]
    edits_sha256: Sha256 | None = None
    ledger: list[ArchivedLedgerEntry] = []
    steps: bool = False


class ArchivedFile(_Entry):
    """A file that was added to a trial; its content stands in the file that `content_path` names."""

    sha256: Sha256
    size_bytes: Annotated[int, Field(ge=0, le=LARGEST_FILE_BYTES)]
    name: Name
    media_type: SomeText


class ArchivedEntry(_Entry):
    """One entry of a trial's journal; `data` is its JSON text."""

    id: Identity
    number: Number
    kind: SomeText
    author: SomeText
    note: Text
    made_at: Moment
    data: Annotated[str, AfterValidator(_canonical)]
    file: ArchivedFile | None


class ArchivedTrial(_Entry):
    """One trial with its journal. build_id, revision_number : what was driven, where it was said."""

    id: Identity
    name: Name
    build_id: Identity | None
    revision_number: Number | None
    created_at: Moment
    note: Text
    entries: list[ArchivedEntry]


class Index(_Entry):
    """The content of notebook.json.

    Version 2 is written where there are trials, which version 1 did not know; version 3 where there is work in hand;
    version 4 where there are ledgers; version 5 where work in hand was edited at several places as one step.
    """

    format: Literal["scribeline notebook"] = "scribeline notebook"
    format_version: Literal[1, 2, 3, 4, 5] = 1
    builds: list[ArchivedBuild]
    trials: list[ArchivedTrial] = []

    def files(self) -> Iterator[ArchivedAttachment | ArchivedFile]:
        """Every file that belongs to a build or a trial; the same content may come more than once."""
        for build in self.builds:
            yield from build.attachments
        for trial in self.trials:
            yield from (entry.file for entry in trial.entries if entry.file is not None)

    @staticmethod
    def version_for(builds: list[ArchivedBuild], trials: list[ArchivedTrial]) -> Literal[1, 2, 3, 4, 5]:
        """The oldest version that knows all of this."""
        if any(build.steps for build in builds):
            return 5
        if any(build.ledger for build in builds):
            return 4
        return 3 if any(build.edits_sha256 for build in builds) else 2 if trials else 1

    def sizes(self) -> dict[str, int]:
        """Size in bytes of each attached content by its hash, each once."""
        return {file.sha256: file.size_bytes for file in self.files()}

    def written(self) -> str:
        """The text of notebook.json; where nothing is newer, it is what the older version wrote, to the letter."""
        newer: dict[str, Any] = {} if self.trials else {"trials": True}
        of_builds = {
            name for name, since in (("edits_sha256", 3), ("ledger", 4), ("steps", 5)) if self.format_version < since
        }
        if of_builds:
            newer["builds"] = {"__all__": of_builds}
        return self.model_dump_json(indent=2, exclude=newer) + "\n"

    def paths(self) -> list[str]:
        """Every entry that belongs into the archive, in its order."""
        records = [record_path(build.name, r.number) for build in self.builds for r in build.revisions]
        journals = [journal_path(build.name) for build in self.builds if build.edits_sha256]
        return [INDEX, *records, *journals, *(content_path(sha256) for sha256 in sorted(self.sizes()))]

    def contradictions(self) -> Iterator[str]:
        """What cannot be true of a notebook."""
        for what, texts in {
            "build names": [build.name.casefold() for build in self.builds],
            "builds": [build.id for build in self.builds],
            "revisions": [revision.id for build in self.builds for revision in build.revisions],
            "attachments": [attachment.id for build in self.builds for attachment in build.attachments],
            "ledger entries": [entry.id for build in self.builds for entry in build.ledger],
            "trial names": [trial.name.casefold() for trial in self.trials],
            "trials": [trial.id for trial in self.trials],
            "entries": [entry.id for trial in self.trials for entry in trial.entries],
        }.items():
            if twice := [text for text, count in Counter(texts).items() if count > 1]:
                yield f"two {what} are the same: {twice[0]}"
        if self.format_version != self.version_for(self.builds, self.trials):
            yield (
                "version 1 has only builds, version 2 trials too, version 3 work in hand, version 4 ledgers, "
                "version 5 steps of several edits"
            )
        if {(file.sha256, file.size_bytes) for file in self.files()} != set(self.sizes().items()):
            yield "one content has two sizes"
        for build in self.builds:
            numbers = [revision.number for revision in build.revisions]
            if not numbers and not build.edits_sha256:
                yield f"there is nothing of {build.name!r}, neither a revision nor work in hand"
            if numbers != list(range(1, len(numbers) + 1)):
                yield f"the revisions of {build.name!r} are not numbered 1, 2, 3 without a gap"
            for revision in build.revisions:
                if (revision.parent_number or 0) >= revision.number:
                    yield f"revision {revision.number} of {build.name!r} is older than its parent"
            for attachment in build.attachments:
                if (attachment.revision_number or 0) > len(numbers):
                    yield f"{attachment.name!r} belongs to revision {attachment.revision_number}, which is missing"
            if [entry.number for entry in build.ledger] != list(range(1, len(build.ledger) + 1)):
                yield f"the ledger of {build.name!r} is not numbered 1, 2, 3 without a gap"
            if any((entry.revision_number or 0) > len(numbers) for entry in build.ledger):
                yield f"the ledger of {build.name!r} is about a revision that is missing"
        last = {build.id: len(build.revisions) for build in self.builds}
        for trial in self.trials:
            if [entry.number for entry in trial.entries] != list(range(1, len(trial.entries) + 1)):
                yield f"the entries of {trial.name!r} are not numbered 1, 2, 3 without a gap"
            if (trial.build_id is None) != (trial.revision_number is None):
                yield f"the trial {trial.name!r} names a build without a revision, or a revision without a build"
            if trial.build_id is not None and (trial.revision_number or 0) > last.get(trial.build_id, 0):
                yield f"the trial {trial.name!r} was driven with a revision that is missing"


def record_path(build_name: str, number: int) -> str:
    """Where in the archive a record stands.

    >>> record_path("kart 98", 3)
    'builds/kart 98/0003.toml'
    """
    return f"builds/{build_name}/{number:04d}.toml"


def journal_path(build_name: str) -> str:
    """Where in the archive the journal of a build's work in hand stands."""
    return f"builds/{build_name}/edits.jsonl"


def content_path(sha256: str) -> str:
    """Where in the archive the content of an attached file stands."""
    return f"files/{sha256}"


class Archive:
    """An archive whose index has been read and found sound. Records and contents are proved as they are read."""

    def __init__(self, path: Path, packed: zipfile.ZipFile) -> None:
        self._path, self._packed = path, packed
        with _refusing(path):
            self.index = _index_of(packed, path.stat().st_size)
        self._sizes = self.index.sizes()

    def record(self, build: ArchivedBuild, revision: ArchivedRevision) -> tuple[str, dict[str, Any]]:
        """The text of one record, proved against its hash, and what it says as TOML."""
        with _refusing(self._path):
            path = record_path(build.name, revision.number)
            data = _read(self._packed, path, LARGEST_RECORD_BYTES)
            _prove(path, data, revision.record_sha256)
            text = data.decode()
            return text, document_of(text)

    def edits(self, build: ArchivedBuild) -> list[ArchivedEdit]:
        """The journal of a build, proved against its hash and played from its start."""
        if build.edits_sha256 is None:
            return []
        with _refusing(self._path):
            path = journal_path(build.name)
            data = _read(self._packed, path, LARGEST_JOURNAL_BYTES)
            _prove(path, data, build.edits_sha256)
            edits = [ArchivedEdit.model_validate_json(line) for line in data.decode().split("\n")[:-1]]
            if build.steps != any(edit.step is not None for edit in edits):
                raise ValueError(f"{path}: steps of several edits are there, or missing, against what {INDEX} says")
            for contradiction in _unplayable(edits):
                raise ValueError(f"{path}: {contradiction}")
            return edits

    def content(self, sha256: str) -> bytes:
        """One content, proved against its hash and size."""
        with _refusing(self._path):
            path = content_path(sha256)
            data = _read(self._packed, path, LARGEST_FILE_BYTES)
            _prove(path, data, sha256)
            if len(data) != self._sizes[sha256]:
                raise ValueError(f"{path} has {len(data)} bytes, not as many as {INDEX} says")
            return data

    def prove(self) -> None:
        """Read everything once, so that an archive that is not whole is refused before a notebook is touched."""
        for build in self.index.builds:
            for revision in build.revisions:
                self.record(build, revision)
            self.edits(build)
        for sha256 in self._sizes:
            self.content(sha256)


@contextmanager
def open_archive(path: Path) -> Iterator[Archive]:
    """Open an archive and prove it whole; anything wrong with it is a NotebookError."""
    with ExitStack() as stack:
        with _refusing(path):
            packed = stack.enter_context(zipfile.ZipFile(path))
        archive = Archive(path, packed)
        archive.prove()
        yield archive


@contextmanager
def _refusing(path: Path) -> Iterator[None]:
    """Whatever reading a zip may raise, as one refusal."""
    try:
        yield
    except FileNotFoundError:
        raise _refused(path, "there is no such file", "check the name") from None
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        place = ".".join(str(part) for part in first["loc"])
        raise _refused(path, f"{INDEX}: {place}: {first['msg']}") from error
    except (zipfile.BadZipFile, zlib.error, OSError, EOFError, ValueError, RuntimeError, struct.error) as error:
        raise _refused(path, str(error) or type(error).__name__) from error


def _index_of(packed: zipfile.ZipFile, packed_bytes: int) -> Index:
    infos = packed.infolist()
    unpacked_bytes = sum(info.file_size for info in infos)
    allowed_bytes = max(_UNPACKED_BYTES_ALLOWED, _UNPACKED_PER_PACKED * packed_bytes)
    if unpacked_bytes > allowed_bytes:
        raise ValueError(
            f"it says it unpacks to {unpacked_bytes} bytes; at most {allowed_bytes} are accepted for its size"
        )
    there = Counter(info.filename for info in infos)
    if INDEX not in there:
        raise ValueError(f"{INDEX} is missing")
    index = Index.model_validate_json(_read(packed, INDEX, LARGEST_INDEX_BYTES))
    for contradiction in index.contradictions():
        raise ValueError(f"{INDEX}: {contradiction}")
    for name, count in (there - Counter(index.paths())).items():
        raise ValueError(f"{name!r} does not belong into it" if count == there[name] else f"{name} is there twice")
    for name in Counter(index.paths()) - there:
        raise ValueError(f"{name} is missing")
    return index


def _unplayable(edits: list[ArchivedEdit]) -> Iterator[str]:
    """What cannot be true of a journal: each edit must have found what it says it found."""
    if not edits or [one.number for one in edits] != list(range(1, len(edits) + 1)):
        yield "its edits are not numbered 1, 2, 3 without a gap"
    if len({one.id for one in edits}) < len(edits):
        yield "two edits are the same"
    played = Played()
    due: list[int] = []  # numbers of the edits that the step under way has yet to undo, or to redo
    for one in edits:
        before, after = (None if text is None else json.loads(text) for text in (one.before, one.after))
        try:
            place = checked(one.path)
            sound = inserts(played.document, place, before, after) or is_same(at(played.document, place), before)
            if one.step is None:
                sound = sound and not due
                stack = played.done if one.kind == "undo" else played.undone if one.kind == "redo" else [[]]
                due = [edit.number for edit in stack[-1]][:: -1 if one.kind == "undo" else 1]
            else:
                before_it = edits[one.number - 2]
                sound = sound and one.number > 1 and one.kind == before_it.kind and one.step == played.step
            sound = sound and one.of == (due.pop(0) if due else None)
            if (one.kind == "begin") != (one.number == 1) or not sound:
                raise ValueError("something else was there")
            played.play(one)
        except (NotebookError, LookupError, TypeError, ValueError) as error:
            yield f"edit {one.number} does not follow from those before it: {error}"
            return
    if due:
        yield "its last step is not whole"


def _read(packed: zipfile.ZipFile, path: str, largest_bytes: int) -> bytes:
    info = packed.getinfo(path)
    if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise ValueError(f"{path} is packed in a way that is not accepted")
    if info.file_size > largest_bytes:
        raise ValueError(f"{path} says it has {info.file_size} bytes; at most {largest_bytes} are accepted")
    with packed.open(info) as file:
        data = file.read(largest_bytes + 1)
    if len(data) != info.file_size:
        raise ValueError(f"{path} has not as many bytes as it says")
    return data


def _prove(path: str, data: bytes, sha256: str) -> None:
    if sha256_of(data) != sha256:
        raise ValueError(f"{path} is not what was exported: its SHA-256 is another")


def _refused(path: Path, reason: str, remedy: str = "use another copy of the export") -> NotebookError:
    return NotebookError(f"The archive {path} is refused: {reason}.\n    kept: nothing of it\n    what to do: {remedy}")
