"""What a derived number is, and how a whole list of them is evaluated with its +/-.

A `Derivation` is one line of the engine card: a formula, the names of what goes into it, and a function that computes
it on arrays. `Workings` collects them in the order they are needed, together with what had to be assumed and what was
measured twice. `evaluate` runs the list once on arrays whose element 0 is the engine as measured and whose other
elements are random draws within the +/- of every reading (jcgm-101), so that each number gets its +/- from one pass.
"""

import re
import zlib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache

import numpy as np
import numpy.typing as npt

from scribeline.engine import COVERAGE_FACTOR, Reading
from scribeline.errors import WorkingError

FloatArray = npt.NDArray[np.float64]

DRAWS = 4096
SEED = 20260101


@dataclass(frozen=True)
class Derivation:
    """One derived number: `inputs` maps each symbol of the formula to the name of a reading or derived number.

    `compute` takes the inputs in that order as arrays of one length and returns an array of that length.
    `topic` is the heading it stands under; an `inner` number is a step on the way, shown only when asked for.
    """

    name: str
    label: str
    unit: str
    formula: str
    source: str
    inputs: Mapping[str, str]
    compute: Callable[..., FloatArray]
    topic: str
    inner: bool


@dataclass(frozen=True)
class Assumption:
    """A number nobody measured, used because something had to be; listed on the card unless the builder chose it."""

    name: str
    value: float
    unit: str
    reason: str
    plus_minus: float = 0.0
    chosen: bool = False


@dataclass(frozen=True)
class Comparison:
    """Two names for the same thing, measured in two ways."""

    label: str
    first: str
    second: str


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
class Worked:
    """One number of the card. `value` is None where this engine has no such number; `why_absent` then says why."""

    name: str
    label: str
    unit: str
    value: float | None
    plus_minus: float | None
    formula: str
    source: str
    inputs: Mapping[str, str]
    topic: str
    inner: bool = False
    why_absent: str = ""

    def put_in(self, numbers: Mapping[str, str]) -> str:
        """The formula with each symbol replaced by its number, given as text by input name."""
        formula, _, unwritten = self.formula.partition(_WITH)
        by_symbol = {symbol: numbers[name] for symbol, name in self.inputs.items()}
        written = _in_formula(tuple(by_symbol)).sub(lambda found: by_symbol[found[0]], formula)
        return written + (
            _WITH + ", ".join(f"{s} = {by_symbol[s]}" for s in unwritten.split(", ")) if unwritten else ""
        )


_WITH = ", with "


@cache
def _in_formula(symbols: tuple[str, ...]) -> re.Pattern[str]:
    """Finds each of the symbols where it stands alone in a formula."""
    longest_first = sorted(symbols, key=len, reverse=True)
    return re.compile(r"(?<!\w)(?:" + "|".join(map(re.escape, longest_first)) + r")(?!\w)")


@cache
def _complete(formula: str, symbols: tuple[str, ...]) -> str:
    """The formula, and after it the symbols that do not stand in it but go into it all the same."""
    written = set(_in_formula(symbols).findall(formula))
    unwritten = [symbol for symbol in symbols if symbol not in written]
    return formula + _WITH + ", ".join(unwritten) if unwritten else formula


@dataclass
class Workings:
    """Derivations in the order they can be evaluated, with assumptions and comparisons beside them."""

    readings: dict[str, Reading]
    derivations: dict[str, Derivation] = field(default_factory=dict)
    assumed: dict[str, Assumption] = field(default_factory=dict)
    comparisons: list[Comparison] = field(default_factory=list)
    absent: dict[str, Worked] = field(default_factory=dict)
    topic: str = ""

    def knows(self, *names: str) -> bool:
        """True if every name is a reading, an assumption or an earlier derivation."""
        return all(n in self.readings or n in self.derivations or n in self.assumed for n in names)

    def assume(self, name: str, value: float, unit: str, reason: str, plus_minus: float = 0.0) -> str:
        """Use `value` for `name` unless it was measured; what is assumed is listed on the card."""
        if not self.knows(name):
            self.assumed[name] = Assumption(name, value, unit, reason, plus_minus)
        return name

    def choose(self, name: str, value: float, unit: str, reason: str) -> str:
        """Use a value that the builder chose or counted: exact, and nothing to warn about."""
        self.assumed[name] = Assumption(name, value, unit, reason, chosen=True)
        return name

    def derive(
        self,
        name: str,
        label: str,
        unit: str,
        formula: str,
        inputs: Mapping[str, str],
        compute: Callable[..., FloatArray],
        source: str = "geometry",
        *,
        inner: bool = False,
    ) -> str:
        """Add one derivation; all its inputs must be known already. Returns its name."""
        missing = [n for n in inputs.values() if not self.knows(n)]
        if missing or self.knows(name):
            raise ValueError(f"{name}: " + (f"inputs unknown: {missing}" if missing else "derived twice"))
        self.derivations[name] = Derivation(
            name, label, unit, _complete(formula, tuple(inputs)), source, inputs, compute, self.topic, inner
        )
        return name

    def used(self) -> dict[str, None]:
        """Names that go into some number, in order."""
        return dict.fromkeys(name for d in self.derivations.values() for name in d.inputs.values())

    def first_of(self, name: str, label: str, unit: str, ways: list[tuple[str, str]]) -> str | None:
        """Use the first of several ways to the same number and compare it with the others.

        ways : (name of the derivation, what it is from), best first. Returns None where there is no way.
        """
        if not ways:
            return None
        for other, _ in ways[1:]:
            self.comparisons.append(Comparison(label, ways[0][0], other))
        return self.derive(name, label, unit, f"value {ways[0][1]}", {"value": ways[0][0]}, lambda value: value)

    def lacks(self, name: str, label: str, unit: str, why: str) -> None:
        """Say that this engine has no such number, and why."""
        self.absent[name] = Worked(name, label, unit, None, None, "", "definition", {}, self.topic, why_absent=why)


