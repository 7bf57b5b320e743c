"""What a notebook keeps, as the rest of the program sees it, and which names and texts it accepts. No database here."""

import hashlib
import json
import math
import tomllib
import unicodedata
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

from scribeline.errors import NotebookError

LONGEST_NAME = 80
LONGEST_TEXT = 20_000
LARGEST_RECORD_BYTES = 4 * 1024**2
LARGEST_DATA_BYTES = 4 * 1024**2
LARGEST_FILE_BYTES = 256 * 1024**2  # a file is held in memory while it is kept

_NOT_IN_NAMES = set('/\\:*?"<>|')  # a build's name is a folder in an export, on every operating system


@dataclass(frozen=True)
class Build:
    """One physical cylinder or engine through its life."""

    id: str
    name: str
    created_at: datetime
    note: str


@dataclass(frozen=True)
class BuildSummary:
    """A build and how far it has come. last_number, last_kept_at : None only for a build without a revision.

    last_edited_at : when its work in hand was last changed; None where it never was
    last_sha256 : of the latest revision's record
    """

    build: Build
    revision_count: int
    file_count: int
    last_number: int | None
    last_kept_at: datetime | None
    last_edited_at: datetime | None = None
    last_sha256: str | None = None


@dataclass(frozen=True)
class Revision:
    """An engine record as it was at one time. `parent_number` is the revision it was made from."""

    id: str
    build_name: str
    number: int
    parent_number: int | None
    author: str
    note: str
    kept_at: datetime
    record_toml: str
    record_sha256: str


@dataclass(frozen=True)
class Attachment:
    """A file that belongs to a build and, where `revision_number` says so, to one revision of it."""

    id: str
    build_name: str
    revision_number: int | None
    sha256: str
    size_bytes: int
    name: str
    media_type: str
    attached_at: datetime


@dataclass(frozen=True)
class FileToAttach:
    """A file as it comes in."""

    name: str
    media_type: str
    data: bytes


@dataclass(frozen=True)
class Kept:
    """What `keep` did."""

    revision: Revision
    new_build: bool
    attachments: list[Attachment]


def sha256_of(data: bytes) -> str:
    """The SHA-256 of `data` as 64 hexadecimal digits.

    >>> sha256_of(b"abc")[:8]
    'ba7816bf'
    """
    return hashlib.sha256(data).hexdigest()


def accepted_name(name: str, what: str) -> str:
    """The name as it is kept (composed letters, no space around it), or a NotebookError that says what is wrong.

    >>> accepted_name(" kart 98 ", "build")
    'kart 98'
    """
    name = unicodedata.normalize("NFC", name).strip()
    wrong = sorted(_NOT_IN_NAMES & set(name))
    if not name:
        reason = "it is empty"
    elif len(name) > LONGEST_NAME:
        reason = f"it has {len(name)} characters"
    elif wrong:
        reason = "it has " + " ".join(wrong) + " in it"
    elif not _is_text(name) or "\n" in name or "\t" in name:
        reason = "there is a character in it that cannot be printed"
    elif name.startswith(".") or name.endswith("."):
        reason = "it begins or ends with a dot"
    else:
        return name
    raise NotebookError(
        f"The name of the {what} is refused: {name!r}: {reason}.\n"
        f'    accepted: 1 to {LONGEST_NAME} printable characters without / \\ : * ? " < > |, no dot at either end\n'
        f"    kept: nothing\n    what to do: give it another name"
    )


def accepted_text(text: str, what: str, at_least: int = 0) -> str:
    """A note or an author as it is kept, or a NotebookError that says what is wrong."""
    if _is_text(text) and at_least <= len(text) <= LONGEST_TEXT:
        return text
    raise NotebookError(
        f"The {what} is refused: it has {len(text)} characters"
        f"{'' if _is_text(text) else ', some of which cannot be printed'}.\n"
        f"    accepted: {at_least} to {LONGEST_TEXT} printable characters\n"
        f"    kept: nothing\n    what to do: write it again, shorter or without them"
    )


def accepted_file(file: FileToAttach) -> FileToAttach:
    """The file as it is kept, or a NotebookError that says what is wrong with its name or size."""
    name = accepted_name(file.name, "file")
    if len(file.data) > LARGEST_FILE_BYTES:
        raise NotebookError(
            f"The file {name!r} has {len(file.data)} bytes.\n    accepted: at most {LARGEST_FILE_BYTES}\n"
            f"    kept: nothing\n    what to do: keep a smaller copy of it"
        )
    return FileToAttach(name, accepted_text(file.media_type, "media type", at_least=1), file.data)


def same_name(one: str, other: str) -> bool:
    """Whether two names would be taken for each other by a person, or by a disk that ignores capitals."""
    return one.casefold() == other.casefold()


def document_of(record_toml: str) -> dict[str, Any]:
    """The record as a nested dictionary, or a NotebookError where the text cannot be kept as a record."""
    reason = ""
    try:
        size_bytes = len(record_toml.encode())
        document = tomllib.loads(record_toml)
        if size_bytes > LARGEST_RECORD_BYTES:
            reason = f"it has {size_bytes} bytes, at most {LARGEST_RECORD_BYTES} are accepted"
        elif _has_null(document):
            reason = "it has the character U+0000 in it"
    except (ValueError, RecursionError) as error:
        reason = str(error)
    if reason:
        raise NotebookError(
            f"The record is no TOML text that can be kept: {reason}.\n    kept: nothing\n    what to do: correct it"
        )
    return document


def json_of(document: Any) -> Any:
    """The record with what JSON does not know (times, infinite numbers) as text."""
    if isinstance(document, dict):
        return {key: json_of(value) for key, value in document.items()}
    if isinstance(document, list):
        return [json_of(value) for value in document]
    if isinstance(document, datetime | date | time):
        return document.isoformat()
    if isinstance(document, float) and not math.isfinite(document):
        return str(document)
    return document


def canonical(data: Any, what: str = "An entry of a trial") -> str:
    """The JSON text of what a journal keeps: the same for the same data, always.

    >>> canonical({"b": 1, "a": "x"})
    '{"a":"x","b":1}'
    """
    try:
        text = json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    except (TypeError, ValueError, RecursionError) as error:
        raise NotebookError(
            f"{what} cannot be kept: {error}.\n    kept: nothing\n    what to do: please report it"
        ) from error
    if len(text.encode(errors="replace")) > LARGEST_DATA_BYTES or "\\u0000" in text:
        raise NotebookError(
            f"{what} has {len(text)} characters.\n    accepted: at most {LARGEST_DATA_BYTES} bytes, no "
            "U+0000\n    kept: nothing\n    what to do: keep it as a file"
        )
    return text


def _has_null(value: Any) -> bool:
    if isinstance(value, dict):
        return any(_has_null(key) or _has_null(inner) for key, inner in value.items())
    if isinstance(value, list):
        return any(_has_null(inner) for inner in value)
    return isinstance(value, str) and "\0" in value


def _is_text(text: str) -> bool:
    """No half characters, no control characters but line end and tab: what both databases and every file keep."""
    return all(c in "\n\t" or unicodedata.category(c) not in ("Cc", "Cs") for c in text)
