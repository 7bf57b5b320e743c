"""Every check of 02_geometry.toml, through the public functions of scribeline.geometry."""

from dataclasses import replace
from math import radians, sin

import numpy as np

from scribeline.data.handbook import handbook
from scribeline.engine import EngineRecord, GasketSheet, read_record
from scribeline.geometry import cones, head_shape, kinematics, squish, tuned_length, volumes, windows
from scribeline.geometry.refit import change_base_gaskets, compressed_mm
from tests.reference.checks import Check, assert_close, each, not_run

FILE = "02_geometry"


def crank_of(check: Check) -> tuple[float, float, float]:
    """Stroke, rod and offset in mm."""
    i = check.inputs
    return i.get("nominal_stroke", i.get("stroke")), i["rod"], i.get("e", 0.0)


@each(FILE, "geo-volume-")
def test_volumes(check: Check) -> None:
    i = check.inputs
    stroke = kinematics.true_stroke_mm(*crank_of(check))
    swept = volumes.swept_volume_cc(i["bore"], stroke)
    above = volumes.volume_above_depth_cc(i["bore"], i["exhaust_top_edge_depth_mm"])
    at_bdc = i["crankcase_volume_at_bdc_cm3"]
    got = {
        "true_stroke_mm": stroke,
        "bore_area_mm2": volumes.bore_area_mm2(i["bore"]),
        "swept_cm3": swept,
        "cr_geometric": volumes.compression_ratio(swept, i["clearance_volume_cm3"]),
        "swept_above_exhaust_cm3": above,
        "cr_trapped": volumes.compression_ratio(above, i["clearance_volume_cm3"]),
        "crankcase_ratio": volumes.crankcase_compression_ratio(swept, at_bdc),
    }
    assert_close(check, got)
    from_tdc = volumes.crankcase_compression_ratio_from_tdc(swept, at_bdc + swept)
    assert_close(check, got | {"crankcase_ratio": from_tdc})


@each(FILE, "geo-headvol-")
def test_clearance_for_a_target_ratio(check: Check) -> None:
    i = check.inputs
    got = {
        "vc_for_geometric_cm3": volumes.clearance_for_ratio_cc(i["swept_cm3"], i["target_ratio"]),
        "vc_for_trapped_cm3": volumes.clearance_for_ratio_cc(i["swept_above_exhaust_cm3"], i["target_ratio"]),
    }
    assert_close(check, got)


def with_base_gasket(thickness_mm: float, crank: tuple[float, float, float], bore: float) -> tuple[float, float]:
    """Squish gap by solder before and after that much more base gasket, on the smallest record that has one."""
    text = f"""
    scribeline_record = 1
    name = "invented for this check"
    speed_rpm = 9000
    [crank]
    stroke_mm = {crank[0]}
    rod_length_mm = {crank[1]}
    pin_offset_mm = {crank[2]}
    [cylinder]
    bore_mm = {bore}
    [squish]
    head_gasket_fitted = true
    solder_diameter_mm = 2.0
    readings = [{{ clock_deg = 90, gap_mm = 0.9 }}, {{ clock_deg = 270, gap_mm = 0.8 }}]
    """
    record = read_record(text)
    thicker = change_base_gaskets(record, (GasketSheet.model_validate({"nominal_mm": thickness_mm}),))
    assert compressed_mm(thicker.gaskets.base) == thickness_mm
    return mean_gap(record), mean_gap(thicker)


def mean_gap(record: EngineRecord) -> float:
    assert record.squish is not None
    readings = record.squish.readings
    plane = squish.solder_plane([r.clock_deg.value for r in readings], [r.gap_mm.value for r in readings])
    return float(plane.mean_mm)


@each(FILE, "geo-base-gasket-")
def test_base_gasket(check: Check) -> None:
    i, crank = check.inputs, crank_of(check)
    thicker, bore, clearance = i["gasket_mm"], i["bore"], i["clearance_volume_cm3"]
    depths = {
        "exhaust": (kinematics.duration_below_deg, i["exhaust_top_edge_depth_mm"]),
        "transfer": (kinematics.duration_below_deg, i["transfer_top_edge_depth_mm"]),
        "intake": (kinematics.duration_above_deg, i["intake_skirt_travel_from_tdc_mm"]),
    }
    got = {
        f"{port}_duration_{when}_deg": duration(depth - moved, *crank)
        for port, (duration, depth) in depths.items()
        for when, moved in (("before", 0.0), ("after", thicker))
    }
    swept = volumes.swept_volume_cc(bore, kinematics.true_stroke_mm(*crank))
    above = volumes.volume_above_depth_cc(bore, i["exhaust_top_edge_depth_mm"] - thicker)
    added = volumes.deck_volume_cc(bore, thicker)
    gap_before, gap_after = with_base_gasket(thicker, crank, bore)
    got |= {
        "added_clearance_volume_cm3": added,
        "cr_geometric_after": volumes.compression_ratio(swept, clearance + added),
        "cr_trapped_after": volumes.compression_ratio(above, clearance + added),
        "squish_gap_increase_mm": gap_after - gap_before,
    }
    assert_close(check, got)