@dataclass(frozen=True)
class Evaluated:
    """Every number worked out. `samples` keeps the arrays: element 0 as measured, then the draws."""

    values: dict[str, Worked]
    samples: dict[str, FloatArray]
    agreements: list[Agreement]


def evaluate(workings: Workings, draws: int = DRAWS, seed: int = SEED) -> Evaluated:
    """Work out every derivation, with its +/- where `draws` is at least 2.

    A +/- is COVERAGE_FACTOR standard deviations over the draws (jcgm-101, 7.6, with the coverage of jcgm-100, 6.3).
    A reading's draws depend on its name and the seed only: the same reading moves the same way in every engine it
    stands in, which keeps the difference between two engines free of the scatter they share.
    Raises WorkingError where a number cannot be worked out for the engine as measured.
    """
    samples: dict[str, FloatArray] = {}
    for name in workings.used():
        if name in workings.readings:
            reading = workings.readings[name]
            samples[name] = _drawn(name, reading.measured.value, reading.plus_minus, draws, seed)
        elif name in workings.assumed:
            assumption = workings.assumed[name]
            samples[name] = _drawn(name, assumption.value, assumption.plus_minus, draws, seed)
    values = dict(workings.absent)
    with np.errstate(invalid="ignore", divide="ignore"):
        for name, d in workings.derivations.items():
            got = np.asarray(d.compute(*(samples[n] for n in d.inputs.values())), dtype=np.float64)
            if got.shape != (1 + draws,):
                got = np.broadcast_to(got, (1 + draws,))
            samples[name] = got
            if not np.isfinite(got[0]):
                raise WorkingError(_cannot(workings, d, samples))
            values[name] = Worked(
                name, d.label, d.unit, float(got[0]), plus_minus(got), d.formula, d.source, d.inputs, d.topic, d.inner
            )
    agreements = [_agreement(c, workings, samples) for c in workings.comparisons]
    return Evaluated(values, samples, agreements)


def plus_minus(samples: FloatArray) -> float | None:
    """The +/- of a sampled number (element 0 is the nominal and not a draw); None with fewer than two draws.

    Draws for which the number does not exist (nan) are left out.
    """
    if samples.size < 3:
        return None
    draws = samples[1:]
    if np.isnan(draws).any():
        draws = draws[~np.isnan(draws)]
        if draws.size < 2:
            return None
    return float(COVERAGE_FACTOR * draws.std(ddof=1))


def _drawn(name: str, value: float, width: float, draws: int, seed: int) -> FloatArray:
    if width == 0.0 or draws == 0:
        return np.full(1 + draws, value)
    generator = np.random.Generator(np.random.SFC64([seed, zlib.crc32(name.encode())]))
    samples = np.empty(1 + draws)
    samples[0] = value
    samples[1:] = value + (width / COVERAGE_FACTOR) * generator.standard_normal(draws)
    return samples


def _agreement(comparison: Comparison, workings: Workings, samples: Mapping[str, FloatArray]) -> Agreement:
    difference = samples[comparison.first] - samples[comparison.second]
    width = plus_minus(difference)
    gap = float(difference[0])
    unit = workings.derivations[comparison.first].unit
    agree = None if width is None else abs(gap) <= width
    return Agreement(comparison.label, comparison.first, comparison.second, unit, gap, width, agree)


def _cannot(workings: Workings, d: Derivation, samples: Mapping[str, FloatArray]) -> str:
    numbers = ", ".join(f"{symbol} = {samples[name][0]:.6g} ({name})" for symbol, name in d.inputs.items())
    return (
        f"{d.name} ({d.label}) cannot be worked out from {numbers}: {d.formula}\n"
        "what to do: one of these readings cannot be right; measure them again"
    )


def by_place(readings: Iterable[Reading]) -> dict[str, Reading]:
    """Readings by their dotted place."""
    return {reading.place: reading for reading in readings}
