"""The checks of 11_cycle_end_to_end.toml that are about arithmetic, on an invented engine.

Trends, tuning law, density and the plausible band are in tests/validation.
"""

import math
from functools import cache

import numpy as np
import pytest

from scribeline.cycle.along import power_curve
from scribeline.cycle.cylinder import Cylinder, closed_cycle
from scribeline.cycle.engine import Knobs
from scribeline.cycle.layout import FREE, WALL, Duct, End, Volume, lay_out
from scribeline.cycle.simulate import Settings, simulate
from scribeline.kernels.gas import perfect_gas
from scribeline.models import resonance, scavenging
from tests.cycle.invented import engine
from tests.reference.checks import Check, assert_close, each, not_run

FILE = "11_cycle_end_to_end"
BEST = [9000.0, 9500.0, 10000.0]
BASE = engine(reed=True)


@cache
def base_at_best():
    return power_curve(BASE, BEST)


def sealed(ratio: float, gamma: float, **burn: float) -> dict[str, float]:
    cylinder = Cylinder(0.05, 1e-4 / (0.25 * np.pi * 0.05**2), 0.1, 1e-4 / (ratio - 1))
    return closed_cycle(cylinder, gamma, 287.0, 1e5, 300.0, -math.pi, math.pi, **burn)


@each(FILE, "e2e-otto-")
def test_otto(check: Check) -> None:
    burn = {"heat_j": 100.0, "start_deg": -0.1, "duration_deg": 0.2, "most_step_deg": 0.05}
    assert_close(check, {"efficiency": sealed(check.inputs["ratio"], check.inputs["gamma"], **burn)["work_j"] / 100.0})


@each(FILE, "e2e-motored")
def test_motored(check: Check) -> None:
    for ratio, gamma, want in check.expected["rows"]:
        got = sealed(ratio, gamma)
        assert got["peak_pressure_pa"] / 1e5 == pytest.approx(want, rel=1e-5)
        assert abs(got["work_j"]) / (1e5 * 1e-4) < check.expected["work_over_p_close_times_swept_max"]


@each(FILE, "e2e-mass", "e2e-energy")
def test_balances_of_the_converged_cycle(check: Check) -> None:
    """Pipes adiabatic for the energy; tolerance ten times finer than the default. Steps conserve to 1e-13, see
    tests/cycle."""
    got = simulate(BASE, 9500.0, Settings(tolerance=5e-4, most_cycles=300, knobs=Knobs(analogy=0.0)))
    if check.id == "e2e-mass":
        assert abs(got.mass_imbalance) < check.expected["relative_imbalance_max"]
    else:
        left = got.gained_j + got.energy_in_j - got.energy_out_j - got.work_j - got.lost_j
        assert abs(left) / got.heat_j < check.expected["relative_imbalance_max"]


@each(FILE, "e2e-shocktube")
def test_shock_tube(check: Check) -> None:
    """Errors and order of the scheme; shock speed and plateaus are in tests/verification/test_shock_tubes.py too."""
    from tests.verification.exact_riemann import cell_means, star
    from tests.verification.test_shock_tubes import SOD, tube

    want = check.expected
    assert star(*SOD, 1.4) == pytest.approx((want["p_star"], want["u_star"]), rel=1e-8)
    error = []
    for cells in (200, 400):
        edges, got = tube(cells, *SOD, 0.5, 0.2)
        error.append(np.abs(got[0] - cell_means(*SOD, 1.4, edges - 0.5, 0.2)[0]).mean())
    assert error[0] < want["L1_density_error_max_200_cells_second_order"]
    assert np.log2(error[0] / error[1]) > want["min_observed_order"]
    at = slice(int(0.72 * 400), int(0.82 * 400))
    assert got[0, at].mean() == pytest.approx(want["rho_star_right"], rel=2e-3)
    assert got[0, int(0.6 * 400)] == pytest.approx(want["rho_star_left"], rel=2e-3)
    shock = edges[1:][got[0] > 0.5 * (0.125 + want["rho_star_right"])].max()
    assert (shock - 0.5) / 0.2 == pytest.approx(want["shock_speed"], abs=1 / 400 / 0.2)


