"""The cylinder head and the squish readings as measured."""

from typing import Literal

from scribeline.engine.bottom_end import Studs
from scribeline.engine.measured import Measured, Part, given


class ChamberShape(Part):
    """Dimensions of a chamber that is computed instead of filled.

    dome : a spherical cap over the mouth; bowl : a cone frustum from mouth to floor; bathtub : straight walls over a
    rounded rectangle. `step_mm` is a straight-walled part between the squish band and the mouth of the shape.
    """

    kind: Literal["dome", "bowl", "bathtub"]
    depth_mm: Measured = given("mm", 0.5, 80, "mouth of the chamber to its deepest point", "depth gauge", needed=True)
    mouth_diameter_mm: Measured | None = given("mm", 5, 200, "dome and bowl: diameter at the mouth", "caliper")
    floor_diameter_mm: Measured | None = given("mm", 1, 200, "bowl: diameter of the flat bottom", "caliper")
    length_mm: Measured | None = given("mm", 5, 200, "bathtub: the longer side", "caliper")
    width_mm: Measured | None = given("mm", 5, 200, "bathtub: the shorter side", "caliper")
    corner_radius_mm: Measured | None = given("mm", 0, 100, "bathtub: radius of its corners in plan", "caliper")
    step_mm: Measured | None = given("mm", 0, 20, "height of a straight wall below the mouth", "depth gauge")


class Head(Part):
    """The head. Its volume comes from one of three: filled on the bench, filled on the engine, or computed.

    Two of them are compared on the card.
    """

    chamber_on_bench_cc: Measured | None = given(
        "cc",
        0.2,
        500,
        "head off and upside down, plug in, clear plate on the gasket face: liquid from a burette to the plate",
        "burette",
    )
    clearance_on_engine_cc: Measured | None = given(
        "cc",
        0.2,
        500,
        "engine together, piston at top dead centre sealed with grease: liquid from a burette up to the plug seat",
        "burette",
    )
    shape: ChamberShape | None = None
    plug_thread_cc: Measured | None = given(
        "cc",
        0,
        10,
        "what the plug fills, once in, of a reading on the engine up to the plug seat",
        "burette",
    )
    squish_outer_mm: Measured | None = given(
        "mm", 5, 250, "outer diameter of the squish band; the bore where it is left out", "caliper"
    )
    squish_inner_mm: Measured | None = given(
        "mm", 1, 240, "inner diameter of the squish band, where the chamber begins", "caliper"
    )
    band_angle_deg: Measured | None = given(
        "deg", -20, 45, "how far the band rises towards the centre, from flat", "protractor"
    )
    crown_angle_deg: Measured | None = given(
        "deg", -20, 45, "how far the crown under the band rises towards the centre, from flat", "protractor"
    )
    band_recess_mm: Measured | None = given(
        "mm",
        -20,
        20,
        "from the head's gasket face up to the outer edge of the band; minus where the band stands into the bore",
        "depth gauge",
    )
    studs: Studs | None = None
    face_mm: tuple[tuple[float, float], ...] = ()
    """Outer edge of the head gasket's face: points [to the right, towards the exhaust] from the bore's middle, seen
    from above."""


class SquishReading(Part):
    """One piece of solder, squeezed once, at one place round the bore."""

    clock_deg: Measured = given(
        "deg",
        0,
        360,
        "where the solder lay, exhaust side = 0, clockwise seen from above",
        "judged by eye",
        needed=True,
    )
    gap_mm: Measured = given(
        "mm", 0.05, 8, "thinnest flat of the solder, at the bore wall", "solder and caliper", needed=True
    )


class Squish(Part):
    """Solder readings: 2 to 4, opposite each other in pairs along and across the gudgeon pin."""

    readings: tuple[SquishReading, ...]
    head_gasket_fitted: bool
    solder_diameter_mm: Measured = given("mm", 0.3, 10, "thickness of the solder before", "caliper", needed=True)
    solder_folds: int = 1
