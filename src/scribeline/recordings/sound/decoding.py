"""The soundtrack of a video or audio file, piece by piece, as samples at the comb's rate.

PyAV decodes. It is handed an open file and a container format that our own recogniser chose, never a name: names and
playlists are how a media library is led to other files and to the network.
"""

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

import av
import numpy as np
from numpy.typing import NDArray

from scribeline.errors import RecordingError
from scribeline.recordings.recording import Note
from scribeline.recordings.sound.comb import RATE_HZ

Singles = NDArray[np.float32]

SLOWEST_HZ, QUICKEST_HZ, MOST_CHANNELS = 4000, 192_000, 16
"""Sample rates and channels that are believed; a header with others is damaged, or made to fill the memory."""
MOST_BAD = 1000
"""Packets in a row that cannot be decoded, after which the rest of the file is given up."""


class Piece(NamedTuple):
    """Consecutive samples, shape (n,), mono at RATE_HZ, and the time of the first in seconds of the file's clock."""

    start_s: float
    samples: Singles


@dataclass
class Soundtrack:
    """A file's sound: go through `pieces` once; `start_utc` and `notes` are complete after that."""

    path: Path
    container: str
    start_utc: datetime | None = None
    notes: list[Note] = field(default_factory=list)

    def pieces(self) -> Iterator[Piece]:
        """Decode the file from its beginning, a fraction of a second at a time.

        Packets that cannot be decoded are left out and counted. Raises RecordingError where there is no soundtrack
        or none of it can be decoded.
        """
        try:
            with self.path.open("rb") as file, av.open(file, "r", format=self.container) as container:
                if not container.streams.audio:
                    raise RecordingError(
                        f"{self.path.name} has no soundtrack\n    what to do: film with the microphone on"
                    )
                stream = container.streams.audio[0]
                if stream.codec_context is None:
                    raise RecordingError(f"{self.path.name}: its sound is coded in a way that is not known here")
                self._check(stream.rate, stream.channels)
                self.start_utc = _made_at(container.metadata)
                yield from self._decode(container, stream)
        except (av.FFmpegError, OSError, ValueError, OverflowError, MemoryError) as error:
            reason = getattr(error, "strerror", None) or type(error).__name__
            raise RecordingError(f"{self.path.name} cannot be decoded: {reason}") from None

    def _check(self, rate_hz: int, channels: int) -> None:
        if not (SLOWEST_HZ <= rate_hz <= QUICKEST_HZ and 1 <= channels <= MOST_CHANNELS):
            raise RecordingError(
                f"{self.path.name} says it has {channels} channels at {rate_hz} Hz\n"
                f"    accepted: 1 to {MOST_CHANNELS} channels at {SLOWEST_HZ} to {QUICKEST_HZ} Hz\n"
                "    what to do: it is probably damaged; copy it again"
            )

    def _decode(self, container: av.container.InputContainer, stream: av.AudioStream) -> Iterator[Piece]:
        mixer = av.AudioResampler(format="fltp", layout="mono" if stream.channels == 1 else "stereo", rate=RATE_HZ)
        bad = in_a_row = 0
        heard = False
        packets = container.demux(stream)
        while in_a_row < MOST_BAD:
            try:
                packet = next(packets, None)
            except av.FFmpegError:
                in_a_row, bad = in_a_row + 1, bad + 1
                continue
            if packet is None:
                break
            try:
                pieces = [piece for frame in stream.codec_context.decode(packet) for piece in _mixed(mixer, frame)]
            except (av.FFmpegError, ValueError):
                in_a_row, bad = in_a_row + 1, bad + 1
                continue
            in_a_row = 0
            heard = heard or bool(pieces)
            yield from pieces
        if heard:
            with suppress(av.FFmpegError, ValueError):
                yield from _mixed(mixer, None)
        if bad:
            self.notes.append(Note("packets of sound that could not be decoded were left out", bad))
        if not heard:
            raise RecordingError(f"{self.path.name}: nothing of its sound can be decoded")


def _mixed(mixer: av.AudioResampler, frame: av.AudioFrame | None) -> Iterator[Piece]:
    """The frame at our rate and in one channel: the mean of both, or the louder where they would cancel out."""
    for resampled in mixer.resample(frame):
        both = resampled.to_ndarray().astype(np.float32, copy=False)
        np.nan_to_num(both, copy=False, nan=0.0, posinf=0.0, neginf=0.0)
        mono = both.mean(axis=0)
        if len(both) == 2:
            left, right = (float(np.dot(x, x)) for x in both)
            if 4.0 * float(np.dot(mono, mono)) < 0.5 * (left + right):
                mono = both[0] if left > right else both[1]
        time_s = float("nan")
        if resampled.pts is not None and resampled.time_base is not None:
            time_s = float(resampled.pts * resampled.time_base)
        yield Piece(time_s, mono)


def _made_at(metadata: dict[str, str]) -> datetime | None:
    """When the file was made, as its maker wrote it; None for nothing, nonsense, or the zero of a clock never set."""
    with suppress(ValueError):
        made = datetime.fromisoformat(metadata.get("creation_time", ""))
        made = made if made.tzinfo else made.replace(tzinfo=UTC)
        if made.year > 1990:
            return made.astimezone(UTC)
    return None
