"""What limits an engine: on constructed revolutions with one thing wrong each, and on simulated engines."""

import math
from dataclasses import replace

import numpy as np
import pytest

from scribeline.cycle.engine import Conditions, Engine, skirt_window_m2
from scribeline.cycle.holding_back import SMALL, Cause, causes, holding_back
from scribeline.cycle.recording import COLUMNS, Passage, Recording, record
from scribeline.cycle.simulate import CycleResult, Running, Settings, simulate
from tests.cycle.invented import CYLINDER, engine

THETA = np.arange(COLUMNS) * 2 * math.pi / COLUMNS
DEG = np.degrees(THETA)
AIR = Conditions()
EXHAUST, TRANSFER = (91.0, 269.0), (118.0, 242.0)
STEP_S = 60.0 / 9000.0 / COLUMNS


def during(first: float, last: float, value: float) -> np.ndarray:
    """value between two angles after top dead centre [deg], 0 elsewhere."""
    return np.where((first < DEG) & (last > DEG), value, 0.0)


def flow(first: float, last: float, mass_mg: float) -> np.ndarray:
    """An even flow [kg/s] that brings so much between two angles."""
    shape = during(first, last, 1.0)
    return shape * mass_mg * 1e-6 / (shape.sum() * STEP_S)


def passage(name: str, window: tuple[float, float], kg_s: np.ndarray, fresh: float = 1.0) -> Passage:
    flat = np.ones(COLUMNS)
    return Passage(name, kg_s, AIR.p_pa * flat, 350.0 * flat, fresh * flat, during(*window, 5e-4))


@pytest.fixture(scope="module")
def plain() -> Recording:
    """Nothing wrong: 80 mg come in, go up the transfers while they are open, and burned gas leaves."""
    flat = np.ones(COLUMNS)
    return Recording(
        9000.0, THETA, AIR.p_pa * flat, 800.0 * flat, flat, AIR.p_pa * flat, 320.0 * flat, flat, 0 * flat,
        passage("exhaust", EXHAUST, flow(*EXHAUST, 80.0), fresh=0.0),
        (passage("transfer", TRANSFER, flow(*TRANSFER, 80.0)),),
        passage("intake", (285.0, 360.0), flow(285.0, 360.0, 80.0)),
        np.ones((COLUMNS, 3)), np.arange(3.0), np.ones(3), AIR.p_pa,
        *(math.radians(a) for a in (*EXHAUST, *TRANSFER)),
    )  # fmt: skip


@pytest.fixture(scope="module")
def result() -> CycleResult:
    """Delivery ratio 0.8 of a reference charge of 100 mg, half a bar of friction in 8: nothing to complain about."""
    got = simulate(engine(), 9000.0, Settings(cell_m=0.03))
    kept = -math.expm1(-0.8)
    return replace(
        got, delivery_ratio=0.8, trapping_efficiency=kept / 0.8, scavenging_efficiency=1.0, charging_efficiency=kept,
        trapped_kg=100e-6 * kept, octane_needed=80.0, imep_pa=8e5, bmep_pa=7.5e5,
    )  # fmt: skip


def found(rec: Recording, result: CycleResult, some: Engine | None = None) -> dict[str, Cause]:
    return {cause.key: cause for cause in causes(some or engine(), result, rec, 95.0, AIR)}


def test_nothing_wrong_costs_nothing_and_says_so(plain, result):
    got = found(plain, result)
    assert max(cause.cost for cause in got.values()) < 1e-12
    assert holding_back(list(got.values())).startswith("Nothing stands out; most is that ")


def test_an_unfinished_blowdown_costs_the_room_of_the_burned_gas(plain, result):
    up = flow(130.0, 242.0, 80.0) - flow(118.0, 130.0, 5.0)
    pressure = np.where(DEG < 125.0, 3e5, AIR.p_pa)
    rec = replace(plain, transfers=(passage("transfer", TRANSFER, up),), cylinder_pa=pressure)
    got = found(rec, result)
    assert got["blowdown"].cost == pytest.approx(0.05 * 800.0 / 320.0, rel=1e-6)
    assert got["back into the transfers"].cost == 0.0
    said = holding_back(causes(engine(), result, rec, 95.0, AIR))
    assert said.startswith("The blowdown is not finished: when the transfers open the cylinder is at 3.00 bar")
    assert "5.0 mg of burned gas" in said


def test_charge_pressed_back_before_the_transfers_close(plain, result):
    up = flow(118.0, 220.0, 90.0) - flow(220.0, 242.0, 10.0)
    got = found(replace(plain, transfers=(passage("transfer", TRANSFER, up),)), result)
    assert got["back into the transfers"].cost == pytest.approx(0.10, rel=1e-6)
    assert got["blowdown"].cost == 0.0
    assert "10.0 mg of it" in got["back into the transfers"].says


