"""The task behind `scribeline curve`: figures that must agree with each other, failures that keep their reason."""

import csv
import io
import json
import math
import time

import pytest

from scribeline.cycle.from_record import Build
from scribeline.cycle.plausible import SPECIFIC_POWER_KW_DM3
from scribeline.errors import CycleError, TrialError
from scribeline.sources import source
from scribeline.tasks import curve as task
from scribeline.tasks.curve import (
    COLUMNS,
    Point,
    air_outside,
    curve_csv,
    curve_json,
    power_curve,
    settings,
    simulated,
    speeds_of,
    usual_speeds,
)
from tests.examples import REED, edited
from tests.tasks.curves import COARSE, curve_of, half_failed


def test_columns_hold_the_definitions():
    for p in curve_of().points:
        v = {c.key: c.of(p) for c in COLUMNS}
        assert v["power_kw"] == pytest.approx(v["torque_nm"] * p.speed_rpm * math.pi / 30e3)
        swept_dm3 = math.pi / 4 * 0.5**2 * 0.500007
        assert v["torque_nm"] == pytest.approx(v["bmep_bar"] * 100.0 * swept_dm3 / (2 * math.pi), rel=1e-4)
        # the reference is outside air with its fuel as vapour, of some 111 kg/kmol
        mixture_j_kgk = (13.0 * 287.0 + 8314.5 / 111.0) / 14.0
        charge_mg = swept_dm3 * 101325 / mixture_j_kgk / 298.15 * 1e3
        assert v["charging_efficiency"] == pytest.approx(
            v["trapped_mg"] * v["scavenging_efficiency"] / charge_mg, rel=0.01
        )
        assert v["bsfc_g_kwh"] == pytest.approx(
            v["delivery_ratio"] * charge_mg * 1e-3 / 14.0 * p.speed_rpm * 60.0 / v["power_kw"], rel=0.01
        )
        assert v["knock_margin_octane"] == pytest.approx(98.0 - p.got.octane_needed)


def test_the_demonstration_engines_are_plausible():
    best = curve_of().best
    assert best is not None
    assert 8.0 < best.got.power_w / 1e3 < 16.0
    assert 4.0 < best.got.bmep_pa / 1e5 < 10.1
    reed = curve_of(REED).best
    assert reed is not None
    assert 4.0 < reed.got.bmep_pa / 1e5 < 12.0


def test_what_is_outside_the_known_band_is_flagged():
    curve = curve_of()
    best = curve.best
    assert best is not None
    assert best.got.power_w / 98.18e-6 / 1e6 > SPECIFIC_POWER_KW_DM3[1]
    assert any("kW per dm3" in remark for remark in curve.remarks)


def test_every_speed_says_what_limits_it():
    for p in curve_of().points:
        costs = [cause.cost for cause in p.causes]
        assert costs == sorted(costs, reverse=True)
        assert p.limit.endswith(".")
        assert p.causes[0].says[1:] in p.limit


def test_the_spark_of_each_speed_is_used():
    advances = [p.advance_deg for p in curve_of(REED).points]
    assert advances == pytest.approx([24 - 4 / 3, 24 - 4 * 2500 / 3000, 18.0])
    _, running = simulated(curve_of(REED).build, 10000.0, COARSE)
    assert running is not None
    assert running.engine.spark_deg_atdc == pytest.approx(-18.0)


def test_a_speed_starts_from_the_gas_of_its_neighbour():
    build = curve_of(REED).build
    cold, _ = simulated(build, 8500.0, COARSE)
    _, slower = simulated(build, 8000.0, COARSE)
    after, _ = simulated(build, 8500.0, COARSE, slower)
    assert after.got.history[0] != pytest.approx(cold.got.history[0], rel=1e-9)


def test_a_speed_without_a_result_keeps_its_reason_and_the_others_come():
    sound, refused = half_failed().points
    assert sound.result is not None
    assert refused.result is None
    assert "500 to 30000" in refused.why_not
    with pytest.raises(CycleError, match="500 to 30000"):
        _ = refused.got
    document = json.loads(curve_json(half_failed()))
    assert document["points"][0]["power_kw"] > 0
    assert "31000" in document["points"][1]["why_not"]
    rows = list(csv.DictReader(io.StringIO(curve_csv(half_failed()))))
    assert rows[1]["power_kw"] == ""
    assert "31000" in rows[1]["why_not"]


def test_a_speed_that_does_not_settle_says_so_with_numbers():
    (point,) = power_curve(edited(), (8500.0,), type(COARSE)(cell_m=0.025, tolerance=1e-4, most_cycles=7)).points
    assert "after 7 revolutions still an estimated" in point.why_not
    assert point.limit == ""


