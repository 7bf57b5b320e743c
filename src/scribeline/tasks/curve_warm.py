"""The first simulated speed of a process takes seconds, for its compiled numerics are fetched then: done beforehand."""

from typing import Any

from scribeline.cycle.simulate import FOR_SEARCHES
from scribeline.engine import record_of
from scribeline.tasks.curve import Curve, power_curve

_ENGINE: dict[str, Any] = {  # of no use but to be simulated: round numbers, no engine
    "scribeline_record": 1, "name": "warm", "invented": True, "speed_rpm": 8000.0,
    "crank": {"stroke_mm": 50, "rod_length_mm": 100}, "cylinder": {"bore_mm": 50, "deck_clearance_at_tdc_mm": 0.6},
    "head": {"clearance_on_engine_cc": 11}, "piston": {"skirt_intake_side_mm": 52},
    "crankcase": {"volume_at_bdc_cc": 255}, "ignition": {"advance_deg": 18},
    "intake": {"control": "piston port", "carburettor_bore_mm": 24,
               "tract": [{"length_mm": 60, "start_mm": 28, "end_mm": 25}]},
    "exhaust": {"sections": [{"length_mm": 300, "start_mm": 34, "end_mm": 80},
                             {"length_mm": 300, "start_mm": 80, "end_mm": 22},
                             {"length_mm": 200, "start_mm": 22, "end_mm": 22}]},
    "ports": [
        {"name": name, "role": name, "clock_deg": clock, "mirrored": name == "transfer", "roof_from_deck_mm": roof,
         "floor_from_deck_mm": floor, "width_chord_mm": width}
        for name, clock, roof, floor, width in (
            ("exhaust", 0, 29, 50, 32), ("transfer", 90, 37, 50, 17), ("intake", 180, 55, 74, 30))
    ],
}  # fmt: skip


def warm() -> Curve:
    """Simulate one speed of an engine that nobody has."""
    return power_curve(record_of(_ENGINE, "warm"), [8000.0], FOR_SEARCHES)
