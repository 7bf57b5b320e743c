"""Searching among many choices at once: several aims, hard limits, a budget, and nothing lost on the way.

A population of designs is improved by crossing and mutating its best (NSGA-II of deb-2002, by pymoo, over continuous
amounts and choices together). What is searched for is not known here: the caller says how a design is judged.

- **Amounts** can be nothing at all: a third of the first designs leaves each one out, and mutation comes back to it.
  An amount is a whole number of steps, as fine as a hand can work, so that no two designs differ by less.
- **Cheap first.** Whoever judges a design looks at limits first, before it costs anything. What they refuse is never
  evaluated, and costs nothing of the budget.
- **In any order.** Designs may be judged side by side, and told as they are done. What is told is taken in in the order
  in which it was asked for, so that the search goes the same way however many judge.
- **Nothing is lost.** Every evaluated design goes into a journal, written to a second file and renamed, so that a crash
  leaves the old or the new one. The search depends on its seed and on what was evaluated, and on nothing else, so a
  search that goes on from its journal walks through what is known without evaluating it again and ends where an
  uninterrupted one ends.
"""

import json
import os
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from scribeline.errors import SearchError
from scribeline.geometry.working import FloatArray

Design = Mapping[str, float | str]
POPULATION = 48
MOST_IDLE_GENERATIONS = 25
"""Generations in a row that bring nothing new before the search ends: everything within reach was tried."""
_REFUSED = 1e9


@dataclass(frozen=True)
class Amount:
    """An amount of 0 (not done), or from `low` to `most` in steps; low below 0 for what goes both ways.

    least : the smallest amount that is worth doing, either way
    """

    name: str
    most: float
    step: float
    least: float = 0.0
    low: float = 0.0

    @property
    def raw_bounds(self) -> tuple[float, float]:
        """The range of the raw number: a third of it stands for nothing."""
        rest = 0.5 * (self.most - self.low)
        return (self.low - rest, self.most) if self.low >= 0.0 else (self.low - 0.5 * rest, self.most + 0.5 * rest)

    def of(self, raw: float) -> float:
        """The amount that a raw number of the search stands for.

        >>> [Amount("deck", 1.0, 0.05, 0.1).of(raw) for raw in (-0.3, 0.02, 0.333)]
        [0.0, 0.1, 0.35]
        """
        if self.low < 0.0:
            rest = 0.25 * (self.most - self.low)
            raw = 0.0 if abs(raw) <= rest else raw - rest if raw > 0.0 else raw + rest
        if raw == 0.0 or (raw < 0.0 <= self.low):
            return 0.0
        size = max(min(abs(raw), self.most if raw > 0.0 else -self.low), self.least)
        return round((1.0 if raw > 0.0 else -1.0) * round(size / self.step) * self.step, 9) + 0.0  # never minus 0

    def raw_of(self, amount: float) -> float:
        """A raw number that stands for an amount."""
        if amount == 0.0:
            return 0.0
        rest = 0.25 * (self.most - self.low) if self.low < 0.0 else 0.0
        return amount + (rest if amount > 0.0 else -rest)


@dataclass(frozen=True)
class Option:
    """One of several, by name; the first is "as it is"."""

    name: str
    options: tuple[str, ...]


Variable = Amount | Option


@dataclass(frozen=True)
class Tried:
    """A design that was evaluated: aims to make small, and by how much each limit is passed (0 or less: kept)."""

    design: Design
    aims: tuple[float, ...]
    passed: tuple[float, ...]
    data: Any = None

    @property
    def allowed(self) -> bool:
        return max(self.passed, default=0.0) <= 0.0


@dataclass(frozen=True)
class Refused:
    """A design that was not evaluated, and by how much it passes each limit that it does not keep, by name."""

    design: Design
    passed: Mapping[str, float]

    @property
    def beyond(self) -> float:
        """By how much limits are passed, all together."""
        return sum(self.passed.values())


Verdict = Tried | Refused


@dataclass
class Found:
    """Everything a search evaluated, and every design that limits refused before that, both in order."""

    tried: list[Tried] = field(default_factory=list)
    refused: list[Refused] = field(default_factory=list)
    generations: int = 0
    finished: bool = False

    def front(self) -> list[Tried]:
        """Allowed designs that none other beats in every aim, in the order of the first aim."""
        allowed = [one for one in self.tried if one.allowed]
        if not allowed:
            return []
        aims = np.array([one.aims for one in allowed])
        return sorted((allowed[i] for i in nondominated(aims)), key=lambda one: one.aims)


