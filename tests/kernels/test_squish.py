"""The nozzle relation of the squish kernel against mpmath and the closed form of choked flow."""

import math

import mpmath as mp
import numpy as np
import pytest

from scribeline.kernels import squish


@pytest.mark.parametrize("gamma", [1.2, 1.33, 1.4, 5.0 / 3.0])
@pytest.mark.parametrize("share_of_choking", [1e-6, 0.05, 0.5, 0.9, 0.999, 0.999999])
def test_speed_ratio_solves_its_relation(gamma: float, share_of_choking: float) -> None:
    with mp.workdps(40):
        g = mp.mpf(gamma)
        flow = lambda m: m * (1 - (g - 1) / 2 * m**2) ** (1 / (g - 1))  # noqa: E731
        sonic = mp.sqrt(2 / (g + 1))
        wanted = mp.mpf(share_of_choking) * flow(sonic)
        expected = mp.findroot(lambda m: flow(m) - wanted, (0, sonic), solver="anderson", tol=1e-30)
    got = squish.speed_ratio_at(float(wanted), gamma)
    # Next to choking the flow hardly depends on the speed, so a rounding of the one is a large step of the other.
    assert got == pytest.approx(float(expected), rel=1e-15 / math.sqrt(1.0 - share_of_choking) * 20.0)


@pytest.mark.parametrize("gamma", [1.2, 1.33, 1.4, 5.0 / 3.0])
def test_choking_is_the_largest_flow(gamma: float) -> None:
    ratio = np.linspace(0.0, math.sqrt(2.0 / (gamma - 1.0)), 200001)
    flow = ratio * np.maximum(1.0 - (gamma - 1.0) / 2.0 * ratio**2, 0.0) ** (1.0 / (gamma - 1.0))
    assert squish.choking_ratio_at(gamma) == pytest.approx(flow.max(), rel=1e-9)
    assert squish.speed_ratio_at(2.0, gamma) == pytest.approx(ratio[flow.argmax()], abs=2e-5)
    assert squish.speed_ratio_at(squish.choking_ratio_at(gamma), gamma) == math.sqrt(2.0 / (gamma + 1.0))


def test_slow_gas_is_incompressible() -> None:
    assert squish.speed_ratio_at(0.0, 1.35) == 0.0
    assert squish.speed_ratio_at(1e-9, 1.35) == 1e-9
    assert squish.speed_ratio_at(0.01, 1.35) == pytest.approx(0.01 * (1.0 + 0.01**2 / 2.0), rel=1e-8)


@pytest.mark.parametrize(("ratio", "gamma"), [(-0.1, 1.35), (math.nan, 1.35), (0.1, 1.0), (0.1, math.nan)])
def test_what_cannot_be_gives_nan(ratio: float, gamma: float) -> None:
    assert math.isnan(squish.speed_ratio_at(ratio, gamma))


def test_peak_angle_of_a_crank_that_cannot_turn_is_nan() -> None:
    assert math.isnan(squish.peak_angle_at(0.042, 0.020, 0.0, 0.0008, 0.004, 0.03, 0.0, 1.35))
    assert math.isnan(squish.peak_angle_at(0.042, 0.085, 0.0, math.nan, 0.004, 0.03, 0.0, 1.35))
    assert math.isnan(squish.peak_angle_at(0.042, 0.085, 0.0, 0.0008, 0.004, 0.03, math.nan, 1.35))
    assert math.isnan(squish.peak_angle_at(0.042, 0.085, 0.0, 0.0008, 0.004, 0.03, 0.001, 1.0))
