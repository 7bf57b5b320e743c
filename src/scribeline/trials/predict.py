"""What a power curve should do on the road: gate times and top speed through clutch, gears and what holds back.

Below the speed at which the clutch has closed the engine is held at its engaging speed and gives the torque it has
there; the slip heats the clutch. Above, crank and road turn together. Beyond the last speed of the curve nothing is
promised: there the engine is taken to give no power, and the result says that the curve ended.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scribeline.errors import TrialError
from scribeline.models.road_load import RoadLoad
from scribeline.trials.gates import Gate
from scribeline.trials.motion import Stretch, between_speeds, top_speed

Floats = NDArray[np.float64]
DRAWS = 200


@dataclass(frozen=True)
class Machine:
    """A power curve in a vehicle.

    rpm, power_w : (n,) ascending; gears : total reduction from crank to wheel of each gear; circumference_m : of the
    tyre; clutch_rpm : engine speed at which it begins to pull, 0 for none; efficiency : from crank to tyre
    mass_kg : with rider; rotating : wheels, as a share of it; engine_inertia_kg_m2 : of what turns with the crank
    shift_s : time without pull at each change of gear
    """

    rpm: Floats
    power_w: Floats
    gears: tuple[float, ...]
    circumference_m: float
    load: RoadLoad
    mass_kg: float
    rotating: float = 0.03
    efficiency: float = 0.9
    clutch_rpm: float = 0.0
    engine_inertia_kg_m2: float = 0.0
    shift_s: float = 0.3

    def __post_init__(self) -> None:
        rpm = np.asarray(self.rpm, np.float64)
        if rpm.size < 2 or (np.diff(rpm) <= 0).any() or not self.gears or min(self.gears) <= 0 or self.mass_kg <= 0:
            raise TrialError(
                f"a power curve of {rpm.size} speeds, {len(self.gears)} gears, {self.mass_kg:g} kg\n    accepted: at "
                "least two ascending speeds, one gear, a mass\n    what to do: complete the record's drivetrain and "
                "vehicle"
            )

    def engine_rpm(self, v_m_s: ArrayLike, gear: int) -> Floats:
        """Engine speed in a gear, held up by the slipping clutch where the road is slower."""
        turning = 60.0 * np.asarray(v_m_s, np.float64) / self.circumference_m * self.gears[gear]
        return np.asarray(np.maximum(turning, max(self.clutch_rpm, 1.0)))

    def pull_n(self, v_m_s: ArrayLike, gear: int) -> Floats:
        """Force at the tyre in a gear; 0 above the curve's last speed."""
        rpm = self.engine_rpm(v_m_s, gear)
        # Below the curve the torque of its first speed is kept: power falls with the engine speed.
        power = np.interp(rpm, self.rpm, self.power_w, right=0.0) * np.minimum(1.0, rpm / float(self.rpm[0]))
        torque = power / (rpm * 2.0 * np.pi / 60.0)
        return np.asarray(torque * self.gears[gear] * 2.0 * np.pi / self.circumference_m * self.efficiency)

    def inertia_kg(self, v_m_s: ArrayLike, gear: int) -> Floats:
        """Mass with what turns: the wheels always, the engine where the clutch is closed."""
        closed = self.engine_rpm(v_m_s, gear) > self.clutch_rpm
        rad_per_m = self.gears[gear] * 2.0 * np.pi / self.circumference_m
        engine = self.engine_inertia_kg_m2 * rad_per_m**2 * self.efficiency
        return np.asarray((1.0 + self.rotating) * self.mass_kg + engine * closed)

    def net_n(self, v_m_s: Floats, gear: int) -> Floats:
        """Pull less load [N]."""
        return self.pull_n(v_m_s, gear) - self.load.force_n(v_m_s)

    def best_gear(self, v_m_s: float) -> int:
        """The gear that pulls hardest at this speed."""
        return max(range(len(self.gears)), key=lambda gear: float(self.pull_n(v_m_s, gear)))

    def top_in(self, gear: int) -> float:
        """Road speed at the last engine speed of the curve [m/s]."""
        return float(self.rpm[-1]) / 60.0 * self.circumference_m / self.gears[gear]


@dataclass(frozen=True)
class Predicted:
    """A predicted time or speed with the ends of its band (about 95 %), and what it rests on."""

    value: float
    low: float
    high: float
    remarks: tuple[str, ...] = field(default=())


@dataclass(frozen=True)
class Unsure:
    """What is not known, as shares (about 95 %): of the curve's power, the load, the mass."""

    power: float = 0.1
    load: float = 0.2
    mass: float = 0.02