@each(FILE, "geo-chord-")
def test_chord_and_arc(check: Check) -> None:
    chord, bore = check.inputs["chord"], check.inputs["bore"]
    arc = windows.arc_from_chord_mm(chord, bore)
    got = {
        "arc_mm": arc,
        "chord_back_mm": windows.chord_from_arc_mm(arc, bore),
        "included_angle_deg": windows.included_angle_deg(chord, bore),
        "sagitta_mm": windows.sagitta_mm(chord, bore),
        "chord_over_bore_percent": 100.0 * sin(radians(windows.included_angle_deg(chord, bore)) / 2.0),
    }
    assert_close(check, got)


@each(FILE, "geo-rule-70pct")
def test_widest_exhaust(check: Check) -> None:
    share = handbook()["exhaust_chord_share_max"]
    assert (share.provenance_class, share.value) == ("common practice", check.inputs["fraction"])
    assert_close(check, {"limit_mm": share.value * check.inputs["bore"]}, judged_rtol=1e-12)


@each(FILE, "geo-rule-squish")
def test_usual_squish(check: Check) -> None:
    gap = handbook()["squish_gap_mm"]
    assert gap.provenance_class == "common practice"
    assert_close(check, {"low_mm": gap.low, "high_mm": gap.high}, judged_rtol=1e-15)


@each(FILE, "geo-rule-directions")
def test_directions(check: Check) -> None:
    """Each direction on three cranks, by functions that know nothing of the rule."""
    verdicts = []
    for crank, bore in (((42.0, 85.0, 0.0), 47.0), ((54.5, 110.0, 0.0), 54.0), ((43.0, 90.0, 1.0), 38.0)):
        exhaust, transfer, travel = (share * crank[0] for share in (0.6, 0.75, 0.3))
        raised, thicker = 0.7, 0.5
        swept = volumes.swept_volume_cc(bore, kinematics.true_stroke_mm(*crank))
        before, after = 8.0, 8.0 + float(volumes.deck_volume_cc(bore, thicker))
        below = kinematics.duration_below_deg
        longer = below(exhaust - raised, *crank)
        gap_before, gap_after = with_base_gasket(thicker, crank, bore)
        verdicts.append(
            {
                "raise_exhaust_port_reduces_trapped_volume": volumes.volume_above_depth_cc(bore, exhaust - raised)
                < volumes.volume_above_depth_cc(bore, exhaust),
                "base_gasket_lengthens_exhaust_duration": below(exhaust - thicker, *crank) > below(exhaust, *crank),
                "base_gasket_lengthens_transfer_duration": below(transfer - thicker, *crank) > below(transfer, *crank),
                "base_gasket_shortens_piston_port_intake": kinematics.duration_above_deg(travel - thicker, *crank)
                < kinematics.duration_above_deg(travel, *crank),
                "base_gasket_lowers_compression": volumes.compression_ratio(swept, after)
                < volumes.compression_ratio(swept, before),
                "base_gasket_widens_squish": gap_after > gap_before,
                "longer_exhaust_duration_moves_peak_to_higher_rpm": tuned_length.tuned_speed_rpm(850.0, longer, 520.0)
                > tuned_length.tuned_speed_rpm(850.0, below(exhaust, *crank), 520.0),
            }
        )
    for verdict in verdicts:
        assert_close(check, verdict, judged_rtol=0.0)


@each(FILE, "geo-port-area-")
def test_port_area(check: Check) -> None:
    i = check.inputs
    assert i["radius_top_left"] == i["radius_top_right"]
    assert i["radius_bottom_left"] == i["radius_bottom_right"]
    window = windows.RoundedWindow(i["width"], i["height"], i["radius_top_left"], i["radius_bottom_left"])
    assert_close(check, {"area_mm2": windows.whole_area_mm2(window), "perimeter_mm": windows.perimeter_mm(window)})


