"""Which comparison the runs allow, decided from how they were driven and before any time is looked at.

    pairs    every run belongs to a pair of one of each setup          differences within pairs, and beside them which
             run of the pair came first, where the turns leave some of a drift over and the pairs are enough to tell
    else     what was written down goes in beside the setup, in this order: day, direction, place in the day, other
             numbers; each only where at least 3 degrees of freedom are left and it can be told from the setup

Choosing by the design and not by the result is what keeps a 95 % interval one of 95 %.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scribeline.trials.runs import Run

Floats = NDArray[np.float64]
LEAST_DF = 3
"""Fewer degrees of freedom make the interval so wide that the covariate costs more than it can give (judgement)."""
ALIKE = 0.95
"""Share of a covariate that the setup and those before it tell already, above which it adds nothing (judgement)."""
CONFUSED = 0.6
"""Share of a covariate's variation that the setup explains above which a warning is given (judgement)."""


@dataclass(frozen=True)
class Design:
    """How two setups are compared.

    runs : of both setups, in the order of the arrays; second : (n,) which are of the second setup
    pairs : (k, 2) places in `runs`, first and second setup; None where they are not paired
    covariates : names of the columns of `columns`, (n, c), of pairs (k, 1) by how many places the second setup's run
        was later; labels : what a step of 1 in each of them is, in words
    strata : what labels are exchanged within, where an exact test is one; None where it is not
    left_out : covariates that were written down and not used, with the reason
    warnings : what nobody can read off the numbers
    """

    runs: tuple[Run, ...]
    second: NDArray[np.bool_]
    pairs: NDArray[np.intp] | None
    covariates: tuple[str, ...]
    labels: tuple[str, ...]
    columns: Floats
    strata: tuple[str, ...] | None
    left_out: tuple[tuple[str, str], ...]
    warnings: tuple[str, ...]


def design_of(runs: Sequence[Run], first: str, second: str, leave_out: Sequence[str] = ()) -> Design:
    """The design of the runs of two setups; leave_out : what shall not go in beside them ("order", "day", ...)."""
    chosen = tuple(run for run in runs if run.setup in (first, second))
    is_second = np.array([run.setup == second for run in chosen], bool)
    warnings = _warnings(chosen, first, second)
    pairs = None if "pair" in leave_out else _pairs(chosen, is_second)
    if pairs is not None:
        places = None if "order" in leave_out else _places(chosen, pairs)
        if places is not None:
            drift = ("each run later in the day",)
            return Design(chosen, is_second, pairs, ("order",), drift, places, None, (), tuple(warnings))
        warnings += _turns(chosen, pairs, first, second)
        return Design(chosen, is_second, pairs, (), (), np.empty((len(chosen), 0)), None, (), tuple(warnings))
    names: list[str] = []
    columns = np.empty((len(chosen), 0))
    left_out: list[tuple[str, str]] = []
    labels: list[str] = []
    for name, column, words in _recorded(chosen):
        if name in leave_out:
            left_out.append((name, "not wanted"))
            continue
        tried = np.column_stack([columns, column])
        about = (tried - tried.mean(axis=0)) / tried.std(axis=0)
        whole = np.column_stack([np.ones(len(chosen)), is_second, about])
        if np.linalg.matrix_rank(whole) < whole.shape[1]:
            left_out.append((name, "it says the same as the setup, or as what went in before"))
        elif columns.size and _told_already(whole[:, : -column.shape[1]], column) > ALIKE:
            left_out.append((name, "it goes up and down with what went in before"))
        elif len(chosen) - whole.shape[1] < LEAST_DF:
            left_out.append((name, f"{len(chosen)} runs are too few to carry it as well"))
        else:
            names += [name] * column.shape[1]
            labels += words
            columns = tried
            share = _explained(is_second, column)
            if name == "order" and share > CONFUSED:
                warnings.append(
                    f"most runs of {first} and {second} were driven in one go, one setup after the other: drift and "
                    "difference can hardly be told apart, and the interval is wide for that, wider than 95 % asks for "
                    "where the scatters differ; take turns next time (A B B A)"
                )
    if not any(run.order is not None for run in chosen):
        warnings.append("nobody wrote down in which order they were driven: a drift would count as difference")
    return Design(
        chosen,
        is_second,
        None,
        tuple(names),
        tuple(labels),
        columns,
        _strata(chosen, set(names)),
        tuple(left_out),
        tuple(warnings),
    )


def _pairs(runs: Sequence[Run], is_second: NDArray[np.bool_]) -> NDArray[np.intp] | None:
    if not runs or not all(run.pair for run in runs):
        return None
    found = []
    for name in dict.fromkeys(run.pair for run in runs):
        inside = [i for i, run in enumerate(runs) if run.pair == name]
        if len(inside) != 2 or is_second[inside[0]] == is_second[inside[1]]:
            return None
        found.append(sorted(inside, key=lambda i: bool(is_second[i])))
    return np.array(found, dtype=np.intp) if len(found) > 1 else None


