"""Newton's second law along the road: times, distances and speeds that follow from a force, and the force from them.

m dv/dt = pull(v) - load(v). Between two speeds time and distance are integrals over the speed, which is exact where
a closed form exists and needs no step size.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scribeline.errors import TrialError

Floats = NDArray[np.float64]
Force = Callable[[Floats], ArrayLike]


@dataclass(frozen=True)
class Stretch:
    """From one speed to another: the time and the distance it takes."""

    time_s: float
    distance_m: float


_PANELS, _NODES = 16, 16


def between_speeds(net_n: Force, mass_kg: float, from_m_s: float, to_m_s: float) -> Stretch:
    """Time and distance from one speed to another under a net force, forwards positive, that depends on the speed.

    net_n : takes an array of speeds; mass_kg : with what the wheels' turning adds
    By Gauss's rule on 16 pieces of 16 points: exact to 1e-10 for a smooth force, to about 1e-6 for one with corners.
    Raises TrialError where the force never gets there.

    >>> found = between_speeds(lambda v: -15.0, 150.0, 12.0, 4.0)
    >>> round(found.time_s, 9), round(found.distance_m, 9)
    (80.0, 640.0)
    """
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    edges = np.linspace(from_m_s, to_m_s, _PANELS + 1)
    half = 0.5 * np.diff(edges)
    v = (half[:, np.newaxis] * (nodes + 1.0) + edges[:-1, np.newaxis]).ravel()
    w = (half[:, np.newaxis] * weights).ravel()
    net = np.broadcast_to(net_n(v), v.shape)
    ends = np.broadcast_to(net_n(edges), edges.shape)
    way = 1.0 if to_m_s > from_m_s else -1.0
    if (way * net <= 0.0).any() or (way * ends <= 0.0).any():
        raise TrialError(
            f"{3.6 * from_m_s:g} to {3.6 * to_m_s:g} km/h\n    accepted: speeds between which the force never falls to "
            "0\n    what to do: this speed is never reached; ask for one below the top speed"
        )
    return Stretch(float(np.sum(w * mass_kg / net)), float(np.sum(w * mass_kg * v / net)))


def speed_after(net_n: Force, mass_kg: float, from_m_s: float, times_s: ArrayLike) -> Floats:
    """Speed at each of these times [s], ascending from the moment at which it is `from_m_s`."""
    from scipy import integrate  # takes a moment to import, and only checks need it

    at = np.asarray(times_s, np.float64)
    solved = integrate.solve_ivp(
        lambda _, v: np.asarray(net_n(v)) / mass_kg, (0.0, max(float(at[-1]), 1e-9)), [from_m_s],
        method="DOP853", rtol=1e-11, atol=1e-12, t_eval=at,
    )  # fmt: skip
    return np.asarray(solved.y[0])


def top_speed(net_n: Force, low_m_s: float, high_m_s: float) -> float:
    """The speed at which the force is used up, between two speeds [m/s].

    Raises TrialError where it is used up at the lower one already, or not yet at the higher one.
    """

    def net(v: float) -> float:
        return float(np.asarray(net_n(np.array([v]))).ravel()[0])

    if net(low_m_s) <= 0.0 or net(high_m_s) >= 0.0:
        raise TrialError(
            f"a top speed between {3.6 * low_m_s:g} and {3.6 * high_m_s:g} km/h\n    accepted: a range where the pull "
            "falls below what holds back\n    what to do: give more speeds of the power curve"
        )
    from scipy import optimize

    return float(optimize.brentq(net, low_m_s, high_m_s, xtol=1e-12))


def force_at(acceleration_m_s2: ArrayLike, load_n: ArrayLike, mass_kg: float, rotating: float) -> Floats:
    """Force at the tyre from the acceleration: F = (1 + rotating) m a + load [N]. Source: newton.

    rotating : what turns, as a share of the mass (0.03 counts the wheels of a motorcycle)

    >>> round(float(force_at(1.2, 119.0, 175.0, 0.03)), 9)
    335.3
    """
    a = np.asarray(acceleration_m_s2, np.float64)
    return np.asarray((1.0 + rotating) * mass_kg * a + np.asarray(load_n, np.float64))