def run_through(machine: Machine, gate: Gate, gear: int | None = None) -> Stretch:
    """Time and distance from one speed to another, in one gear or in the best at each speed.

    Each change of gear costs `shift_s` of rolling. Raises TrialError where the speed is never reached.
    """
    low, high = sorted((gate.from_m_s, gate.to_m_s))
    edges, gears = _pieces(machine, low, high, gear)
    time, distance = 0.0, 0.0
    for start, end, chosen in zip(edges[:-1], edges[1:], gears, strict=True):
        done = between_speeds(partial(_acceleration, machine, chosen), 1.0, start, end)
        time, distance = time + done.time_s, distance + done.distance_m
    shifts = sum(a != b for a, b in pairwise(gears))
    return Stretch(time + shifts * machine.shift_s, distance + shifts * machine.shift_s * 0.5 * (low + high))


def _acceleration(machine: Machine, gear: int, v_m_s: Floats) -> Floats:
    return machine.net_n(v_m_s, gear) / machine.inertia_kg(v_m_s, gear)


def _pieces(machine: Machine, low: float, high: float, gear: int | None) -> tuple[list[float], list[int]]:
    """Ends of the pieces that are driven in one gear, each with nothing that jumps inside it."""
    jumps = [
        machine.clutch_rpm / 60.0 * machine.circumference_m / one for one in machine.gears if machine.clutch_rpm > 0.0
    ]
    if gear is not None:
        inside = sorted(v for v in jumps if low < v < high)
        edges = [low, *inside, high]
        return edges, [gear] * (len(edges) - 1)
    fine = np.unique(np.concatenate([np.linspace(low, high, 201), [v for v in jumps if low < v < high]]))
    best = [machine.best_gear(0.5 * (a + b)) for a, b in pairwise(fine)]
    edges, gears = [float(fine[0])], [best[0]]
    for at, here in zip(fine[1:-1], best[1:], strict=True):
        if here != gears[-1] or any(abs(at - v) < 1e-12 for v in jumps):
            edges.append(float(at))
            gears.append(here)
    return [*edges, float(fine[-1])], gears


def predict_gate(machine: Machine, gate: Gate, unsure: Unsure | None = None, gear: int | None = None) -> Predicted:
    """Gate time [s] with its band from 200 draws of what is not known (always the same ones)."""
    return _banded(machine, unsure or Unsure(), lambda one: run_through(one, gate, gear).time_s)


def predict_top_speed(machine: Machine, unsure: Unsure | None = None) -> Predicted:
    """Top speed [m/s] on this road with its band; a remark where the curve ended before the power was used up."""

    def top(one: Machine) -> float:
        gear = max(range(len(one.gears)), key=lambda g: _top_in(one, g))
        return _top_in(one, gear)

    found = _banded(machine, unsure or Unsure(), top)
    highest = max(machine.top_in(gear) for gear in range(len(machine.gears)))
    if found.value >= highest * (1.0 - 1e-9):
        return replace(found, remarks=("the curve ends before the power is used up: this is where it ends",))
    return found


def _top_in(machine: Machine, gear: int) -> float:
    end = machine.top_in(gear)
    tried = np.linspace(0.02 * end, end * (1.0 - 1e-12), 400)
    pulling = np.flatnonzero(machine.net_n(tried, gear) > 0.0)
    if pulling.size == 0:
        return 0.0
    last = int(pulling[-1])
    if last == tried.size - 1:
        return end
    return top_speed(lambda v: machine.net_n(v, gear), float(tried[last]), float(tried[last + 1]))


def _banded(machine: Machine, unsure: Unsure, of: Callable[[Machine], float]) -> Predicted:
    value = of(machine)
    dice = np.random.default_rng(20261125)
    drawn = []
    lost = 0
    for power, load, mass in 1.0 + 0.5 * dice.normal(size=(DRAWS, 3)) * [unsure.power, unsure.load, unsure.mass]:
        held = replace(machine.load, f0_n=load * machine.load.f0_n, f2_n_s2_m2=load * machine.load.f2_n_s2_m2)
        other = replace(machine, power_w=power * machine.power_w, load=held, mass_kg=mass * machine.mass_kg)
        try:
            drawn.append(of(other))
        except TrialError:
            lost += 1
    if not drawn:
        return Predicted(value, value, float("inf"), ("not reached in any draw of what is not known",))
    low, high = np.quantile(drawn, [0.025, 0.975])
    if lost > 0.025 * DRAWS:
        high = float("inf")
    said = (f"not reached in {lost} of {DRAWS} draws of what is not known",) if lost else ()
    return Predicted(float(value), float(low), float(high), said)


def reductions(ratios: Sequence[float], primary: float, final: float) -> tuple[float, ...]:
    """Total reductions from crank to wheel; a single 1 where there is no gearbox.

    >>> reductions([], 1.0, 5.9)
    (5.9,)
    """
    return tuple(primary * one * final for one in (ratios or [1.0]))
