"""Volumes and reeds against closed forms."""

import math
from itertools import pairwise

import numpy as np
import pytest

from scribeline.kernels.gas import energy_mixture, perfect_gas, temperature_mixture
from scribeline.kernels.volumes import change_volume, fill_volume, reed_step, state_of_volume
from scribeline.models import gas_properties

GAS = gas_properties.gas_law(1.1)


def test_filling_and_reading_a_volume_agree():
    mass, energy, fresh = fill_volume(GAS, 3e5, 900.0, 0.4, 2e-4)
    p, t, y, gamma, r, h = state_of_volume(GAS, mass, energy, fresh, 700.0, 2e-4)
    assert (p, t, y) == pytest.approx((3e5, 900.0, 0.4), rel=1e-5)
    assert h == pytest.approx(energy / mass + r * t, rel=1e-5)
    assert 1.2 < gamma < 1.4


@pytest.mark.parametrize("steps", [50, 100])
def test_work_is_exactly_the_energy_lost_and_converges_to_the_adiabat(steps):
    gas = perfect_gas(1.35, 287.0)
    mass, energy, fresh = fill_volume(gas, 1e5, 300.0, 0.0, 1e-4)
    begin, total, p, t = energy, 0.0, 1e5, 300.0
    sizes = np.geomspace(1e-4, 2e-5, steps + 1)
    for v0, v1 in pairwise(sizes):
        energy, work, p, t = change_volume(gas, mass, energy, fresh, t, v0, v1, p)
        total += work
        assert (p, t) == pytest.approx(state_of_volume(gas, mass, energy, fresh, t, v1)[:2], rel=1e-13)
    assert energy + total == pytest.approx(begin, rel=1e-15)
    exact = 1e5 * 5**1.35
    assert abs(p / exact - 1) < 2.0 / steps**2


def test_temperature_from_energy_after_a_shock():
    """A guess 40 % off is good to 1e-3 in two steps; a guess 5 % off to 1e-8."""
    for guess, limit in ((1.4, 1e-3), (1.05, 1e-6), (1.005, 1e-10)):
        t = temperature_mixture(GAS, energy_mixture(GAS, 1000.0, 0.2), 0.2, 1000.0 * guess)
        assert abs(t / 1000.0 - 1) < limit


def test_a_free_reed_swings_at_its_own_frequency():
    """Without damping and contact, any step gives the exact cosine."""
    mass, rate = 1e-4, 250.0
    omega = math.sqrt(rate / mass)
    lift, speed = 2e-3, 0.0
    for i in range(1, 30):
        lift, speed = reed_step(lift, speed, rate * 5e-3, 3e-4, mass, rate, 0.0, 1.0, 0.3)
        assert lift == pytest.approx(5e-3 - 3e-3 * math.cos(omega * 3e-4 * i), rel=1e-9)


def test_a_reed_stays_between_seat_and_stop():
    lift, speed = 0.0, 0.0
    heights = []
    for i in range(4000):
        push = 3.0 if i < 2000 else -3.0
        lift, speed = reed_step(lift, speed, push, 1e-5, 1e-4, 250.0, 0.1, 0.006, 0.3)
        heights.append(lift)
    assert max(heights) == 0.006
    assert min(heights) == 0.0
    assert heights[1999] == pytest.approx(0.006)
    assert heights[-1] == 0.0
