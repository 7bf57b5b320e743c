"""Scavenging: the two limits, the way between them, a measured curve, and never more than there is."""

import doctest
import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.special import hyp2f1

from scribeline.cycle.engine import Knobs
from scribeline.cycle.simulate import Settings, simulate
from scribeline.errors import CycleError
from scribeline.models import scavenging
from scribeline.models.scavenging import leaving, scavenging_efficiency, scavenging_efficiency_of_curve
from tests.cycle.invented import engine

RATIOS = np.linspace(0.05, 2.5, 50)


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(scavenging).failed == 0


@pytest.mark.parametrize("mixing", [0.2, 0.5, 0.7, 0.9])
def test_the_way_between_the_limits_against_its_exact_inverse(mixing: float) -> None:
    """Lambda = eta 2F1(1, m; 1 + m; eta^(1/m)) solves the same equation the other way round."""
    for ratio in RATIOS:
        eta = scavenging_efficiency(ratio, mixing)
        if eta < 1.0 - 1e-9:
            assert eta * hyp2f1(1.0, mixing, 1.0 + mixing, eta ** (1.0 / mixing)) == pytest.approx(ratio, rel=1e-5)


def test_every_setting_lies_between_mixing_and_displacement_in_order() -> None:
    for ratio in RATIOS:
        rising = [scavenging_efficiency(ratio, m) for m in (1.0, 0.9, 0.7, 0.5, 0.2, 0.0)]
        assert rising == sorted(rising)
        assert rising[-1] == min(ratio, 1.0)
        assert rising[0] == pytest.approx(1.0 - math.exp(-ratio), rel=1e-12)


def test_no_setting_but_displacement_sweeps_everything_out() -> None:
    """The last burned gas fades: at the default 6 % are left after two cylinders of charge."""
    assert 0.9 < scavenging_efficiency(2.0, scavenging.MIXING) < 0.96
    assert scavenging_efficiency(2.0, 1.0) < scavenging_efficiency(2.0, scavenging.MIXING)


@pytest.mark.parametrize("curve", [(0.0, -1.0, 0.0), (0.0, -1.0, -0.2), (0.03, -0.95, -0.1), (0.0, -0.8, 0.05)])
def test_a_measured_curve_comes_back_when_its_slope_is_followed(curve: tuple[float, float, float]) -> None:
    """scipy follows what leaves, from where the curve leaves zero."""
    k0, k1, k2 = curve
    start = max((x for x in np.linspace(0.0, 0.2, 2001) if k0 + k1 * x + k2 * x * x >= 0.0), default=0.0)
    done = solve_ivp(
        lambda _, eta: [1.0 - leaving(eta[0], 0.5, *curve)],
        (start, 1.6),
        [scavenging_efficiency_of_curve(start, *curve)],
        t_eval=(0.5, 1.0, 1.5),
        rtol=1e-9,
        atol=1e-12,
    )
    for ratio, eta in zip(done.t, done.y[0], strict=True):
        assert eta == pytest.approx(scavenging_efficiency_of_curve(ratio, *curve), abs=2e-4)


@pytest.mark.parametrize(
    "knobs",
    [Knobs(mixing=0.0), Knobs(mixing=0.3), Knobs(mixing=1.0), Knobs(scavenging_curve=(0.0, -1.0, -0.25))],
    ids=["displacement", "near it", "mixing", "curve"],
)
def test_an_engine_never_holds_more_fresh_charge_than_gas(knobs: Knobs) -> None:
    """At the speed where the pipe draws most through; the limits come out in their order."""
    got = simulate(engine(reed=True), 9000.0, Settings(knobs=knobs, cell_m=0.015))
    assert 0.8 < got.scavenging_efficiency <= 1.0
    if knobs.scavenging_curve is None:
        mixed = simulate(engine(reed=True), 9000.0, Settings(knobs=Knobs(mixing=1.0), cell_m=0.015))
        assert got.scavenging_efficiency >= mixed.scavenging_efficiency


@pytest.mark.parametrize("knobs", [Knobs(mixing=-0.1), Knobs(mixing=1.1), Knobs(scavenging_curve=(0.0, 0.5, 0.0))])
def test_settings_that_mean_nothing_are_refused(knobs: Knobs) -> None:
    with pytest.raises(CycleError, match="accepted is"):
        simulate(engine(reed=True), 9000.0, Settings(knobs=knobs))
