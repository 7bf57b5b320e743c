"""Card lines of the pipe's size and of road speed through the gearing."""

from math import pi

import numpy as np

from scribeline.engine import EngineRecord, Part
from scribeline.geometry import cones
from scribeline.geometry.working import FloatArray, Workings


def derive_pipe(w: Workings, record: EngineRecord) -> None:
    """Length and volume of the exhaust, and the stinger against the header."""
    if record.exhaust is None:
        return
    places = _section_places(record.exhaust)
    lengths = {f"L{n}": f"{place}.length_mm" for n, place in enumerate(places, start=1)}
    w.derive(
        "pipe_length_mm",
        "length of the exhaust along its middle line",
        "mm",
        " + ".join(lengths),
        lengths,
        lambda *mm: sum(mm[1:], start=mm[0]),
        "definition",
    )
    ends = {
        symbol: f"{place}.{key}"
        for n, place in enumerate(places, start=1)
        for symbol, key in ((f"L{n}", "length_mm"), (f"a{n}", "start_mm"), (f"b{n}", "end_mm"))
    }

    def volume(*mm: FloatArray) -> FloatArray:
        sections = zip(mm[::3], mm[1::3], mm[2::3], strict=True)
        return np.asarray(sum(cones.frustum_volume_cc(start, end, length) for length, start, end in sections))

    w.derive(
        "pipe_volume_cc",
        "volume of the exhaust",
        "cc",
        " + ".join(f"π/12 · L{n} · (a{n}² + a{n}·b{n} + b{n}²) / 1000" for n in range(1, len(places) + 1)),
        ends,
        volume,
    )
    w.derive(
        "stinger_share_of_header",
        "narrowest end of the pipe over its start",
        "share",
        "d / D",
        {"d": f"{places[-1]}.end_mm", "D": f"{places[0]}.start_mm"},
        lambda stinger, header: stinger / header,
        "definition",
    )


def _section_places(exhaust: Part) -> list[str]:
    sections = getattr(exhaust, "sections", ())
    return [f"exhaust.sections.{section.name or n}" for n, section in enumerate(sections, start=1)]


def derive_drive(w: Workings, record: EngineRecord) -> None:
    """Road speed at the record's crank speed, in each gear; nothing where the gearing is not known."""
    drive = record.drivetrain
    if drive.final_drive_ratio is None:
        return
    ways = []
    if drive.tyre_circumference_mm is not None:
        w.derive(
            "tyre_circumference_rolled_mm",
            "distance rolled in one turn of the tyre, rolled",
            "mm",
            "U",
            {"U": "drivetrain.tyre_circumference_mm"},
            lambda rolled: rolled,
            "measured",
            inner=True,
        )
        ways.append(("tyre_circumference_rolled_mm", "rolled"))
    if drive.tyre_rolling_radius_mm is not None:
        w.derive(
            "tyre_circumference_from_radius_mm",
            "distance rolled in one turn of the tyre, from its radius",
            "mm",
            "2 · π · R",
            {"R": "drivetrain.tyre_rolling_radius_mm"},
            lambda radius: 2.0 * pi * radius,
            inner=True,
        )
        ways.append(("tyre_circumference_from_radius_mm", "from the rolling radius"))
    if w.first_of("tyre_circumference_mm", "distance rolled in one turn of the tyre", "mm", ways) is None:
        return
    w.assume("drivetrain.primary_ratio", 1.0, "ratio", "no primary drive in the record: taken as direct")
    for number, gear in enumerate(drive.gears or (1.0,), start=1):
        name = f"road_speed_gear_{number}_km_h" if drive.gears else "road_speed_km_h"
        place = f"drivetrain.gears.{number}"
        if drive.gears:
            w.choose(place, gear, "ratio", "teeth counted, as written in the record")
        else:
            w.assume(place, gear, "ratio", "no gearbox in the record: taken as direct")
        w.derive(
            name,
            "road speed at this crank speed" + (f" in gear {number}" if drive.gears else ""),
            "km/h",
            "N · 60 · U / 1 000 000 / (p · g · f)",
            {
                "N": "speed_rpm",
                "U": "tyre_circumference_mm",
                "p": "drivetrain.primary_ratio",
                "g": place,
                "f": "drivetrain.final_drive_ratio",
            },
            lambda rpm, rolled, primary, gear, final: rpm * 60.0 * rolled / 1e6 / (primary * gear * final),
            "definition",
        )
    if record.vehicle.mass_with_rider_kg is not None:
        _power_to_hold(w, name)


def _power_to_hold(w: Workings, road_speed: str) -> None:
    """Power at the crank that holds the road speed of the highest gear on the level in still standard air."""
    w.assume("vehicle.rolling_resistance", 0.02, "ratio", "typical, judgement: coast down to know yours", 0.01)
    w.assume("vehicle.drag_area_m2", 0.6, "m2", "typical with a rider, judgement: coast down to know yours", 0.2)
    w.assume("drivetrain.efficiency", 0.9, "ratio", "typical of chain and gears, judgement", 0.05)
    w.assume("air.density_kg_m3", 1.225, "kg/m3", "standard air at sea level, 15 °C (iso-2533)")
    w.derive(
        "power_to_hold_kw",
        "power at the crank to hold the highest road speed on the level",
        "kW",
        "(m · 9.80665 · c + ρ/2 · Ad · (v/3.6)²) · v/3.6 / η / 1000",
        {
            "m": "vehicle.mass_with_rider_kg",
            "c": "vehicle.rolling_resistance",
            "ρ": "air.density_kg_m3",
            "Ad": "vehicle.drag_area_m2",
            "v": road_speed,
            "η": "drivetrain.efficiency",
        },
        lambda mass, rolling, density, drag_area, v_km_h, share: (
            (mass * 9.80665 * rolling + density / 2.0 * drag_area * (v_km_h / 3.6) ** 2) * v_km_h / 3.6 / share / 1000.0
        ),
        "definition",
    )
