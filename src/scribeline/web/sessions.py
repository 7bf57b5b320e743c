"""Which browsers, phones and programs were let in, and the file that remembers it over a restart.

A device proves itself by a random token of 256 bits, in a cookie or, for a program, in the Authorization header. Only
the SHA-256 of the token is kept: whoever reads the file cannot come in with it. The file stands in the server's folder
beside the notebook and only its owner may read it.
"""

import contextlib
import hashlib
import json
import os
import secrets
import tempfile
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Literal

from scribeline.errors import NotebookError

Kind = Literal["computer", "phone", "program"]
LONGEST_UNUSED = timedelta(days=90)  # judgement: over a winter without the cylinder, one pairs again
_SEEN_STEP = timedelta(minutes=10)  # how exactly "last seen" is kept; not each request is worth a write
LONGEST_NAME = 40


@dataclass(frozen=True)
class Device:
    """Something that was let in.

    kind : computer (a browser on the machine itself, accepted from there alone), phone (paired over the network), or
    program (uses the API with a token that was shown once)
    """

    id: str
    name: str
    kind: Kind
    token_sha256: str
    paired_at: str
    seen_at: str


class Sessions:
    """The devices that may come in. One server process uses a file at a time.

    path : the file; it is made with the first device
    now : the clock
    """

    def __init__(self, path: Path, now: Callable[[], datetime] = lambda: datetime.now(UTC)) -> None:
        self.path = path
        self._now = now
        self._devices: dict[str, Device] = {}
        self._listeners: list[Callable[[str], object]] = []
        self._read()

    def devices(self) -> list[Device]:
        """Every device that is let in, the one seen last first."""
        return sorted(self._devices.values(), key=lambda device: device.seen_at, reverse=True)

    def admit(self, name: str, kind: Kind) -> tuple[Device, str]:
        """Let a device in; the second is its token, which is told to it and kept nowhere."""
        token = secrets.token_urlsafe(32)
        now = self._now().isoformat(timespec="seconds")
        device = Device(secrets.token_hex(8), self._own_name(name), kind, _digest(token), now, now)
        self._write({**self._devices, device.id: device})
        return device, token

    def _own_name(self, wished: str) -> str:
        """The name, with a number where another device has it: edits are told apart by it."""
        taken = {device.name for device in self._devices.values()}
        one, number = plain_name(wished), 1
        while one in taken:
            number += 1
            one = f"{plain_name(wished)[: LONGEST_NAME - 4]} {number}"
        return one

    def device_of(self, token: str) -> Device | None:
        """The device whose token this is; None where it was never let in, was shut out, or stayed away too long."""
        digest = _digest(token)
        # Every digest is compared in full: how long it takes says nothing about them.
        found = [device for device in self._devices.values() if secrets.compare_digest(device.token_sha256, digest)]
        if not found:
            return None
        (device,) = found
        now = self._now()
        unused = now - datetime.fromisoformat(device.seen_at)
        if unused > LONGEST_UNUSED:
            self.revoke(device.id)
            return None
        if unused > _SEEN_STEP:
            device = replace(device, seen_at=now.isoformat(timespec="seconds"))
            with contextlib.suppress(NotebookError):  # a full disk does not shut anybody out
                self._write({**self._devices, device.id: device})
        return device

    def rename(self, device_id: str, name: str) -> None:
        """Give a device another name; one that is not there any more stays away."""
        if device := self._devices.get(device_id):
            self._write({**self._devices, device_id: replace(device, name=plain_name(name))})

    def revoke(self, device_id: str) -> None:
        """Shut a device out, at once: its open connections are closed too."""
        left = {key: device for key, device in self._devices.items() if key != device_id}
        self._devices = left  # shut out even where the disk refuses
        for listener in self._listeners:
            listener(device_id)
        self._write(left)

    def on_revoked(self, listener: Callable[[str], object]) -> None:
        """Have it called with the id of each device that is shut out."""
        self._listeners.append(listener)

    def _read(self) -> None:
        try:
            kept = json.loads(self.path.read_text(encoding="utf-8"))
            self._devices = {entry["id"]: Device(**entry) for entry in kept["devices"]}
        except FileNotFoundError:
            return
        except (OSError, ValueError, TypeError, KeyError) as error:
            raise NotebookError(
                f"The list of paired devices cannot be read: {self.path}: {error}.\n    kept: the notebook, untouched\n"
                "    what to do: move that file away and start again; every phone then has to be paired anew"
            ) from None

    def _write(self, devices: dict[str, Device]) -> None:
        """Replace the file as a whole; readable by its owner alone from its first byte."""
        text = json.dumps({"devices": [asdict(device) for device in devices.values()]}, indent=1)
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            handle, made = tempfile.mkstemp(dir=self.path.parent, prefix=f".{self.path.name}.")
            try:
                with os.fdopen(handle, "w", encoding="utf-8") as file:
                    file.write(text)
                os.replace(made, self.path)
            except BaseException:
                os.unlink(made)
                raise
        except OSError as error:
            raise NotebookError(
                f"The list of paired devices cannot be written: {self.path}: {error.strerror or error}.\n"
                "    kept: the notebook, and the devices that were paired before\n"
                "    what to do: see that there is room on the disk and that you may write there"
            ) from None
        self._devices = devices


def plain_name(name: str) -> str:
    """A device's name as it is kept: printable, on one line, at most 40 characters.

    >>> plain_name("  my phone ")
    'my phone'
    """
    kept = " ".join("".join(c if c.isprintable() else " " for c in name).split())
    return kept[:LONGEST_NAME] or "without a name"


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "surrogateescape")).hexdigest()
