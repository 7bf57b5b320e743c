"""Drivetrain and vehicle: what turns crank speed into road speed and holds it back."""

from scribeline.engine.measured import Measured, Part, given


class Drivetrain(Part):
    """From crank to tyre."""

    primary_ratio: Measured | None = given(
        "ratio",
        0.2,
        20,
        "teeth on the driven over teeth on the driving wheel, crank to clutch or gearbox",
        "counted",
    )
    gears: tuple[float, ...] = ()
    final_drive_ratio: Measured | None = given(
        "ratio", 0.2, 30, "teeth on the rear over teeth on the front sprocket", "counted"
    )
    tyre_rolling_radius_mm: Measured | None = given("mm", 40, 600, "axle to ground, rider on board", "ruler")
    tyre_circumference_mm: Measured | None = given(
        "mm", 250, 4000, "distance rolled in one turn, rider on board", "tape"
    )
    clutch_engages_rpm: Measured | None = given("rpm", 500, 15000, "engine speed when it begins to pull", "tachometer")
    redline_rpm: Measured | None = given(
        "rpm", 1000, 30000, "highest engine speed allowed, by the maker's manual or your own decision", "tachometer"
    )
    efficiency: Measured | None = given("ratio", 0.5, 1.0, "share of crank power that reaches the tyre", "estimate")


class Vehicle(Part):
    """Mass and what resists it."""

    mass_with_rider_kg: Measured | None = given("kg", 5, 2000, "vehicle, fuel and dressed rider", "bathroom scales")
    rolling_resistance: Measured | None = given("ratio", 0.002, 0.2, "coast-down, as a share of the weight", "estimate")
    drag_area_m2: Measured | None = given("m2", 0.02, 3, "coast-down: drag coefficient times frontal area", "estimate")
