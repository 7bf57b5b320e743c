"""The verdict on two setups, or several: difference with its interval, tests, and what more runs would give."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np
from scipy import special

from scribeline.errors import TrialError
from scribeline.trials.contrast import contrast
from scribeline.trials.describe import mean, neighbours_alike, one_way, scatter, stands_apart
from scribeline.trials.design import Design, design_of
from scribeline.trials.pairs import holm, paired
from scribeline.trials.planning import ALPHA, detectable
from scribeline.trials.runs import Measure, Run, counted, setups_of
from scribeline.trials.shuffles import Shuffled, sign_flips, smallest_p, two_groups

FEW = 5
"""Below so many runs of a setup the page says how much rests on the scatter being bell-shaped (judgement)."""


@dataclass(frozen=True)
class Side:
    """One setup in a measure: its runs, their mean with the interval of the mean, their scatter."""

    setup: str
    runs: tuple[Run, ...]
    values: tuple[float, ...]
    mean: float
    half_width: float
    sd: float
    apart: tuple[str, ...]


@dataclass(frozen=True)
class Verdict:
    """What the runs show of one measure about two setups.

    difference, low, high : second less first, with its 95 % interval; p, p_adjusted : of Student's test, and with
        Holm's adjustment for the other setups of the same measure; shuffled : the exact test, where there is one
    sds : scatter of either setup with what went in beside taken out; slopes : what that did, in words and numbers
    smallest_p : below which the exact test cannot fall with so few runs
    clock_limited : whether the clock's own +/- is wider than the scatter
    """

    measure: Measure
    first: Side
    second: Side
    design: Design
    method: str
    difference: float
    low: float
    high: float
    p: float
    p_adjusted: float
    se: float
    df: float
    sds: tuple[float, float]
    slopes: tuple[tuple[str, float], ...]
    shuffled: Shuffled | None
    smallest_p: float
    clock_limited: bool
    warnings: tuple[str, ...]
    comparisons: int = 1

    @property
    def shown(self) -> bool:
        """Whether a difference is shown, after the adjustment."""
        return self.p_adjusted < ALPHA

    @cached_property
    def detectable(self) -> float:
        """The smallest true difference that runs like these show four times in five."""
        return detectable(self.se, self.df)

    @cached_property
    def more_runs(self) -> int | None:
        """Runs more of each setup, or pairs more, that would halve the interval; None beyond 200."""
        runs = min(len(side.values) for side in (self.first, self.second))
        step = 1 if self.design.pairs is not None else 2
        wanted = 0.5 * float(special.stdtrit(self.df, 0.975)) * self.se
        for more in range(1, 200):
            # The same scatter, and as many degrees of freedom more as there are runs more, in proportion.
            df = self.df * (1.0 + step * more / (step * runs - step))
            if float(special.stdtrit(df, 0.975)) * self.se * math.sqrt(runs / (runs + more)) <= wanted:
                return more
        return None

    @property
    def change_share(self) -> float:
        """The difference as a share of the first setup's mean."""
        return self.difference / self.first.mean


@dataclass(frozen=True)
class Comparison:
    """Every verdict of a comparison, by measure; the first setup is what the others are held against.

    any_differs : p of the one-way analysis for each measure with three setups or more
    """

    setups: tuple[str, ...]
    measures: tuple[Measure, ...]
    verdicts: tuple[Verdict, ...]
    any_differs: tuple[tuple[str, float], ...]
    runs: tuple[Run, ...]
    not_compared: tuple[str, ...]

    @property
    def mains(self) -> tuple[Measure, ...]:
        """The measures that speak first: the gates that cover most ground, chosen before any time is looked at."""
        widest = max(one.span for one in self.measures)
        return tuple(one for one in self.measures if one.span >= widest - 1e-9)

    @property
    def main(self) -> Measure:
        """The first of `mains`."""
        return self.mains[0]

    def of(self, measure: Measure) -> list[Verdict]:
        """The verdicts of one measure."""
        return [one for one in self.verdicts if one.measure == measure]


