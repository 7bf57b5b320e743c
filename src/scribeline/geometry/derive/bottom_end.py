"""Card lines of the crank and cylinder: stroke, displacement, piston speed, where the deck stands."""

from scribeline.engine import EngineRecord
from scribeline.geometry import kinematics, volumes
from scribeline.geometry.working import Workings

CRANK = {"S": "crank.stroke_mm", "l": "crank.rod_length_mm", "e": "crank.pin_offset_mm"}
"""Symbols of the slider-crank, as every formula of the card writes them."""


def derive_crank(w: Workings, record: EngineRecord) -> None:
    """Stroke, displacement, piston speed and acceleration at the record's speed."""
    w.assume("crank.pin_offset_mm", 0.0, "mm", "no pin offset measured: taken as none")
    w.choose("speed_rpm", record.speed_rpm, "rpm", "the crank speed the card is worked out for")
    turning = {**CRANK, "N": "speed_rpm"}
    w.derive(
        "true_stroke_mm",
        "stroke of the piston",
        "mm",
        "√((l + S/2)² − e²) − √((l − S/2)² − e²)",
        CRANK,
        kinematics.true_stroke_mm,
    )
    w.derive(
        "bdc_after_tdc_deg",
        "bottom dead centre after top dead centre",
        "deg",
        "180 + asin(e / (l − S/2)) − asin(e / (l + S/2))",
        CRANK,
        kinematics.bdc_after_tdc_deg,
    )
    w.derive(
        "bore_area_mm2",
        "area of the bore",
        "mm2",
        "π/4 · B²",
        {"B": "cylinder.bore_mm"},
        volumes.bore_area_mm2,
    )
    w.derive(
        "swept_volume_cc",
        "swept volume of one cylinder",
        "cc",
        "A · s / 1000",
        {"A": "bore_area_mm2", "s": "true_stroke_mm"},
        lambda area, stroke: area * stroke / 1000.0,
    )
    count = record.cylinder.count
    w.derive(
        "displacement_cc",
        "displacement",
        "cc",
        f"{count} · V" if count > 1 else "V",
        {"V": "swept_volume_cc"},
        lambda swept: count * swept,
    )
    w.derive(
        "mean_piston_speed_m_s",
        "mean piston speed",
        "m/s",
        "2 · s/1000 · N/60",
        {"s": "true_stroke_mm", "N": "speed_rpm"},
        lambda stroke, speed: 2.0 * stroke / 1000.0 * speed / 60.0,
        "definition",
    )
    w.derive(
        "piston_speed_max_m_s",
        "highest piston speed",
        "m/s",
        "largest dx/dt over the turn, x(θ) of the slider-crank",
        turning,
        lambda *crank: kinematics.peak_piston_speed_m_s(*crank)[0],
    )
    w.derive(
        "piston_acceleration_max_m_s2",
        "highest piston acceleration (as many newtons on each kilogram)",
        "m/s2",
        "largest |d²x/dt²| over the turn, x(θ) of the slider-crank",
        turning,
        lambda *crank: kinematics.peak_acceleration_m_s2(*crank)[0],
    )
    if record.piston.mass_g is not None:
        w.derive(
            "piston_inertia_force_n",
            "highest inertia force of the piston",
            "N",
            "m/1000 · a",
            {"m": "piston.mass_g", "a": "piston_acceleration_max_m_s2"},
            lambda mass, acceleration: mass / 1000.0 * acceleration,
            "definition",
        )


def derive_deck(w: Workings, record: EngineRecord) -> None:
    """Where the barrel's top face stands above the crown at top dead centre, and the gaskets under and over it."""
    for stack in ("base", "head"):
        _gasket_stack(w, record, stack)
    ways = []
    if record.cylinder.deck_clearance_at_tdc_mm is not None:
        w.derive(
            "deck_clearance_measured_mm",
            "deck clearance at top dead centre, measured",
            "mm",
            "c",
            {"c": "cylinder.deck_clearance_at_tdc_mm"},
            lambda clearance: clearance,
            "measured",
            inner=True,
        )
        ways.append(("deck_clearance_measured_mm", "measured at top dead centre"))
    if record.cylinder.deck_height_mm is not None and record.piston.compression_height_mm is not None:
        w.derive(
            "deck_clearance_from_height_mm",
            "deck clearance at top dead centre, from the deck height",
            "mm",
            "H − h − √((l + S/2)² − e²)",
            {"H": "cylinder.deck_height_mm", "h": "piston.compression_height_mm", **CRANK},
            lambda deck, pin, stroke, rod, offset: deck - pin - ((rod + stroke / 2) ** 2 - offset**2) ** 0.5,
            inner=True,
        )
        ways.append(("deck_clearance_from_height_mm", "from deck height, rod and compression height"))
    w.first_of("deck_clearance_mm", "deck clearance at top dead centre", "mm", ways)


def _gasket_stack(w: Workings, record: EngineRecord, stack: str) -> None:
    sheets = getattr(record.gaskets, stack)
    inputs = {}
    for number, sheet in enumerate(sheets, start=1):
        place = f"gaskets.{stack}.{number}"
        name = f"{place}.compressed_mm"
        if sheet.compressed_mm is None:
            nominal = sheet.nominal_mm.value
            w.assume(name, nominal, "mm", "compressed thickness not measured: taken as nominal", 0.1 * nominal)
        inputs[f"t{number}"] = name
    if not sheets:
        w.assume(f"gaskets.{stack}.none", 0.0, "mm", f"no {stack} gasket in the record: taken as none fitted")
        inputs["t"] = f"gaskets.{stack}.none"
    w.derive(
        f"{stack}_gasket_mm",
        f"{stack} gasket, tightened",
        "mm",
        " + ".join(inputs),
        inputs,
        lambda *sheets_mm: sum(sheets_mm[1:], start=sheets_mm[0]),
    )
