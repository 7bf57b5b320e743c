"""Order of accuracy where the flow is smooth, against simple waves, whose exact solution is known."""

import numpy as np
import pytest
from scipy.optimize import brentq

from scribeline.cycle.layout import FREE, WALL, Duct, End, lay_out
from scribeline.kernels.gas import perfect_gas
from tests.reference.checks import load

GAMMA = 1.4
A0 = np.sqrt(GAMMA)
GAS = load("04_gas_dynamics")


def bump(x, amplitude):
    return amplitude * np.where(np.abs(x) < 0.2, np.cos(np.pi * x / 0.4) ** 6, 0.0)


def simple_wave(x, t, amplitude, gamma=GAMMA):
    """Conserved variables of a right-going wave, from Riemann invariants: u = bump(x0), x = x0 + (a + u) t."""
    a0 = np.sqrt(gamma)

    def start_of(xi):
        return brentq(lambda s: s + (a0 + 0.5 * (gamma + 1) * bump(s, amplitude)) * t - xi, xi - 3, xi + 1, xtol=1e-15)

    u = bump(np.array([start_of(xi) for xi in x]), amplitude)
    a = a0 + 0.5 * (gamma - 1) * u
    rho = (a / a0) ** (2 / (gamma - 1))
    return np.array([rho, rho * u, rho**gamma / (gamma - 1) + 0.5 * rho * u * u])


def cell_means(cells, t, amplitude):
    edges = np.linspace(0.0, 1.0, cells + 1)
    x = edges[:-1, None] + (np.arange(12) + 0.5) / 12 / cells - 0.3
    return simple_wave(x.ravel(), t, amplitude).reshape(3, cells, 12).mean(axis=2)


def wave_error(cells, amplitude):
    """Mean distance of density, momentum and energy from the exact simple wave at t = 0.35, shape (3,)."""
    net = lay_out(perfect_gas(GAMMA, 1.0), [Duct(1.0, np.ones(cells + 1), End(FREE), End(FREE))], [], 1.0, 1.0)
    rho, mom, ene = cell_means(cells, 0.0, amplitude)
    u = mom / rho
    net.set_duct(0, rho, u, (GAMMA - 1) * (ene - 0.5 * rho * u * u), 0.0)
    net.march(0.35)
    return np.abs(net.q[:3, net.spans[0]] - cell_means(cells, 0.35, amplitude)).mean(axis=1)


@pytest.mark.parametrize("amplitude", [1e-7, 0.05])
def test_second_order_on_a_smooth_wave(amplitude):
    """Amplitude 1e-7 is sound; at 0.05 the wave steepens to half its shock distance."""
    error = [wave_error(cells, amplitude) for cells in (50, 100, 200)]
    order = np.log2(np.array(error[:-1]) / np.array(error[1:]))
    assert order.min() >= 1.8, order


@pytest.mark.parametrize("key", ["simple-wave-1.4-293.15", "simple-wave-1.33-800"])
def test_a_piston_speed_makes_the_pressure_of_the_reference(key):
    """Gas pushed into a duct at rest at the reference's velocity takes on the reference's pressure.

    The state behind a compression wave set going by a shock tube differs from it by the shock's entropy, so the
    wave is started smooth: velocity rises over a tenth of the duct along the invariant of a simple wave.
    """
    check = GAS[key]
    gamma, r, t0 = (check.inputs[k] for k in ("gamma", "R", "T0"))
    a0 = np.sqrt(gamma * r * t0)
    for ratio, u1, a1 in zip(
        check.expected["p_over_p0"], check.expected["u_m_s"], check.expected["a_m_s"], strict=True
    ):
        cells = 100
        x = (np.arange(cells) + 0.5) / cells
        u = u1 * np.clip((0.5 - x) / 0.2, 0.0, 1.0)
        a = a0 + 0.5 * (gamma - 1) * u
        rho = 1.2 * (a / a0) ** (2 / (gamma - 1))
        net = lay_out(perfect_gas(gamma, r), [Duct(1.0, np.ones(cells + 1), End(FREE), End(FREE))], [], 1e5, t0)
        net.set_duct(0, rho, u, rho * a * a / gamma, 0.0)
        net.march(0.1 / a0)
        first, last = net.spans[0].start, net.spans[0].stop - 1
        # nothing has reached the ends yet: left the pushed gas, right the gas at rest
        assert net.w[1, first] / net.w[1, last] == pytest.approx(ratio, rel=1e-9)
        assert net.w[4, first] == pytest.approx(a1, rel=1e-9)
        wave = net.w[0, net.spans[0]]
        assert wave.min() >= min(u1, 0.0) - 1e-3 * abs(u1)
        assert wave.max() <= max(u1, 0.0) + 1e-3 * abs(u1)


def test_a_standing_wave_in_a_closed_duct_keeps_second_order():
    """Both walls included: half a wavelength of sound, one period; density error falls fourfold per halving."""
    error = []
    for cells in (25, 50, 100):
        x = (np.arange(cells) + 0.5) / cells
        net = lay_out(perfect_gas(GAMMA, 1.0), [Duct(1.0, np.ones(cells + 1), End(WALL), End(WALL))], [], 1.0, 1.0)
        size = 1e-7 * np.cos(np.pi * x) * np.sinc(0.5 / cells)
        net.set_duct(0, 1 + size, np.zeros(cells), 1 + GAMMA * size, 0.0)
        net.march(2 / A0)
        error.append(np.abs(net.q[0, net.spans[0]] - 1 - size).mean())
    order = np.log2(np.array(error[:-1]) / np.array(error[1:]))
    assert order.min() >= 1.8, order
