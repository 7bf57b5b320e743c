"""Volumes of gas without waves: cylinder, crankcase, airbox, silencer, the open air.

A volume holds mass, internal energy and fresh mass, uniform inside. Work is taken from the energy exactly as it is
reported (first law to rounding), trapezoidal in pressure, so a step is second order in time. Reeds, which open the way
between volumes and ducts, are the single-mass oscillators at the end.
"""

import math

from scribeline.kernels.compiling import compiled
from scribeline.kernels.gas import (
    GasLaw,
    energy_mixture,
    enthalpy_mixture,
    gamma_of,
    gas_constant,
    temperature_mixture,
    temperature_of,
)

# rows of a volume table (rows, number of volumes)
MASS, ENERGY, FRESH, TEMPERATURE = 0, 1, 2, 3


@compiled()
def fill_volume(gas: GasLaw, p_pa: float, t_k: float, y: float, volume_m3: float) -> tuple[float, float, float]:
    """Mass [kg], internal energy [J] and fresh mass [kg] of a volume at given pressure, temperature, composition."""
    mass = p_pa * volume_m3 / (gas_constant(gas, y) * t_k)
    return mass, mass * energy_mixture(gas, t_k, y), mass * y


@compiled(inline="always")
def state_of_volume(
    gas: GasLaw, mass: float, energy: float, fresh: float, guess_k: float, volume_m3: float
) -> tuple[float, float, float, float, float, float]:
    """Return p [Pa], T [K], fresh fraction, gamma, gas constant [J/(kg K)], enthalpy [J/kg] of a volume.

    mass, fresh [kg], energy [J]; guess_k : temperature it had lately [K].
    """
    y = fresh / mass
    t = temperature_mixture(gas, energy / mass, y, guess_k)
    r = gas_constant(gas, y)
    return mass * r * t / volume_m3, t, y, gamma_of(gas, t, y), r, enthalpy_mixture(gas, t, y)


@compiled(inline="always")
def change_volume(
    gas: GasLaw, mass: float, energy: float, fresh: float, guess_k: float, v0_m3: float, v1_m3: float, p0_pa: float
) -> tuple[float, float, float, float]:
    """Expand or compress from v0 to v1; energy already holds what heat and flow brought in the step.

    p0_pa : pressure at the start of the step, before anything was brought. Returns the new energy [J], the work done
    by the gas [J], W = (p0 + p1)/2 (v1 - v0) with p1 the pressure that results: exactly energy lost; and p1 [Pa] and
    T1 [K]. As p1 goes with T1, the work only adds to the first coefficient of e(T): e(T1) + R T1 dv/(2 v1) is known.
    """
    dv = v1_m3 - v0_m3
    y = fresh / mass
    r = gas_constant(gas, y)
    t = temperature_of(
        (energy - 0.5 * p0_pa * dv) / mass,
        guess_k,
        gas[2] + y * (gas[6] - gas[2]) + 0.5 * r * dv / v1_m3,
        gas[3] + y * (gas[7] - gas[3]),
        gas[4] + y * (gas[8] - gas[4]),
        gas[5] + y * (gas[9] - gas[5]),
    )
    p = mass * r * t / v1_m3
    work = 0.5 * (p0_pa + p) * dv
    return energy - work, work, p, t


@compiled()
def reed_step(
    lift_m: float,
    speed_m_s: float,
    force_n: float,
    dt_s: float,
    mass_kg: float,
    rate_n_m: float,
    damping: float,
    stop_m: float,
    rebound: float,
) -> tuple[float, float]:
    """One step of a reed petal's first bending mode: tip lift [m] and tip speed [m/s] after dt_s.

    m x'' + 2 damping sqrt(k m) x' + k x = force, with the seat at 0 and the stop at stop_m; at either the speed is
    reversed and multiplied by rebound. The force is constant over the step and the motion between contacts is the
    exact solution of the oscillator, so any step is stable.

    mass_kg, rate_n_m : modal mass and stiffness at the tip; damping : ratio to critical, below 1; force_n : modal
    force at the tip, positive opens.

    >>> x, v = reed_step(0.0, 0.0, 1.0, 1.0, 1e-3, 1e3, 0.7, 1.0, 0.3)
    >>> round(float(x), 6)
    0.001
    """
    omega = math.sqrt(rate_n_m / mass_kg)
    decay = damping * omega
    omega_d = omega * math.sqrt(1.0 - damping * damping)
    rest = force_n / rate_n_m
    x, v = lift_m - rest, speed_m_s
    c, s = math.cos(omega_d * dt_s), math.sin(omega_d * dt_s)
    shrink = math.exp(-decay * dt_s)
    amplitude = (v + decay * x) / omega_d
    lift = rest + shrink * (x * c + amplitude * s)
    speed = shrink * (v * c - (omega_d * x + decay * amplitude) * s)
    if lift < 0.0:
        return 0.0, -rebound * speed if speed < 0.0 else speed
    if lift > stop_m:
        return stop_m, -rebound * speed if speed > 0.0 else speed
    return lift, speed
