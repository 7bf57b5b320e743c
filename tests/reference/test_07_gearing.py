"""Every check of 07_gearing.toml through the card: road speed in each gear, and the power that holds one."""

import math

import numpy as np
import pytest

from scribeline.engine import EngineRecord, read_record
from scribeline.geometry.work_out import WorkedOut, work_out
from tests.reference.checks import Check, assert_close, each, not_run

FILE = "07_gearing"
RECORD = """
scribeline_record = 1
name = "reference"
speed_rpm = {rpm}
[crank]
stroke_mm = 42
rod_length_mm = 85
[cylinder]
bore_mm = 47
[drivetrain]
primary_ratio = {primary}
gears = {gears}
final_drive_ratio = {final}
tyre_circumference_mm = {circumference}
"""


def ratio(teeth: list[int]) -> float:
    return teeth[0] / teeth[1]


def record_of(check: Check, rpm: float) -> EngineRecord:
    given = check.inputs
    return read_record(
        RECORD.format(
            rpm=rpm,
            primary=ratio(given["primary"]),
            gears=[ratio(gear) for gear in given["gears"]],
            final=ratio(given["final"]),
            circumference=1000.0 * given["tyre_circumference_m"],
        )
    )


def speeds_km_h(out: WorkedOut, gears: int) -> np.ndarray:
    return np.array([out.value(f"road_speed_gear_{gear}_km_h") for gear in range(1, gears + 1)], dtype=np.float64)


@each(FILE, "gearing-")
def test_gearing(check: Check) -> None:
    gears = len(check.inputs["gears"])
    rpm = float(check.inputs["rpm"])
    v_km_h = speeds_km_h(work_out(record_of(check, rpm), draws=0), gears)
    metres_a_turn = v_km_h / 3.6 * 60.0 / rpm
    at_1000 = speeds_km_h(work_out(record_of(check, 1000.0), draws=0), gears)
    got = {
        "gear": np.arange(1, gears + 1),
        "total_ratio": check.inputs["tyre_circumference_m"] / metres_a_turn,
        "v_m_s": v_km_h / 3.6,
        "v_kmh": v_km_h,
        "rpm_at_50_kmh": 50.0 / at_1000 * 1000.0,
    }
    assert_close(check, got)


@each(FILE, "power-175-20-0")
def test_power_that_holds_a_speed(check: Check) -> None:
    """The published example accelerates; held at its speed the power is its own less that of m·k·a."""
    given = check.inputs
    rolling = given["F0_N"] / (given["mass_kg"] * given["g"])
    text = RECORD.format(rpm=6000, primary=1, gears=[1.0], final=10, circumference=given["v_m_s"] / 10 * 1000)
    text += f"efficiency = {given['transmission_efficiency']}\n[vehicle]\nmass_with_rider_kg = {given['mass_kg']}\n"
    text += f"rolling_resistance = {rolling}\ndrag_area_m2 = {2 * given['F2'] / 1.225}\n"
    out = work_out(read_record(text), draws=0)
    assert out.value("road_speed_gear_1_km_h") == pytest.approx(given["v_m_s"] * 3.6, rel=1e-12)
    held_kw = out.value("power_to_hold_kw")
    assert held_kw is not None
    accelerating_n = given["rotating_mass_factor"] * given["mass_kg"] * given["a_m_s2"]
    force_n = (
        held_kw * 1000.0 / given["v_m_s"] + accelerating_n + given["mass_kg"] * given["g"] * math.sin(given["grade"])
    )
    got = {"force_N": force_n, "wheel_power_W": force_n * given["v_m_s"], "crank_power_W": force_n * given["v_m_s"]}
    assert_close(check, got)


def test_every_check_is_run() -> None:
    assert not_run(FILE, __name__) == []
