"""A vehicle on a road, integrated step by step with its own loop, so that nothing under test made the truth."""

from dataclasses import dataclass

import numpy as np

G = 9.80665


@dataclass(frozen=True)
class Truth:
    """A vehicle with known power against engine speed: a parabola with its top at 9000 rpm."""

    mass_kg: float = 150.0
    rotating: float = 0.03
    f0_n: float = 25.0
    f2: float = 0.35
    rpm_per_m_s: float = 420.0
    efficiency: float = 0.9
    peak_kw: float = 11.0

    def crank_kw(self, rpm: np.ndarray | float) -> np.ndarray:
        return np.asarray(self.peak_kw * (1.0 - ((np.asarray(rpm) - 9000.0) / 8500.0) ** 2))

    def accelerate(self, v0: float, until_s: float, dt: float = 1e-3) -> tuple[np.ndarray, np.ndarray]:
        """Times and speeds of a full-throttle stretch, by small steps of the midpoint rule."""

        def a(v: float) -> float:
            pull = 1e3 * float(self.crank_kw(v * self.rpm_per_m_s)) * self.efficiency / v
            return (pull - self.f0_n - self.f2 * v * v) / (self.mass_kg * (1.0 + self.rotating))

        n = int(until_s / dt)
        v = np.empty(n + 1)
        v[0] = v0
        for i in range(n):
            v[i + 1] = v[i] + dt * a(v[i] + 0.5 * dt * a(v[i]))
        return np.arange(n + 1) * dt, v

    def coast(self, v0: float, until_s: float, way: int, wind: float, grade: float) -> tuple[np.ndarray, np.ndarray]:
        dt, n = 1e-2, int(until_s / 1e-2)

        def a(v: float) -> float:
            through = v + way * wind
            held = self.f0_n + self.f2 * through * abs(through)
            climbing = way * self.mass_kg * G * grade
            return -(held + climbing) / (self.mass_kg * (1.0 + self.rotating))

        v = np.empty(n + 1)
        v[0] = v0
        for i in range(n):
            v[i + 1] = v[i] + dt * a(v[i] + 0.5 * dt * a(v[i]))
        return np.arange(n + 1) * dt, v


def sampled(t: np.ndarray, v: np.ndarray, hz: float, sd: float, dice: np.random.Generator, lag: float = 0.0):
    """Readings at a rate, from a moment that is not on the grid, with scatter."""
    at = np.arange(t[0] + lag, t[-1], 1.0 / hz)
    return at, np.interp(at, t, v) + sd * dice.normal(size=at.size)
