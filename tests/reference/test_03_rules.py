"""The checks of 03_time_area_and_pipe_rules.toml on handbook figures, tuned length and mean pressure.

Those on angle-area and time-area stand in test_03_time_area.py; the last test here counts both.
"""

import pytest

from scribeline.data.handbook import handbook
from scribeline.geometry import tuned_length as tuned
from tests.reference.checks import Check, assert_close, each, not_run

FILE = "03_time_area_and_pipe_rules"
INCH_MM = 25.4
TIME_AREA_GUIDES = {
    "ta-handbook-exhaust": tuned.EXHAUST_TIME_AREA,
    "ta-handbook-transfer": tuned.TRANSFER_TIME_AREA,
    "ta-handbook-piston-intake": tuned.PISTON_INTAKE_TIME_AREA,
    "ta-handbook-rotary-intake": tuned.ROTARY_INTAKE_TIME_AREA,
}
# Names of the check -> entry of our table. Neither side may have one that the other lacks.
ENGINE_CLASS = {
    "compression_ratio": "class_compression_ratio",
    "bore_m": "class_bore_m",
    "stroke_over_bore": "class_stroke_over_bore",
    "rated_speed_rpm": "class_rated_speed_rpm",
    "bmep_atm": "class_bmep_atm",
    "power_per_volume_kW_per_dm3": "class_power_per_volume_kw_per_dm3",
    "mass_per_power_kg_per_kW": "class_mass_per_power_kg_per_kw",
    "best_bsfc_g_per_kWh": "class_best_bsfc_g_per_kwh",
}


@each(FILE, "ta-handbook-")
def test_time_area_guides(check: Check) -> None:
    guide = TIME_AREA_GUIDES[check.id]
    assert guide.provenance_class == check.provenance_class
    assert guide.unit == "s cm^2/cm^3"
    assert_close(check, {"low": guide.low, "high": guide.high}, judged_rtol=1e-14)


@each(FILE, "ta-bmep-guidance")
def test_no_relation_of_time_area_to_mean_pressure_is_given(check: Check) -> None:
    """The file leaves the coefficients out, and so must the table: nobody may fill them in from memory."""
    assert check.left_out
    given = any("bmep" in guide.key + guide.what and "time" in guide.key + guide.what for guide in handbook().values())
    assert_close(check, {"given": given}, judged_rtol=0.0)


@each(FILE, "pipe-diffuser-rule")
def test_diffuser(check: Check) -> None:
    assert tuned.DIFFUSER_TAPER.provenance_class == tuned.DIFFUSER_AREA_RATIO.provenance_class == check.provenance_class
    got = {
        "included_taper_deg": tuned.DIFFUSER_TAPER.value,
        "area_ratio": tuned.DIFFUSER_AREA_RATIO.value,
        "diameter_ratio": tuned.diffuser_outlet_mm(1.0),
        "upper_taper_deg": tuned.DIFFUSER_TAPER_LIMITS.high,
        "lower_taper_deg": tuned.DIFFUSER_TAPER_LIMITS.low,
        "outlet_for_1p5in_inlet_in": tuned.diffuser_outlet_mm(1.5 * INCH_MM) / INCH_MM,
    }
    assert_close(check, got, judged_rtol=1e-14)


@each(FILE, "pipe-baffle-rule")
def test_baffle(check: Check) -> None:
    assert tuned.BAFFLE_TAPER.provenance_class == check.provenance_class
    assert_close(check, {"included_angle_deg": tuned.BAFFLE_TAPER.value}, judged_rtol=1e-14)


@each(FILE, "pipe-stinger-rule")
def test_stinger(check: Check) -> None:
    assert tuned.STINGER_DIAMETER_RATIO.provenance_class == check.provenance_class
    guide = tuned.stinger_guide(1.0)
    got = {
        "diameter_ratio_low": guide.smallest_mm,
        "diameter_ratio_high": guide.largest_mm,
        "length_in_stinger_diameters": guide.length_of_smallest_mm / guide.smallest_mm,
    }
    assert_close(check, got, judged_rtol=1e-14)
    assert guide.length_of_largest_mm / guide.largest_mm == pytest.approx(got["length_in_stinger_diameters"], rel=1e-14)
    assert "overheats the piston" in guide.caution


@each(FILE, "pipe-tuned-length-1", "pipe-tuned-length-2")
def test_published_tuned_length(check: Check) -> None:
    i = check.inputs
    duration, rpm, wave_ft_s = i["exhaust_duration_deg"], i["rpm"], i["wave_speed_ft_s"]
    assert wave_ft_s == tuned.WAVE_SPEED.value
    wave_m_s = wave_ft_s * 12.0 * INCH_MM / 1000.0
    got = {
        "length_in": tuned.published_tuned_length_in(duration, rpm, wave_ft_s),
        "length_mm": tuned.tuned_length_mm(duration, rpm, wave_m_s),
        "open_time_ms": tuned.open_time_ms(duration, rpm),
        "wave_speed_m_s": wave_m_s,
    }
    assert_close(check, got)


@each(FILE, "pipe-tuned-length-si-")
def test_tuned_length(check: Check) -> None:
    i = check.inputs
    duration, rpm, wave = i["exhaust_duration_deg"], i["rpm"], i["wave_speed_m_s"]
    length = tuned.tuned_length_mm(duration, rpm, wave)
    got = {
        "length_mm": length,
        "rpm_if_length_minus_3pct": tuned.tuned_speed_rpm(0.97 * length, duration, wave),
        "rpm_if_wave_speed_plus_2pct": tuned.tuned_speed_rpm(length, duration, 1.02 * wave),
    }
    assert_close(check, got)


@each(FILE, "class-small-2s-si")
def test_engine_class(check: Check) -> None:
    assert set(ENGINE_CLASS.values()) == {key for key in handbook() if key.startswith("class_")}
    guides = {name: handbook()[key] for name, key in ENGINE_CLASS.items()}
    assert {guide.provenance_class for guide in guides.values()} == {check.provenance_class}
    got = {
        name: [guide.low, guide.high] if isinstance(check.expected[name], list) else guide.value
        for name, guide in guides.items()
    }
    assert_close(check, got, judged_rtol=1e-14)


@each(FILE, "class-bmep-arith")
def test_mean_pressure_and_power(check: Check) -> None:
    """The inputs of this check are sentences: "6.0 bar, 125 cm3, 9000 rpm -> ...", so they are read as such."""
    bmep, displacement, rpm = (float(part.split()[0]) for part in check.inputs["case1"].split(","))
    got = {"power_kW": tuned.power_kw(bmep, displacement, rpm)}
    power, displacement, rpm = (float(part.split()[0]) for part in check.inputs["case2"].split(","))
    got["bmep_bar_from_power"] = tuned.bmep_bar(power, displacement, rpm)
    assert_close(check, got)


def test_every_check_is_run() -> None:
    assert not_run(FILE, __name__, "tests.reference.test_03_time_area") == []
