"""Every check of 08_uncertainty.toml: the card's +/- by first order and by random draws, against GTC and the GUM."""

import numpy as np

from scribeline.engine import EngineRecord, Measured
from scribeline.geometry.evaluate import evaluate, shares
from scribeline.geometry.work_out import work_out, workings_of
from scribeline.geometry.working import Workings
from tests.reference.checks import Check, assert_close, each, not_run

FILE = "08_uncertainty"
DRAWS = 100_000  # standard error of a standard deviation: 0.2 %


def exactly(value: float) -> Measured:
    return Measured(value=value, plus_minus=0.0)


def with_u(value: float, standard_uncertainty: float) -> Measured:
    """A reading whose +/- is the two standard uncertainties that scribeline's +/- means."""
    return Measured(value=value, plus_minus=2.0 * standard_uncertainty)


@each(FILE, "u-duration-")
def test_duration(check: Check) -> None:
    given = check.inputs
    record = EngineRecord.model_validate(
        {
            "scribeline_record": 1,
            "name": "reference",
            "speed_rpm": 9000.0,
            "crank": {
                "stroke_mm": with_u(given["stroke"], given["u_stroke"]),
                "rod_length_mm": with_u(given["rod"], given["u_rod"]),
                "pin_offset_mm": exactly(0.0),
            },
            "cylinder": {"bore_mm": exactly(50.0)},
            "piston": {"crown_chamfer_mm": exactly(0.0)},
            "ports": (
                {
                    "name": "exhaust",
                    "role": "exhaust",
                    "clock_deg": exactly(0.0),
                    "roof_from_crown_tdc_mm": with_u(given["depth"], given["u_depth"]),
                    "floor_from_crown_tdc_mm": exactly(given["stroke"]),
                    "width_chord_mm": exactly(30.0),
                },
            ),
        }
    )
    by_reading = shares(workings_of(record))["exhaust_duration_deg"]
    out = work_out(record, draws=DRAWS)
    first_order = np.sqrt(sum(change**2 for change in by_reading.values())) / 2.0
    got = {
        "duration_deg": out.value("exhaust_duration_deg"),
        "u_duration_deg": first_order,
        "u_from_depth_deg": abs(by_reading["ports.exhaust.roof_from_crown_tdc_mm"]) / 2.0,
        "u_from_stroke_deg": abs(by_reading["crank.stroke_mm"]) / 2.0,
        "u_from_rod_deg": abs(by_reading["crank.rod_length_mm"]) / 2.0,
    }
    assert_close(check, got)
    drawn = out.values["exhaust_duration_deg"].plus_minus
    assert drawn is not None
    np.testing.assert_allclose(drawn / 2.0, check.expected["u_duration_deg"], rtol=0.01)  # as its provenance says


@each(FILE, "u-cr-47")
def test_compression_ratio(check: Check) -> None:
    given = check.inputs
    record = EngineRecord.model_validate(
        {
            "scribeline_record": 1,
            "name": "reference",
            "speed_rpm": 9000.0,
            "crank": {
                "stroke_mm": with_u(given["stroke"], given["u_stroke"]),
                "rod_length_mm": exactly(85.0),
                "pin_offset_mm": exactly(0.0),
            },
            "cylinder": {"bore_mm": with_u(given["bore"], given["u_bore"])},
            "head": {
                "clearance_on_engine_cc": with_u(given["clearance_cm3"], given["u_clearance"]),
                "plug_thread_cc": exactly(0.0),
            },
        }
    )
    by_reading = shares(workings_of(record))["compression_ratio_geometric"]
    out = work_out(record, draws=DRAWS)
    got = {
        "cr": out.value("compression_ratio_geometric"),
        "u_cr": np.sqrt(sum(change**2 for change in by_reading.values())) / 2.0,
        "u_from_clearance_volume": abs(by_reading["head.clearance_on_engine_cc"]) / 2.0,
    }
    assert_close(check, got)
    drawn = out.values["compression_ratio_geometric"].plus_minus
    assert drawn is not None
    np.testing.assert_allclose(drawn / 2.0, check.expected["u_cr"], rtol=0.01)


@each(FILE, "gum-h1-budget")
def test_sum_of_components(check: Check) -> None:
    """The published budget as a sum of nine independent components, each 0 with its standard uncertainty."""
    w = Workings({})
    inputs = {}
    for number, component in enumerate(check.inputs["components_nm"], start=1):
        inputs[f"x{number}"] = w.assume(f"component.{number}", 0.0, "nm", "published", plus_minus=2.0 * component)
    w.derive("length_nm", "length", "nm", " + ".join(inputs), inputs, lambda *x: np.sum(x, axis=0))
    combined = np.sqrt(sum(change**2 for change in shares(w)["length_nm"].values())) / 2.0
    got = {"combined_nm": round(combined), "combined_unrounded_nm": combined}
    assert_close(check, got)
    drawn = evaluate(w, draws=DRAWS).values["length_nm"].plus_minus
    assert drawn is not None
    np.testing.assert_allclose(drawn / 2.0, combined, rtol=0.01)


def test_every_check_is_run() -> None:
    assert not_run(FILE, __name__) == []