def _places(runs: Sequence[Run], pairs: NDArray[np.intp]) -> Floats | None:
    """By how many places the second setup's run of each pair was later, (k, 1); None where that can go in nowhere.

    It goes in where the turns leave some of a drift in the mean (an odd number of pairs, say), and only where the
    degrees of freedom carry it.
    """
    order = [[runs[i].order for i in pair] for pair in pairs]
    later = np.array([b - a for a, b in order if a is not None and b is not None], np.float64)
    if later.size < len(order) or later.size - 2 < LEAST_DF or abs(later.mean()) < 1e-9 or np.ptp(later) < 1e-9:
        return None
    return later[:, np.newaxis]


def _turns(runs: Sequence[Run], pairs: NDArray[np.intp], first: str, second: str) -> list[str]:
    """What is left of a drift within pairs: nothing only where each setup was the earlier one equally far."""
    places = [[runs[i].order for i in pair] for pair in pairs]
    known = [(a, b) for a, b in places if a is not None and b is not None]
    if len(known) < len(places):
        return ["nobody wrote down which run of each pair came first: a drift within pairs would count as difference"]
    left = sum(b - a for a, b in known) / len(known)
    if abs(left) < 1e-9:
        return []
    before = sum(a < b for a, b in known)
    return [
        f"{first} came before {second} in {before} of {len(known)} pairs: {abs(left):.2g} times what the day's drift "
        "adds from one run to the next stays in the difference, and the interval does not hold it; drive an even "
        "number of pairs, and let each setup be first in half of them"
    ]


def _recorded(runs: Sequence[Run]) -> list[tuple[str, Floats, list[str]]]:
    """What was written down for every run and differs among them, as columns, the more certain first."""
    found: list[tuple[str, Floats, list[str]]] = []
    for name in ("day", "direction"):
        values = [getattr(run, name) for run in runs]
        levels = list(dict.fromkeys(values))
        if all(values) and len(levels) > 1:
            columns = np.array([[value == level for level in levels[1:]] for value in values], np.float64)
            found.append((name, columns, [f"{name} {level} against {levels[0]}" for level in levels[1:]]))
    order = [run.order for run in runs]
    if all(one is not None for one in order) and len(set(order)) > 2:
        found.append(("order", np.array(order, np.float64)[:, np.newaxis], ["each run later in the day"]))
    for name in dict.fromkeys(key for run in runs for key in run.beside):
        if all(name in run.beside for run in runs) and len({run.beside[name] for run in runs}) > 1:
            columns = np.array([[run.beside[name]] for run in runs], np.float64)
            found.append((name, columns, [f"for 1 of {name}"]))
    return found


def _told_already(before: Floats, column: Floats) -> float:
    """Share of a covariate's variation that what went in before explains; the least of its columns."""
    about = column - column.mean(axis=0)
    rest = about - before @ np.linalg.lstsq(before, about, rcond=None)[0]
    return float((1.0 - (rest**2).sum(axis=0) / (about**2).sum(axis=0)).min())


def _explained(is_second: NDArray[np.bool_], column: Floats) -> float:
    """Share of a covariate's variation that lies between the setups."""
    about = column - column.mean(axis=0)
    total = float((about**2).sum())
    between = sum(float(mask.sum()) * float((about[mask].mean(axis=0) ** 2).sum()) for mask in (is_second, ~is_second))
    return between / total if total > 0.0 else 0.0


def _strata(runs: Sequence[Run], used: set[str]) -> tuple[str, ...] | None:
    """What makes runs exchangeable but for the setup; None once a number goes in beside it."""
    if used - {"day", "direction"}:
        return None
    return tuple(f"{run.day if 'day' in used else ''}|{run.direction if 'direction' in used else ''}" for run in runs)


def _warnings(runs: Sequence[Run], first: str, second: str) -> list[str]:
    said = []
    days = {setup: {run.day for run in runs if run.setup == setup and run.day} for setup in (first, second)}
    if days[first] and days[second] and not days[first] & days[second]:
        said.append(
            f"{first} and {second} were never driven on the same day: weather, fuel, tyres and rider count as "
            "difference, and no statistics can take them out"
        )
    ways = {setup: [run.direction for run in runs if run.setup == setup and run.direction] for setup in (first, second)}
    everywhere = set(ways[first]) | set(ways[second])
    if len(everywhere) > 1 and set(ways[first]) != set(ways[second]):
        said.append(f"{first} and {second} were not driven in the same directions: wind and slope count as difference")
    if len(everywhere) == 1:
        said.append("all runs went one way: a wind that changes during the day counts as scatter or as difference")
    return said
