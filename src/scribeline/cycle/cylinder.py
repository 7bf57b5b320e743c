"""The cylinder by itself: volume against crank angle, and the closed part of the cycle.

The same steps as in the whole engine (exact work, exact heat), without ports, ducts and wall heat; it is what the
closed-cycle checks run.
"""

import math
from dataclasses import dataclass

import numpy as np
from numba import njit

from scribeline.errors import CycleError
from scribeline.kernels.crank import angle_down_at, depth_at, true_stroke_at
from scribeline.kernels.gas import FloatArray, perfect_gas
from scribeline.kernels.volumes import change_volume, fill_volume
from scribeline.models.wiebe import SHAPE_A, SHAPE_M, burned_fraction


@dataclass(frozen=True)
class Cylinder:
    """Bore, stroke (twice the crank throw), rod length between centres [m] and clearance volume [m^3].

    offset_m : of the gudgeon pin's path from the crank centre [m], signed as in kernels.crank. Angles count from the
    true top dead centre.
    """

    bore_m: float
    stroke_m: float
    rod_m: float
    clearance_m3: float
    offset_m: float = 0.0

    def __post_init__(self) -> None:
        for name, value in vars(self).items():
            if name != "offset_m" and not value > 0.0:
                raise CycleError(f"{name} = {value}: must be above 0; measure it again")
        if self.rod_m <= 0.5 * self.stroke_m:
            raise CycleError(
                f"rod_m = {self.rod_m}: the rod must be longer than half the stroke, {self.stroke_m / 2} m"
            )
        if not abs(self.offset_m) < self.rod_m - 0.5 * self.stroke_m:
            raise CycleError(
                f"offset_m = {self.offset_m}: less than rod less half the stroke, {self.rod_m - 0.5 * self.stroke_m} m"
            )

    @property
    def area_m2(self) -> float:
        """Piston area [m^2]."""
        return 0.25 * math.pi * self.bore_m**2

    @property
    def swept_m3(self) -> float:
        """Swept volume [m^3]."""
        return self.area_m2 * self.travel_m

    @property
    def travel_m(self) -> float:
        """From top to bottom dead centre [m]: the stroke, and a little more with an offset pin."""
        return float(true_stroke_at(self.stroke_m, self.rod_m, self.offset_m))

    def depth_m(self, theta_rad: float) -> float:
        """How far the piston is below its highest place [m] at theta after top dead centre."""
        return float(depth_at(theta_rad, self.stroke_m, self.rod_m, self.offset_m))

    def volume_m3(self, theta_rad: float) -> float:
        """Volume over the piston [m^3] at theta after top dead centre."""
        return self.clearance_m3 + self.area_m2 * self.depth_m(theta_rad)

    def angle_of_depth_rad(self, x_m: float) -> float:
        """Crank angle on the down stroke [rad] at which the piston is x_m below its highest place."""
        return float(angle_down_at(x_m, self.stroke_m, self.rod_m, self.offset_m))


@njit(cache=True, error_model="numpy")
def _run(
    gas: FloatArray,
    shape: tuple[float, float, float, float, float],
    p_pa: float,
    t_k: float,
    from_rad: float,
    to_rad: float,
    steps: int,
    heat_j: float,
    burn: tuple[float, float, float, float],
) -> FloatArray:
    area, stroke, rod, offset, clearance = shape
    start, duration, a, m = burn
    whole = -math.expm1(-a)
    v = clearance + area * depth_at(from_rad, stroke, rod, offset)
    mass, energy, fresh = fill_volume(gas, p_pa, t_k, 0.0, v)
    begin = energy
    work, given = 0.0, 0.0
    p, t = p_pa, t_k
    out = np.zeros(7)
    p_before = p_last = p
    for i in range(steps):
        theta = from_rad + (to_rad - from_rad) * (i + 1) / steps
        v1 = clearance + area * depth_at(theta, stroke, rod, offset)
        burned = min(burned_fraction(math.degrees(theta), start, duration, a, m) / whole, 1.0)
        heat = heat_j * burned - given
        given += heat
        p_before, p_last = p_last, p
        energy, done, p, t = change_volume(gas, mass, energy + heat, fresh, t, v, v1, p)
        work += done
        v = v1
        if p_last >= p_before and p_last > p and p_last > out[1]:
            # the top of the parabola through three points
            rise, fall = p_last - p_before, p_last - p
            shift = 0.5 * (rise - fall) / (rise + fall)
            out[1] = p_last + 0.25 * (rise - fall) * shift
            out[2] = from_rad + (to_rad - from_rad) * (i + shift) / steps
        if t > out[3]:
            out[3] = t
    out[0], out[4], out[5] = work, p, t
    out[6] = energy - begin - given + work
    return out


def closed_cycle(
    cylinder: Cylinder,
    gamma: float,
    r_j_kgk: float,
    p_pa: float,
    t_k: float,
    from_rad: float,
    to_rad: float,
    *,
    heat_j: float = 0.0,
    start_deg: float = 0.0,
    duration_deg: float = 1.0,
    wiebe_a: float = SHAPE_A,
    wiebe_m: float = SHAPE_M,
    most_step_deg: float = 0.1,
) -> dict[str, float]:
    """Run a sealed, adiabatic cylinder of perfect gas from one crank angle to another.

    p_pa, t_k : state at from_rad; heat_j : heat of a Wiebe burn, normalised to be complete at its nominal end
    Returns work_j, peak_pressure_pa and peak_angle_deg (a peak inside the range; 0 where there is none),
    peak_temperature_k, end_pressure_pa, end_temperature_k and energy_error_j (first law, rounding only). Second order
    in the step.

    >>> c = Cylinder(0.047, 0.042, 0.085, 7.9e-6)
    >>> round(closed_cycle(c, 1.35, 287.0, 105e3, 340.0, -1.5, 0.0)["end_temperature_k"])
    631
    """
    steps = max(math.ceil(abs(math.degrees(to_rad - from_rad)) / most_step_deg), 2)
    c = cylinder
    shape = (c.area_m2, c.stroke_m, c.rod_m, c.offset_m, c.clearance_m3)
    burn = (start_deg, duration_deg, wiebe_a, wiebe_m)
    out = _run(perfect_gas(gamma, r_j_kgk), shape, p_pa, t_k, from_rad, to_rad, steps, heat_j, burn)
    names = (
        "work_j",
        "peak_pressure_pa",
        "peak_angle_rad",
        "peak_temperature_k",
        "end_pressure_pa",
        "end_temperature_k",
    )
    got = dict(zip(names, map(float, out), strict=False))
    got["peak_angle_deg"] = math.degrees(got.pop("peak_angle_rad"))
    got["energy_error_j"] = float(out[6])
    return got
