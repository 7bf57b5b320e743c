"""Files that come in through the page: which are accepted, and how they are laid down before anything reads them.

    incoming = Incoming()                                    # one per server: a folder of its own, gone with it
    upload = await incoming.take(event.file.iterate(), event.file.name, ["photo"])
    try:
        await workers.start(find_ports, upload.path, limits=upload.kind.limits, quick=True).outcome()
    finally:
        upload.discard()

A file is written piece by piece under a name of our making; the name that the device gave it is text to be shown, never
a path. Its kind is told from its first bytes, not from its name, and it is decoded only in a worker process, which a
damaged or malicious file may end without the server noticing more than that.
"""

import asyncio
import contextlib
import hashlib
import secrets
import shutil
import tempfile
from collections.abc import AsyncIterator, Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import BinaryIO

from scribeline.errors import UploadError
from scribeline.web.worker_process import Limits

_MIB = 1024**2
LARGEST_BYTES = 2048 * _MIB  # judgement: a film of a quarter of an hour as a phone takes it
MOST_WAITING = 100
_HEAD_BYTES = 4096
_SPARE_BYTES = 256 * _MIB  # what stays free on the disk


@dataclass(frozen=True)
class Kind:
    """A kind of file that is accepted somewhere.

    name : as pages ask for it. described : as the builder reads it. most_bytes : the largest. limits : for the worker.
    sniff : from the first bytes and the given name's ending, the ending that the file gets here; None: not of this kind
    """

    name: str
    described: str
    most_bytes: int
    limits: Limits
    sniff: Callable[[bytes, str], str | None]


def _photo(head: bytes, given: str) -> str | None:
    if head.startswith(b"\xff\xd8\xff"):
        return ".jpg"
    if head.startswith(b"\x89PNG\r\n\x1a\n"):
        return ".png"
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return ".webp"
    return ".tif" if head[:4] in (b"II*\0", b"MM\0*") else None


def _recording(head: bytes, given: str) -> str | None:
    if head[4:8] == b"ftyp":
        return given if given in (".mp4", ".mov", ".m4a", ".m4v", ".3gp") else ".mp4"
    for start, ending in ((b"ID3", ".mp3"), (b"OggS", ".ogg"), (b"fLaC", ".flac"), (b"\x1aE\xdf\xa3", ".mkv")):
        if head.startswith(start):
            return ending
    if head[:4] == b"RIFF" and head[8:12] in (b"WAVE", b"AVI "):
        return ".wav" if head[8:12] == b"WAVE" else ".avi"
    if len(head) > 1 and head[0] == 0xFF:  # the frame of MPEG audio: eleven set bits, and two for its layer
        if head[1] & 0xE6 == 0xE2:
            return ".mp3"
        if head[1] & 0xF6 == 0xF0:
            return ".aac"
    if head[8:12] == b".FIT":
        return ".fit"
    if _is_text(head):
        if b"<gpx" in head:
            return ".gpx"
        return given if given in (".csv", ".tsv", ".txt", ".nmea", ".log") else ".csv"
    return None


def _record(head: bytes, given: str) -> str | None:
    return ".toml" if _is_text(head) and b"=" in head else None


def _archive(head: bytes, given: str) -> str | None:
    return ".zip" if head.startswith(b"PK\x03\x04") else None


def _is_text(head: bytes) -> bool:
    """UTF-8, UTF-16 with its mark, or an older 8-bit text: no bytes that no text has."""
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        return True
    return bool(head) and not any(byte < 9 or 13 < byte < 27 for byte in head)


KINDS = {
    kind.name: kind
    for kind in (
        Kind("photo", "a photograph (JPEG, PNG, WebP or TIFF)", 60 * _MIB, Limits(3072, 120), _photo),
        Kind(
            "recording",
            "a recording (GPX, FIT, NMEA or a table as text, a film, or sound)",
            LARGEST_BYTES,
            Limits(4096, 900),
            _recording,
        ),
        Kind("record", "an engine record (TOML)", 4 * _MIB, Limits(1024, 60), _record),
        Kind("notebook", "an exported notebook (zip)", LARGEST_BYTES, Limits(4096, 600), _archive),
    )
}
"""By name. A photograph's worker holds 100 million pixels as 32-bit numbers several times over."""


@dataclass
class Upload:
    """A file that came in and waits to be read.

    path : where it lies, under a name of ours. name : what the device called it, for showing only
    """

    path: Path
    name: str
    kind: Kind
    size_bytes: int
    sha256: str

    def discard(self) -> None:
        """Take it away; harmless when it is gone."""
        with contextlib.suppress(OSError):
            self.path.unlink(missing_ok=True)


