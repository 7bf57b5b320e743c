"""Putting sheets into a folder without losing anything that stands there.

A list beside the files, `sheets-written.json`, holds what scribeline wrote and the digest of each. A file is written
over only while it still is what the list says; one that was put there or changed by somebody is never touched, and
then nothing at all is written.
"""

import hashlib
import json
import os
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from scribeline.errors import SheetError

LIST = "sheets-written.json"


def write_files(files: Mapping[str, bytes], folder: Path) -> list[Path]:
    """Write every file or none. SheetError for a file of somebody else's in the way, and for a folder that refuses."""
    known = _known(folder)
    foreign = [name for name in files if (folder / name).exists() and not _ours(folder / name, known)]
    if foreign:
        raise SheetError(
            f"{folder}: {', '.join(foreign)} stands there and is not, or no longer, what scribeline wrote\n"
            "    accepted: an empty folder, or one with sheets as they were written\n"
            "    what to do: choose another folder with -o, or move these files away"
        )
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, data in files.items():
            _replace(folder / name, data)
            known[name] = _digest(data)
        _replace(folder / LIST, (json.dumps(known, indent=1, sort_keys=True) + "\n").encode())
    except OSError as error:
        raise SheetError(
            f"{folder}: {error.strerror or error}\n    accepted: a folder you may write to\n"
            "    what to do: choose another folder with -o"
        ) from None
    return [folder / name for name in files]


def _known(folder: Path) -> dict[str, str]:
    """What the list says; nothing where there is none or it cannot be read: then every file counts as somebody's."""
    try:
        listed = json.loads((folder / LIST).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return {str(name): str(digest) for name, digest in listed.items()} if isinstance(listed, dict) else {}


def _ours(path: Path, known: Mapping[str, str]) -> bool:
    try:
        return path.is_file() and known.get(path.name) == _digest(path.read_bytes())
    except OSError:
        return False


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _replace(path: Path, data: bytes) -> None:
    unfinished = path.parent / f".{path.name}-{os.getpid()}.part"
    try:
        unfinished.write_bytes(data)
        unfinished.replace(path)
    except OSError:
        with suppress(OSError):
            unfinished.unlink()
        raise
