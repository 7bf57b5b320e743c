"""What a derived number is: the lines of the engine card, before any number is put in.

A `Derivation` is one line: a formula, the names of what goes into it, and a function that computes it on arrays.
`Workings` collects them in the order they are needed, together with what had to be assumed and what was measured
twice. How they are evaluated stands in `evaluate`.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from scribeline.engine import Reading

FloatArray = npt.NDArray[np.float64]


class Derivation(NamedTuple):
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


class Worked(NamedTuple):
    """One number of the card. `value` is None where this engine has no such number; `why_absent` then says why.

    lost : share of the random draws for which the number does not exist, 0 to 1; its +/- then rests on the others
    """

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
    lost: float = 0.0

    def put_in(self, numbers: Mapping[str, str]) -> str:
        """The formula with each symbol replaced by its number, given as text by input name."""
        if self.value is None:
            return ""
        formula, _, unwritten = self.formula.partition(_WITH)
        by_symbol = {symbol: numbers[name] for symbol, name in self.inputs.items()}
        written = _in_formula(tuple(by_symbol)).sub(lambda found: by_symbol[found[0]], formula)
        return written + (
            _WITH + ", ".join(f"{s} = {by_symbol[s]}" for s in unwritten.split(", ")) if unwritten else ""
        )


_WITH = ", with "


@cache
def _in_formula(symbols: tuple[str, ...]) -> re.Pattern[str]:
    """Finds each of the symbols where it stands alone in a formula, squared or not."""
    longest_first = sorted(symbols, key=len, reverse=True)
    return re.compile(r"(?<!\w)(?:" + "|".join(map(re.escape, longest_first)) + r")(?![^\W²³])")


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
        return not self._unknown(names)

    def _unknown(self, names: Iterable[str]) -> list[str]:
        readings, derivations, assumed = self.readings, self.derivations, self.assumed
        return [n for n in names if n not in readings and n not in derivations and n not in assumed]

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
        missing = self._unknown(inputs.values())
        if missing or self.knows(name):
            raise ValueError(f"{name}: " + (f"inputs unknown: {missing}" if missing else "derived twice"))
        self.derivations[name] = Derivation(
            name, label, unit, _complete(formula, tuple(inputs)), source, inputs, compute, self.topic, inner
        )
        return name

    def given(self, name: str) -> float:
        """The value of a reading or an assumption."""
        return self.readings[name].measured.value if name in self.readings else self.assumed[name].value

    def width(self, name: str) -> float:
        """The +/- of a reading or an assumption; 0 for a derived number, whose own follows from its inputs'."""
        if name in self.readings:
            return self.readings[name].plus_minus
        return self.assumed[name].plus_minus if name in self.assumed else 0.0

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


def by_place(readings: Iterable[Reading]) -> dict[str, Reading]:
    """Readings by their dotted place."""
    return {reading.place: reading for reading in readings}
