"""The gas law of everything that flows: a mixture of fresh charge and burned gas, ideal, with its own heat capacity.

A gas law is ten numbers (`gas`, shape (10,)): the gas constants of burned gas and fresh charge, and for each of the
two a cubic of cv in temperature. Mixtures are weighted by mass, so mixing two parcels keeps mass, species and
energy exactly. Where the ten numbers come from is not decided here (see models). With a constant cv and one gas
the law is the perfect gas of the textbooks, and units may then be any consistent set.

    p = rho R(y) T        e(T, y) = integral of cv dT from 0 K        cv = c0 + c1 T + c2 T^2 + c3 T^3
"""

import numpy as np
import numpy.typing as npt

from scribeline.kernels.compiling import compiled
from scribeline.kernels.exact import HALF, ONE, QUARTER, REST_OF_THIRD, THIRD, THREE, TWO

FloatArray = npt.NDArray[np.float64]
GasLaw = FloatArray | tuple[float, float, float, float, float, float, float, float, float, float]
"""The ten numbers, in an array or, where a compiler must see that nothing else overwrites them, by themselves."""

R_BURNED, R_FRESH, CV_BURNED, CV_FRESH = 0, 1, 2, 6


def perfect_gas(gamma: float, r_j_kgk: float) -> FloatArray:
    """Gas law of one perfect gas, fresh and burned alike: cv = R / (gamma - 1).

    gamma : ratio of heat capacities [-], above 1
    r_j_kgk : gas constant [J/(kg K)]

    >>> round(float(perfect_gas(1.4, 287.05)[2]), 3)
    717.625
    """
    cv = r_j_kgk / (gamma - 1.0)
    return np.array([r_j_kgk, r_j_kgk, cv, 0.0, 0.0, 0.0, cv, 0.0, 0.0, 0.0])


@compiled(inline="always")
def cv_of(t_k: float, c0: float, c1: float, c2: float, c3: float) -> float:
    """Heat capacity at constant volume [J/(kg K)] at t_k [K]."""
    return c0 + t_k * (c1 + t_k * (c2 + t_k * c3))


@compiled(inline="always")
def energy_of(t_k: float, c0: float, c1: float, c2: float, c3: float) -> float:
    """Internal energy [J/kg] at t_k [K], counted from 0 K."""
    return t_k * (c0 + t_k * (HALF * c1 + t_k * (THIRD * c2 + REST_OF_THIRD * c2 + t_k * (QUARTER * c3))))


@compiled(inline="always")
def temperature_of(e_j_kg: float, guess_k: float, c0: float, c1: float, c2: float, c3: float) -> float:
    """Temperature [K] with internal energy e_j_kg [J/kg], from guess_k [K]: two steps that share one division.

    The first is Newton's with its second-order term, the second Newton's with 1/cv carried on to where it lands. cv
    varies slowly, so from a guess 30 % off the result is good to about 1e-5; from the temperature one time step
    earlier, which is how it is used, the error is below rounding except in the cell a shock just entered.
    """
    inv_cv = ONE / cv_of(guess_k, c0, c1, c2, c3)
    bend = (c1 + guess_k * (TWO * c2 + guess_k * (THREE * c3))) * inv_cv
    step = (energy_of(guess_k, c0, c1, c2, c3) - e_j_kg) * inv_cv
    t = guess_k - step * (ONE + HALF * bend * step)
    change = bend * step
    return t - (energy_of(t, c0, c1, c2, c3) - e_j_kg) * inv_cv * (ONE + change * (ONE + change))


@compiled(inline="always")
def gas_constant(gas: GasLaw, y: float) -> float:
    """Gas constant [J/(kg K)] at fresh mass fraction y [-]."""
    return gas[R_BURNED] + y * (gas[R_FRESH] - gas[R_BURNED])


@compiled(inline="always")
def cv_mixture(gas: GasLaw, t_k: float, y: float) -> float:
    """Heat capacity cv [J/(kg K)] at t_k [K] and fresh mass fraction y [-]."""
    burned = cv_of(t_k, gas[2], gas[3], gas[4], gas[5])
    fresh = cv_of(t_k, gas[6], gas[7], gas[8], gas[9])
    return burned + y * (fresh - burned)


@compiled(inline="always")
def energy_mixture(gas: GasLaw, t_k: float, y: float) -> float:
    """Internal energy [J/kg] at t_k [K] and fresh mass fraction y [-], counted from 0 K."""
    burned = energy_of(t_k, gas[2], gas[3], gas[4], gas[5])
    fresh = energy_of(t_k, gas[6], gas[7], gas[8], gas[9])
    return burned + y * (fresh - burned)


@compiled(inline="always")
def temperature_mixture(gas: GasLaw, e_j_kg: float, y: float, guess_k: float) -> float:
    """Temperature [K] with internal energy e_j_kg [J/kg] at fresh mass fraction y [-], from guess_k [K]."""
    return temperature_of(
        e_j_kg,
        guess_k,
        gas[2] + y * (gas[6] - gas[2]),
        gas[3] + y * (gas[7] - gas[3]),
        gas[4] + y * (gas[8] - gas[4]),
        gas[5] + y * (gas[9] - gas[5]),
    )


@compiled(inline="always")
def gamma_of(gas: GasLaw, t_k: float, y: float) -> float:
    """Ratio of heat capacities [-] at t_k [K] and fresh mass fraction y [-]."""
    return 1.0 + gas_constant(gas, y) / cv_mixture(gas, t_k, y)


@compiled(inline="always")
def enthalpy_mixture(gas: GasLaw, t_k: float, y: float) -> float:
    """Enthalpy h = e + R T [J/kg] at t_k [K] and fresh mass fraction y [-]."""
    return energy_mixture(gas, t_k, y) + gas_constant(gas, y) * t_k


@compiled(inline="always")
def law_of(gas: FloatArray) -> GasLaw:
    """The ten numbers of a gas law by themselves."""
    return gas[0], gas[1], gas[2], gas[3], gas[4], gas[5], gas[6], gas[7], gas[8], gas[9]
