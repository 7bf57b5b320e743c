"""An invented kart on an invented straight, with a truth that is known to the last digit.

Power at the crank goes through a centrifugal clutch and one gear to the road, against rolling and air drag; the sum
moves the mass. Nothing here was measured on any kart, and the curves are no claim about what a pipe does.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# The demonstration kart of examples/club-kart-98.toml: mass, gearing and clutch as its record has them.
MASS_KG = 152.0
TURNING_SHARE = 0.03  # wheels, axle and crank turning along, as a share of the mass (invented)
METRES_PER_TURN = 0.852 / 5.9
CLUTCH_RPM = 4200.0
EFFICIENCY = 0.93
ROLLING_N = 0.018 * MASS_KG * 9.80665
AIR_N_S2_M2 = 0.5 * 1.2 * 0.62

CURVE_RPM = np.array([4000.0, 5000.0, 6000.0, 7000.0, 8000.0, 9000.0, 9500.0, 10000.0, 10800.0, 11600.0, 13000.0])
CRANK_KW = {
    "stock": np.array([4.0, 5.5, 7.0, 8.5, 9.8, 10.9, 11.2, 10.8, 8.8, 5.5, 1.0]),
    "new pipe": np.array([3.7, 5.1, 6.6, 8.5, 10.3, 12.0, 12.6, 12.3, 10.0, 6.0, 1.0]),
}
STEP_S = 0.005
STANDING_S, PULL_S, COAST_S, BRAKING_S = 2.0, 12.0, 4.0, 4.0


ROLL_OUTS, ROLL_FROM_M_S, ROLL_TO_M_S = 5, 58.0 / 3.6, 8.0 / 3.6
"""How often it was let roll each way, from which speed to which."""


@dataclass(frozen=True, eq=False)
class Ride:
    """One run, every 5 ms, shape (n,): time, road speed, engine speed, distance; and what made it."""

    setup: str
    run: int
    direction: str
    time_s: Floats
    speed_m_s: Floats
    rpm: Floats
    distance_m: Floats

    def gate_s(self, from_km_h: float, to_km_h: float) -> float:
        """The true time between two speeds of the pull."""
        pull = (self.time_s >= STANDING_S) & (self.time_s < STANDING_S + PULL_S)
        speed, time = self.speed_m_s[pull], self.time_s[pull]
        low, high = (float(np.interp(v / 3.6, speed, time)) for v in (from_km_h, to_km_h))
        return high - low


def ride(setup: str, run: int, *, power_share: float = 1.0, headwind_m_s: float = 0.0) -> Ride:
    """Stand, pull with full throttle, coast, brake.

    power_share : this run's power over the setup's (a run is never twice the same)
    """
    count = round((STANDING_S + PULL_S + COAST_S + BRAKING_S) / STEP_S) + 1
    time_s: Floats = np.arange(count, dtype=np.float64) * STEP_S
    speed = np.zeros(count)
    for i in range(1, count):
        v, t = float(speed[i - 1]), float(time_s[i - 1])
        through_air = v + headwind_m_s
        drag = AIR_N_S2_M2 * through_air * abs(through_air) + (ROLLING_N if v > 0 else 0.0)
        force = 0.0
        if STANDING_S <= t < STANDING_S + PULL_S:
            turning = max(v / METRES_PER_TURN * 60.0, CLUTCH_RPM)
            kw = power_share * float(np.interp(turning, CURVE_RPM, CRANK_KW[setup]))
            force = 1000.0 * kw * EFFICIENCY / (turning / 60.0 * METRES_PER_TURN)
        elif t >= STANDING_S + PULL_S + COAST_S:
            force = -0.45 * MASS_KG * 9.80665
        elif t < STANDING_S:
            drag = 0.0
        speed[i] = max(0.0, v + (force - drag) / (MASS_KG * (1.0 + TURNING_SHARE)) * STEP_S)
    idle = np.interp(time_s, [0.0, STANDING_S - 0.2, STANDING_S], [2400.0, 2400.0, CLUTCH_RPM])
    ending = np.interp(time_s, [STANDING_S, STANDING_S + 0.01], [0.0, 1.0])
    floor = np.where(time_s < STANDING_S + PULL_S, idle + ending * (CLUTCH_RPM - idle), 2400.0)
    rpm: Floats = np.maximum(speed / METRES_PER_TURN * 60.0, floor).astype(np.float64)
    distance: Floats = np.concatenate(([0.0], np.cumsum((speed[1:] + speed[:-1]) / 2 * STEP_S)))
    return Ride(setup, run, "out" if run % 2 else "back", time_s, speed, rpm, distance)


def roll_out(headwind_m_s: float, grade: float) -> tuple[Floats, Floats]:
    """Times and speeds, every 20 ms, of steady riding, rolling out with the engine off the chain, and braking.

    headwind_m_s, grade : along the way that it goes; rising positive
    """
    step = 0.02

    def slowing(v: float) -> float:
        through_air = v + headwind_m_s
        held = ROLLING_N + AIR_N_S2_M2 * through_air * abs(through_air) + MASS_KG * 9.80665 * grade
        return held / (MASS_KG * (1.0 + TURNING_SHARE))

    speeds = [ROLL_FROM_M_S] * round(4.0 / step)
    while speeds[-1] > ROLL_TO_M_S:
        half_way = speeds[-1] - 0.5 * step * slowing(speeds[-1])
        speeds.append(speeds[-1] - step * slowing(half_way))
    speeds += [max(0.0, speeds[-1] - 4.0 * step * i) for i in range(1, round(4.0 / step))]
    time_s: Floats = np.arange(len(speeds), dtype=np.float64) * step
    return time_s, np.array(speeds)
