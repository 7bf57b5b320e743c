"""Every check of 07_vehicle_road.toml: coasting, published road loads, power from acceleration, geodesics."""

import math

import numpy as np
import pytest

from scribeline.models.road_load import RoadLoad
from scribeline.trials import coast_down
from scribeline.trials.motion import between_speeds, force_at, speed_after, top_speed
from scribeline.trials.positions import leg
from tests.reference.checks import Check, assert_close, each, not_run

FILE = "07_vehicle_road"


def coasting(load: RoadLoad):  # type: ignore[no-untyped-def]
    return lambda v: -load.force_n(v)


@each(FILE, "coast-1", "coast-2")
def test_coasting(check: Check) -> None:
    given = check.inputs
    mass, v1, v2 = given["effective_mass_kg"], given["v_start"], given["v_end"]
    net = coasting(RoadLoad(given["F0_N"], 0.0, given["F2_N_s2_m2"]))
    found = between_speeds(net, mass, v1, v2)
    rows = np.array(check.expected["rows"])
    got = {
        "time_s": found.time_s,
        "distance_m": found.distance_m,
        "time_to_stop_s": between_speeds(net, mass, v1, 0.0).time_s,
    }
    np.testing.assert_allclose(speed_after(net, mass, v1, rows[:, 0]), rows[:, 1], rtol=check.rtol)
    for name, value in got.items():
        assert value == pytest.approx(check.expected[name], rel=check.rtol)
    assert set(check.expected) == {*got, "columns", "rows"}


@each(FILE, "coast3-")
def test_three_terms(check: Check) -> None:
    given = check.inputs
    net = coasting(RoadLoad(given["F0"], given["F1"], given["F2"]))
    found = between_speeds(net, given["effective_mass_kg"], given["v_start"], given["v_end"])
    assert_close(check, {"time_s": found.time_s, "distance_m": found.distance_m})


@each(FILE, "cfr-86-529-")
def test_published_road_loads(check: Check) -> None:
    """A motorcycle's published load gives the published coast-down time; the longest and shortest are limits."""
    given, expected = check.inputs, check.expected
    load = RoadLoad(given["A_N"], 0.0, given["C_N_per_kmh2"] * 3.6**2)
    time = between_speeds(coasting(load), given["equivalent_inertial_mass_kg"], 70 / 3.6, 60 / 3.6).time_s
    force = load.force_n(65 / 3.6)
    assert time == pytest.approx(expected["computed_time_s"], rel=1e-8)
    assert force == pytest.approx(expected["computed_force_65_N"], rel=1e-8)
    low, high = expected["published_shortest_s"], expected["published_longest_s"]
    got = {
        "published_target_s": time,
        "computed_time_s": time,
        "published_force_65_N": force,
        "computed_force_65_N": force,
        "published_longest_s": high,
        "published_shortest_s": low,
        "inside_published_band": low <= time <= high,
    }
    assert_close(check, got)


@each(FILE, "coast-standard-conditions", "cfr-1066-form")
def test_published_practice(check: Check) -> None:
    """Conditions outside the published ones are told; the load has the published three terms."""
    expected = check.expected
    if "terms" in expected:
        assert sum(name.startswith("f") for name in vars(RoadLoad(1.0))) == expected["terms"]
        return
    assert expected["sae_j1263_t_low_C"] == coast_down.LOWEST_C
    assert expected["sae_j1263_t_high_C"] == coast_down.HIGHEST_C
    assert pytest.approx(expected["sae_j1263_mean_wind_kmh_max"]) == coast_down.MOST_WIND_M_S * 3.6
    assert pytest.approx(expected["sae_j1263_grade_percent_max"]) == coast_down.MOST_GRADE * 100
    assert expected["cfr_86_529_replicates_each_direction"] == coast_down.CUSTOMARY_RUNS_EACH_WAY


@each(FILE, "power-")
def test_power_from_acceleration(check: Check) -> None:
    given = check.inputs
    load = RoadLoad(given["F0_N"], 0.0, given["F2"], given["mass_kg"], given["grade"])
    v = given["v_m_s"]
    force = float(force_at(given["a_m_s2"], load.force_n(v), given["mass_kg"], given["rotating_mass_factor"] - 1.0))
    power = force * v
    got = {"force_N": force, "wheel_power_W": power, "crank_power_W": power / given["transmission_efficiency"]}
    assert_close(check, got)


@each(FILE, "const-power-")
def test_constant_power(check: Check) -> None:
    given = check.inputs
    load = RoadLoad(given["F0"], 0.0, given["F2"])

    def net(v: np.ndarray) -> np.ndarray:
        return np.asarray(given["power_W"] / v - load.force_n(v))

    found = between_speeds(net, given["effective_mass_kg"], given["v_start"], given["v_end"])
    got = {"time_s": found.time_s, "distance_m": found.distance_m, "top_speed_m_s": top_speed(net, 1.0, 80.0)}
    assert_close(check, got)


@each(FILE, "geod-")
def test_geodesics(check: Check) -> None:
    lat1, lon1, lat2, lon2 = (check.inputs[name] for name in ("lat1", "lon1", "lat2", "lon2"))
    distance, course = leg(lat1, lon1, lat2, lon2)
    # The sphere is what we do not use: its own formula here, to see by how much it is off.
    a, b, dl = math.radians(lat1), math.radians(lat2), math.radians(lon2 - lon1)
    h = math.sin((b - a) / 2) ** 2 + math.cos(a) * math.cos(b) * math.sin(dl / 2) ** 2
    sphere = 2 * 6371008.8 * math.asin(math.sqrt(h))
    got = {
        "distance_m": distance,
        "azimuth_deg": course,
        "sphere_haversine_m": sphere,
        "sphere_error_percent": 100 * (sphere / distance - 1),
    }
    assert_close(check, got)


def test_every_check_is_run() -> None:
    assert not_run(FILE, __name__) == []