@dataclass
class Incoming:
    """The folder for what comes in. It is made when it is needed, only this user can look into it, and `close` takes it
    away."""

    made: Path | None = None
    _waiting: dict[str, Upload] = field(default_factory=dict)

    @property
    def folder(self) -> Path:
        """Where it is."""
        if self.made is None:
            self.made = Path(tempfile.mkdtemp(prefix="scribeline-"))
        return self.made

    async def take(self, pieces: AsyncIterator[bytes], name: str, kinds: Sequence[str]) -> Upload:
        """Lay down what comes in, or raise UploadError and keep nothing of it.

        pieces : the content as it arrives. name : as the device gave it. kinds : names out of KINDS that fit here
        """
        shown = shown_name(name)
        accepted = [KINDS[kind] for kind in kinds]
        path, file = await asyncio.to_thread(self._begin)
        digest, size, kind = hashlib.sha256(), 0, None
        head = bytearray()
        try:
            with file:
                async for piece in pieces:
                    size += len(piece)
                    head += piece[: _HEAD_BYTES - len(head)]
                    if size > max(one.most_bytes for one in accepted):
                        raise _refused(shown, f"it is larger than {_mib(size - 1)}", accepted)
                    await asyncio.to_thread(self._write, file, piece, digest)
            found = ((one, one.sniff(bytes(head), Path(shown).suffix.lower())) for one in accepted)
            kind, ending = next(((one, ending) for one, ending in found if ending), (None, ""))
            if kind is None or ending is None:
                raise _refused(shown, "it is empty" if not size else "its content is of another kind", accepted)
            if size > kind.most_bytes:
                raise _refused(shown, f"it has {_mib(size)}", [kind])
            named = path.with_suffix(ending)
            path.rename(named)
            return Upload(named, shown, kind, size, digest.hexdigest())
        except OSError as error:
            path.unlink(missing_ok=True)
            raise UploadError(
                f"{shown} could not be laid down: {error.strerror or error}.\n    kept: everything else\n"
                "    what to do: make room on the computer's disk, then send it again"
            ) from None
        except BaseException:
            path.unlink(missing_ok=True)
            raise

    def wait(self, upload: Upload) -> str:
        """Keep it until a page asks for it by the id that is returned. Of many that nobody asks for, the oldest go."""
        upload_id = secrets.token_urlsafe(16)
        self._waiting[upload_id] = upload
        while len(self._waiting) > MOST_WAITING:
            self._waiting.pop(next(iter(self._waiting))).discard()
        return upload_id

    def waiting(self, upload_id: str) -> Upload | None:
        """What waits under this id, once; whoever takes it discards it."""
        return self._waiting.pop(upload_id, None)

    def close(self) -> None:
        """Take the folder away with all that still lies in it."""
        if self.made is not None:
            shutil.rmtree(self.made, ignore_errors=True)
            self.made = None

    def _begin(self) -> tuple[Path, BinaryIO]:
        path = self.folder / secrets.token_hex(12)
        return path, path.open("xb")

    def _write(self, file: BinaryIO, piece: bytes, digest: "hashlib._Hash") -> None:
        if shutil.disk_usage(self.folder).free < len(piece) + _SPARE_BYTES:
            raise OSError(28, "the disk is nearly full")
        file.write(piece)
        digest.update(piece)


def shown_name(name: str) -> str:
    """A file's name as a page may show it and the notebook keeps it: no folders, printable, not too long.

    >>> shown_name("../../somewhere/run 3.gpx")
    'run 3.gpx'
    """
    last = name.replace("\\", "/").rpartition("/")[2]
    kept = "".join(c for c in last if c.isprintable() and c not in ':*?"<>|').strip(" .")
    return (kept[:40] + kept[-20:] if len(kept) > 60 else kept) or "a file without a name"


def _refused(shown: str, why: str, accepted: Sequence[Kind]) -> UploadError:
    kinds = "; ".join(f"{kind.described}, at most {_mib(kind.most_bytes)}" for kind in accepted)
    return UploadError(
        f"{shown} is not accepted: {why}.\n    accepted: {kinds}\n    kept: nothing of this file, and everything else\n"
        "    what to do: choose another file, or save it smaller or as one of these kinds"
    )


def _mib(size_bytes: int) -> str:
    return f"{size_bytes / _MIB:.0f} MiB" if size_bytes >= _MIB else f"{size_bytes} bytes"