def nondominated(aims: FloatArray) -> list[int]:
    """Rows that no other row beats (no worse in every column, better in one); of equal rows the first.

    >>> nondominated(np.array([[1.0, 2.0], [2.0, 1.0], [2.0, 2.0], [1.0, 2.0]]))
    [0, 1]
    """
    keep = []
    for i, row in enumerate(aims):
        better = (aims <= row).all(axis=1) & (aims < row).any(axis=1)
        same_before = (aims[:i] == row).all(axis=1)
        if not better.any() and not same_before.any():
            keep.append(i)
    return keep


Judge = Callable[[Sequence[Design], int], Iterator[tuple[int, Verdict]]]
"""Judges designs and tells, with its place in the list, a Verdict for each, in any order and as soon as there is one.

Of those that limits allow no more than the number given are evaluated, the first in the list; of the others there is no
verdict."""


def search(
    variables: Sequence[Variable],
    judge: Judge,
    *,
    aims: int,
    limits: int = 0,
    first: Sequence[Design] = (),
    evaluations: int = 2000,
    population: int = POPULATION,
    seed: int = 1,
    journal: Path | None = None,
    purpose: str = "",
    progress: Callable[[Found, int], bool | None] | None = None,
) -> Found:
    """Search until `evaluations` designs were evaluated, or nothing new comes up.

    aims, limits : how many a Tried carries; first : designs to begin with, before chance takes over
    journal : where what was evaluated is kept; a search with the same journal goes on from it
    purpose : what the journal is for; a journal of another purpose is refused
    progress : called after each generation and from time to time within; returning True stops the search
    KeyboardInterrupt ends the search as well; `finished` of the result is then False, and the journal is written.
    """
    names = [one.name for one in variables]
    if len(set(names)) != len(names) or not variables:
        raise SearchError("a search needs variables, each with a name of its own")
    found = Found()
    known = _read(journal, purpose) if journal else {}
    keeping = _Journal(journal, purpose, dict(known))
    algorithm = _algorithm(variables, aims, limits, first, population, seed)
    seen: dict[str, Verdict | None] = {}
    idle = 0
    try:
        while len(found.tried) < evaluations and idle < MOST_IDLE_GENERATIONS:
            asked = algorithm.ask()
            designs = [_decoded(variables, one.X) for one in asked]
            before = len(found.tried)
            stop = _judge(designs, judge, known, keeping, seen, found, evaluations, progress)
            idle = 0 if len(found.tried) > before else idle + 1
            for one, design in zip(asked, designs, strict=True):
                _tell(one, seen[_key(design)], aims, limits)
            found.generations += 1
            if stop or (progress is not None and progress(found, evaluations)):
                keeping.write()
                return found
            algorithm.tell(infills=asked)
        found.finished = True
    except KeyboardInterrupt:
        pass
    keeping.write()
    return found


def _judge(
    designs: Sequence[Design],
    judge: Judge,
    known: Mapping[str, Tried],
    keeping: "_Journal",
    seen: dict[str, Verdict | None],
    found: Found,
    evaluations: int,
    progress: Callable[[Found, int], bool | None] | None,
) -> bool:
    """Have judged what is new of a generation, no more than the budget allows; True where progress asks to stop."""
    new = {key: design for design in designs if (key := _key(design)) not in seen}
    seen.update(dict.fromkeys(new))
    keys, unknown = list(new), [key for key in new if key not in known]
    here: dict[str, Verdict] = {key: known[key] for key in new if key in known}
    place = 0

    def take_in() -> bool:
        """Take in the verdict whose turn it is; whether to stop."""
        nonlocal place
        key, place = keys[place], place + 1
        verdict = here.pop(key, None)
        if isinstance(verdict, Refused):
            seen[key] = verdict
            found.refused.append(verdict)
        elif verdict is not None and len(found.tried) < evaluations:
            seen[key] = verdict
            found.tried.append(verdict)
            if key not in known:
                keeping.add(key, verdict)
                return progress is not None and bool(progress(found, evaluations))
        return False

    try:
        for number, verdict in judge([new[key] for key in unknown], evaluations - len(found.tried)):
            here[unknown[number]] = verdict
            while place < len(keys) and keys[place] in here:
                if take_in():
                    return True
        while place < len(keys):  # of some there is no verdict: the budget is used up
            if take_in():
                return True
    finally:
        for key, verdict in here.items():  # whoever is stopped keeps also what was not its turn yet
            if isinstance(verdict, Tried) and key not in known:
                keeping.add(key, verdict)
    return False


def _tell(individual: Any, verdict: Verdict | None, aims: int, limits: int) -> None:
    """What the algorithm is told: aims and limits, or how far a refused design is from being allowed."""
    if isinstance(verdict, Tried):
        beyond, values, passed = 0.0, list(verdict.aims), list(verdict.passed)
    else:  # what is refused outright lies behind everything that was evaluated
        beyond = 1e3 + (verdict.beyond if verdict is not None else _REFUSED)
        values, passed = [_REFUSED] * aims, [0.0] * limits
    individual.set("F", np.array(values))
    individual.set("G", np.array([*passed, beyond]))
    individual.set("H", np.array([]))
    individual.evaluated = {"F", "G", "H"}


