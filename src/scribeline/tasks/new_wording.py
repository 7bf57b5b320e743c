"""What `scribeline new` knows beyond the record's own field descriptions: order, conditions and plain words.

A field that stands in none of these tables is asked in the record's order, always, under its own name.
"""

from collections.abc import Callable, Mapping
from typing import Any

from scribeline.engine import Part, Port
from scribeline.engine.bottom_end import Crankcase, Cylinder, Gaskets, GasketSheet, Piston, SkirtOpening, Studs
from scribeline.engine.breathing import AdvancePoint, Exhaust, Ignition, Intake, Section
from scribeline.engine.head import ChamberShape, Head, Squish, SquishReading
from scribeline.engine.ports import DegreeWheel
from scribeline.engine.record import EngineRecord

Field = tuple[type[Part], str]
Data = Mapping[str, Any]

NOT_ASKED: set[Field] = {
    (EngineRecord, "scribeline_record"),
    (EngineRecord, "invented"),
    (Cylinder, "base_face_mm"),
    (Head, "face_mm"),
}
# An outline of a gasket is drawn off the part, not answered point by point.

# Fields that are asked before the others of their part: how a port's shape was taken decides what else is needed.
FIRST: Mapping[type[Part], tuple[str, ...]] = {
    Port: (
        "name", "role", "clock_deg", "mirrored", "width_chord_mm", "width_arc_mm", "outline_mm",
        "outline_plus_minus_mm",
    ),
    Section: ("length_mm", "start_mm", "end_mm", "name"),
    Squish: ("head_gasket_fitted", "solder_diameter_mm", "solder_folds"),
}  # fmt: skip

_HEIGHTS_AND_ANGLES = {
    "from_deck_mm": "down from the barrel's top face",
    "from_crown_tdc_mm": "down from the crown's edge, piston at top dead centre",
    "from_crown_bdc_mm": "up from the crown's edge, piston at bottom dead centre",
    "opens_deg_atdc": "degree wheel, while the port opens",
    "closes_deg_atdc": "degree wheel, while the port closes",
}
WAYS: Mapping[type[Part], Mapping[str, Mapping[str, str]]] = {
    Port: {
        "width": {
            "width_chord_mm": "straight across with a caliper",
            "width_arc_mm": "along the bore, on a rubbing",
            "outline_mm": "a free outline, point by point",
        },
        "roof": {f"roof_{way}": words for way, words in _HEIGHTS_AND_ANGLES.items()},
        "floor": {f"floor_{way}": words for way, words in _HEIGHTS_AND_ANGLES.items()},
    }
}
"""Sets of fields that measure one thing in different ways: the builder is asked which ways were used, one or more,
and then for each of these. The question about the ways has a place of its own, such as `ports.1.roof`."""


def _used(port: Data, *ends: str) -> bool:
    return any(way.endswith(ends) for group in ("roof", "floor") for way in port.get(group, ()))


