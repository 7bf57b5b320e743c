"""What turns, typed for a trial, and what it does: the energy that it takes up is what its power adds up to."""

import doctest
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from scribeline.engine import read_record
from scribeline.errors import TrialError, TypedValueError
from scribeline.tasks import trial_turning
from scribeline.tasks.trial_turning import Turning, turning_kept, turning_of
from scribeline.tasks.trial_vehicle import ROTATING, TURNING_ASSUMED, Vehicle, vehicle_of
from scribeline.trials.gates import Gate
from scribeline.trials.predict import run_through
from scribeline.trials.road_power import power_of
from scribeline.trials.smoothing import Smooth
from tests.examples import KART, text_of


def test_examples_in_the_docstrings() -> None:
    results = doctest.testmod(trial_turning)
    assert (results.attempted >= 1, results.failed) == (True, 0)


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("wheels 0.32 kg m2", {"wheels": [0.32, 0.0]}),
        ("Wheels 0,32", {"wheels": [0.32, 0.0]}),
        ("crank 2.1 g m2, clutch 4 kg cm²", {"crank": [0.0021, 0.0], "clutch": [0.0004, 0.0]}),
        ("wheels 0.32 ± 0.05 kg m2; crank 0.0021", {"wheels": [0.32, 0.05], "crank": [0.0021, 0.0]}),
        ("share 0.04", {"share": [0.04, 0.0]}),
    ],
)
def test_what_may_be_typed(text: str, kept: dict[str, Any]) -> None:
    assert turning_of(text) == kept


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("0.32 kg m2", "what turns typed as"),
        ("flywheel 3 kg cm2", "wheels, crank and clutch"),
        ("wheels 0.3 kg m2, share 3 %", "what turns typed as"),
        ("crank 21", "1 kg m2 is 10000 kg cm2"),
        ("crank 0.001 kg m2, crank 0.002 kg m2", "what turns typed as"),
        ("share 80 %", "up to 0.5"),
    ],
)
def test_what_is_not_clear_is_refused(text: str, said: str) -> None:
    with pytest.raises(TrialError, match=said):
        turning_of(text)


@pytest.mark.parametrize("text", ["wheels 0.32 kg", "crank 21 ± 3 kg cm2"])
def test_a_quantity_that_is_not_one_inertia_is_refused(text: str) -> None:
    with pytest.raises(TypedValueError):
        turning_of(text)


def vehicle(told: Turning | None) -> Vehicle:
    """150 kg on a tyre of 0.9 m, crank to wheel 3 times 2; without losses or load, so that energy is all there is."""
    drive = vehicle_of(read_record(text_of(KART)))
    plain = replace(
        drive, gears=(6.0,), primary_ratio=3.0, circumference_m=0.9, mass_kg=150.0, rolling=0.0, drag_area_m2=0.0,
        efficiency=1.0, clutch_rpm=0.0,
    )  # fmt: skip
    return plain.turned(told)


TOLD = Turning((0.25, 0.05), (0.002, 0.0), (0.003, 0.0))


def energy_j(v_m_s: float) -> float:
    """½ m v² + ½ J ω² of each: the wheels at v/r, the clutch twice as fast (final drive 2), the crank six times."""
    wheel = v_m_s * 2 * np.pi / 0.9
    return 0.5 * (150 * v_m_s**2 + 0.25 * wheel**2 + 0.003 * (2 * wheel) ** 2 + 0.002 * (6 * wheel) ** 2)


def test_power_adds_up_to_the_energy_of_all_that_moves_and_turns() -> None:
    t = np.linspace(0.0, 6.0, 2001)
    v, a = 4.0 + 2.0 * t + 0.1 * t**2, 2.0 + 0.2 * t
    driven = vehicle(TOLD).driven(None)
    assert driven is not None
    power = power_of(Smooth(t, v, a, 0.0 * t, 0.0 * t, 0.3, 0.0), driven)
    assert np.trapezoid(1e3 * power.crank_kw, t) == pytest.approx(energy_j(v[-1]) - energy_j(v[0]), rel=1e-6)


def test_a_simulated_stopwatch_needs_that_energy_too() -> None:
    """At constant power the time between two speeds is the energy between them over the power."""
    machine = vehicle(TOLD).machine(np.array([1.0, 20_000.0]), np.array([5000.0, 5000.0]))
    took = run_through(machine, Gate(5.0, 25.0)).time_s
    assert took == pytest.approx((energy_j(25.0) - energy_j(5.0)) / 5000.0, rel=1e-4)


def test_the_plus_minus_of_the_wheels_is_theirs_as_a_mass() -> None:
    t = np.linspace(0.0, 2.0, 50)
    trace = Smooth(t, 10.0 + 2.0 * t, 2.0 + 0.0 * t, 0.0 * t, 0.0 * t, 0.3, 0.0)
    sure, unsure = (vehicle(replace(TOLD, wheels_kg_m2=(0.25, pm))).driven(None) for pm in (0.0, 0.05))
    assert sure is not None
    assert unsure is not None
    more = power_of(trace, unsure).systematic_kw ** 2 - power_of(trace, sure).systematic_kw ** 2
    as_mass_kg = 0.05 * (2 * np.pi / 0.9) ** 2
    np.testing.assert_allclose(np.sqrt(more), 1e-3 * as_mass_kg * 2.0 * trace.value, rtol=1e-9)


def test_the_band_of_a_prediction_counts_what_is_not_known_of_mass_and_of_what_turns() -> None:
    """150 ± 3 kg; wheels as above; crank ± 0.0004 kg m2, six turns to the wheel's one, which rolls 0.9 m."""
    told = replace(vehicle(replace(TOLD, crank_kg_m2=(0.002, 0.0004))), mass_pm_kg=3.0)
    a_wheel = (2 * np.pi / 0.9) ** 2
    moved = 150.0 + a_wheel * (0.25 + 0.003 * 2**2 + 0.002 * 6**2)
    mass = 3.0 * (1.0 + 0.25 * a_wheel / 150.0)
    spread = np.sqrt(mass**2 + (0.05 * a_wheel) ** 2 + (0.0004 * 6**2 * a_wheel) ** 2)
    assert told.inertia_pm_share == pytest.approx(spread / moved, rel=1e-9)


def test_a_share_takes_the_place_of_what_is_assumed() -> None:
    untold, share, crank = vehicle(None), vehicle(Turning(share=(0.05, 0.0))), vehicle(Turning(crank_kg_m2=(0.001, 0)))
    assert (untold.rotating, share.rotating, crank.rotating) == (ROTATING, 0.05, ROTATING)
    assert TURNING_ASSUMED in untold.assumed
    assert TURNING_ASSUMED not in share.assumed
    assert TURNING_ASSUMED in crank.assumed
    assert turning_kept(None) is None


def test_wheels_without_a_tyre_size_are_refused() -> None:
    with pytest.raises(TrialError, match="without the tyre's size"):
        replace(vehicle(None), circumference_m=None).turned(TOLD)
