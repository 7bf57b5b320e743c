"""Ends of eight engines at once against `nozzle_end`, itself held against exact solutions; powers against math."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribeline.kernels import abreast
from scribeline.kernels.abreast import LANES, ROOM, exponential, logarithm, power, solve_ends
from scribeline.kernels.boundaries import nozzle_end

FLUXES = slice(abreast._MASS, abreast._FRE + 1)


@given(st.floats(1e-7, 1e7))
def test_logarithm(x: float) -> None:
    assert logarithm(x) == pytest.approx(math.log(x), rel=2e-15, abs=4e-16)


@given(st.floats(-40.0, 40.0))
def test_exponential(x: float) -> None:
    assert exponential(x) == pytest.approx(math.exp(x), rel=3e-14)


@given(st.floats(1e-3, 1e3), st.floats(-5.0, 5.0))
def test_power(base: float, exponent: float) -> None:
    assert power(base, exponent) == pytest.approx(base**exponent, rel=3e-14)


def states(rng: np.random.Generator) -> np.ndarray:
    """Rows of the room for LANES ends: a gas, openings from shut to open, a volume far below to far above."""
    p, t = 10.0 ** rng.uniform(4.6, 5.6, LANES), rng.uniform(300.0, 1200.0, LANES)
    opening = rng.choice([0.0, 1e-5, 0.01, 0.1, 0.5, 0.9, 1.0], LANES)
    far, near = p * 10.0 ** rng.uniform(-0.8, 0.8, LANES), p * (1.0 + 1e-3 * rng.standard_normal(LANES))
    t_v = rng.uniform(300.0, 2000.0, LANES)
    return np.array(
        [
            p / 287.0 / t, rng.uniform(-300.0, 300.0, LANES), p, rng.uniform(0.0, 1.0, LANES),
            1.0 / rng.uniform(0.28, 0.4, LANES), *rng.uniform(-1e4, 1e4, (2, LANES)), opening, 0.9 * opening,
            np.where(rng.random(LANES) < 0.4, near, far), t_v, rng.uniform(0.0, 1.0, LANES),
            rng.uniform(1.25, 1.4, LANES), rng.uniform(280.0, 295.0, LANES), 1100.0 * t_v,
            rng.uniform(0.7, 1.3, LANES),
        ]
    )  # fmt: skip


def solved(rows: np.ndarray) -> np.ndarray:
    """Fluxes of mass, momentum, energy and fresh mass out of the duct, (4, LANES)."""
    room, unsolved = np.zeros(ROOM), np.zeros(LANES, np.int64)
    room[: rows.size] = rows.ravel()
    solve_ends(room, unsolved)
    assert not unsolved.any()
    return room.reshape(-1, LANES)[FLUXES].copy()


def test_ends_of_eight_engines_are_what_each_is_alone() -> None:
    """Shut, subsonic, choked, both ways, sonic jets into the duct: to 1e-12 of what sound carries."""
    rng = np.random.default_rng(1)
    sonic = 0
    for _ in range(400):
        rows = states(rng)
        found = solved(rows)
        for b in range(LANES):
            rho, u, p, y, g, h, k, out, back, *volume, hint = map(float, rows[:, b])
            mass, momentum, energy, fresh, _, _, _ = nozzle_end(
                rho, u, p, y, (g, h, k), out, back, tuple(volume), hint
            )  # fmt: skip
            a = math.sqrt((1.0 + 1.0 / g) * p / rho)
            error = (found[:, b] - (mass, momentum, energy, fresh)) / (rho * a, p, 5.0 * p * a, rho * a)
            assert np.abs(error).max() < 1e-12, (b, rows[:, b])
            sonic += mass < 0.0 and mass * mass > 0.99 * rho * rho * a * a
    assert sonic > 20  # and jets at the speed of sound are among them


def test_nobody_depends_on_a_neighbour() -> None:
    """To the last bit, wherever an end stands and whatever the others need."""
    rng = np.random.default_rng(2)
    for _ in range(50):
        rows, others = states(rng), states(rng)
        found = solved(rows)
        order = rng.permutation(LANES)
        assert np.array_equal(solved(rows[:, order]), found[:, order])
        mixed = np.where(np.arange(LANES) % 2 == 0, rows, others)
        assert np.array_equal(solved(mixed)[:, ::2], found[:, ::2])