# Asked only where this holds. `part` is what was answered of it so far, with the ways used; `engine` is all there is.
ASKED_IF: Mapping[Field, Callable[[Data, Data], bool]] = {
    (Piston, "dome_height_mm"): lambda part, engine: part["crown"] == "dome",
    (Piston, "deflector_volume_cc"): lambda part, engine: part["crown"] == "deflector",
    (Head, "plug_thread_cc"): lambda part, engine: "chamber_on_bench_cc" in part or "clearance_on_engine_cc" in part,
    (ChamberShape, "mouth_diameter_mm"): lambda part, engine: part["kind"] != "bathtub",
    (ChamberShape, "floor_diameter_mm"): lambda part, engine: part["kind"] == "bowl",
    (ChamberShape, "length_mm"): lambda part, engine: part["kind"] == "bathtub",
    (ChamberShape, "width_mm"): lambda part, engine: part["kind"] == "bathtub",
    (ChamberShape, "corner_radius_mm"): lambda part, engine: part["kind"] == "bathtub",
    (DegreeWheel, "stop_turning_forwards_deg"): lambda part, engine: part["readings"] == "raw",
    (DegreeWheel, "stop_turning_back_deg"): lambda part, engine: part["readings"] == "raw",
    (Port, "mirrored"): lambda part, engine: _number(part["clock_deg"]) % 180 != 0,
    (Port, "outline_plus_minus_mm"): lambda part, engine: "outline_mm" in part,
    (Port, "roof_corner_radius_mm"): lambda part, engine: "outline_mm" not in part,
    (Port, "floor_corner_radius_mm"): lambda part, engine: "outline_mm" not in part,
    (Port, "trust"): lambda part, engine: _used(part, "_mm") and _used(part, "_deg_atdc"),
    (Crankcase, "estimate"): lambda part, engine: not part,
    (Intake, "reed"): lambda part, engine: part["control"] == "reed",
    (Intake, "disc"): lambda part, engine: part["control"] == "rotary disc",
    (Section, "bend_radius_mm"): lambda part, engine: "bend_deg" in part,
    (Ignition, "table"): lambda part, engine: "advance_deg" not in part,
}

NEEDED: set[Field] = {
    (Piston, "dome_height_mm"),
    (Piston, "deflector_volume_cc"),
    (ChamberShape, "mouth_diameter_mm"),
    (ChamberShape, "floor_diameter_mm"),
    (ChamberShape, "length_mm"),
    (ChamberShape, "width_mm"),
    (DegreeWheel, "stop_turning_forwards_deg"),
    (DegreeWheel, "stop_turning_back_deg"),
    (Intake, "reed"),
    (Intake, "disc"),
}
"""Optional in the record, but needed wherever it is asked."""


def way_is_offered(way: str, engine: Data) -> bool:
    """The degree wheel is no way to measure an edge where none was used."""
    return not way.endswith("_deg_atdc") or "degree_wheel" in engine


def ways_are_needed(group: str, port: Data) -> bool:
    """A port needs a width, a roof and a floor, unless its outline has them or the piston never opens it."""
    return port["role"] != "blind" and (group == "width" or "outline_mm" not in port)


RELATED = {"intake.control": "ports"}
"""Where an answer may be wrong because another is missing: the last question of that list is asked again, too."""

LABELS: Mapping[Field, str] = {
    (EngineRecord, "name"): "a name for the engine",
    (EngineRecord, "note"): "a note",
    (EngineRecord, "speed_rpm"): "engine speed for the card",
    (Cylinder, "deck_clearance_at_tdc_mm"): "deck clearance at top dead centre",
    (Cylinder, "count"): "number of cylinders",
    (Cylinder, "ring_pegs_deg"): "ring peg",
    (Cylinder, "base_studs"): "are the studs of the barrel's foot to be entered?",
    (Studs, "circle_diameter_mm"): "diameter of the circle the studs stand on",
    (Studs, "hole_diameter_mm"): "diameter of a stud's hole",
    (Studs, "clock_deg"): "clock position of a stud",
    (Gaskets, "base"): "base gasket, sheet",
    (Gaskets, "head"): "head gasket, sheet",
    (GasketSheet, "nominal_mm"): "thickness as bought",
    (GasketSheet, "compressed_mm"): "thickness after tightening",
    (Piston, "crown"): "piston crown",
    (Piston, "openings"): "piston opening",
    (Piston, "skirt_exhaust_side_mm"): "skirt length, exhaust side",
    (Piston, "skirt_intake_side_mm"): "skirt length, intake side",
    (SkirtOpening, "clock_deg"): "clock position",
    (Head, "chamber_on_bench_cc"): "chamber, filled on the bench",
    (Head, "clearance_on_engine_cc"): "clearance volume, filled on the engine",
    (Head, "shape"): "is the chamber to be worked out from its dimensions?",
    (Head, "squish_outer_mm"): "squish band, outer diameter",
    (Head, "squish_inner_mm"): "squish band, inner diameter",
    (Head, "studs"): "are the studs of the head to be entered?",
    (EngineRecord, "squish"): "was solder squeezed to measure the squish?",
    (Squish, "readings"): "solder reading",
    (SquishReading, "clock_deg"): "clock position",
    (Squish, "head_gasket_fitted"): "was the head gasket fitted?",
    (EngineRecord, "degree_wheel"): "was any port read on a degree wheel?",
    (DegreeWheel, "readings"): "readings of the wheel",
    (Port, "clock_deg"): "clock position",
    (Port, "mirrored"): "is there a mirror-image twin on the other side?",
    (Port, "outline_mm"): "outline point",
    (Port, "width_chord_mm"): "width straight across",
    (Port, "width_arc_mm"): "width along the bore",
    (Port, "width"): "how was the width measured?",
    (Port, "roof"): "how was the roof measured?",
    (Port, "floor"): "how was the floor measured?",
    (Port, "trust"): "which reading is to be trusted?",
    (Crankcase, "estimate"): "is the crankcase to be estimated from its dimensions?",
    (EngineRecord, "intake"): "is the intake to be entered?",
    (Intake, "control"): "what opens the intake?",
    (Intake, "tract"): "intake section",
    (EngineRecord, "exhaust"): "was the exhaust pipe measured?",
    (Exhaust, "sections"): "pipe section",
    (Ignition, "table"): "ignition point",
}