def compare(
    runs: Sequence[Run], measures: Sequence[Measure], setups: Sequence[str] = (), leave_out: Sequence[str] = ()
) -> Comparison:
    """Hold every setup against the first one, in every measure that both have.

    setups : names, the one to compare with first; all that there are where left out
    leave_out : what was written down and shall not go in beside the setup
    Raises TrialError for an unknown setup, for fewer than two, and where no measure can be compared.
    """
    there = setups_of(runs)
    for name in setups:
        if name not in there:
            raise TrialError(
                f"a setup called {name}\n    accepted: {', '.join(there) or 'there are no runs'}\n"
                "    what to do: name setups as they are written in the runs"
            )
    chosen = list(dict.fromkeys(setups)) or there
    if len(chosen) < 2:
        raise TrialError(
            f"{len(chosen)} setup: {', '.join(chosen)}\n    accepted: at least two\n    what to do: name another "
            "trial, or write the setup of each run into the table"
        )
    verdicts: list[Verdict] = []
    impossible: list[str] = []
    differs = []
    for measure in measures:
        found = []
        for other in chosen[1:]:
            try:
                found.append(_verdict(runs, measure, chosen[0], other, leave_out))
            except TrialError as error:
                impossible.append(f"{measure.key}, {chosen[0]} against {other}: " + str(error).split("\n")[0])
        adjusted = holm([one.p for one in found])
        verdicts += [_with_adjusted(one, float(p), len(found)) for one, p in zip(found, adjusted, strict=True)]
        groups = [[run.measures[measure.key].value for run in counted(runs, measure.key, name)] for name in chosen]
        groups = [group for group in groups if len(group) > 1]
        if len(groups) > 2 and any(scatter(group) > 0.0 for group in groups):
            differs.append((measure.key, one_way(groups).p))
    if not verdicts:
        reasons = "\n        ".join(impossible) or "no measure that both setups have"
        raise TrialError(
            f"nothing can be compared:\n        {reasons}\n    accepted: at least 2 runs of each setup with the same "
            "gate\n    what to do: do more runs, or see which are dropped"
        )
    compared = tuple(one for one in measures if any(v.measure == one for v in verdicts))
    return Comparison(tuple(chosen), compared, tuple(verdicts), tuple(differs), tuple(runs), tuple(impossible))


def _verdict(runs: Sequence[Run], measure: Measure, first: str, second: str, leave_out: Sequence[str]) -> Verdict:
    there = counted(runs, measure.key)
    counts = [sum(run.setup == name for run in there) for name in (first, second)]
    if min(counts) < 2:
        raise TrialError(
            f"{counts[0]} and {counts[1]} runs have it\n    accepted: at least 2 of each setup\n"
            "    what to do: do more runs, or see which are dropped"
        )
    design = design_of(there, first, second, leave_out)
    values = np.array([run.measures[measure.key].value for run in design.runs])
    least_sd = _clock_sd(design.runs, measure.key)
    warnings = list(design.warnings)
    shuffled: Shuffled | None = None
    if design.pairs is not None:
        a, b = values[design.pairs[:, 0]], values[design.pairs[:, 1]]
        beside = list(dict.fromkeys(design.covariates))
        found = paired(a, b, least_sd, design.columns if beside else None).contrast
        method, least_p = "differences within pairs", 2.0 ** (1 - len(a))
        if not beside:
            shuffled = sign_flips(b - a)
        else:
            named = ["the turns they were driven in" if name == "order" else name for name in beside]
            method += f", with {_listed(named)} beside"
    else:
        found = contrast(values, design.second, design.columns if design.covariates else None, least_sd)
        beside = list(dict.fromkeys(design.covariates))
        method = "Welch's test" + (f" with {_listed(beside)} beside" if beside else "")
        if not beside and float(found.scale) != 1.0:
            method += ", its width set for so few runs"
        least_p = smallest_p(int((~design.second).sum()), int(design.second.sum()))
        if design.strata is not None:
            strata = design.strata if len(set(design.strata)) > 1 else None
            shuffled = two_groups(values, design.second, strata)
            least_p = 2.0 / shuffled.ways if strata else least_p
    sides = [_side(design, values, mask, name) for name, mask in ((first, ~design.second), (second, design.second))]
    warnings += _remarks(sides, design, values)
    if design.covariates and float(found.df) <= 1.0:
        more = "one pair more" if design.pairs is not None else "one run more of each"
        warnings.append(
            f"with {_listed(list(dict.fromkeys(design.covariates)))} taken out, one degree of freedom is left to know "
            f"the scatter from, and the interval is very wide for that: drive {more}"
        )
    half = float(found.half_width())
    d = float(found.difference)
    slopes = tuple(zip(design.labels, map(float, found.slopes), strict=True))
    sds = (float(found.sd[0]), float(found.sd[1]))
    return Verdict(
        measure, sides[0], sides[1], design, method, d, d - half, d + half, float(found.p), float(found.p),
        float(found.se), float(found.df), sds, slopes, shuffled, least_p,
        bool((found.sd <= least_sd * (1.0 + 1e-9)).any() and least_sd > 0.0), tuple(warnings),
    )  # fmt: skip


