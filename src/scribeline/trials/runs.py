"""What a comparison is made from: runs with their setup, their measures, and what was written down beside them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Literal

from scribeline.errors import TrialError


@dataclass(frozen=True)
class Measure:
    """A quantity that setups are compared by.

    key : how it is called in tables, such as "30 to 55 km/h"; unit : "s", "m/s²", "kW"
    better : whether less or more of it is wanted
    span : how much ground it covers, for choosing which measure speaks first (largest)
    """

    key: str
    unit: str
    better: Literal["less", "more"]
    span: float = 0.0

    def words(self, difference: float) -> str:
        """What the second setup is, where it differs from the first by this much."""
        good = (difference < 0.0) == (self.better == "less")
        better, worse = {"s": ("quicker", "slower"), "kW": ("stronger", "weaker")}.get(self.unit, ("better", "worse"))
        return better if good else worse


@dataclass(frozen=True)
class Value:
    """One measured value; its +/- where one is known, and the step of the clock or scale it was read from."""

    value: float
    plus_minus: float | None = None
    step: float | None = None


@dataclass(frozen=True)
class Run:
    """One run.

    order : place in the day, counted as it was driven; None where nobody wrote it down
    direction, day, pair : names, "" where not written down; runs of one pair were driven back to back
    beside : numbers written down with it, such as air temperature or battery voltage
    dropped : why it does not count; such a run is shown and never used
    """

    setup: str
    name: str
    measures: Mapping[str, Value]
    order: float | None = None
    direction: str = ""
    day: str = ""
    pair: str = ""
    beside: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    dropped: str = ""


def dropped(run: Run, reason: str) -> Run:
    """The run, not counted any more. Raises TrialError for a reason of fewer than three letters.

    >>> dropped(Run("stock", "3", {}), "rider shut the throttle").dropped
    'rider shut the throttle'
    """
    if len(reason.strip()) < 3:
        raise TrialError(
            f"run {run.name} of {run.setup} dropped without a reason\n    accepted: what happened, in a few words\n"
            "    what to do: give --because; a run that is only slow is no reason, it is part of the scatter"
        )
    return replace(run, dropped=reason.strip())


def setups_of(runs: Sequence[Run]) -> list[str]:
    """Names of the setups, in the order in which they first come."""
    return list(dict.fromkeys(run.setup for run in runs))


def counted(runs: Sequence[Run], measure: str, setup: str | None = None) -> list[Run]:
    """The runs that count for a measure: not dropped, and with a value."""
    return [
        run for run in runs if not run.dropped and measure in run.measures and (setup is None or run.setup == setup)
    ]
