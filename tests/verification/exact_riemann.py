"""Exact solution of the Riemann problem for a perfect gas, written for the tests only (Toro 2009, chapter 4)."""

import numpy as np
from scipy.optimize import brentq

State = tuple[float, float, float]


def _speed(p, rho, p0, gamma):
    if p > p0:
        return (p - p0) * np.sqrt(2 / ((gamma + 1) * rho) / (p + (gamma - 1) / (gamma + 1) * p0))
    return 2 * np.sqrt(gamma * p0 / rho) / (gamma - 1) * ((p / p0) ** ((gamma - 1) / 2 / gamma) - 1)


def star(left: State, right: State, gamma: float) -> tuple[float, float]:
    """Pressure and velocity between the two outer waves."""
    (rl, ul, pl), (rr, ur, pr) = left, right

    def miss(p):
        return _speed(p, rl, pl, gamma) + _speed(p, rr, pr, gamma) + ur - ul

    p = brentq(miss, 1e-9 * min(pl, pr), 1e6 * max(pl, pr), xtol=1e-16 * min(pl, pr), rtol=1e-14)
    return p, 0.5 * (ul + ur) + 0.5 * (_speed(p, rr, pr, gamma) - _speed(p, rl, pl, gamma))


def sample(left: State, right: State, gamma: float, xi: np.ndarray) -> np.ndarray:
    """Density, velocity, pressure at x/t = xi; shape (3, n)."""
    p, u = star(left, right, gamma)
    out = np.empty((3, xi.size))
    for i, x in enumerate(xi):
        side = 1 if x > u else -1
        rho0, u0, p0 = right if side > 0 else left
        a0 = np.sqrt(gamma * p0 / rho0)
        # mirrored so that the outer wave runs to the right
        x, v0, v = side * x, side * u0, side * u
        if p > p0:
            q = (gamma - 1) / (gamma + 1)
            shock = v0 + a0 * np.sqrt((gamma + 1) / 2 / gamma * p / p0 + (gamma - 1) / 2 / gamma)
            state = (rho0, v0, p0) if x > shock else (rho0 * (p / p0 + q) / (q * p / p0 + 1), v, p)
        elif x > v0 + a0:
            state = (rho0, v0, p0)
        elif x < v + a0 * (p / p0) ** ((gamma - 1) / 2 / gamma):
            state = (rho0 * (p / p0) ** (1 / gamma), v, p)
        else:
            c = 2 / (gamma + 1) - (gamma - 1) / (gamma + 1) / a0 * (v0 - x)
            fan = 2 / (gamma + 1) * (-a0 + (gamma - 1) / 2 * v0 + x)
            state = (rho0 * c ** (2 / (gamma - 1)), fan, p0 * c ** (2 * gamma / (gamma - 1)))
        out[:, i] = state[0], side * state[1], state[2]
    return out


def cell_means(left: State, right: State, gamma: float, edges: np.ndarray, t: float, points: int = 40) -> np.ndarray:
    """Mean of density, velocity and pressure over each cell between edges (measured from the jump), at time t."""
    inside = (np.arange(points) + 0.5) / points
    x = edges[:-1, None] + np.diff(edges)[:, None] * inside
    return sample(left, right, gamma, x.ravel() / t).reshape(3, edges.size - 1, points).mean(axis=2)
