"""Duct ends: what must hold for any state, and the exact relations they are made of."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribeline.kernels import boundaries as bd
from scribeline.kernels.riemann import hllc

gammas = st.floats(1.2, 1.45)
pressures = st.floats(3e4, 1e6)
temperatures = st.floats(250.0, 2500.0)
machs = st.floats(-0.9, 0.9) | st.floats(-1e-8, 1e-8)
openings = st.just(1.0) | st.floats(2e-4, 1.0)
R = 287.0


def end(p, t, mach, gamma, opening, p_v, t_v, gamma_v, hint=1.0):
    rho = p / (R * t)
    u = mach * np.sqrt(gamma * R * t)
    h_v = gamma_v / (gamma_v - 1) * R * t_v
    law = (1 / (gamma - 1), 0.0, 0.0)
    volume = (p_v, t_v, 0.75, gamma_v, R, h_v)
    mass, momentum, energy, fresh, p_f, _, status = bd.nozzle_end(rho, u, p, 0.25, law, opening, opening, volume, hint)
    return mass, momentum, energy, fresh, p_f, status


@settings(deadline=None, max_examples=300)
@given(pressures, temperatures, machs, gammas, openings, pressures, temperatures, gammas)
def test_a_nozzle_end_is_solved_and_obeys_its_bounds(p, t, mach, gamma, opening, p_v, t_v, gamma_v):
    mass, momentum, energy, fresh, p_f, status = end(p, t, mach, gamma, opening, p_v, t_v, gamma_v)
    assert status == bd.SOLVED
    rho = p / (R * t)
    wall = bd.wall_pressure(rho, mach * np.sqrt(gamma * R * t), p, gamma)
    tiny = 1e-9 * rho * np.sqrt(gamma * R * t)
    if wall > p_v:  # the gas leaves the duct, brings its own energy and composition
        assert mass >= -tiny
        assert fresh == pytest.approx(0.25 * mass)
        most = bd.nozzle_flow(3.0 * max(wall, p), t, 9e9, gamma, R) * 10
        assert mass <= most
        assert min(p_v, p) * 0.2 <= p_f <= wall * (1 + 1e-12)
    else:
        assert mass <= tiny
        assert fresh == pytest.approx(0.75 * mass)
        h_v = gamma_v / (gamma_v - 1) * R * t_v
        assert energy == pytest.approx(mass * h_v)
        assert -mass <= opening * bd.nozzle_flow(p_v, t_v, p_v, gamma_v, R) * (1 + 1e-6) + tiny
        assert p_f <= p_v * (1 + 1e-12)
    assert momentum >= p_f


@settings(deadline=None, max_examples=300)
@given(pressures, temperatures, machs, gammas, openings, pressures, temperatures, gammas, st.floats(0.1, 10.0))
def test_a_hint_saves_trials_and_changes_nothing(p, t, mach, gamma, opening, p_v, t_v, gamma_v, hint):
    state = (p, t, mach, gamma, opening, p_v, t_v, gamma_v)
    cold, hinted = end(*state), end(*state, hint)
    assert hinted[-1] == bd.SOLVED
    tiny = 1e-9 * p / np.sqrt(R * t)
    assert hinted[0] == pytest.approx(cold[0], rel=1e-4, abs=tiny)
    assert hinted[1] == pytest.approx(cold[1], rel=3e-5)  # its pressure alone is ill-defined close to sonic


@pytest.mark.parametrize("outward", [True, False])
def test_the_slopes_of_a_trial_are_its_slopes(outward):
    """Against a central difference, with shock, rarefaction, choked and not; isentropic where a shock runs back."""
    for p, s, opening in ((1e5, 0.25, 0.3), (3e5, 0.35, 0.7), (3e5, 0.5, 0.1), (0.8e5, 0.2, 0.9)):
        rho, gamma = p / (R * 700.0), 1.33
        if outward:
            z = (1e5 / p) ** ((gamma - 1) / (2 * gamma))
            at = [bd.leaving(s + d, rho, 120.0, p, gamma, opening, 1e5, z) for d in (-1e-5, 0.0, 1e-5)]
        else:
            at = [bd.entering(s + d, rho, -90.0, p, gamma, opening, 3e5, 900.0, 1.3, R) for d in (-1e-5, 0.0, 1e-5)]
        low, here, high = at
        want = [(high[i] - low[i]) / 2e-5 for i in (0, 2, 3, 4)]
        assert (here[1], here[5], here[6], here[7]) == pytest.approx(want, rel=0.02)


def test_equal_pressure_at_rest_means_no_flow():
    assert end(101325.0, 300.0, 0.0, 1.4, 1.0, 101325.0, 900.0, 1.3)[:4] == (0.0, 101325.0, 0.0, 0.0)


def test_a_shut_port_is_a_wall():
    mass, momentum, energy, fresh, p_f, _ = end(2e5, 300.0, 0.1, 1.4, 0.5e-4, 1e5, 300.0, 1.4)
    assert (mass, energy, fresh) == (0.0, 0.0, 0.0)
    assert momentum == p_f > 2e5


def test_a_half_open_port_passes_less_than_an_open_one():
    flows = [end(2e5, 300.0, 0.0, 1.4, x, 1e5, 300.0, 1.4)[0] for x in (0.1, 0.2, 0.4, 0.8, 1.0)]
    assert all(a < b for a, b in pairwise(flows))
    assert flows[0] == pytest.approx(0.1 * bd.nozzle_flow(2e5, 300.0, 1e5, 1.4, R), rel=0.08)


@settings(deadline=None, max_examples=200)
@given(st.floats(0.05, 20.0), gammas)
def test_the_wave_relations_fit_together(ratio, gamma):
    """Shock: mass and momentum across it; rarefaction: entropy kept."""
    change = bd.speed_behind_wave(ratio, 1.0, 1.0, gamma)
    rho = bd.density_behind_wave(ratio, 1.0, 1.0, gamma)
    if ratio > 1.001:
        shock = change * rho / (rho - 1.0)
        assert ratio - 1.0 == pytest.approx(shock * change, rel=1e-8)
    elif ratio < 1.0:
        assert ratio == pytest.approx(rho**gamma, rel=1e-10)


@settings(deadline=None, max_examples=200)
@given(pressures, temperatures, st.floats(-2.5, 2.5), pressures, temperatures, st.floats(-2.5, 2.5), gammas)
def test_hllc_is_consistent_and_mirrors(p_l, t_l, m_l, p_r, t_r, m_r, gamma):
    def state(p, t, m):
        rho, a = p / (R * t), np.sqrt(gamma * R * t)
        return rho, m * a, p, p / (gamma - 1) + 0.5 * rho * (m * a) ** 2, a

    left, right = state(p_l, t_l, m_l), state(p_r, t_r, m_r)
    rho, u, p, e, _ = left
    same = hllc(*left, 0.3, *left, 0.3)
    np.testing.assert_allclose(same, (rho * u, rho * u * u + p, u * (e + p), 0.3 * rho * u), rtol=1e-9, atol=1e-9 * e)
    mirrored_l = (right[0], -right[1], *right[2:])
    mirrored_r = (left[0], -left[1], *left[2:])
    a, b = hllc(*left, 0.2, *right, 0.9), hllc(*mirrored_l, 0.9, *mirrored_r, 0.2)
    scale = e + right[3]
    np.testing.assert_allclose(a, (-b[0], b[1], -b[2], -b[3]), rtol=1e-9, atol=1e-9 * scale)