@each(FILE, "e2e-organ-")
def test_organ_pipe(check: Check) -> None:
    """Our open end has no correction of its own; with the correction as length it rings at the corrected figure."""
    length, d, t_k = (check.inputs[k] for k in ("length_m", "diameter_m", "T_K"))
    c = math.sqrt(1.4 * 287.05 * t_k)
    air = perfect_gas(1.4, 287.05)
    for extra, key in ((0.0, "f_no_correction_Hz"), (resonance.open_end_correction_m(d), "f_levine_schwinger_Hz")):
        want = check.expected[key]
        assert resonance.closed_open_hz(length, c, d if extra else 0.0) == pytest.approx(want, rel=1e-6)
        net = lay_out(
            air, [Duct(length + extra, np.full(41, 1e-3), End(WALL), End(0))], [Volume(101325.0, t_k)], 101325.0, t_k
        )
        x = (np.arange(40) + 0.5) / 40
        size = 1e-4 * np.exp(-(((x - 0.4) / 0.12) ** 2))
        rho = 101325.0 / (287.05 * t_k)
        net.set_duct(0, rho * (1 + size), np.zeros(40), 101325.0 * (1 + 1.4 * size), 0.0)
        # project the pressure on the fundamental mode and follow its phase
        mode = np.cos(0.5 * np.pi * x)
        dt = 1 / want / 40
        signal = []
        for _ in range(200):
            net.march(dt)
            signal.append(mode @ (net.w[1, net.spans[0]] - 101325.0))
        signal = np.array(signal)
        rising = np.flatnonzero((signal[:-1] < 0) & (signal[1:] >= 0))
        at = rising - signal[rising] / (signal[rising + 1] - signal[rising])
        got = (len(at) - 1) / ((at[-1] - at[0]) * dt)
        assert got == pytest.approx(want, rel=0.01 * check.expected["max_error_percent_vs_own_end_model"])


@each(FILE, "e2e-scavenging")
def test_scavenging(check: Check) -> None:
    """The zone model set to mixing gives the mixing line; no setting is above perfect displacement; and the whole
    engine stays below the limit too."""
    columns = (check.expected[k] for k in ("scavenge_ratio", "upper_limit", "perfect_mixing"))
    for ratio, upper, mixing in zip(*columns, strict=True):
        fresh, steps = 0.0, 4000
        for _ in range(steps):
            half = fresh + 0.5 * ratio / steps * (1 - scavenging.leaving_fresh_fraction(fresh, 1.0))
            fresh += ratio / steps * (1 - scavenging.leaving_fresh_fraction(half, 1.0))
        assert fresh == pytest.approx(mixing, rel=0.005)
        for share in (0.0, 0.3, 1.0):
            assert scavenging.scavenging_efficiency(ratio, share) <= upper + 1e-12
    for result in base_at_best():
        assert result.trapping_efficiency <= 1.0
        assert result.scavenging_efficiency <= 1.0


@each(FILE, "e2e-convergence")
def test_grid(check: Check) -> None:
    """From the default of 10 mm to 5 mm, which halves the time step too, at the speeds around best power."""
    coarse, fine = base_at_best(), power_curve(BASE, BEST, Settings(cell_m=0.005))
    best_c, best_f = (max(c, key=lambda r: r.power_w) for c in (coarse, fine))
    want = check.expected
    assert abs(best_c.power_w / best_f.power_w - 1) * 100 < want["power_percent"]
    assert abs(best_c.speed_rpm / best_f.speed_rpm - 1) * 100 < want["rpm_percent"]
    assert abs(best_c.delivery_ratio / best_f.delivery_ratio - 1) * 100 < want["delivery_ratio_percent"]


@each(FILE, "e2e-blowdown")
def test_locked_crank_blowdown(check: Check) -> None:
    """Port half open to a wide duct: pressure follows the closed form while choked."""
    i = check.inputs
    area = i["effective_area_m2"]
    net = lay_out(
        perfect_gas(i["gamma"], i["R"]),
        [Duct(0.1, np.full(11, 4 * area), End(0, 0.25, 0.25), End(FREE))],
        [Volume(i["p0_Pa"], i["T0_K"], 0.0, i["volume_m3"])],
        101325.0,
        400.0,
    )
    net.march(i["t_s"])
    mass, energy = net.volumes[:2, 0]
    p = energy * (i["gamma"] - 1) / i["volume_m3"]
    choked = p * (2 / (i["gamma"] + 1)) ** (i["gamma"] / (i["gamma"] - 1))
    assert mass > 0
    assert_close(check, {"p_Pa": p, "choked_until_back_pressure_Pa": choked})


def test_every_check_is_run() -> None:
    validation = ("tests.validation.test_trends", "tests.validation.test_plausibility")
    assert not_run(FILE, __name__, *validation) == []
