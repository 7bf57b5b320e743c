"""Steady flow through nozzles and steps, and vessels that empty, against closed forms."""

import numpy as np
import pytest
from scipy.optimize import brentq

from scribeline.cycle.layout import Duct, End, Volume, lay_out
from scribeline.kernels.gas import perfect_gas
from tests.reference.checks import load

GAS = load("04_gas_dynamics")


def area_over_throat(mach, gamma):
    return (2 / (gamma + 1) * (1 + (gamma - 1) / 2 * mach**2)) ** ((gamma + 1) / 2 / (gamma - 1)) / mach


def bell(cells, throat=1e-4, wide=3e-4):
    """A smooth convergent-divergent duct, throat in the middle."""
    x = np.linspace(-1, 1, cells + 1)
    return throat + (wide - throat) * x**2 * (2 - x**2)


def subsonic_nozzle(cells, gamma):
    """Mach number in each cell of a bell-shaped duct, that of the area relation, and the mass flow in each cell."""
    p0, t0, p_back, r = 120000.0, 300.0, 118000.0, 287.0
    faces = bell(cells)
    net = lay_out(
        perfect_gas(gamma, r), [Duct(0.4, faces, End(0), End(1))], [Volume(p0, t0), Volume(p_back, t0)], p0, t0
    )
    net.march(0.25)
    here = net.spans[0]
    exit_mach = np.sqrt(2 / (gamma - 1) * ((p0 / p_back) ** ((gamma - 1) / gamma) - 1))
    star = faces[-1] / area_over_throat(exit_mach, gamma)
    middle = 0.5 * (faces[1:] + faces[:-1])
    exact = np.array([brentq(lambda m, want=a / star: area_over_throat(m, gamma) - want, 1e-6, 1.0) for a in middle])
    return net.w[0, here] / net.w[4, here], exact, net.q[1, here] / net.geo[1, here] / (0.4 / cells)


@pytest.mark.parametrize("gamma", [1.4, 1.3])
def test_subsonic_isentropic_nozzle(gamma):
    """Mach number along the duct from the area relation, mass flow the same at every face; 40 and 80 cells."""
    error = []
    for cells in (40, 80):
        mach, exact, flow = subsonic_nozzle(cells, gamma)
        error.append(np.abs(mach - exact).max())
        assert np.ptp(flow) / flow.mean() < 3e-3
    assert error[1] < 1.5e-3, error
    assert error[0] / error[1] > 2.5, error


def test_choked_nozzle_with_a_shock_behind_the_throat():
    """The throat passes the choked flow whatever lies behind, and the shock stands where the areas put it."""
    gamma, r, p0, t0, p_back = 1.4, 287.0, 200000.0, 300.0, 140000.0
    faces = bell(160)
    net = lay_out(
        perfect_gas(gamma, r), [Duct(0.4, faces, End(0), End(1))], [Volume(p0, t0), Volume(p_back, t0)], p_back, t0
    )
    net.march(0.1)
    here = net.spans[0]
    choked = p0 * faces.min() * np.sqrt(gamma / (r * t0)) * (2 / (gamma + 1)) ** ((gamma + 1) / 2 / (gamma - 1))
    flow = net.q[1, here] / net.geo[1, here] / (0.4 / 160)
    assert flow[20] == pytest.approx(choked, rel=2e-3)
    # exit: choked flow at p_back; stagnation pressure ratio across the shock; Mach number ahead of it; its area
    exit_mach = brentq(
        lambda m: p_back * m * faces[-1] * np.sqrt(gamma / (r * t0) * (1 + 0.2 * m * m)) - choked, 0.01, 1
    )
    loss = p_back * (1 + 0.2 * exit_mach**2) ** 3.5 / p0

    def stagnation_ratio(m):
        return (1.2 * m * m / (1 + 0.2 * m * m)) ** 3.5 * (2.4 / (2.8 * m * m - 0.4)) ** 2.5

    ahead = brentq(lambda m: stagnation_ratio(m) - loss, 1.0, 3.0)
    shock_area = area_over_throat(ahead, gamma) * faces.min()
    mach = net.w[0, here] / net.w[4, here]
    standing = np.flatnonzero(mach > 1).max()
    assert faces[standing + 1] == pytest.approx(shock_area, rel=0.02)
    assert mach.max() == pytest.approx(ahead, rel=0.02)


