"""Time stamps as loggers write them, mended: strictly increasing seconds, with every repair counted.

What is told apart: single stamps out of line, rows that share a stamp, pauses, and clocks that were set anew in the
middle (above all from local time to UTC, which leaps by half hours). Nothing is thrown away silently, and across a
place where the true time is unknown there is a break.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scribeline.recordings.recording import Note

Floats = NDArray[np.float64]

UNKNOWN_S = 10.0
"""Put between the rows before and after a clock was set: the true time between them is not known."""
LATE_S = 2.0
"""A stamp that is less than this behind the one before it is a row out of order, no clock set anew (judgement)."""
LEAP_S = 1800.0
"""Time zones differ by whole half hours, nearly everywhere; a forward jump of that, to LATE_S, is a clock set anew."""


class Mended(NamedTuple):
    """kept : places of the rows that remain, in order; time_s : their time after the first of them, increasing."""

    kept: NDArray[np.intp]
    time_s: Floats
    breaks_s: tuple[float, ...]
    notes: tuple[Note, ...]


def mend(stamps_s: Floats) -> Mended:
    """Mend the stamps of consecutive rows.

    stamps_s : shape (n,), seconds on any clock; NaN where a row has none
    Returns the rows that remain; none where no stamp is left.

    >>> mend(np.array([5.0, 6.0, 6.0, 7.0])).time_s
    array([0., 1., 2.])
    """
    notes: list[Note] = []
    kept = np.flatnonzero(np.isfinite(stamps_s))
    _count(notes, len(stamps_s) - len(kept), "rows without a time were left out")
    if len(kept) == 0:
        return Mended(kept, np.empty(0), (), tuple(notes))
    kept = _without_strays(kept, stamps_s, notes)
    stamps, breaks = _one_clock(stamps_s[kept], notes)
    late = stamps < np.maximum.accumulate(stamps)
    _count(notes, int(late.sum()), "rows out of order were left out")
    kept, stamps = kept[~late], stamps[~late]
    first_s = stamps[0]
    stamps = stamps - first_s  # first, so that what is apart here is apart in the result
    kept, stamps = _apart(kept, stamps, notes)
    first_s += stamps[0]  # not 0 where the recording began within its first stamp
    time_s = stamps - stamps[0]
    step = np.diff(time_s)
    pauses = time_s[:-1][step > max(3.5 * float(np.median(step)), 0.5)] if len(step) else np.empty(0)
    paused = set(pauses.tolist())
    _count(notes, len(paused), "pauses in the recording, over which nothing is interpolated")
    breaks_s = [float(time_s[max(0, int(np.searchsorted(time_s, b - first_s, side="right")) - 1)]) for b in breaks]
    return Mended(kept, time_s, tuple(sorted(paused | set(breaks_s))), tuple(notes))


def _count(notes: list[Note], count: int, what: str) -> None:
    if count:
        notes.append(Note(what, count))


def _usual_step(stamps: Floats) -> float:
    forward = np.diff(stamps)
    forward = forward[forward > 0]
    return float(np.median(forward)) if len(forward) else 1.0


def _without_strays(kept: NDArray[np.intp], stamps_s: Floats, notes: list[Note]) -> NDArray[np.intp]:
    """Leave out single stamps that lie outside their two neighbours, where these follow each other closely."""
    t = stamps_s[kept]
    stray = np.zeros(len(t), dtype=bool)
    if len(t) > 2:
        before, here, after = t[:-2], t[1:-1], t[2:]
        close = (after >= before) & (after - before <= 4.0 * _usual_step(t))
        stray[1:-1] = close & ((here < before) | (here > after))
        stray[2:] &= ~stray[1:-1]  # of two in a row the first goes, and the second is looked at by what follows
    _count(notes, int(stray.sum()), "rows whose time is out of line with the rows before and after were left out")
    return kept[~stray]


def _one_clock(stamps: Floats, notes: list[Note]) -> tuple[Floats, list[float]]:
    """Move what comes after a clock was set so that it follows what came before; the stamps after which it was."""
    step = np.diff(stamps)
    leaps = np.abs(step - np.round(step / LEAP_S) * LEAP_S) <= LATE_S
    anew = (step < -LATE_S) | ((step > LEAP_S - LATE_S) & leaps)
    places = np.flatnonzero(anew)
    if not len(places):
        return stamps, []
    shift = np.zeros(len(stamps))
    for place in places:
        zone = " by whole half hours (local time against UTC?)" if leaps[place] else ""
        notes.append(
            Note(
                f"the clock was set {'back' if step[place] < 0 else 'forward'}{zone}, {abs(step[place]):.1f} s; "
                f"what follows was put {UNKNOWN_S:g} s behind what came before, as the true time is not known"
            )
        )
        shift[place + 1 :] += UNKNOWN_S - step[place]
    moved = stamps + shift
    return moved, [float(moved[place]) for place in places]


def _apart(kept: NDArray[np.intp], stamps: Floats, notes: list[Note]) -> tuple[NDArray[np.intp], Floats]:
    """Rows that share a stamp: spread evenly where that is the rule, else the first of each is kept."""
    first = np.concatenate(([True], np.diff(stamps) > 0))
    shared = int((~first).sum())
    if not shared:
        return kept, stamps
    starts = np.flatnonzero(first)
    sizes = np.diff(np.append(starts, len(stamps)))
    usual = float(np.median(sizes))
    if not 2.0 <= usual <= 1000.0 or len(starts) < 4:
        _count(notes, shared, "rows with the time of the row before were left out")
        return kept[first], stamps[first]
    times = stamps[starts]
    width = _usual_step(times)
    until = np.minimum(np.append(np.diff(times), width), width)
    group = np.repeat(np.arange(len(starts)), sizes)
    within = np.arange(len(stamps)) - starts[group]
    missing = np.zeros(len(starts))
    missing[0] = max(usual - sizes[0], 0.0)  # the recording began within its first stamp
    share = (within + missing[group]) / (sizes + missing)[group]
    notes.append(Note(f"stamps go in steps of {width:g} s, each shared by {usual:g} rows; these were spread evenly"))
    return kept, times[group] + until[group] * share
