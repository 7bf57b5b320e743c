"""Before the day, and the simulated stopwatch beside the real one."""

import numpy as np
import pytest
from statsmodels.stats.power import TTestIndPower

from scribeline.errors import TrialError
from scribeline.tasks.trial_planning import plan_runs, plan_text
from scribeline.tasks.trial_prediction import Seen, prediction_json, prediction_text, road_of_curve
from scribeline.tasks.trial_vehicle import vehicle_of
from scribeline.trials.gates import Gate
from scribeline.trials.predict import Predicted
from tests.examples import edited
from tests.tasks.curves import curve_of


def test_the_plan_says_how_many_in_which_order_and_which_way() -> None:
    plan = plan_runs(0.1, 0.06, ["stock", "cut"])
    exact = TTestIndPower().solve_power(0.1 / 0.06, power=0.8, alpha=0.05)
    assert plan.exact == pytest.approx(exact, rel=1e-3)
    assert plan.runs == 8
    assert plan.order[:4] == ("stock", "cut", "cut", "stock")
    assert plan.left_of_drift == 0.0
    text = plan_text(plan)
    assert "8 runs of each setup" in text
    assert "stock up    cut down    cut up      stock down" in text
    assert "Common practice" not in text
    assert "tyre pressure" in text
    assert max(map(len, text.splitlines())) <= 100


def test_several_setups_need_more_and_a_long_day_is_told_shortly() -> None:
    assert plan_runs(0.1, 0.06, ["a", "b", "c"]).runs > plan_runs(0.1, 0.06, ["a", "b"]).runs
    text = plan_text(plan_runs(0.02, 0.06, ["a", "b"]))
    assert "a b b a, and again, " in text
    with pytest.raises(TrialError, match="two setups or more"):
        plan_runs(0.1, 0.06, ["a", "a"])


def test_the_simulated_curve_predicts_the_stopwatch_in_a_band() -> None:
    record, curve = edited(), curve_of()
    gates = [Gate(40 / 3.6, 60 / 3.6), Gate(30 / 3.6, 300 / 3.6)]
    found = road_of_curve(curve, vehicle_of(record), gates)
    (_, first), (_, second) = found.gates
    assert isinstance(first, Predicted)
    assert first.low < first.value < first.high
    assert isinstance(second, str)
    assert "never reached" in second
    # By hand: between these speeds the time is the energy gained over the mean surplus of power, to some per cent.
    mass = 152 * 1.03
    energy = 0.5 * mass * ((60 / 3.6) ** 2 - (40 / 3.6) ** 2)
    assert 0.3 * energy / first.value < max(p.got.power_w for p in curve.points)
    text = prediction_text(found, {gates[0].name: [Seen("stock", first.value, 0.1, 4)]})
    assert "inside the band" in text
    assert "OUTSIDE" in prediction_text(found, {gates[0].name: [Seen("stock", 3.0 * first.value, 0.1, 4)]})
    assert "vehicle.drag_area_m2 = 0.6" in text
    document = prediction_json(found, {gates[0].name: [Seen("stock", 3.0 * first.value, 0.1, 4)]})
    near, never = document["gates"]
    assert (near["value"], near["low"], near["high"]) == (first.value, first.low, first.high)
    assert near["measured"] == [
        {"setup": "stock", "mean": 3.0 * first.value, "half_width": 0.1, "runs": 4, "inside": False}
    ]
    assert "never reached" in never["why_not"]
    assert isinstance(found.top_m_s, Predicted)
    assert document["top_speed"]["value"] == found.top_m_s.value


def test_a_record_without_mass_drives_nowhere() -> None:
    record = edited()
    bare = vehicle_of(record.model_copy(update={"vehicle": type(record.vehicle)()}))
    assert bare.driven(None) is None
    with pytest.raises(TrialError, match="mass_with_rider_kg"):
        bare.machine(np.array([5e3, 9e3]), np.array([5e3, 9e3]))
    with pytest.raises(TrialError, match="accepted: 1 to 1"):
        vehicle_of(record).rpm_per_m_s(3)


def test_the_vehicle_of_a_record_is_what_is_written_in_it() -> None:
    """9500 rpm through 5.9 and 852 mm: by hand 9500 / 60 / 5.9 * 0.852 m/s."""
    vehicle = vehicle_of(edited())
    ratio = vehicle.rpm_per_m_s()
    assert ratio is not None
    assert 9500 / ratio == pytest.approx(9500 / 60 / 5.9 * 0.852, rel=1e-12)
    assert (vehicle.mass_kg, vehicle.clutch_rpm) == (152.0, 4200.0)