@pytest.mark.parametrize("key", [k for k in GAS if k.startswith("nozzle-")])
def test_a_port_between_two_large_volumes_passes_the_nozzle_flow(key):
    """A short duct far wider than the port: its pressure is that of the air behind, and the port's flow the check's."""
    check = GAS[key]
    gamma, r, p0, t0, area, cd, pb = (
        check.inputs[k] for k in ("gamma", "R", "p0_Pa", "T0_K", "area_m2", "Cd", "back_pressure_Pa")
    )
    wide = 100 * area * cd
    assert port_flow(gamma, r, p0, t0, wide, pb) == pytest.approx(check.expected["mass_flow_kg_s"], rel=5e-4)


def port_flow(gamma, r, p0, t0, wide, pb):
    """Mass flow [kg/s] from p0, t0 through a port of a hundredth of a duct's area, against the pressure pb."""
    net = lay_out(
        perfect_gas(gamma, r),
        [Duct(0.05, np.full(11, wide), End(0, 0.01, 0.01), End(1))],
        [Volume(p0, t0), Volume(pb, t0)],
        pb,
        t0,
    )
    net.march(0.3)  # until the ringing behind the nearly shut port is over
    return (net.q[1, net.spans[0]] * wide).mean()


def blow_down(check, cells, share=1.0):
    """Empty the vessel through a port into a wide duct that ends in thin air, so that the port stays choked.

    share : of the check's time. Returns pressure [Pa], temperature [K] and the part of the mass that is left.
    """
    gamma, r, p0, t0, volume, area, t = (
        check.inputs[k] for k in ("gamma", "R", "p0_Pa", "T0_K", "volume_m3", "effective_area_m2", "t_s")
    )
    net = lay_out(
        perfect_gas(gamma, r),
        [Duct(0.1, np.full(cells + 1, 10 * area), End(0, 0.1, 0.1), End(1))],
        [Volume(p0, t0, 1.0, volume), Volume(0.1 * p0, t0)],
        0.1 * p0,
        t0,
    )
    m0 = net.volumes[0, 0]
    net.march(share * t)
    mass, energy = net.volumes[:2, 0]
    t_k = energy / mass * (gamma - 1) / r
    return mass * r * t_k / volume, t_k, mass / m0


@pytest.mark.parametrize("key", [k for k in GAS if k.startswith("vessel-blowdown")])
def test_vessel_blowdown_closed_form_and_order(key):
    check = GAS[key]
    want = np.array([check.expected[k] for k in ("p_Pa", "T_K", "mass_fraction_left")])
    error = []
    for cells in (10, 20, 40):
        error.append(np.abs(np.array(blow_down(check, cells)) / want - 1).max())
    assert error[-1] < 2e-5, error
    assert np.log2(error[0] / error[1]) > 1.8, error
    assert np.log2(error[1] / error[2]) > 1.8, error


def test_sudden_widening_loses_what_borda_and_carnot_say():
    """Slow flow from a narrow into a wide pipe: stagnation pressure drop rho (u1 - u2)^2 / 2."""
    narrow, wide, gamma, r, t0 = 1e-4, 3e-4, 1.4, 287.0, 300.0
    cells = 60
    faces = np.where(np.arange(cells + 1) <= 30, narrow, wide)
    net = lay_out(
        perfect_gas(gamma, r),
        [Duct(0.3, faces, End(0), End(1), steps={30: (narrow, wide)})],
        [Volume(101500.0, t0), Volume(101325.0, t0)],
        101325.0,
        t0,
    )
    net.march(0.3)
    here = net.spans[0]
    rho, u, p = net.q[0, here], net.w[0, here], net.w[1, here]
    total = p + 0.5 * rho * u * u
    drop = total[20] - total[50]
    assert drop == pytest.approx(0.5 * rho[20] * (u[20] - u[50]) ** 2, rel=0.05)
