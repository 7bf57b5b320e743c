"""The smallest relaxation of limits that would let a design through, where none keeps them all.

By geometry every limit is nearly straight in the amounts, and adds up over the choices. So the smallest relaxation is a
mixed-integer program: whole steps of each amount, one choice of each option, and for each limit how far it gives (s):

    make small   Σ s / bound  +  a trace of metal
    so that      c(d0) + Σ gradient · (x − x0) + Σ effect of each choice − s <= 0        for each limit
                 s >= 0, and 0 for every limit that may not give

It is solved exactly (scipy's HiGHS), the design it gives is worked out again, and the limits are made straight anew
there until the same design comes back. Then the same without that set of choices, for as long as another one promises
as little. What is returned was worked out and not straightened. `whole` turns every limit
into a share of its own bound, so that millimetres and degrees can be added.
"""

from collections.abc import Collection, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from math import isfinite

import numpy as np

from scribeline.errors import GeometryError, PlanError, RecordError, WorkingError
from scribeline.geometry.work_out import work_out
from scribeline.geometry.working import FloatArray
from scribeline.plan.search import Amount, Design, Option
from scribeline.plan.search_space import AS_IT_IS, Space, beyond, metal_mm

MOST_CHOICES, MOST_TURNS = 16, 4
"""Sets of choices that are looked at, and how often the limits are made straight anew for each. Judgement."""
_CROOKED = 0.1
"""How wrong a straightened relaxation may be, as a share of itself: sets of choices that promise less than this more
than the best that was worked out are looked at, too. Judgement."""
_METAL = 1e-6
"""Weight of a millimetre of metal beside a relaxation: it only decides between two that are alike."""
_SAFE = 1e-7
"""By how much of a share a limit is kept rather than touched, so that rounding passes none."""


@dataclass(frozen=True)
class Relaxed:
    """A design, and by how much it passes each limit that it does not keep, in the limit's unit."""

    design: Design
    passed: Mapping[str, float]


Known = dict[str, dict[str, float] | None]
"""What `over` found of designs already looked at, for whoever asks several times."""


def over(space: Space, design: Design, known: Known | None = None) -> dict[str, float] | None:
    """By how much a design passes each limit, minus where it keeps it; None where no engine comes of it."""
    key, known = repr(space.steps(design)), {} if known is None else known
    if key not in known:
        known[key] = None
        with suppress(PlanError, RecordError, GeometryError, WorkingError):
            out = work_out(space.built(design), draws=0)
            allowed = {name: 0.0 if space.mend else max(by, 0.0) for name, by in space.before.items()}
            known[key] = {name: by - allowed[name] for name, by in beyond(out, space.widths, space.table).items()}
    return known[key]


def smallest_relaxation(
    space: Space,
    whole: Mapping[str, float],
    may_give: Collection[str] | None = None,
    known: Known | None = None,
) -> Relaxed | None:
    """The least that limits would have to give, each as a share of `whole`; None where nothing would do.

    may_give : limits that may; all where left out. known : see `Known`. A design that keeps every limit comes back with
    nothing passed.
    """
    known = {} if known is None else known
    program = _Program(space, whole, may_give, known)
    at: dict[str, float | str] = {
        one.name: one.options[0] if isinstance(one, Option) else 0.0 for one in space.variables
    }
    best: Relaxed | None = None
    least = (np.inf, np.inf)
    options = [one.name for one in space.variables if isinstance(one, Option)]
    done: list[dict[str, str]] = []
    for _ in range(MOST_CHOICES):
        solved = program.solved(at, without=done)
        if solved is None or solved.share > least[0] * (1.0 + _CROOKED) + _CROOKED / 10.0:
            break
        choices = {name: str(solved.design[name]) for name in options}
        seen: list[Design] = []
        while solved is not None and solved.design not in seen and len(seen) < MOST_TURNS:
            seen.append(solved.design)
            now = over(space, solved.design, known)
            passed = {name: by for name, by in (now or {}).items() if by > 1e-9}
            if now is None:
                break
            metal = metal_mm(space.steps(solved.design), space.record)
            cost = round(sum(by / whole[name] for name, by in passed.items()), 9), metal
            if cost < least and (may_give is None or set(passed) <= set(may_give)):
                best, least, at = Relaxed(solved.design, passed), cost, dict(solved.design)
            solved = program.solved(solved.design, choices=choices)
        done.append(choices)
        if not options:
            break
    return best


@dataclass(frozen=True)
class _Column:
    """One whole number of the program: of a variable, worth `step` each (an amount) or standing for a choice."""

    variable: str
    step: float
    most: int
    least: int
    choice: str
    effect: FloatArray


@dataclass(frozen=True)
class _Solved:
    """A design and the relaxation that the straightened limits say it asks for."""

    design: dict[str, float | str]
    share: float


