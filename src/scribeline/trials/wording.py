"""Verdicts in plain sentences: what is shown, what is not, and what more runs would give."""

import math

from scribeline.trials.runs import Measure
from scribeline.trials.verdict import Verdict

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


def amount(value: float, unit: str, like: float | None = None) -> str:
    """A size in its unit, with digits that fit the size of `like`.

    >>> amount(0.3112, "s", 0.19), amount(1.24, "kW", 0.5)
    ('0.31 s', '1.24 kW')
    """
    return f"{plain(value, like)} {unit}"


def plain(value: float, like: float | None = None) -> str:
    """A number with two significant digits of `like` (its own size where left out), at most four behind the point."""
    size = abs(like if like else value)
    digits = 2 if size == 0.0 or not math.isfinite(size) else min(max(1 - math.floor(math.log10(size)), 0), 4)
    return f"{value:.{digits}f}"


def sentence(verdict: Verdict) -> str:
    """The verdict on one measure in one plain sentence or two."""
    unit, half = verdict.measure.unit, 0.5 * (verdict.high - verdict.low)
    first, second = verdict.first.setup, verdict.second.setup
    if verdict.shown:
        near, far = sorted((abs(verdict.low), abs(verdict.high)))
        said = (
            f"{second} is {verdict.measure.words(verdict.difference)} than {first} by "
            f"{amount(abs(verdict.difference), unit, half)} ({plain(near, half)} to {plain(far, half)})"
        )
        return f"{said}; {_halving(verdict)}." if verdict.more_runs else f"{said}."
    said = (
        f"These runs cannot tell {first} and {second} apart: {second} less {first} is "
        f"{_signed(verdict.difference, half)} {unit} ({_signed(verdict.low, half)} to {_signed(verdict.high, half)}). "
        f"The smallest difference they could have shown, four times in five, is "
        f"{amount(verdict.detectable, unit)}."
    )
    if verdict.p < 0.05:
        said += (
            f" Taken alone it would pass for a difference; as one of {_word(verdict.comparisons)} comparisons it is "
            "not sure enough."
        )
    return said


def exact_words(verdict: Verdict) -> str:
    """What the test by shuffling says, and what it can never say with so few runs; nothing where it is none."""
    if verdict.shuffled is None:
        return ""
    ways = f"{verdict.shuffled.ways} ways" if verdict.shuffled.exact else "50 000 drawn ways"
    said = f"by shuffling, {ways}: p = {p_words(verdict.shuffled.p)}"
    if verdict.smallest_p >= 0.05:
        said += f"; with so few runs it can never be below {p_words(verdict.smallest_p)}"
    return said


def p_words(p: float) -> str:
    """A p for reading.

    >>> p_words(0.0312), p_words(1e-7)
    ('0.031', 'under 0.0001')
    """
    if p < 1e-4:
        return "under 0.0001"
    return f"{p:.2f}" if p >= 0.095 else f"{p:.3f}" if p >= 0.001 else f"{p:.4f}"


def slope_words(verdict: Verdict, measure: Measure) -> list[str]:
    """What went in beside the setup, and what it did to the measure."""
    return [f"{words}: {_signed(slope, slope)} {measure.unit}" for words, slope in verdict.slopes]


def _halving(verdict: Verdict) -> str:
    pairs = verdict.design.pairs is not None
    more = verdict.more_runs or 0
    thing = ("pair" if pairs else "run") + ("" if more == 1 else "s")
    return f"{_word(more)} more {thing}{'' if pairs else ' each'} would halve that interval"


def _word(number: int) -> str:
    return _NUMBERS[number] if number < len(_NUMBERS) else str(number)


def _signed(value: float, like: float) -> str:
    written = plain(value, like)
    return written if written.startswith("-") or float(written) == 0.0 else f"+{written}"
