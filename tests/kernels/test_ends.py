"""Many ends at once against `nozzle_end`, itself held against exact solutions."""

import math

import numpy as np

from scribeline.kernels import ends
from scribeline.kernels.boundaries import nozzle_end
from scribeline.kernels.ends import BLOCK, LANES, blocks_for, room_for, solve_ends

COUNT = 21  # two blocks full, one not
GIVEN = (
    ends.RHO, ends.U, ends.P, ends.Y, ends.G, ends.H, ends.K, ends.OUT, ends.IN, ends.P_V, ends.T_V, ends.Y_V, ends.G_V,
    ends.R_V, ends.H_V, ends.HINT,
)  # fmt: skip
FLUXES = (ends.MASS, ends.MOM, ends.ENE, ends.FRE)


def states(rng: np.random.Generator) -> np.ndarray:
    """Rows of GIVEN for COUNT ends: a gas, openings from shut to open, a volume far below to far above."""
    p, t = 10.0 ** rng.uniform(4.6, 5.6, COUNT), rng.uniform(300.0, 1200.0, COUNT)
    opening = rng.choice([0.0, 1e-5, 0.01, 0.1, 0.5, 0.9, 1.0], COUNT)
    far, near = p * 10.0 ** rng.uniform(-0.8, 0.8, COUNT), p * (1.0 + 1e-3 * rng.standard_normal(COUNT))
    t_v = rng.uniform(300.0, 2000.0, COUNT)
    return np.array(
        [
            p / 287.0 / t, rng.uniform(-300.0, 300.0, COUNT), p, rng.uniform(0.0, 1.0, COUNT),
            1.0 / rng.uniform(0.28, 0.4, COUNT), *rng.uniform(-1e4, 1e4, (2, COUNT)), opening, 0.9 * opening,
            np.where(rng.random(COUNT) < 0.4, near, far), t_v, rng.uniform(0.0, 1.0, COUNT),
            rng.uniform(1.25, 1.4, COUNT), rng.uniform(280.0, 295.0, COUNT), 1100.0 * t_v,
            rng.uniform(0.7, 1.3, COUNT),
        ]
    )  # fmt: skip


def solved(rows: np.ndarray) -> np.ndarray:
    """Fluxes of mass, momentum, energy and fresh mass out of the duct, (4, COUNT)."""
    count = rows.shape[1]
    room, unsolved = np.zeros(room_for(count)), np.zeros(3, np.int64)
    home = room[: blocks_for(count) * BLOCK].reshape(-1, BLOCK // LANES, LANES)
    for row, numbers in zip(GIVEN, rows, strict=True):
        for number, value in enumerate(numbers):
            home[number // LANES, row, number % LANES] = value
    solve_ends(room, count, unsolved)
    assert not unsolved.any()
    return np.array([home[:, row].ravel()[:count] for row in FLUXES])


def test_many_ends_are_what_each_is_alone() -> None:
    """Shut, subsonic, choked, both ways, sonic jets into the duct: to 1e-12 of what sound carries."""
    rng = np.random.default_rng(1)
    sonic = 0
    for _ in range(150):
        rows = states(rng)
        found = solved(rows)
        for b in range(COUNT):
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
        order = rng.permutation(COUNT)
        assert np.array_equal(solved(rows[:, order]), found[:, order])
        mixed = np.where(np.arange(COUNT) % 2 == 0, rows, others)
        assert np.array_equal(solved(mixed)[:, ::2], found[:, ::2])
    assert np.array_equal(solved(rows[:, 3:4]), found[:, 3:4])  # and quite alone


def test_an_end_that_cannot_be_solved_is_counted_for_its_engine() -> None:
    """Pressure that is no number has no solution; end 4 of three engines abreast belongs to number 1."""
    rows = states(np.random.default_rng(3))
    rows[GIVEN.index(ends.OUT)] = rows[GIVEN.index(ends.IN)] = 0.5
    rows[GIVEN.index(ends.T_V), 4] = np.nan
    rows[GIVEN.index(ends.P_V), 4] = 2.0 * rows[GIVEN.index(ends.P), 4] + 1e6
    room, unsolved = np.zeros(room_for(COUNT)), np.zeros(3, np.int64)
    home = room[: blocks_for(COUNT) * BLOCK].reshape(-1, BLOCK // LANES, LANES)
    for row, numbers in zip(GIVEN, rows, strict=True):
        for number, value in enumerate(numbers):
            home[number // LANES, row, number % LANES] = value
    solve_ends(room, COUNT, unsolved)
    assert unsolved.tolist() == [0, 1, 0]
