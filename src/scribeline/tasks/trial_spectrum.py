"""The sound picture of a recording: what the tracker weighed as a picture, and over it the line that it followed.

Making it takes as long as reading the sound did, so it is made by a worker process, once, and kept in a folder of ours.
"""

import hashlib
import io
import json
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from scribeline.engine import read_record
from scribeline.errors import RecordingError
from scribeline.notebook import Entry
from scribeline.recordings import ReadOptions, Recording, SoundOptions, read
from scribeline.tasks.trial_sound import channel_of, heard
from scribeline.tasks.trial_vehicle import vehicle_of

VERSION = 1
"""Counted up when pictures come out differently; older ones are then made anew."""
MOST_POINTS = 6000
LEAST_TOP_HZ = 600.0


@dataclass(frozen=True)
class Heard:
    """A sound picture. png : ink whose strength is in its transparency, for light and for dark paper.

    from_s, to_s, top_hz : its edges; line : pieces of (seconds, firing frequency in Hz) where the tracker was sure
    gaps : stretches in which it was not; per_turn : firings in one turn of the crank; sure_share : of the instants
    """

    png: bytes
    from_s: float
    to_s: float
    top_hz: float
    line: tuple[tuple[tuple[float, ...], tuple[float, ...]], ...]
    gaps: tuple[tuple[float, float], ...]
    per_turn: float
    sure_share: float

    @property
    def octave_words(self) -> str:
        """Which of the lines is the engine, in words."""
        turns = "once every turn" if self.per_turn == 1.0 else f"{self.per_turn:g} times every turn"
        return (
            f"The strong line is the firing, {turns} of the crank; the thin ones are half and twice of it, where a "
            "mistaken octave would lie."
        )


def sound_picture(
    path: Path, data: Mapping[str, Any], record_toml: str | None = None, *,
    tell: Callable[[Any], object] | None = None, stopped: Callable[[], bool] | None = None,
) -> Heard:  # fmt: skip
    """Make the picture of a sound that was read into a trial.

    data : of its entry in the journal, for what was told about the engine; tell, stopped : of a worker process
    Raises RecordingError where there is no sound.
    """
    from scribeline.recordings.sound.decoding import Soundtrack
    from scribeline.recordings.sound.listening import firings_per_turn
    from scribeline.recordings.sound.picture import picture

    options = _known(data, record_toml)
    found = read(path, ReadOptions(**dict(data.get("options", {})), sound=options))
    if not isinstance(found, Recording) or "sound_confidence" not in found.channels:
        raise RecordingError("no sound is in this recording\n    accepted: films and sound files")
    if tell is not None:
        tell("heard")
    per_turn = firings_per_turn(options)
    pieces: list[tuple[tuple[float, ...], tuple[float, ...]]] = []
    rpm, every = found.channels.get("rpm"), found.channels["sound_confidence"]
    top_hz, sure = 1000.0, 0.0
    if rpm is not None:
        thin = max(1, -(-len(rpm) // MOST_POINTS))
        for part in rpm.stretches():
            t, hz = rpm.time_s[part][::thin], rpm.values[part][::thin] / 60.0 * per_turn
            pieces.append((tuple(np.round(t, 3).tolist()), tuple(np.round(hz, 2).tolist())))
        top_hz = max(LEAST_TOP_HZ, 3.0 * float(rpm.values.max()) / 60.0 * per_turn)
        sure = len(rpm) / len(every)
    shown = picture(Soundtrack(path, _container(path)).pieces(), options, top_hz, stopped)
    gaps = _gaps([(piece[0][0], piece[0][-1]) for piece in pieces], shown.from_s, shown.to_s)
    return Heard(_png(shown.levels), shown.from_s, shown.to_s, shown.top_hz, tuple(pieces), gaps, per_turn, sure)


def _known(data: Mapping[str, Any], record_toml: str | None) -> SoundOptions:
    record = read_record(record_toml, "the build") if record_toml is not None else None
    known = heard(record, vehicle_of(record) if record else None, data.get("heard", {}))
    return replace(known, speed=channel_of(data["road"])) if "road" in data else known


def _container(path: Path) -> str:
    from scribeline.recordings.sound import container_of

    with path.open("rb") as file:
        return container_of(file.read(4096)) or ""


def _gaps(sure: list[tuple[float, float]], from_s: float, to_s: float) -> tuple[tuple[float, float], ...]:
    gaps, at = [], from_s
    for start, end in sure:
        if start - at > 0.1:
            gaps.append((round(at, 2), round(start, 2)))
        at = max(at, end)
    if to_s - at > 0.1:
        gaps.append((round(at, 2), round(to_s, 2)))
    return tuple(gaps)


def _png(levels: np.ndarray) -> bytes:
    from PIL import Image

    made = io.BytesIO()
    both = np.dstack([np.zeros_like(levels), levels])
    Image.fromarray(both).save(made, "PNG", optimize=True)
    return made.getvalue()


# --- kept in a folder ----------------------------------------------------------------------------------------------


def picture_key(entry: Entry, record_toml: str | None) -> str:
    """What the picture of a recording is kept by: its bytes, and everything that was told about it."""
    told = {key: entry.data[key] for key in ("heard", "options", "road") if key in entry.data}
    text = json.dumps([VERSION, entry.sha256, told, record_toml], sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()[:32]


def kept_picture(folder: Path, key: str) -> Heard | None:
    """A picture that was made earlier, or None."""
    with suppress(OSError, ValueError, KeyError, TypeError):
        told = json.loads((folder / f"{key}.json").read_text(encoding="utf-8"))
        line = tuple((tuple(t), tuple(hz)) for t, hz in told.pop("line"))
        gaps = tuple((a, b) for a, b in told.pop("gaps"))
        return Heard((folder / f"{key}.png").read_bytes(), line=line, gaps=gaps, **told)
    return None


def keep_picture(folder: Path, key: str, made: Heard) -> Path:
    """Keep a picture; returns the file that holds it. Where there is no room the picture is only not kept."""
    png = folder / f"{key}.png"
    with suppress(OSError):
        folder.mkdir(parents=True, exist_ok=True)
        png.write_bytes(made.png)
        told = {name: value for name, value in vars(made).items() if name != "png"}
        (folder / f"{key}.json").write_text(json.dumps(told), encoding="utf-8")
    return png
