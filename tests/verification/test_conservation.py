"""What must hold to rounding: gas at rest in a cone, and mass, energy, fresh mass of a closed system."""

import numpy as np
import pytest

from scribeline.cycle.layout import WALL, Duct, End, Volume, lay_out
from scribeline.kernels.gas import perfect_gas

# Two made-up gases with heat capacities that rise with temperature, unlike each other.
REAL = np.array([290.0, 275.0, 700.0, 0.25, -2e-5, 0.0, 640.0, 0.40, -6e-5, 1e-9])


def cone(cells, d0, d1):
    d = np.linspace(d0, d1, cells + 1)
    return 0.25 * np.pi * d * d


@pytest.mark.parametrize("gas", [perfect_gas(1.4, 287.0), REAL], ids=["perfect", "real"])
def test_gas_at_rest_in_a_cone_stays_at_rest(gas):
    """Hot burned gas beside cold fresh gas, one pressure, sharp cone, one end open: nothing moves."""
    faces = np.concatenate([cone(20, 0.02, 0.09), cone(20, 0.09, 0.015)[1:]])
    net = lay_out(gas, [Duct(0.4, faces, End(WALL), End(0))], [Volume(101325.0, 293.0)], 101325.0, 293.0)
    fresh = (np.arange(40) < 17).astype(float)
    t = np.where(fresh > 0, 320.0, 1100.0)
    r = gas[0] + fresh * (gas[1] - gas[0])
    net.set_duct(0, 101325.0 / (r * t), np.zeros(40), np.full(40, 101325.0), fresh)
    before = net.q.copy()
    assert net.march(0.01) > 700
    here = net.spans[0]
    assert np.abs(net.w[0, here] / net.w[4, here]).max() < 1e-12
    assert np.abs(net.w[1, here] / 101325.0 - 1).max() < 1e-12
    np.testing.assert_allclose(net.q[0, here], before[0, here], rtol=1e-12)


@pytest.mark.parametrize("gas", [perfect_gas(1.4, 287.0), REAL], ids=["perfect", "real"])
def test_a_closed_system_loses_nothing(gas):
    """A burst vessel feeds a cone and a second vessel through a half open port, friction on, walls adiabatic."""
    faces = np.concatenate([cone(20, 0.02, 0.06), cone(20, 0.06, 0.02)[1:]])
    ducts = [
        Duct(0.5, faces, End(0, 0.5, 0.6), End(1, 0.2, 0.3), friction_per_m=0.8),
        Duct(0.1, cone(10, 0.03, 0.03), End(1), End(WALL)),
    ]
    vessels = [Volume(6e5, 1500.0, 0.1, 6e-5), Volume(101325.0, 300.0, 1.0, 4e-4)]
    net = lay_out(gas, ducts, vessels, 101325.0, 400.0)
    before = net.totals()
    assert net.march(0.02) > 500
    change = (net.totals() - before) / before
    assert np.abs(change).max() < 1e-13, change
    assert net.volumes[0, 0] < 0.6 * before[0]  # and something did happen


def test_friction_turns_motion_into_heat_only():
    """A stream in a closed rough duct comes to rest: momentum is lost, energy is not."""
    cells = 50
    net = lay_out(
        perfect_gas(1.4, 287.0),
        [Duct(0.5, cone(cells, 0.03, 0.03), End(WALL), End(WALL), friction_per_m=5.0)],
        [],
        1e5,
        300.0,
    )
    net.set_duct(0, np.full(cells, 1.2), np.full(cells, 150.0), np.full(cells, 1e5), 0.0)
    before = net.totals()
    net.march(0.2)
    assert np.abs((net.totals() - before)[:2] / before[:2]).max() < 1e-13
    assert np.abs(net.w[0, net.spans[0]]).max() < 0.02 * 150.0
    assert net.w[1, net.spans[0]].mean() == pytest.approx(1e5 + 0.4 * 0.5 * 1.2 * 150.0**2, rel=1e-4)


def test_wall_heat_draws_the_gas_towards_the_wall_temperature():
    """Steady stream through a hot tube: T_out follows exp(-St 4 L / D) of slow flow with constant cp."""
    cells, st = 60, 0.005
    faces = cone(cells, 0.02, 0.02)
    heat = 4 * st / 0.02
    ambient = [Volume(101000.0, 300.0), Volume(100000.0, 300.0)]
    net = lay_out(
        perfect_gas(1.4, 287.0), [Duct(0.3, faces, End(0), End(1), heat_per_m=heat, wall_k=600.0)], ambient, 1e5, 300.0
    )
    net.march(0.2)
    here = net.spans[0]
    t0 = net.w[2, here] + net.w[0, here] ** 2 / (2 * 3.5 * 287.0)
    x = (np.arange(cells) + 0.5) / cells * 0.3
    np.testing.assert_allclose((600.0 - t0) / 300.0, np.exp(-heat * x), rtol=3e-3)
