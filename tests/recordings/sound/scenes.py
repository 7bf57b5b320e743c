"""Invented recordings with known truth that several tests listen to; each is made once."""

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from numpy.typing import NDArray

from scribeline.recordings import ReadOptions, Recording, SoundOptions, read
from scribeline.recordings.sound.synthetic import Scene, engine_sound, write_sound

Law = tuple[tuple[float, ...], tuple[float, ...]]
"""Times in s and the engine speeds at them, straight between."""

PULLS: Law = ((0, 2, 5, 7, 8, 12, 14, 18), (3000, 3000, 11000, 12000, 9500, 3000, 2000, 8000))
QUICK: Law = ((0, 1, 3.5, 5, 7.5, 9, 12), (2000, 2000, 12000, 12000, 2000, 2000, 11000))
SLOW: Law = ((0, 4, 10, 13), (4200, 8000, 10200, 10300))
SINGLE = SoundOptions()


@dataclass(frozen=True)
class Met:
    """How a recording was met: over all instants the share that is sure, and that is sure and off by more than 3 %."""

    sure: float
    median_error: float
    sure_but_wrong: float


def truth(law: Law, time_s: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.interp(time_s, law[0], law[1])


def recorded(path: Path, law: Law, scene: Scene, kbit_s: int = 96) -> Path:
    write_sound(path, engine_sound(np.array(law[0]), np.array(law[1]), scene), kbit_s=kbit_s)
    return path


@cache
def heard(law: Law, scene: Scene, options: SoundOptions = SINGLE) -> Recording:
    with TemporaryDirectory() as folder:
        path = recorded(Path(folder) / "film.m4a", law, scene)
        recording = read(path, ReadOptions(sound=options))
    assert isinstance(recording, Recording)
    return recording


def met(recording: Recording, law: Law) -> Met:
    every = recording.channels["sound_confidence"]
    if "rpm" not in recording.channels:
        return Met(0.0, 0.0, 0.0)
    rpm = recording.channels["rpm"]
    error = np.abs(rpm.values / truth(law, rpm.time_s) - 1.0)
    return Met(len(rpm) / len(every), float(np.median(error)), float((error > 0.03).sum() / len(rpm)))
