"""Power at the wheel and at the crank against engine speed, from how a known mass gathers speed.

P_wheel = ((1 + rotating) m a + load(v)) v; at the crank the driveline's share is added back, and J w dw/dt, which
the engine's own flywheel takes while it spins up: w = v times the whole reduction over the tyre's radius, so it counts
with the reduction squared. The band has two parts that are kept apart: what the readings scatter, and what
is not known of mass, rolling, air and efficiency. The second is the same for every run on the same vehicle, so it
stays out of a comparison of setups.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scribeline.errors import TrialError
from scribeline.models.road_load import RoadLoad
from scribeline.trials.motion import force_at
from scribeline.trials.smoothing import Smooth

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Driven:
    """The vehicle of a run.

    mass_kg : with rider; rotating : wheels and shafts, as a share of the mass; load : what holds it back
    rpm_per_m_s : crank speed for 1 m/s of road speed; efficiency : share of crank power that reaches the tyre
    engine_inertia_kg_m2 : of everything that turns with the crank; 0 leaves it out
    mass_pm_kg, load_pm_share, efficiency_pm, rotating_pm, engine_inertia_pm_kg_m2 : their +/- (about 95 %)
    """

    mass_kg: float
    load: RoadLoad
    rpm_per_m_s: float
    rotating: float = 0.03
    efficiency: float = 0.9
    engine_inertia_kg_m2: float = 0.0
    mass_pm_kg: float = 0.0
    load_pm_share: float = 0.0
    efficiency_pm: float = 0.0
    rotating_pm: float = 0.0
    engine_inertia_pm_kg_m2: float = 0.0


@dataclass(frozen=True)
class PowerRun:
    """Power through one pull: shapes (n,), +/- about 95 %.

    scatter_kw : of the readings; systematic_kw : of what is not known of the vehicle, common to all its runs
    """

    rpm: Floats
    wheel_kw: Floats
    crank_kw: Floats
    scatter_kw: Floats
    systematic_kw: Floats

    @property
    def known(self) -> NDArray[np.bool_]:
        """Where the power is known at least half as well as usual."""
        return np.asarray(self.scatter_kw <= 2.0 * np.median(self.scatter_kw) + 1e-12)

    @property
    def peak(self) -> tuple[float, float, float]:
        """Most crank power [kW], its +/- from scatter, and the engine speed there [rpm].

        Only where it is `known`: at the ends of a pull there are readings on one side only, and a peak there is more
        often a slip of the fit than of the engine.
        """
        i = int(np.argmax(np.where(self.known, self.crank_kw, -np.inf)))
        return float(self.crank_kw[i]), float(self.scatter_kw[i]), float(self.rpm[i])


def power_of(trace: Smooth, driven: Driven, rpm: ArrayLike | None = None) -> PowerRun:
    """Power along a smooth speed trace [m/s].

    rpm : measured engine speed at the trace's moments; from the gearing where None
    Raises TrialError for a mass, gearing or efficiency that none has.
    """
    if not (driven.mass_kg > 0.0 and driven.rpm_per_m_s > 0.0 and 0.0 < driven.efficiency <= 1.0):
        raise TrialError(
            f"mass {driven.mass_kg:g} kg, {driven.rpm_per_m_s:g} rpm per m/s, efficiency {driven.efficiency:g}\n"
            "    accepted: above 0, the efficiency at most 1\n    what to do: correct the engine record's drivetrain "
            "and vehicle"
        )
    v, a = trace.value, trace.slope
    load = driven.load.force_n(v)
    force = force_at(a, load, driven.mass_kg, driven.rotating)
    wheel_w = force * v
    rad_per_m = driven.rpm_per_m_s * 2.0 * np.pi / 60.0
    flywheel_w = driven.engine_inertia_kg_m2 * rad_per_m**2 * a * v
    crank_w = wheel_w / driven.efficiency + flywheel_w
    by_slope = ((1.0 + driven.rotating) * driven.mass_kg * v / driven.efficiency) * trace.slope_se
    by_speed = wheel_w / np.maximum(v, 0.1) / driven.efficiency * trace.value_se
    unknown_w = (
        (1.0 + driven.rotating) * driven.mass_pm_kg * a * v / driven.efficiency,
        driven.rotating_pm * driven.mass_kg * a * v / driven.efficiency,
        driven.engine_inertia_pm_kg_m2 * rad_per_m**2 * a * v,
        driven.load_pm_share * load * v / driven.efficiency,
        driven.efficiency_pm * wheel_w / driven.efficiency**2,
    )
    systematic = np.sqrt(sum(one**2 for one in unknown_w))
    at = v * driven.rpm_per_m_s if rpm is None else np.asarray(rpm, np.float64)
    return PowerRun(at, wheel_w / 1e3, crank_w / 1e3, 2e-3 * np.hypot(by_slope, by_speed), systematic / 1e3)


def above(run: PowerRun, rpm: float) -> PowerRun | None:
    """The part of a run above an engine speed; None where that is less than five readings.

    Below the speed at which a clutch has closed, the engine turns faster than gearing and road say.
    """
    kept = run.rpm >= rpm
    if int(kept.sum()) < 5:
        return None
    parts = (run.rpm, run.wheel_kw, run.crank_kw, run.scatter_kw, run.systematic_kw)
    return PowerRun(*(part[kept] for part in parts))


def on_grid(run: PowerRun, rpm: ArrayLike) -> Floats:
    """Crank power [kW] at these engine speeds; nan where the run was not, or where its power is not `known`."""
    at, power = run.rpm[run.known], run.crank_kw[run.known]
    order = np.argsort(at)
    return np.interp(np.asarray(rpm, np.float64), at[order], power[order], left=np.nan, right=np.nan)


def mean_in_band_kw(run: PowerRun, low_rpm: float, high_rpm: float) -> float | None:
    """Mean crank power between two engine speeds [kW]: the area under the curve over the width; None where not held."""
    grid = np.linspace(low_rpm, high_rpm, 101)
    values = on_grid(run, grid)
    return None if np.isnan(values).any() else float(np.trapezoid(values, grid) / (high_rpm - low_rpm))