@each(FILE, "geo-port-projected-")
def test_projected_port(check: Check) -> None:
    i = check.inputs
    got = {
        "unwrapped_mm2": windows.whole_area_mm2(windows.RoundedWindow(i["arc_width"], i["height"])),
        "projected_mm2": windows.whole_area_mm2(windows.RoundedWindow(i["arc_width"], i["height"], bore_mm=i["bore"])),
        "chord_mm": windows.chord_from_arc_mm(i["arc_width"], i["bore"]),
    }
    assert_close(check, got)


@each(FILE, "geo-frustum-")
def test_flat_pattern(check: Check) -> None:
    i = check.inputs
    section = i["diameter_start"], i["diameter_end"], i["length"]
    got = cones.frustum_pattern(*section)._asdict()
    assert_close(check, got | {"volume_cm3": cones.frustum_volume_cc(*section)})


@each(FILE, "geo-pipe-volume-")
def test_pipe(check: Check) -> None:
    start, end, length = np.array(check.inputs["sections"]).T
    pipe = cones.pipe_totals(start, end, length)
    got = {
        "section_volume_cm3": pipe.section_volume_cc,
        "total_volume_cm3": pipe.volume_cc,
        "section_wall_area_mm2": pipe.section_wall_area_mm2,
        "total_wall_area_mm2": pipe.wall_area_mm2,
        "total_length_mm": pipe.length_mm,
    }
    assert_close(check, got)


@each(FILE, "geo-bend-")
def test_bend(check: Check) -> None:
    i = check.inputs
    bent = cones.bend(i["inside_diameter"], i["centreline_radius"], i["bend_deg"])
    got = {
        "centreline_mm": bent.centreline_mm,
        "inner_arc_mm": bent.inner_arc_mm,
        "outer_arc_mm": bent.outer_arc_mm,
        "volume_cm3": bent.volume_cc,
    }
    assert_close(check, got)


@each(FILE, "geo-head-")
def test_head(check: Check) -> None:
    i = check.inputs
    bore, mouth, gap, tilt = i["bore"], i["bowl_mouth_diameter"], i["squish_gap_at_bore"], i["squish_tilt_deg"]
    inner_gap = gap + head_shape.band_rise_mm(bore, mouth, tilt)
    cap_height = head_shape.spherical_cap_height_mm(mouth, i["bowl_sphere_radius"])
    band = head_shape.band_volume_cc(bore, mouth, gap, tilt)
    cap = head_shape.dome_chamber_volume_cc(cap_height, mouth)
    cylinder = volumes.disc_volume_cc(mouth, inner_gap + i["bowl_step_above_band_mm"])
    got = {
        "squish_volume_cm3": band,
        "bowl_cap_height_mm": cap_height,
        "bowl_cap_cm3": cap,
        "bowl_cylinder_cm3": cylinder,
        "total_cm3": band + cap + cylinder,
        "squish_area_percent": 100.0 * squish.squish_area_ratio(bore, bore, mouth),
        "gap_at_inner_edge_mm": inner_gap,
    }
    assert_close(check, got)


@each(FILE, "geo-squish-velocity-")
def test_squish_velocity(check: Check) -> None:
    """The table of the check stands beside two single numbers: both are taken apart for the comparison."""
    i = check.inputs
    crank, bore, gap = (i["stroke"], i["rod"], 0.0), i["bore"], i["squish_gap"]
    clearance = i["bowl_volume_cm3"] + volumes.deck_volume_cc(bore, gap)
    head = (bore, bore, i["bowl_mouth_diameter"], gap, 0.0, clearance)
    assert check.expected["columns"] == ["deg_before_tdc", "velocity_m_s"]
    before, velocity = np.array(check.expected["rows"], dtype=np.float64).T
    single = {name: check.expected[name] for name in check.expected if name not in ("columns", "rows")}
    peak = squish.peak_squish_velocity_m_s(*crank, i["rpm"], *head)
    got = {
        "velocity_m_s": squish.squish_velocity_m_s(-before, *crank, i["rpm"], *head),
        "max_velocity_m_s": peak.velocity_m_s,
        "max_at_deg_before_tdc": peak.deg_before_tdc,
    }
    assert_close(replace(check, expected=single | {"velocity_m_s": velocity}), got)


def test_every_check_is_run() -> None:
    assert not_run(FILE, __name__) == []
