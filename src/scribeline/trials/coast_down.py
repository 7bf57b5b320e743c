"""Rolling and air drag from letting the vehicle roll out in neutral, both ways along the same road.

dv/dt = -(F0 + F2 (v + d w)²)/m - d g s, with d = +1 one way and -1 the other, w the wind and s the slope. Multiplied
out and integrated, every unknown stands alone in front of an integral of the speed, so the fit is a straight one, and
nothing is differentiated. Driven one way only, wind and slope cannot be told from rolling and drag, and it says so.

The limits of wind, slope and temperature are those of published practice (SAE J1263 and 40 CFR 86.529-98, read in
secondary summaries); outside them the result is given with a remark.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scribeline.errors import TrialError
from scribeline.models.road_load import G_M_S2, RoadLoad
from scribeline.trials.least_squares import fit

Floats = NDArray[np.float64]

LOWEST_C, HIGHEST_C = 5.0, 35.0
MOST_WIND_M_S = 16.0 / 3.6
MOST_GRADE = 0.005
CUSTOMARY_RUNS_EACH_WAY = 5
LEAST_RANGE = 1.5
"""The highest speed over the lowest of all runs: below it rolling and drag cannot be told apart (judgement)."""


@dataclass(frozen=True)
class Coasting:
    """One roll-out: moments [s], speeds [m/s], and which way (+1 or -1)."""

    time_s: Floats
    speed_m_s: Floats
    way: int = 1


@dataclass(frozen=True)
class CoastDown:
    """What holds the vehicle back, each with its +/- (about 95 %), and what should be known beside it.

    f0_n, f2_n_s2_m2 : rolling and drag; wind_m_s, grade : along the way +1; nan where driven one way only
    sd_m_s : scatter of the speeds about the fit
    """

    f0_n: float
    f0_pm_n: float
    f2_n_s2_m2: float
    f2_pm_n_s2_m2: float
    wind_m_s: float
    grade: float
    sd_m_s: float
    mass_kg: float
    remarks: tuple[str, ...]

    @property
    def load(self) -> RoadLoad:
        return RoadLoad(self.f0_n, 0.0, self.f2_n_s2_m2, self.mass_kg)

    def rolling_resistance(self) -> float:
        """F0 as a share of the weight."""
        return self.f0_n / (self.mass_kg * G_M_S2)

    def drag_area_m2(self, density_kg_m3: float) -> float:
        """Drag coefficient times frontal area in air of this density."""
        return 2.0 * self.f2_n_s2_m2 / density_kg_m3


def coast_down(runs: Sequence[Coasting], mass_kg: float, rotating: float = 0.03, t_c: float | None = None) -> CoastDown:
    """Fit rolling and drag to roll-outs.

    mass_kg : with rider; rotating : wheels, as a share of it. t_c : air temperature, for the remark.
    Raises TrialError for fewer than eight readings a run, or a range of speeds that is too small.
    """
    for run in runs:
        if run.time_s.size < 8 or run.way not in (-1, 1):
            raise TrialError(
                f"a roll-out with {run.time_s.size} readings\n    accepted: at least 8, driven one way or the other\n"
                "    what to do: record more often"
            )
    if not runs or max(r.speed_m_s.max() for r in runs) < LEAST_RANGE * min(r.speed_m_s.min() for r in runs):
        raise TrialError(
            f"{len(runs)} roll-outs over a small range of speeds\n    accepted: from one and a half times the lowest "
            "speed at least\n    what to do: begin faster, and let it roll until it is slow"
        )
    both = {run.way for run in runs} == {-1, 1}
    columns, values = [], []
    for number, run in enumerate(runs):
        t = run.time_s - run.time_s[0]
        v = _calm(t, run.speed_m_s)
        own = np.zeros((t.size, len(runs)))
        own[:, number] = 1.0
        v2 = _integral(v**2, t)
        x = _integral(v, t)
        slopes = [-t, -v2, -run.way * x, -run.way * t] if both else [-t, -v2]
        columns.append(np.column_stack([own, *slopes]))
        values.append(run.speed_m_s)
    found = fit(np.vstack(columns), np.concatenate(values))
    inertia = mass_kg * (1.0 + rotating)
    terms, half = found.coefficients[len(runs) :], found.half_width()[len(runs) :]
    f2 = inertia * terms[1]
    wind = terms[2] / (2.0 * terms[1]) if both else float("nan")
    # A slope acts on the mass, not on what turns.
    grade = terms[3] * (1.0 + rotating) / G_M_S2 if both else float("nan")
    f0 = inertia * terms[0] - (f2 * wind**2 if both else 0.0)
    return CoastDown(
        float(f0), float(inertia * half[0]), float(f2), float(inertia * half[1]), float(wind), float(grade),
        found.sd, mass_kg, tuple(_remarks(runs, both, wind, grade, t_c, f0, f2)),
    )  # fmt: skip


def _integral(values: Floats, t: Floats) -> Floats:
    """Running integral by the trapezium rule, 0 at the first moment."""
    return np.concatenate([[0.0], np.cumsum(0.5 * (values[1:] + values[:-1]) * np.diff(t))])


def _calm(t: Floats, v: Floats) -> Floats:
    """A smooth quartic through a whole roll-out, for the integrals only: scatter would make those of v² too large."""
    middle = 0.5 * t[-1]
    return np.asarray(np.polynomial.Polynomial.fit(t - middle, v, 4)(t - middle))


def _remarks(
    runs: Sequence[Coasting], both: bool, wind: float, grade: float, t_c: float | None, f0: float, f2: float
) -> list[str]:
    said = []
    if not both:
        said.append("driven one way only: wind and slope are counted as rolling and drag; drive the other way too")
    else:
        each = min(sum(run.way == way for run in runs) for way in (-1, 1))
        if each < CUSTOMARY_RUNS_EACH_WAY:
            said.append(f"{each} each way; published practice is {CUSTOMARY_RUNS_EACH_WAY}")
        if abs(wind) > MOST_WIND_M_S:
            said.append(f"wind of {3.6 * abs(wind):.0f} km/h along the road; published practice stops at 16")
        if abs(grade) > MOST_GRADE:
            said.append(f"a slope of {100 * abs(grade):.1f} %; published practice stops at 0.5 %")
    if t_c is not None and not LOWEST_C <= t_c <= HIGHEST_C:
        said.append(f"air of {t_c:g} °C; published practice is {LOWEST_C:g} to {HIGHEST_C:g} °C")
    if f0 <= 0.0 or f2 <= 0.0:
        said.append("rolling or drag came out below 0, which no vehicle has: the runs do not agree")
    return said
