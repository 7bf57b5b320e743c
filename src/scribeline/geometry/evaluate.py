"""Puts numbers into the lines of the card: once over arrays, so that each gets its +/- from the same pass.

Element 0 of every array is the engine as measured. The other elements are either random draws within the +/- of every
reading (jcgm-101), or the engine with one reading moved at a time, for the first-order share of each (jcgm-100).
"""

import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from scribeline.engine import COVERAGE_FACTOR
from scribeline.errors import WorkingError
from scribeline.geometry.working import Comparison, Derivation, FloatArray, Worked, Workings

DRAWS = 4096
SEED = 20260101

_STEP = 1e-3  # of its +/-: how far a reading is moved to see what follows


@dataclass(frozen=True)
class Agreement:
    """Whether two ways of measuring the same thing agree: |difference| against the +/- of the difference.

    `agree` is None where no +/- was worked out.
    """

    label: str
    first: str
    second: str
    unit: str
    difference: float
    plus_minus: float | None
    agree: bool | None


@dataclass(frozen=True)
class Evaluated:
    """Every number worked out. `samples` keeps the arrays: element 0 as measured, then the draws."""

    values: dict[str, Worked]
    samples: dict[str, FloatArray]
    agreements: list[Agreement]


def evaluate(workings: Workings, draws: int = DRAWS, seed: int = SEED) -> Evaluated:
    """Work out every line, with its +/- where `draws` is at least 2.

    A +/- is COVERAGE_FACTOR standard deviations over the draws (jcgm-101, 7.6, with the coverage of jcgm-100, 6.3).
    A reading's draws depend on its name and the seed only: the same reading moves the same way in every engine it
    stands in, which keeps the difference between two engines free of the scatter they share.
    Raises WorkingError where a number cannot be worked out for the engine as measured.
    """

    def drawn(name: str, value: float, width: float) -> FloatArray:
        samples = np.full(1 + draws, value)
        if width and draws:
            generator = np.random.Generator(np.random.SFC64([seed, zlib.crc32(name.encode())]))
            samples[1:] += (width / COVERAGE_FACTOR) * generator.standard_normal(draws)
        return samples

    samples = _run(workings, drawn)
    values = dict(workings.absent)
    for name, d in workings.derivations.items():
        got = samples[name]
        values[name] = Worked(
            name,
            d.label,
            d.unit,
            float(got[0]),
            plus_minus(got),
            d.formula,
            d.source,
            d.inputs,
            d.topic,
            d.inner,
            lost=float(np.isnan(got[1:]).mean()) if draws else 0.0,
        )
    return Evaluated(values, samples, [_agreement(c, workings, samples) for c in workings.comparisons])


def shares(workings: Workings) -> dict[str, dict[str, float]]:
    """What each reading's +/- does to each number, by first-order propagation (jcgm-100, 5.1).

    For every derived number: the name of a reading or assumption -> the change of the number when that one moves by
    its +/-, in the number's unit, largest first; those that do not touch it are left out. The root of the sum of
    squares is the number's +/- wherever the number is smooth in its readings.
    """
    moved = [name for name in workings.used() if workings.width(name) > 0.0]
    place = {name: 1 + 2 * i for i, name in enumerate(moved)}

    def one_at_a_time(name: str, value: float, width: float) -> FloatArray:
        samples = np.full(1 + 2 * len(moved), value)
        if name in place:
            samples[place[name]] += _STEP * width
            samples[place[name] + 1] -= _STEP * width
        return samples

    samples = _run(workings, one_at_a_time)
    found: dict[str, dict[str, float]] = {}
    for name in workings.derivations:
        change = (samples[name][1::2] - samples[name][2::2]) / (2.0 * _STEP)
        order = np.argsort(-np.abs(change))
        found[name] = {moved[i]: float(change[i]) for i in order if change[i]}
    return found


def plus_minus(samples: FloatArray) -> float | None:
    """The +/- of a sampled number (element 0 is the number as measured, not a draw); None with fewer than two draws.

    Draws for which the number does not exist (nan) are left out; `Worked.lost` says how many.
    """
    draws = samples[1:]
    if draws.size < 2:
        return None
    if np.isnan(draws).any():
        draws = draws[~np.isnan(draws)]
    return float(COVERAGE_FACTOR * draws.std(ddof=1)) if draws.size > 1 else None


def _run(workings: Workings, sampled: Callable[[str, float, float], FloatArray]) -> dict[str, FloatArray]:
    """Arrays of everything that goes into the card, then of every line of it."""
    samples = {
        name: sampled(name, workings.given(name), workings.width(name))
        for name in workings.used()
        if name not in workings.derivations
    }
    with np.errstate(invalid="ignore", divide="ignore"):
        for name, d in workings.derivations.items():
            operands = [samples[n] for n in d.inputs.values()]
            got = np.asarray(d.compute(*operands), dtype=np.float64)
            if got.shape != operands[0].shape:
                got = np.broadcast_to(got, operands[0].shape)
            samples[name] = got
            if not np.isfinite(got[0]):
                raise WorkingError(_cannot(d, samples))
    return samples


def _agreement(comparison: Comparison, workings: Workings, samples: Mapping[str, FloatArray]) -> Agreement:
    difference = samples[comparison.first] - samples[comparison.second]
    width = plus_minus(difference)
    gap = float(difference[0])
    unit = workings.derivations[comparison.first].unit
    agree = None if width is None else abs(gap) <= width
    return Agreement(comparison.label, comparison.first, comparison.second, unit, gap, width, agree)


def _cannot(d: Derivation, samples: Mapping[str, FloatArray]) -> str:
    numbers = ", ".join(f"{symbol} = {samples[name][0]:.6g} ({name})" for symbol, name in d.inputs.items())
    return (
        f"{d.name} ({d.label}) cannot be worked out from {numbers}: {d.formula}\n"
        "    accepted: readings that leave such a number\n"
        "    what to do: one of these readings cannot be right; measure them again"
    )
