"""The time-area checks of 03_time_area_and_pipe_rules.toml, through the public functions of scribeline.geometry.

The handbook's ranges, the pipe rules and the class data of the same file are in test_03_rules.py.
"""

import numpy as np
import pytest

from scribeline.geometry import kinematics as kin
from scribeline.geometry import time_area as ta
from scribeline.geometry.windows import RoundedWindow, area_below_roof_mm2, whole_area_mm2
from tests.reference.checks import Check, assert_close, each, load, not_run

FILE = "03_time_area_and_pipe_rules"
CM2_MM2 = 100.0


def window_of(check: Check) -> RoundedWindow:
    i = check.inputs
    return RoundedWindow(i["width_mm"], i["height_mm"], i["top_corner_radius_mm"], i["bottom_corner_radius_mm"])


def crank_of(check: Check) -> tuple[float, float, float]:
    return check.inputs["nominal_stroke"], check.inputs["rod"], check.inputs["e"]


def swept_cc(check: Check) -> float:
    return float(np.pi / 4.0 * check.inputs["bore"] ** 2 * kin.true_stroke_mm(*crank_of(check)) / 1000.0)


@each(FILE, "ta-rect-", "ta-round-", "ta-transfer-", "ta-short-window-")
def test_time_area(check: Check) -> None:
    window, crank, rpm = window_of(check), crank_of(check), check.inputs["rpm"]
    roof = check.inputs["top_edge_depth_mm"]
    duration = kin.duration_below_deg(roof, *crank)
    angle_area = ta.angle_area_below_mm2_deg(window, roof, *crank)
    time_area = ta.time_area_s_mm2(angle_area, rpm)
    specific = ta.specific_time_area_s_per_m(time_area, swept_cc(check))
    got = {
        "open_after_tdc_deg": kin.angle_down_deg(roof, *crank),
        "close_after_tdc_deg": kin.angle_up_deg(roof, *crank),
        "duration_deg": duration,
        "window_area_mm2": whole_area_mm2(window),
        "max_uncovered_mm2": area_below_roof_mm2(window, kin.true_stroke_mm(*crank) - roof),
        "swept_cm3": swept_cc(check),
        "angle_area_mm2_deg": angle_area,
        "mean_area_mm2": ta.mean_area_mm2(angle_area, duration),
        "time_area_mm2_s": time_area,
        "specific_time_area_s_per_m": specific,
        "specific_time_area_s_cm2_per_cm3": specific / CM2_MM2,
    }
    assert_close(check, got)


@each(FILE, "ta-blowdown-")
def test_blowdown(check: Check) -> None:
    crank, rpm = crank_of(check), check.inputs["rpm"]
    exhaust, transfer = check.inputs["exhaust_top_edge_depth_mm"], check.inputs["transfer_top_edge_depth_mm"]
    transfers_open = kin.angle_down_deg(transfer, *crank)
    angle_area = ta.blowdown_angle_area_mm2_deg(window_of(check), exhaust, transfers_open, *crank)
    time_area = ta.time_area_s_mm2(angle_area, rpm)
    got = {
        "blowdown_deg": kin.blowdown_deg(exhaust, transfer, *crank),
        "angle_area_mm2_deg": angle_area,
        "time_area_mm2_s": time_area,
        "specific_time_area_s_per_m": ta.specific_time_area_s_per_m(time_area, swept_cc(check)),
    }
    assert_close(check, got)


@each(FILE, "ta-scaling")
def test_scaling(check: Check) -> None:
    window, crank = RoundedWindow(34.0, 14.2, 5.0, 4.0), (42.0, 85.0, 0.0)
    angle_area = ta.angle_area_below_mm2_deg(window, 27.0, *crank)
    once, twice = ta.time_area_s_mm2(angle_area, 9000.0), ta.time_area_s_mm2(angle_area, 18000.0)
    got = {
        "time_area_ratio_at_double_rpm": twice / once,
        "angle_area_ratio_at_double_rpm": (twice * 6.0 * 18000.0) / (once * 6.0 * 9000.0),
        "units_s_mm2_per_cm3_in_s_per_m": ta.specific_time_area_s_per_m(1.0, 1.0),
        "units_s_cm2_per_cm3_in_s_per_m": ta.specific_time_area_s_per_m(1.0 * CM2_MM2, 1.0),
    }
    assert_close(check, got, judged_rtol=1e-14)
    # unchanged where width and swept volume grow together
    wide = ta.angle_area_below_mm2_deg(RoundedWindow(68.0, 14.2, 0.0, 0.0), 27.0, *crank)
    narrow = ta.angle_area_below_mm2_deg(RoundedWindow(34.0, 14.2, 0.0, 0.0), 27.0, *crank)
    assert ta.specific_time_area_s_per_m(ta.time_area_s_mm2(wide, 9000.0), 146.0) == pytest.approx(
        ta.specific_time_area_s_per_m(ta.time_area_s_mm2(narrow, 9000.0), 73.0), rel=1e-14
    )


@each(FILE, "ta-bmep-guidance")
def test_relation_of_time_area_to_bmep_is_left_out(check: Check) -> None:
    """The file gives no coefficients and says why; nothing of the kind may appear here from memory."""
    assert check.left_out
    assert_close(check, {"given": False})
    assert [c.id for c in load(FILE).values() if c.left_out] == [check.id]


def test_every_check_is_run_here_or_with_the_rules() -> None:
    assert not_run(FILE, __name__, "tests.reference.test_03_rules") == []
    time_areas = [c for c in load(FILE) if c.startswith("ta-") and not c.startswith("ta-handbook-")]
    assert set(time_areas).isdisjoint(not_run(FILE, __name__))
