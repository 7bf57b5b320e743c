"""Rolling and air drag from letting the vehicle roll out in neutral, both ways along the same road.

dv/dt = -(F0 + F2 (v + d w)²)/m - d g s, with d = +1 one way and -1 the other, w the wind and s the slope. Multiplied
out and integrated, every unknown stands alone in front of an integral of the speed, so the fit is a straight one, and
nothing is differentiated. Driven one way only, wind and slope cannot be told from rolling and drag, and it says so.

Its +/- takes the scatter of every reading for its own. Gusts, a rider who sits up, a warm gearbox make whole runs
differ: so the same is asked of the runs themselves, left out one by one (tukey-1958), and the wider of both counts.

The limits of wind, slope and temperature are those of published practice (SAE J1263 and 40 CFR 86.529-98, read in
secondary summaries); outside them the result is given with a remark.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from scribeline.errors import TrialError
from scribeline.models.road_load import G_M_S2, RoadLoad
from scribeline.trials.least_squares import Fit, fit

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
    f0_pm_n, f2_pm_n_s2_m2 : as far as readings scatter about the fit; ..._across_pm_... : as far as the runs differ,
        nan with fewer than two each way, or three one way
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
    f0_across_pm_n: float = float("nan")
    f2_across_pm_n_s2_m2: float = float("nan")

    @property
    def f0_wider_pm_n(self) -> float:
        """The wider of both +/- of F0."""
        return float(np.nanmax([self.f0_pm_n, self.f0_across_pm_n]))

    @property
    def f2_wider_pm_n_s2_m2(self) -> float:
        """The wider of both +/- of F2."""
        return float(np.nanmax([self.f2_pm_n_s2_m2, self.f2_across_pm_n_s2_m2]))

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
    slopes = [_slopes(run, both) for run in runs]
    found = _fitted(runs, slopes)
    inertia = mass_kg * (1.0 + rotating)
    terms, half = found.coefficients[len(runs) :], found.half_width()[len(runs) :]
    wind = terms[2] / (2.0 * terms[1]) if both else float("nan")
    # A slope acts on the mass, not on what turns.
    grade = terms[3] * (1.0 + rotating) / G_M_S2 if both else float("nan")
    f0, f2 = inertia * _rolling_and_drag(terms)
    across = inertia * _across(runs, slopes)
    return CoastDown(
        float(f0), float(inertia * half[0]), float(f2), float(inertia * half[1]), float(wind), float(grade),
        found.sd, mass_kg, tuple(_remarks(runs, both, wind, grade, t_c, f0, f2)), float(across[0]), float(across[1]),
    )  # fmt: skip


def _slopes(run: Coasting, both: bool) -> Floats:
    """What stands beside each unknown of a run: rolling, drag, and with both ways wind and slope."""
    t = run.time_s - run.time_s[0]
    v = _calm(t, run.speed_m_s)
    v2, x = _integral(v**2, t), _integral(v, t)
    return np.column_stack([-t, -v2, -run.way * x, -run.way * t] if both else [-t, -v2])


def _fitted(runs: Sequence[Coasting], slopes: Sequence[Floats]) -> Fit:
    """All runs together: a speed at the beginning of each, then what they share."""
    sizes = [run.time_s.size for run in runs]
    own = np.repeat(np.eye(len(runs)), sizes, axis=0)
    return fit(np.hstack([own, np.vstack(slopes)]), np.concatenate([run.speed_m_s for run in runs]))


def _rolling_and_drag(terms: Floats) -> Floats:
    """F0 and F2 over the inertia; what wind adds at every speed is no rolling."""
    wind = terms[2] / (2.0 * terms[1]) if terms.size == 4 else 0.0
    return np.array([terms[0] - terms[1] * wind**2, terms[1]])


def _across(runs: Sequence[Coasting], slopes: Sequence[Floats]) -> Floats:
    """+/- of F0 and F2 over the inertia from leaving out one run after the other. Source: tukey-1958."""
    ways = [run.way for run in runs]
    count = len(runs)
    if min(ways.count(way) for way in set(ways)) < 2 or count < 3:
        return np.full(2, np.nan)
    without = np.array([
        _rolling_and_drag(
            _fitted([*runs[:i], *runs[i + 1 :]], [*slopes[:i], *slopes[i + 1 :]]).coefficients[count - 1 :]
        )
        for i in range(count)
    ])  # fmt: skip
    se = np.sqrt((count - 1) / count * ((without - without.mean(axis=0)) ** 2).sum(axis=0))
    return np.asarray(special.stdtrit(count - 1, 0.975) * se)


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
