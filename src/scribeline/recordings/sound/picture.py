"""The sound as a picture: time to the right, frequency upwards, dark where a frequency stands out of its surroundings.

It shows what the tracker weighs, by the same windows and the same measure (`Comb.outstanding`), not how loud it was: an
engine in the wind is as dark as one in the quiet.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scribeline.errors import RecordingError
from scribeline.recordings.formats import SoundOptions
from scribeline.recordings.sound.comb import HOP, LOUDEST, RATE_HZ, TOP_HZ, Comb
from scribeline.recordings.sound.decoding import Piece
from scribeline.recordings.sound.listening import blocks, firings_per_turn

Levels = NDArray[np.uint8]

ROWS, MOST_COLUMNS = 240, 2400
_HOPS = 2  # instants that become one column before the whole length is known
_FRAMES = 500  # at a time
_FAINT = 0.35  # share of the loudest below which it is left white: chance makes as much (judgement)


@dataclass(frozen=True)
class SoundPicture:
    """levels : (rows, columns), 0 white to 255, the highest frequency on top; from_s, to_s, top_hz : its edges."""

    levels: Levels
    from_s: float
    to_s: float
    top_hz: float


def picture(
    pieces: Iterable[Piece], options: SoundOptions, top_hz: float = 1000.0, stopped: Callable[[], bool] | None = None
) -> SoundPicture:
    """The picture of consecutive pieces of sound up to `top_hz`, at most 1800 Hz.

    stopped : asked now and then; what was heard until it says so is shown. Raises RecordingError for too little sound.
    """
    top_hz = min(top_hz, TOP_HZ)
    per_turn = firings_per_turn(options)
    comb = Comb(options.slowest_rpm / 60 * per_turn, options.fastest_rpm / 60 * per_turn)
    times: list[NDArray[np.float64]] = []
    columns: list[Levels] = []
    for block in blocks(pieces):
        count = max(0, (len(block.samples) - comb.window) // HOP + 1)
        if not count:
            continue
        within_s = comb.instants_s(count)
        kept = (within_s >= block.lead / RATE_HZ) & (within_s < (len(block.samples) - block.trail) / RATE_HZ)
        loudness = float(np.sqrt(np.mean(block.samples**2)))
        frames = np.lib.stride_tricks.sliding_window_view(block.samples / np.float32(max(loudness, 1e-9)), comb.window)
        places = np.flatnonzero(kept)
        for first in range(0, places.size - _HOPS + 1, _FRAMES):
            some = places[first : first + _FRAMES]
            some = some[: some.size - some.size % _HOPS]
            if not some.size:
                continue
            levels = _rows(comb.outstanding(frames[some * HOP]), comb.size, top_hz)
            columns.append(levels.reshape(-1, _HOPS, ROWS).max(axis=1))
            times.append(block.start_s + within_s[some].reshape(-1, _HOPS).mean(axis=1))
        if stopped is not None and stopped():
            break
    if not columns:
        raise RecordingError("the sound is too short for a picture\n    accepted: a second or more")
    return _binned(np.concatenate(times), np.concatenate(columns), top_hz)


def _rows(outstanding: NDArray[np.float32], size: int, top_hz: float) -> Levels:
    """The loudest line in each of the picture's rows, lowest first."""
    edges = np.linspace(0.0, top_hz * size / RATE_HZ, ROWS + 1)
    first = np.minimum(edges[:-1].astype(int), outstanding.shape[1] - 1)
    last = np.maximum(np.ceil(edges[1:]).astype(int), first + 1)
    widest = int((last - first).max())
    best = outstanding[:, first]
    for i in range(1, widest):
        at = np.minimum(first + i, last - 1)
        best = np.maximum(best, outstanding[:, at])
    shown = np.clip((best / LOUDEST - _FAINT) / (1.0 - _FAINT), 0.0, 1.0)
    return np.asarray(255.0 * shown, np.uint8)


def _binned(times: NDArray[np.float64], columns: Levels, top_hz: float) -> SoundPicture:
    order = np.argsort(times, kind="stable")
    times, columns = times[order], columns[order]
    step = _HOPS * HOP / RATE_HZ
    from_s, to_s = float(times[0] - 0.5 * step), float(times[-1] + 0.5 * step)
    count = int(np.clip(round((to_s - from_s) / step), 1, MOST_COLUMNS))
    place = np.minimum(((times - from_s) / (to_s - from_s) * count).astype(int), count - 1)
    levels = np.zeros((count, ROWS), np.uint8)
    np.maximum.at(levels, place, columns)
    return SoundPicture(np.ascontiguousarray(levels.T[::-1]), from_s, to_s, top_hz)
