"""Smoothing that invents nothing, and gate times whose +/- holds."""

import doctest

import numpy as np
import pytest

from scribeline.errors import TrialError
from scribeline.trials import gates, smoothing
from scribeline.trials.gates import Gate, gate_time, mean_acceleration_m_s2
from scribeline.trials.smoothing import choose_reach, smooth
from tests.trials.roads import Truth, sampled

GATE = Gate(30 / 3.6, 60 / 3.6)
TRUTH = Truth().accelerate(4.0, 10.0)


@pytest.mark.parametrize("module", [smoothing, gates], ids=lambda m: m.__name__)
def test_examples_in_the_docstrings(module: object) -> None:
    results = doctest.testmod(module)  # type: ignore[arg-type]
    assert results.attempted >= 1
    assert results.failed == 0


def test_a_parabola_comes_through_unchanged_however_it_was_sampled() -> None:
    t = np.sort(np.random.default_rng(2).uniform(0.0, 6.0, 70))
    found = smooth(t, 4.0 + 3.0 * t - 0.2 * t**2, 0.8)
    np.testing.assert_allclose(found.value, 4.0 + 3.0 * t - 0.2 * t**2, atol=1e-9)
    np.testing.assert_allclose(found.slope, 3.0 - 0.4 * t, atol=1e-8)
    assert found.sd < 1e-9


@pytest.mark.parametrize(("hz", "sd"), [(10.0, 0.05), (50.0, 0.1), (5.0, 0.03)])
def test_the_standard_errors_are_those_of_many_repetitions(hz: float, sd: float) -> None:
    dice = np.random.default_rng(7)
    t = np.arange(0.0, 6.0, 1.0 / hz)
    y = 5.0 + 2.5 * t - 0.1 * t**2
    runs = [smooth(t, y + sd * dice.normal(size=t.size), 0.7) for _ in range(200)]
    slopes, values = np.array([r.slope for r in runs]), np.array([r.value for r in runs])
    inside = slice(3, -3)
    for seen, told in ((slopes, [r.slope_se for r in runs]), (values, [r.value_se for r in runs])):
        np.testing.assert_allclose(seen.std(axis=0)[inside].mean(), np.mean(told, axis=0)[inside].mean(), rtol=0.1)
    assert np.mean([r.sd for r in runs]) == pytest.approx(sd, rel=0.05)


def test_no_peak_is_invented() -> None:
    """Power of a curve with one top: any second top of the smoothed curve stays inside its own +/-."""
    t, v = TRUTH
    for seed in range(12):
        at, speed = sampled(t, v, 10.0, 0.06, np.random.default_rng(seed))
        found = smooth(at, speed, choose_reach(at, speed))
        power, pm = found.slope * found.value, 2.5 * found.slope_se * found.value
        # A second top is real where the upper end of a valley lies under the lower ends on both sides of it.
        low, high = power - pm, power + pm
        before, after = np.maximum.accumulate(low), np.maximum.accumulate(low[::-1])[::-1]
        valley = (high[1:-1] < before[:-2]) & (high[1:-1] < after[2:])
        assert not valley.any(), seed


def test_a_kink_is_not_overshot() -> None:
    t = np.arange(0.0, 8.0, 0.1)
    y = np.where(t < 4.0, 2.0 * t, 8.0)
    assert smooth(t, y, 1.0).value.max() < 8.0 + 0.15
    assert smooth(t, y, 1.0).slope.max() < 2.0 * 1.15


@pytest.mark.parametrize(("hz", "sd"), [(1.0, 0.02), (5.0, 0.1), (10.0, 0.05), (25.0, 0.15)])
def test_the_gate_time_is_true_as_often_as_its_plus_minus_says(hz: float, sd: float) -> None:
    t, v = TRUTH
    true = float(np.interp(GATE.to_m_s, v, t) - np.interp(GATE.from_m_s, v, t))
    dice = np.random.default_rng(19)
    held, widths = 0, []
    for i in range(120):
        at, speed = sampled(t, v, hz, sd, dice, lag=dice.uniform(0.0, 1.0 / hz))
        found = gate_time(smooth(at, speed, choose_reach(at, speed), sd=sd), GATE)
        assert found is not None, i
        held += abs(found.seconds - true) <= found.plus_minus_s
        widths.append(found.plus_minus_s)
    assert held / 120 >= 0.9
    assert np.mean(widths) < 0.35


def test_what_was_not_driven_through_has_no_time() -> None:
    t, v = TRUTH
    at, speed = sampled(t, v, 10.0, 0.0, np.random.default_rng(1))
    trace = smooth(at, speed, 0.5)
    assert gate_time(trace, Gate(3.0, 15.0)) is None
    assert gate_time(trace, Gate(10.0, 90.0)) is None
    assert gate_time(trace, Gate(15.0, 10.0)) is None


def test_a_gate_may_fall() -> None:
    t = np.arange(0.0, 10.0, 0.1)
    found = gate_time(smooth(t, 20.0 - 1.5 * t, 0.5), Gate(15.0, 9.0))
    assert found is not None
    assert found.seconds == pytest.approx(4.0, abs=1e-6)
    assert mean_acceleration_m_s2(found)[0] == pytest.approx(-1.5, abs=1e-6)


def test_a_hole_in_the_pull_is_refused() -> None:
    t = np.concatenate([np.arange(0.0, 2.0, 0.5), np.arange(20.0, 21.0, 0.5)])
    with pytest.raises(TrialError, match="no hole in a pull"):
        smooth(t, t, 0.5)
    with pytest.raises(TrialError, match="at least 5 within a pull"):
        smooth([0.0, 1.0], [1.0, 2.0], 0.5)
