"""Which comparison the runs allow, decided from how they were driven and before any time is looked at.

    pairs    every run belongs to a pair of one of each setup          differences within pairs
    else     the runs one by one, each setup with a scatter of its own

Beside the setup goes what was written down: day, direction, place in the day, other numbers; within pairs, by how much
the second setup's run had more of it. How a run was driven (the first three) surely acts, and goes in as long as one
degree of freedom is left; other numbers as long as three are. Where it cannot go in and would move the difference,
pairs become single runs, and single runs get no interval: a wrong one would be worse.

Choosing by the design and not by the result is what keeps a 95 % interval one of 95 %.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scribeline.errors import TrialError
from scribeline.trials.runs import Run

Floats = NDArray[np.float64]
_Recorded = tuple[str, Floats, list[str]]
"""Its name, its columns, what a step of 1 in each of them is."""
LEAST_DF = 3
"""Fewer degrees of freedom make the interval so wide that what may not act costs more than it gives (judgement)."""
DRIVEN = ("day", "direction", "order")
"""How a run was driven; what else was written down may act or may not."""
ALIKE = 0.95
"""Share of a covariate that the setup and those before it tell already, above which it adds nothing (judgement)."""
CONFUSED = 0.6
"""Share of a covariate's variation that the setup explains above which a warning is given (judgement)."""


@dataclass(frozen=True)
class Design:
    """How two setups are compared.

    runs : of both setups, in the order of the arrays; second : (n,) which are of the second setup
    pairs : (k, 2) places in `runs`, first and second setup; None where they are not paired
    covariates : names of the columns of `columns`, (n, c), of pairs (k, c) by how much the second setup's run had
        more of it; labels : what a step of 1 in each of them is, in words
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
    strata = None
    left_out: list[tuple[str, str]] = []
    pairs = None if "pair" in leave_out else _pairs(chosen, is_second)
    if pairs is not None:
        within = [(name, column[pairs[:, 1]] - column[pairs[:, 0]], words) for name, column, words in _recorded(chosen)]
        beside = _beside(np.ones((len(pairs), 1)), 0, within, leave_out)
        if moved := beside.unheld + beside.too_much:
            left_out.append(("pair", f"so many pairs, driven in these turns, cannot tell {moved[0]} from the setup"))
            pairs = None
        else:
            warnings += _turns(chosen, pairs, first, second) if "order" not in beside.names else []
    if pairs is None:
        beside = _beside(np.column_stack([np.ones(len(chosen)), is_second]), 1, _recorded(chosen), leave_out)
        _refuse(beside, len(chosen), first, second)
        warnings += _confused(beside, is_second, first, second)
        if not any(run.order is not None for run in chosen):
            warnings.append("nobody wrote down in which order they were driven: a drift would count as difference")
        strata = _strata(chosen, set(beside.names))
    return Design(
        chosen,
        is_second,
        pairs,
        beside.names,
        beside.labels,
        beside.columns,
        strata,
        (*left_out, *beside.left_out),
        tuple(warnings),
    )


@dataclass(frozen=True)
class _Beside:
    """What goes in beside the setup, and what does not.

    unheld : how all runs of a setup were driven, so that nothing can tell it from the setup; too_much : what would
        move the difference and cannot be taken out
    """

    names: tuple[str, ...]
    labels: tuple[str, ...]
    columns: Floats
    left_out: tuple[tuple[str, str], ...]
    unheld: tuple[str, ...]
    too_much: tuple[str, ...]


def _beside(base: Floats, at: int, recorded: Sequence[_Recorded], leave_out: Sequence[str]) -> _Beside:
    """Choose; base : (n, 1 or 2) the columns without anything beside; at : which of them is the difference."""
    names: list[str] = []
    labels: list[str] = []
    left_out: list[tuple[str, str]] = []
    unheld: list[str] = []
    too_much: list[str] = []
    fair: list[tuple[str, Floats]] = []
    n, whole = len(base), base
    for name, column, words in recorded:
        if not column.any():  # within pairs: the same for both
            continue
        tried = np.column_stack([whole, column - (column.mean(axis=0) if at else 0.0)])
        moves = name in DRIVEN and _moves(whole, at, column)
        left = n - tried.shape[1]
        if name in leave_out:
            left_out.append((name, "not wanted"))
        elif left >= 0 and np.linalg.matrix_rank(tried / np.linalg.norm(tried, axis=0)) < tried.shape[1]:
            left_out.append((name, "it says the same as the setup, or as what went in before"))
            if moves:
                (too_much if name == "order" else unheld).append(name)
        elif names and _told_already(whole, column) > ALIKE:
            left_out.append((name, "it goes up and down with what went in before"))
        elif left < (1 if name in DRIVEN else LEAST_DF):
            thing = "runs" if at else "pairs"
            even = name in DRIVEN and not moves
            why = ", and it does neither setup a favour" if even else ""
            left_out.append((name, f"{n} {thing} are too few to carry it as well{why}"))
            too_much += [name] if moves else []
            fair += [(name, column)] if even else []
        else:
            names += [name] * column.shape[1]
            labels += words
            whole = tried
    too_much += [name for name, column in fair if _moves(whole, at, column)]  # no longer, with the others in
    columns = whole[:, base.shape[1] :]
    return _Beside(tuple(names), tuple(labels), columns, tuple(left_out), tuple(unheld), tuple(too_much))


def _moves(whole: Floats, at: int, column: Floats) -> bool:
    """Whether the estimated difference moves with this column where it is left out."""
    stays = np.linalg.pinv(whole)[at] @ column
    return bool((np.abs(stays) > 1e-9 * np.abs(column).max()).any())


def _refuse(beside: _Beside, n: int, first: str, second: str) -> None:
    if beside.too_much:
        much = beside.too_much[0]
        held = f" with {' and '.join(dict.fromkeys(beside.names))} beside" if beside.names else ""
        raise TrialError(
            f"{n} runs{held} cannot carry {much} as well, and it would move the difference of {first} and "
            f"{second}: no interval would hold; drive more runs in turns (A B B A), or leave it out (--without {much}) "
            "if you are sure that it changed nothing"
        )


def _confused(beside: _Beside, is_second: NDArray[np.bool_], first: str, second: str) -> list[str]:
    for name, column in zip(beside.names, beside.columns.T, strict=True):
        if name == "order" and _explained(is_second, column[:, np.newaxis]) > CONFUSED:
            return [
                f"most runs of {first} and {second} were driven in one go, one setup after the other: drift and "
                "difference can hardly be told apart, and the interval is wide for that; take turns next time (A B B A)"
            ]
    return []


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


def _recorded(runs: Sequence[Run]) -> list[_Recorded]:
    """What was written down for every run and differs among them, as columns, the more certain first."""
    found: list[_Recorded] = []
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
