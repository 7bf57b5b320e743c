"""Intake, exhaust pipe, ignition and fuel as measured or chosen."""

from typing import Literal

from scribeline.engine.measured import Measured, Part, given


class Section(Part):
    """A straight or conical piece of duct, in the order the gas or the wave meets it."""

    name: str | None = None
    length_mm: Measured = given("mm", 0.5, 3000, "along the middle line", "ruler", needed=True)
    start_mm: Measured = given("mm", 2, 400, "inside diameter at the engine's end", "caliper", needed=True)
    end_mm: Measured = given("mm", 2, 400, "inside diameter at the far end", "caliper", needed=True)
    bend_deg: Measured | None = given("deg", 0, 360, "total angle of the bends in this section", "judged by eye")
    bend_radius_mm: Measured | None = given("mm", 5, 1000, "middle-line radius of the bend", "ruler")


class Reed(Part):
    """A reed block."""

    petals: int
    petal_length_mm: Measured = given("mm", 3, 100, "free length, clamp to tip", "caliper", needed=True)
    petal_width_mm: Measured = given("mm", 3, 150, "width of one petal", "caliper", needed=True)
    petal_thickness_mm: Measured = given("mm", 0.05, 3, "one petal, away from the edge", "micrometer", needed=True)
    material: Literal["glass fibre", "carbon fibre", "steel"]
    stop_height_mm: Measured | None = given("mm", 0.5, 60, "tip lift at the stop", "caliper")
    block_area_mm2: Measured = given(
        "mm2", 5, 10000, "open area of the block with all petals off", "judged by eye", needed=True
    )


class RotaryDisc(Part):
    """A rotary disc that uncovers a round inlet."""

    opens_deg_atdc: Measured = given(
        "deg",
        0,
        360,
        "crank degrees after top dead centre when the inlet begins to open",
        "degree wheel",
        needed=True,
    )
    closes_deg_atdc: Measured = given(
        "deg",
        0,
        360,
        "crank degrees after top dead centre when the inlet is shut again",
        "degree wheel",
        needed=True,
    )
    inlet_diameter_mm: Measured = given("mm", 3, 100, "round inlet in the disc's cover", "caliper", needed=True)
    inlet_centre_radius_mm: Measured = given(
        "mm", 5, 300, "crank centre to the middle of the inlet", "caliper", needed=True
    )


class Intake(Part):
    """How the charge gets into the crankcase."""

    control: Literal["piston port", "reed", "rotary disc"]
    reed: Reed | None = None
    disc: RotaryDisc | None = None
    carburettor_bore_mm: Measured | None = given("mm", 2, 80, "at its narrowest, throttle open", "caliper")
    tract: tuple[Section, ...] = ()
    airbox_cc: Measured | None = given("cc", 10, 100000, "air volume of the box, water from a jug", "measuring jug")


class Exhaust(Part):
    """The pipe, from the cylinder's outer exhaust face to the open end; the passage before it belongs to the port."""

    sections: tuple[Section, ...]


class AdvancePoint(Part):
    """One point of an ignition table."""

    rpm: float
    advance_deg: float


class Ignition(Part):
    """When the spark comes: one value, or a table by engine speed."""

    advance_deg: Measured | None = given(
        "deg", -20, 70, "crank degrees before top dead centre, with a timing light", "timing light"
    )
    table: tuple[AdvancePoint, ...] = ()


class Fuel(Part):
    """What is in the tank."""

    octane_ron: Measured | None = given("ratio", 60, 130, "research octane number on the pump", "chosen")
    petrol_per_oil: Measured | None = given("ratio", 8, 200, "parts of petrol to one part of oil", "chosen")
    air_per_fuel: Measured | None = given(
        "ratio", 9.2, 29, "mass of air for one mass of fuel at full throttle, from a lambda probe", "estimate"
    )
