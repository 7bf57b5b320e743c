"""From the soundtrack to engine speed against time: block by block, so that a long film needs no more memory."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scribeline.recordings.formats import SoundOptions
from scribeline.recordings.sound.comb import HOP, RATE_HZ, STEP, Comb
from scribeline.recordings.sound.decoding import Piece, Singles
from scribeline.recordings.sound.smoothing import likeliest

Floats = NDArray[np.float64]

BLOCK = 20 * RATE_HZ  # samples; a whole number of hops
MARGIN = 2 * RATE_HZ  # heard on either side of a block as well, so that its ends know what was before and comes after
JUMP_S = 0.06  # between where a piece should begin and where it does: less is rounding of the file's clock
SOUND_M_S = 343.0  # speed of sound in air of 20 C: for the size of a Doppler shift that is good enough (from memory)
FINEST = 0.003  # no speed is known better than this share (judgement; benchmarks/bench_sound.py shows what is met)


@dataclass(frozen=True)
class Track:
    """Engine speed at every instant, shape (n,) each: the likeliest, its +/-, and how sure it is (0 to 1).

    breaks_s : instants after which the file's own clock jumps
    """

    time_s: Floats
    rpm: Floats
    plus_minus_rpm: Floats
    confidence: Floats
    breaks_s: tuple[float, ...]


class Block(NamedTuple):
    start_s: float
    samples: Singles
    lead: int  # samples at either end that belong to the neighbours
    trail: int
    ends: bool  # nothing follows without a jump


def firings_per_turn(options: SoundOptions) -> float:
    """1 for a single two-stroke, 0.5 for a single four-stroke.

    >>> firings_per_turn(SoundOptions(cylinders=4, strokes=4))
    2.0
    """
    return options.cylinders * 2.0 / options.strokes


def listen(pieces: Iterable[Piece], options: SoundOptions) -> Track:
    """Follow the engine through consecutive pieces of sound.

    Memory is that of one block, whatever the length. Instants are HOP / RATE_HZ = 20 ms apart.
    """
    per_turn = firings_per_turn(options)
    comb = Comb(options.slowest_rpm / 60 * per_turn, options.fastest_rpm / 60 * per_turn)
    found: list[tuple[Floats, Floats, Floats, Floats]] = []
    breaks: list[float] = []
    for block in blocks(pieces):
        scores = comb.scores(block.samples)
        if not len(scores):
            continue
        within_s = comb.instants_s(len(scores))
        time_s = block.start_s + within_s
        best = likeliest(scores, _road_prior(time_s, comb.firing_hz * 60 / per_turn, options))
        kept = (within_s >= block.lead / RATE_HZ) & (within_s < (len(block.samples) - block.trail) / RATE_HZ)
        rpm = comb.slowest_hz * np.exp(STEP * best.candidate) * 60 / per_turn
        spread = 2.0 * np.hypot(best.spread * STEP, FINEST / 2.0)
        found.append((time_s[kept], rpm[kept], (rpm * spread)[kept], best.confidence[kept]))
        if block.ends and kept.any():
            breaks.append(float(time_s[kept][-1]))
    if not found:
        nothing = np.empty(0)
        return Track(nothing, nothing, nothing, nothing, ())
    time_s, rpm, plus_minus, confidence = (np.concatenate(each) for each in zip(*found, strict=True))
    order = np.concatenate(([True], np.diff(np.maximum.accumulate(time_s)) > 0))  # a clock that jumps back
    return Track(time_s[order], rpm[order], plus_minus[order], confidence[order], tuple(breaks[:-1]))


def doppler_share(rpm: Floats, time_s: Floats, options: SoundOptions) -> Floats:
    """By what share a standing camera may hear the engine too high or too low: road speed over the speed of sound.

    The road speed is that of the trace, else what the gearing gives, else 30 m/s (judgement: as fast as a kart goes).
    """
    if options.speed is not None and len(options.speed):
        speed = np.interp(time_s, options.speed.time_s, np.abs(options.speed.values))
    elif options.metres_per_turn:
        speed = rpm / 60 * options.metres_per_turn
    else:
        speed = np.full_like(rpm, 30.0)
    share: Floats = speed / SOUND_M_S
    return share


def _road_prior(time_s: Floats, rpm: Floats, options: SoundOptions) -> Singles | None:
    """What the speed trace and the gearing say about each candidate; None without both.

    Locked up, the engine turns as the road says; slipping under power it turns faster, and slower only while coasting
    with an open clutch, which this may leave as a gap. The weights are judgement.
    """
    if options.speed is None or not len(options.speed) or not options.metres_per_turn:
        return None
    road = np.interp(time_s, options.speed.time_s, options.speed.values) / options.metres_per_turn * 60
    known = np.interp(time_s, options.speed.time_s, np.ones(len(options.speed)), left=0.0, right=0.0)
    ratio = rpm[None, :] / np.maximum(road, 1.0)[:, None]
    weight = np.where(ratio < 0.93, 0.001, np.clip((1.08 / np.maximum(ratio, 0.1)) ** 2, 0.3, 1.0))
    weight[known == 0.0] = 1.0
    return weight.astype(np.float32)


def blocks(pieces: Iterable[Piece]) -> Iterator[Block]:
    """Join pieces into blocks that overlap by two margins; where the file's clock jumps, a new one begins."""
    held: Singles = np.empty(0, np.float32)
    waiting: list[Singles] = []
    start_s, lead, count = 0.0, 0, 0
    for piece in pieces:
        expected_s = start_s + count / RATE_HZ
        if count and abs(piece.start_s - expected_s) > JUMP_S:
            yield Block(start_s, np.concatenate([held, *waiting]), lead, 0, True)
            held, waiting, lead, count = np.empty(0, np.float32), [], 0, 0
        if not count:
            start_s = piece.start_s if np.isfinite(piece.start_s) else 0.0
        waiting.append(piece.samples)
        count += len(piece.samples)
        if count < BLOCK + 2 * MARGIN:
            continue
        held, waiting = np.concatenate([held, *waiting]), []
        while len(held) >= BLOCK + 2 * MARGIN:
            yield Block(start_s, held[: BLOCK + 2 * MARGIN], lead, MARGIN, False)
            held, start_s, lead = held[BLOCK:], start_s + BLOCK / RATE_HZ, MARGIN
        count = len(held)
    if count:
        yield Block(start_s, np.concatenate([held, *waiting]), lead, 0, True)


assert BLOCK % HOP == 0
assert MARGIN % HOP == 0