def test_json_and_csv_carry_the_same_numbers_and_all_it_rests_on():
    curve = curve_of()
    document = json.loads(curve_json(curve, curve_of(REED)))
    rows = list(csv.DictReader(io.StringIO(curve_csv(curve))))
    for point, row in zip(document["points"], rows, strict=True):
        assert float(row["power_kw"]) == pytest.approx(point["power_kw"], rel=1e-5)
        assert row["limit"] == point["limit"]
        assert point["distance"] <= COARSE.tolerance
    assert document["compare"]["engine"]["name"] == "Reed 125"
    both = list(csv.DictReader(io.StringIO(curve_csv(curve, curve_of(REED)))))
    assert [row["engine"] for row in both] == ["Club kart 98"] * 3 + ["Reed 125"] * 3
    assert [one["name"] for one in document["assumed"]] == [one.name for one in curve.build.taken]
    assert document["cautions"]
    assert all(source(key).text for key in document["sources"])
    assert {"toro-2009", "wiebe-1962", "levine-schwinger-1948", "hopkinson-1914"} <= set(document["sources"])


def test_progress_counts_to_the_end_and_can_stop():
    seen: list[tuple[int, int]] = []
    power_curve(edited(), (8500.0, 9000.0), COARSE, progress=lambda done, count: seen.append((done, count)))
    assert sorted(seen) == [(1, 2), (2, 2)]
    with pytest.raises(CycleError, match="stopped after 1 of 3 speeds"):
        power_curve(edited(), (8500.0, 9000.0, 9500.0), COARSE, progress=lambda done, count: True, threads=1)


def test_an_interrupted_curve_does_not_go_on_behind_ones_back(monkeypatch):
    begun = []

    def slow(_build: Build, speed_rpm: float, *_others: object) -> Point:
        begun.append(speed_rpm)
        time.sleep(0.05)
        if speed_rpm < 10000.0:  # of the first thread, whichever speed is through first
            raise KeyboardInterrupt
        return Point(speed_rpm, 18.0, 98.0, None, why_not="not tried")

    monkeypatch.setattr(task, "point_of", slow)
    with pytest.raises(KeyboardInterrupt):
        power_curve(edited(), [8000.0 + 100.0 * i for i in range(40)], COARSE)
    assert len(begun) < 10


@pytest.mark.parametrize(
    ("typed", "speeds"),
    [("8000", [8000.0]), ("4000:5000:500", [4000.0, 4500.0, 5000.0]), ("4000:5100:500", [4000.0, 4500.0, 5000.0])],
)
def test_speeds_as_typed(typed, speeds):
    assert speeds_of(typed) == speeds


@pytest.mark.parametrize("typed", ["", "fast", "4000:5000", "5000:4000:500", "100:5000:500", "4000:31000:500",
                                   "4000:5000:0", "4000:5000:-5", "4000:12000:1", "nan", "1:2:3:4"])  # fmt: skip
def test_other_speeds_are_refused(typed):
    with pytest.raises(CycleError, match="accepted: FIRST:LAST:STEP"):
        speeds_of(typed)


def test_usual_speeds_lie_around_the_records_own():
    speeds = usual_speeds(edited())
    assert (speeds[0], speeds[-1], speeds[1] - speeds[0]) == (4000.0, 12000.0, 500.0)


def test_the_usual_cell_leaves_the_air_as_assumed():
    assert settings(10.0) is None
    other = settings(20.0)
    assert other is not None
    assert other.cell_m == 0.02
    assert any(one.name == "air outside" for one in power_curve(edited(), (8500.0,), None).build.taken)


def test_air_and_throttle_are_asked_for_and_change_the_curve():
    """The barometer of a hill costs what it takes of the air; a throttle half shut costs more at the top."""
    hill = settings(25.0, air_outside(900.0, 25.0, None))
    assert hill is not None
    (usual, top), (thin,) = (
        power_curve(edited(), (6000.0, 9000.0), COARSE).points,
        power_curve(edited(), (9000.0,), hill).points,
    )
    assert thin.got.imep_pa / top.got.imep_pa == pytest.approx(900.0 / 1013.25, rel=0.03)
    low, high = power_curve(edited(), (6000.0, 9000.0), COARSE, throttle=0.3).points
    assert high.got.power_w / top.got.power_w < 0.9
    assert high.got.power_w / top.got.power_w < low.got.power_w / usual.got.power_w


def test_humidity_is_refused_in_the_percent_it_was_given_in():
    with pytest.raises(TrialError, match=r"humidity of 130 %\n    accepted: 0 to 100 %"):
        air_outside(None, None, 130.0)


@pytest.mark.parametrize("air", [(500.0, None, None), (None, 60.0, None), (None, None, 130.0)])
def test_air_that_is_no_weather_is_refused(air):
    with pytest.raises(TrialError, match="accepted"):
        air_outside(*air)


def test_humidity_becomes_a_share_of_vapour():
    """CIPM-2007 at 20 °C, 101325 Pa, 50 %: mole fraction 0.01159 (tests/reference, humid-20-101325-0.5)."""
    air = air_outside(1013.25, 20.0, 50.0)
    assert air is not None
    assert air.vapour_share == pytest.approx(0.0115893, rel=1e-4)
    assert air_outside(None, None, None) is None
