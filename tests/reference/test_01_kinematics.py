"""Every check of 01_kinematics.toml, through the public functions of scribeline.geometry.kinematics."""

import numpy as np

from scribeline.geometry import kinematics as kin
from tests.reference.checks import Check, assert_close, each, not_run

FILE = "01_kinematics"
FOOT_M = 0.3048


def crank_of(check: Check) -> tuple[float, float, float]:
    """Stroke, rod and offset in mm; checks without an offset are for an engine without one."""
    return check.inputs["stroke"], check.inputs["rod"], check.inputs.get("e", 0.0)


@each(FILE, "kin-table-")
def test_table(check: Check) -> None:
    theta = check.expected["theta_deg"]
    crank, rpm = crank_of(check), check.inputs["rpm"]
    got = {
        "theta_deg": theta,
        "depth_mm": kin.depth_mm(theta, *crank),
        "velocity_m_s": kin.velocity_m_s(theta, *crank, rpm),
        "acceleration_m_s2": kin.acceleration_m_s2(theta, *crank, rpm),
    }
    assert_close(check, got)


@each(FILE, "kin-summary-")
def test_summary(check: Check) -> None:
    crank, rpm = crank_of(check), check.inputs["rpm"]
    dead = kin.dead_centres_deg(*crank)
    fastest = kin.peak_down_speed_m_s(*crank, rpm)
    bdc = kin.bdc_after_tdc_deg(*crank)
    got = {
        "true_stroke_mm": kin.true_stroke_mm(*crank),
        "tdc_crank_angle_phi_deg": dead.tdc_phi_deg,
        "bdc_crank_angle_phi_deg": dead.bdc_phi_deg,
        "bdc_after_tdc_deg": bdc,
        "mean_piston_speed_m_s": kin.mean_piston_speed_m_s(*crank, rpm),
        "peak_down_velocity_m_s": fastest.value,
        "peak_down_velocity_at_theta_deg": fastest.angle_deg,
        "acceleration_at_tdc_m_s2": kin.acceleration_m_s2(0.0, *crank, rpm),
        "acceleration_at_bdc_m_s2": kin.acceleration_m_s2(bdc, *crank, rpm),
    }
    assert_close(check, got)


@each(FILE, "kin-tdc-closed-form-")
def test_dead_centre_closed_form(check: Check) -> None:
    crank, rpm = crank_of(check), check.inputs["rpm"]
    peak = kin.peak_acceleration_m_s2(*crank, rpm)
    assert peak.angle_deg == 0.0
    assert_close(check, {"tdc_m_s2": peak.value, "bdc_m_s2": kin.acceleration_m_s2(180.0, *crank, rpm)})


@each(FILE, "kin-handbook-accel-")
def test_handbook_acceleration(check: Check) -> None:
    rpm, stroke_in = check.inputs["N_rpm"], check.inputs["L_stroke_in"]
    stroke = stroke_in * 25.4
    rod = stroke * check.inputs["A_rod_over_stroke"]
    handbook = kin.handbook_peak_acceleration_m_s2(stroke, rod, rpm) / FOOT_M
    exact = kin.peak_acceleration_m_s2(stroke, rod, 0.0, rpm).value / FOOT_M
    got = {
        "handbook_ft_s2": handbook,
        "exact_ft_s2": exact,
        "ratio_handbook_over_exact": handbook / exact,
        "exact_constant": rpm**2 * stroke_in * (1.0 + stroke / (2.0 * rod)) / exact,
    }
    assert_close(check, got)


@each(FILE, "kin-port-depth-to-angle-")
def test_depth_to_angle(check: Check) -> None:
    depth, crank = check.expected["depth_mm"], crank_of(check)
    got = {
        "depth_mm": depth,
        "angle_down_deg": kin.angle_down_deg(depth, *crank),
        "angle_up_deg": kin.angle_up_deg(depth, *crank),
        "duration_below_deg": kin.duration_below_deg(depth, *crank),
        "duration_above_deg": kin.duration_above_deg(depth, *crank),
    }
    assert_close(check, got)


@each(FILE, "kin-duration-to-depth-")
def test_duration_to_depth(check: Check) -> None:
    duration, crank = check.expected["duration_deg"], crank_of(check)
    depth = kin.depth_for_duration_below_mm(duration, *crank)
    got = {
        "duration_deg": duration,
        "depth_below_tdc_mm": depth,
        "height_above_bdc_mm": kin.true_stroke_mm(*crank) - depth,
    }
    assert_close(check, got)
    np.testing.assert_allclose(kin.depth_for_duration_above_mm(360.0 - duration, *crank), depth, rtol=1e-12)


@each(FILE, "kin-limit-long-rod")
def test_long_rod_is_simple_harmonic_motion(check: Check) -> None:
    theta = check.expected["theta_deg"]
    assert_close(check, {"theta_deg": theta, "depth_mm": kin.depth_mm(theta, *crank_of(check))})


@each(FILE, "kin-mps-")
def test_mean_piston_speed(check: Check) -> None:
    stroke, rpm = check.inputs["stroke_mm"], check.inputs["rpm"]
    mean = kin.mean_piston_speed_m_s(stroke, 2.0 * stroke, 0.0, rpm)
    assert_close(check, {"mean_piston_speed_m_s": mean, "ft_per_min": mean * 60.0 / FOOT_M})


@each(FILE, "kin-rule-blowdown")
def test_blowdown_rule(check: Check) -> None:
    """Symmetric timing: give an engine the exhaust and the blowdown, read off its transfer duration."""
    crank = (42.0, 85.0, 0.0)
    exhaust_roof = kin.depth_for_duration_below_mm(check.inputs["exhaust_duration_deg"], *crank)
    transfers_open = kin.angle_down_deg(exhaust_roof, *crank) + check.inputs["blowdown_deg"]
    transfer_roof = kin.depth_mm(transfers_open, *crank)
    np.testing.assert_allclose(
        kin.blowdown_deg(exhaust_roof, transfer_roof, *crank), check.inputs["blowdown_deg"], rtol=1e-12
    )
    got = {"transfer_duration_deg": kin.duration_below_deg(transfer_roof, *crank)}
    assert_close(check, got, judged_rtol=1e-12)


def test_every_check_is_run() -> None:
    assert not_run(FILE, __name__) == []