HINTS: Mapping[Field, str] = {
    (EngineRecord, "name"): "whatever you call it",
    (EngineRecord, "note"): "state, history, who measured it",
    (EngineRecord, "speed_rpm"): "the crank speed that piston speeds and time-areas are worked out for",
    (Cylinder, "count"): "all alike; the record describes one of them",
    (Cylinder, "cooling"): "what carries the heat away",
    (Cylinder, "bore_surface"): "a magnet holds on iron, and not on plated aluminium",
    (Piston, "crown"): "a straight edge laid across the crown shows which",
    (Head, "shape"): "only where it cannot be filled from a burette, or to compare",
    (ChamberShape, "kind"): "dome: part of a sphere; bowl: flat bottom, slanting wall; bathtub: rounded rectangle",
    (EngineRecord, "squish"): "2 to 4 readings, opposite each other in pairs along and across the gudgeon pin",
    (Squish, "head_gasket_fitted"): "y: tightened with it; n: without, and its thickness is added",
    (Squish, "solder_folds"): "strands lying on each other",
    (EngineRecord, "degree_wheel"): "a disc with degrees on the crankshaft and a pointer on the case",
    (
        DegreeWheel,
        "readings",
    ): "zeroed: set to true top dead centre first; raw: two piston-stop readings tell",
    (Port, "name"): "such as exhaust, main transfer, boost; each port its own",
    (Port, "role"): "what the port is for",
    (Port, "mirrored"): "a pair is entered once",
    (Port, "width"): "one way or more, such as 1 or 1 2; two are compared",
    (Port, "roof"): "the edge nearer the head; one way or more, such as 1 or 1 4; two are compared",
    (Port, "floor"): "the edge nearer the crankcase; one way or more",
    (Port, "outline_mm"): "off a rubbing, going round: across from the port's middle, down from the deck",
    (Port, "trust"): "an edge of this port was measured both ways",
    (Port, "outline_plus_minus_mm"): "how far the outline may be off",
    (Crankcase, "estimate"): "only where nobody has filled it yet",
    (Intake, "control"): "the piston's skirt, a reed block, or a disc on the crank",
    (Exhaust, "sections"): "in order, from the port face to the open end",
    (AdvancePoint, "rpm"): "engine speed of this point",
    (AdvancePoint, "advance_deg"): "crank degrees before top dead centre at that speed",
}


def _number(value: Any) -> float:
    """A measured value as the answers give it: bare or in a table."""
    return float(value["value"] if isinstance(value, dict) else value)