def test_transfers_that_close_on_a_full_crankcase(plain, result):
    rec = replace(plain, case_pa=np.where(DEG < 300.0, 1.5 * AIR.p_pa, AIR.p_pa))
    e = engine()
    left = 0.5 * AIR.p_pa * (e.case_at_tdc_m3 - CYLINDER.volume_m3(math.radians(242.0)) + CYLINDER.clearance_m3) / 320.0
    outside = AIR.p_pa * CYLINDER.swept_m3 / AIR.t_k
    assert found(rec, result)["transfers close early"].cost == pytest.approx(left / outside, rel=1e-3)
    down = replace(rec, transfers=(passage("transfer", TRANSFER, -flow(*TRANSFER, 1.0)),))
    assert found(down, result)["transfers close early"].cost == 0.0


def test_an_intake_that_shuts_on_a_thin_crankcase(plain, result):
    thin = replace(plain, case_pa=np.full(COLUMNS, 0.8 * AIR.p_pa))
    got = found(thin, result)["crankcase not filled"]
    e = engine()
    missing = 0.2 * e.case_at_tdc_m3 / 320.0 / (CYLINDER.swept_m3 / AIR.t_k)
    assert got.cost == pytest.approx(missing, rel=0.01)
    assert got.says.startswith("the intake closes while ")
    fading = np.where(plain.intake.flow_kg_s > 0, 1e-9 + np.clip(355.0 - DEG, 0.0, None) * 1e-4, 0.0)
    slow = found(replace(thin, intake=replace(plain.intake, flow_kg_s=fading)), result)["crankcase not filled"]
    assert slow.says.startswith("the intake does not fill the crankcase")


def test_charge_blown_back_at_the_intake(plain, result):
    back = plain.intake.flow_kg_s - flow(5.0, 60.0, 12.0)
    got = found(replace(plain, intake=replace(plain.intake, flow_kg_s=back)), result)["blown back at the intake"]
    assert got.cost == pytest.approx(0.12, rel=1e-6)
    assert "12.0 mg of the 80 mg" in got.says


def test_charge_lost_counts_beyond_even_mixing_only(plain, result):
    leaking = replace(plain, exhaust=passage("exhaust", EXHAUST, flow(245.0, 269.0, 20.0)))
    got = found(leaking, replace(result, trapping_efficiency=result.trapping_efficiency - 0.25))
    assert got["lost through the exhaust"].cost == pytest.approx(0.2, rel=1e-9)
    assert "20.0 mg of it after the transfers have closed" in got["lost through the exhaust"].says
    early = replace(plain, exhaust=passage("exhaust", EXHAUST, flow(120.0, 230.0, 20.0)))
    assert "all of it while the transfers are open" in found(early, result)["lost through the exhaust"].says


def test_knock_friction_and_burned_gas(plain, result):
    bad = replace(result, octane_needed=105.0, bmep_pa=4e5, scavenging_efficiency=0.9, charging_efficiency=0.5)
    got = found(plain, bad)
    assert got["knock"].cost == pytest.approx(0.10)
    assert got["friction"].cost == pytest.approx(0.5 - 0.20)
    assert got["not swept out"].cost == pytest.approx(0.1 * 0.5 / 0.9)


def test_the_second_cause_is_named_when_it_costs_half_as_much():
    first, near, far = (Cause("x", cost, f"the {cost:g}") for cause in "a" for cost in (0.3, 0.16, 0.1))
    assert holding_back([first, near]) == "The 0.3 (costs 30 %); then the 0.16 (costs 16 %)."
    assert holding_back([first, far]) == "The 0.3 (costs 30 %)."
    small = Cause("x", SMALL - 0.001, "y")
    assert holding_back([small, small]).startswith("Nothing stands out")


def of(some: Engine, speed_rpm: float) -> dict[str, Cause]:
    running = Running(some, speed_rpm, Settings(cell_m=0.02))
    result = None
    for _ in range(25):
        running.turn()
        result = running
    assert result is not None
    got = running.result(np.zeros((25, 4)), 0.0, 1)
    return {cause.key: cause for cause in causes(some, got, record(running), 95.0, AIR)}


def test_a_shorter_blowdown_costs_more_in_a_simulated_engine():
    assert of(engine(exhaust_deg=160.0), 9000.0)["blowdown"].cost > 1.5 * of(engine(), 9000.0)["blowdown"].cost


def test_a_small_intake_port_shows_as_a_crankcase_not_filled():
    whole, small = engine(), replace(engine(), intake_area_m2=skirt_window_m2(CYLINDER, 0.056, 0.060, 0.020, 0.050))
    assert of(small, 9000.0)["crankcase not filled"].cost > of(whole, 9000.0)["crankcase not filled"].cost + 0.1
    assert max(of(small, 9000.0).values(), key=lambda cause: cause.cost).key == "crankcase not filled"