def _with_adjusted(one: Verdict, p: float, comparisons: int) -> Verdict:
    own = {field.name: getattr(one, field.name) for field in fields(one)}
    return Verdict(**(own | {"p_adjusted": p, "comparisons": comparisons}))


def _side(design: Design, values: np.ndarray, mask: np.ndarray, setup: str) -> Side:
    own = values[mask]
    runs = tuple(run for run, inside in zip(design.runs, mask, strict=True) if inside)
    sd = scatter(own)
    half = float(special.stdtrit(own.size - 1, 0.975)) * sd / math.sqrt(own.size) if own.size > 1 else math.nan
    apart = tuple(run.name for run, far in zip(runs, stands_apart(own), strict=True) if far)
    return Side(setup, runs, tuple(map(float, own)), mean(own), half, sd, apart)


def _clock_sd(runs: Sequence[Run], key: str) -> float:
    """Standard deviation of a reading from its instrument alone: half its +/-, or its step over the root of 12."""
    known = []
    for run in runs:
        value = run.measures[key]
        if value.plus_minus is not None:
            known.append(0.5 * value.plus_minus)
        elif value.step is not None:
            known.append(value.step / math.sqrt(12.0))
    return float(np.sqrt(np.mean(np.square(known)))) if known else 0.0


def _remarks(sides: Sequence[Side], design: Design, values: np.ndarray) -> list[str]:
    said = []
    for side in sides:
        if side.apart:
            said.append(
                f"run {_listed(side.apart)} of {side.setup} stands apart from the others: look at it; it counts until "
                "somebody drops it with a reason"
            )
    few = [side for side in sides if len(side.values) < FEW]
    if few:
        said.append(
            f"with {_listed([f'{len(side.values)} runs of {side.setup}' for side in few])} the interval trusts that "
            "the scatter is bell-shaped; so few runs cannot show whether it is"
        )
    order = [run.order for run in design.runs]
    if design.pairs is None and "order" not in design.covariates and all(one is not None for one in order):
        rest = values - np.where(design.second, np.mean(values[design.second]), np.mean(values[~design.second]))
        in_order = rest[np.argsort(np.array(order, np.float64))]
        if len(values) >= 8 and np.ptp(in_order) > 0.0 and neighbours_alike(in_order) > 0.5:
            said.append("runs that followed each other are alike: the day drifted")
    return said


def _listed(names: Sequence[str]) -> str:
    """a, b and c."""
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else list(names))