def _decoded(variables: Sequence[Variable], raw: Mapping[str, Any]) -> dict[str, float | str]:
    return {
        one.name: one.of(float(raw[one.name])) if isinstance(one, Amount) else str(raw[one.name]) for one in variables
    }


def _key(design: Design) -> str:
    return json.dumps(design, sort_keys=True)


def _algorithm(
    variables: Sequence[Variable], aims: int, limits: int, first: Sequence[Design], population: int, seed: int
) -> Any:
    """NSGA-II over mixed variables, with the designs to begin with in its first population."""
    from pymoo.algorithms.moo.nsga2 import NSGA2, RankAndCrowdingSurvival, binary_tournament
    from pymoo.core.mixed import MixedVariableDuplicateElimination, MixedVariableMating, MixedVariableSampling
    from pymoo.core.population import Population
    from pymoo.core.problem import Problem
    from pymoo.core.variable import Choice, Real
    from pymoo.operators.selection.tournament import TournamentSelection

    raw: dict[str, Any] = {}
    for one in variables:
        if isinstance(one, Amount):
            raw[one.name] = Real(bounds=one.raw_bounds)
        else:
            raw[one.name] = Choice(options=list(one.options))
    problem = Problem(vars=raw, n_obj=aims, n_ieq_constr=limits + 1)
    sampled = MixedVariableSampling()(problem, population, random_state=np.random.default_rng(seed))
    starts = [
        {
            one.name: one.raw_of(float(start.get(one.name, 0.0)))
            if isinstance(one, Amount)
            else start.get(one.name, one.options[0])
            for one in variables
        }
        for start in first
    ][:population]
    chosen = starts + [one.X for one in sampled][: max(population - len(starts), 0)]
    algorithm = NSGA2(
        pop_size=population,
        sampling=Population.new("X", np.array(chosen, dtype=object)),
        mating=MixedVariableMating(
            selection=TournamentSelection(func_comp=binary_tournament),
            eliminate_duplicates=MixedVariableDuplicateElimination(),
        ),
        eliminate_duplicates=MixedVariableDuplicateElimination(),
        survival=RankAndCrowdingSurvival(),
    )
    algorithm.setup(problem, termination=("n_gen", 10**9), seed=seed)
    return algorithm


class _Journal:
    """What was evaluated, on disk: written whole to a second file that then takes the name of the first."""

    def __init__(self, path: Path | None, purpose: str, known: dict[str, Tried], every_s: float = 2.0) -> None:
        self.path, self.purpose, self.known, self.every_s = path, purpose, known, every_s
        self.unwritten, self.written_at = 0, time.monotonic()

    def add(self, key: str, tried: Tried) -> None:
        self.known[key] = tried
        self.unwritten += 1
        if time.monotonic() - self.written_at >= self.every_s:
            self.write()

    def write(self) -> None:
        if self.path is None or not self.unwritten:
            return
        document = {
            "scribeline_search": 1,
            "purpose": self.purpose,
            "tried": [[dict(t.design), list(t.aims), list(t.passed), t.data] for t in self.known.values()],
        }
        unfinished = self.path.parent / f".{self.path.name}.{os.getpid()}.part"
        try:
            with unfinished.open("w", encoding="utf-8") as file:
                json.dump(document, file)
                file.flush()
                os.fsync(file.fileno())
            unfinished.replace(self.path)
        except OSError as error:
            with suppress(OSError):
                unfinished.unlink()
            raise SearchError(
                f"{self.path}: {error.strerror or error}\n    accepted: a file in a folder you may write to\n"
                "    what to do: choose another name for the search's journal"
            ) from None
        self.unwritten, self.written_at = 0, time.monotonic()


def _read(path: Path, purpose: str) -> dict[str, Tried]:
    """What a journal knows; nothing where there is none yet."""
    try:
        document = json.loads(path.read_text(encoding="utf-8"))
        if document["scribeline_search"] != 1:
            raise ValueError("another version")
        tried = [Tried(design, tuple(aims), tuple(passed), data) for design, aims, passed, data in document["tried"]]
    except FileNotFoundError:
        return {}
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise SearchError(
            f"{path}: no journal of a search ({error})\n    accepted: a journal that scribeline wrote\n"
            "    what to do: choose another name, or remove the file to begin anew"
        ) from None
    if document["purpose"] != purpose:
        raise SearchError(
            f"{path}: the journal of another search\n    accepted: one of the same engine, goal, gaskets, tools and "
            "settings\n    what to do: choose another name, or remove the file to begin anew"
        )
    return {_key(one.design): one for one in tried}