@dataclass(frozen=True)
class _Program:
    """The mixed-integer program of one space, made straight wherever it is asked for."""

    space: Space
    whole: Mapping[str, float]
    may_give: Collection[str] | None
    known: Known

    def solved(
        self, at: Design, *, without: Sequence[Mapping[str, str]] = (), choices: Mapping[str, str] | None = None
    ) -> _Solved | None:
        """Its best design, straight at `at`; None where it has none.

        without : whole sets of choices that were looked at already; choices : those that are to stay
        """
        from scipy.optimize import Bounds, LinearConstraint, milp

        space = self.space
        here = over(space, at, self.known)
        if here is None:
            return None
        names = [name for name, by in here.items() if isfinite(by)]
        scale = np.array([self.whole[name] for name in names])
        base = np.array([here[name] for name in names]) / scale
        columns: list[_Column] = []
        for one in space.variables:
            if isinstance(one, Option):
                allowed = one.options if choices is None else (choices[one.name],)
                columns += self._of_option(one, allowed, at, names, scale, base)
            else:
                columns += self._of_amount(one, at, names, scale, base)
        for column in columns:  # what an amount does already at `at` is in `base`
            if not column.choice:
                base = base - column.effect * max(float(at[column.variable]) / column.step, 0.0)
        n, m = len(columns), len(names)
        # whole numbers of the columns, then whether each is used at all, then by how much each limit gives
        effect = np.array([column.effect for column in columns]).reshape(n, m).T
        rows = [LinearConstraint(np.hstack([effect, np.zeros((m, n)), -np.eye(m)]), -np.inf, -base - _SAFE)]
        most, least = (np.diag([float(getattr(one, key)) for one in columns]) for key in ("most", "least"))
        rows.append(LinearConstraint(np.hstack([np.eye(n), -most, np.zeros((n, m))]), -np.inf, 0.0))
        rows.append(LinearConstraint(np.hstack([np.eye(n), -least, np.zeros((n, m))]), 0.0, np.inf))
        for one in space.variables:  # one choice of each option, one way of each amount
            of = [float(column.variable == one.name) for column in columns]
            rows.append(
                LinearConstraint(np.r_[np.zeros(n), of, np.zeros(m)][None], float(isinstance(one, Option)), 1.0)
            )
        for taken in without:
            of = [float(bool(column.choice) and taken[column.variable] == column.choice) for column in columns]
            rows.append(LinearConstraint(np.r_[np.zeros(n), of, np.zeros(m)][None], -np.inf, len(taken) - 1.0))
        metal = np.array([0.0 if column.choice else _metal(space, column) for column in columns])
        gives = [np.inf if self.may_give is None or name in self.may_give else 0.0 for name in names]
        found = milp(
            np.r_[_METAL * metal, 1e-9 * np.ones(n), np.ones(m)],
            constraints=rows,
            bounds=Bounds(0.0, np.r_[[float(column.most) for column in columns], np.ones(n), gives]),
            integrality=np.r_[np.ones(2 * n), np.zeros(m)],
        )
        if found.x is None:
            return None
        design: dict[str, float | str] = {
            one.name: AS_IT_IS if isinstance(one, Option) else 0.0 for one in space.variables
        }
        for column, count in zip(columns, np.round(found.x[:n]), strict=True):
            if count:
                design[column.variable] = column.choice or round(column.step * float(count), 9)
        return _Solved(design, float(found.x[2 * n :].sum()))

    def _of_option(
        self, one: Option, allowed: Sequence[str], at: Design, names: list[str], scale: FloatArray, base: FloatArray
    ) -> list[_Column]:
        columns = []
        for choice in allowed:
            then = over(self.space, {**at, one.name: choice}, self.known)
            if then is not None:  # else no engine comes of it
                effect = np.array([then[name] for name in names]) / scale - base
                columns.append(_Column(one.name, 1.0, 1, 1, choice, effect))
        return columns

    def _of_amount(
        self, one: Amount, at: Design, names: list[str], scale: FloatArray, base: FloatArray
    ) -> list[_Column]:
        """What a step more of an amount does, one column for each way it goes; none where it touches no limit."""
        now = float(at[one.name])
        columns = []
        for way, end in ((1.0, one.most), (-1.0, -one.low)):
            if end < max(one.step, one.least):
                continue
            size = way * one.step
            by = -size if way * now >= end - 1e-9 else size  # a step back where it is done as far as it goes
            then = over(self.space, {**at, one.name: round(now + by, 9)}, self.known)
            if then is None:
                continue
            slope = (np.array([then[name] for name in names]) / scale - base) * (size / by)
            if np.abs(slope).max(initial=0.0) > 1e-12:
                most, least = int(round(end / one.step, 6)), max(1, int(np.ceil(one.least / one.step - 1e-9)))
                columns.append(_Column(one.name, size, most, least, "", slope))
        return columns


def _metal(space: Space, column: _Column) -> float:
    amount = space.possible[column.variable].operation.amount
    return abs(column.step) if amount is not None and amount.metal and amount.unit == "mm" else 0.0
