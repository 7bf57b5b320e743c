"""Crank, cylinder, gaskets, piston and crankcase as measured."""

from typing import Literal

from scribeline.engine.measured import Measured, Part, given


class Crank(Part):
    """The slider-crank."""

    stroke_mm: Measured = given(
        "mm",
        5,
        250,
        "twice the crank throw: depth gauge on the crown at one crank-pin extreme and the other",
        "depth gauge",
        needed=True,
    )
    rod_length_mm: Measured = given(
        "mm", 10, 600, "centre of the big-end eye to centre of the small-end eye", "caliper", needed=True
    )
    pin_offset_mm: Measured | None = given(
        "mm",
        -20,
        20,
        "gudgeon-pin (or cylinder) offset from the crank centre line; plus towards the side the crank pin moves to "
        "on the down stroke",
        "caliper",
    )


class Studs(Part):
    """The studs through one joint face, and the holes they leave in its gasket: all on one circle round the bore."""

    circle_diameter_mm: Measured = given(
        "mm",
        10,
        400,
        "middle of one stud to the middle of the one opposite, or twice the distance to the bore's middle",
        "caliper",
        needed=True,
    )
    hole_diameter_mm: Measured = given("mm", 2, 30, "across a stud's hole in the barrel", "caliper", needed=True)
    clock_deg: tuple[Measured, ...] = given(
        "deg",
        0,
        360,
        "clock position of each stud, exhaust side = 0, clockwise seen from above",
        "judged by eye",
        many=True,
    )


class Cylinder(Part):
    """The barrel: bore and where its deck stands above the piston."""

    bore_mm: Measured = given(
        "mm",
        10,
        200,
        "across the bore, below the ring's reversal, at two right angles",
        "bore gauge",
        needed=True,
    )
    deck_clearance_at_tdc_mm: Measured | None = given(
        "mm",
        -20,
        50,
        "from the barrel's top face down to the crown's edge at the bore wall, piston at top dead centre, base gasket "
        "fitted and nuts tight; minus where the crown stands proud",
        "depth gauge",
    )
    deck_height_mm: Measured | None = given(
        "mm",
        15,
        800,
        "from the crank centre to the barrel's top face, base gasket fitted and nuts tight",
        "caliper",
    )
    count: int = 1
    cooling: Literal["air", "fan", "water"] | None = None
    bore_surface: Literal["plated", "iron"] | None = None
    ring_pegs_deg: tuple[Measured, ...] = given(
        "deg",
        0,
        360,
        "clock position of each ring end, exhaust side = 0, clockwise seen from above",
        "judged by eye",
        many=True,
    )
    base_studs: Studs | None = None
    base_face_mm: tuple[tuple[float, float], ...] = ()
    """Outer edge of the base gasket's face: points [to the right, towards the exhaust] from the bore's middle, seen
    from above."""


class GasketSheet(Part):
    """One sheet of a gasket stack."""

    nominal_mm: Measured = given("mm", 0.02, 10, "thickness as bought, out of the box", "micrometer", needed=True)
    compressed_mm: Measured | None = given(
        "mm", 0.02, 10, "thickness after being tightened down and taken off again", "micrometer"
    )
    material: str | None = None


class Gaskets(Part):
    """The sheets that were fitted when the rest of the record was measured."""

    base: tuple[GasketSheet, ...] = ()
    head: tuple[GasketSheet, ...] = ()


class SkirtOpening(Part):
    """A window or a cut-out in the piston skirt.

    A window is a hole with metal all round it. A cut-out is open at the bottom: it has no `bottom_from_crown_mm`.
    """

    name: str
    clock_deg: Measured = given(
        "deg",
        0,
        360,
        "centre of the opening, exhaust side = 0, clockwise seen from above",
        "judged by eye",
        needed=True,
    )
    width_mm: Measured = given("mm", 1, 200, "straight across with a caliper (chord)", "caliper", needed=True)
    top_from_crown_mm: Measured = given(
        "mm", 1, 300, "crown edge down to the top of the opening", "caliper", needed=True
    )
    bottom_from_crown_mm: Measured | None = given(
        "mm", 1, 300, "crown edge down to the bottom of the window; leave out for a cut-out", "caliper"
    )


class Piston(Part):
    """The piston: its crown, its skirt, and what is cut out of it."""

    crown: Literal["flat", "dome", "deflector"] = "flat"
    dome_height_mm: Measured | None = given(
        "mm", 0, 40, "from the level of the crown's edge up to the top of the dome", "depth gauge"
    )
    deflector_volume_cc: Measured | None = given(
        "cc",
        0,
        100,
        "volume of everything that stands above the crown's edge, by burette or by displacement",
        "burette",
    )
    crown_chamfer_mm: Measured | None = given(
        "mm",
        0,
        5,
        "height of the chamfer or rounded edge that lets gas past before the edge itself does",
        "caliper",
    )
    compression_height_mm: Measured | None = given(
        "mm", 5, 150, "centre of the gudgeon pin up to the crown's edge", "caliper"
    )
    skirt_exhaust_side_mm: Measured | None = given(
        "mm", 5, 300, "crown's edge down to the bottom of the skirt, exhaust side", "caliper"
    )
    skirt_intake_side_mm: Measured | None = given(
        "mm", 5, 300, "crown's edge down to the bottom of the skirt, intake side", "caliper"
    )
    top_ring_from_crown_mm: Measured | None = given(
        "mm", 0, 60, "crown's edge down to the upper side of the top ring", "caliper"
    )
    lowest_ring_from_crown_mm: Measured | None = given(
        "mm", 0, 100, "crown's edge down to the lower side of the lowest ring", "caliper"
    )
    openings: tuple[SkirtOpening, ...] = ()
    mass_g: Measured | None = given("g", 5, 3000, "piston with pin, rings and clips", "kitchen scales")


class CrankcaseEstimate(Part):
    """A crankcase volume worked out from dimensions, where nobody has filled it with oil yet."""

    chamber_bore_mm: Measured = given("mm", 20, 500, "inside diameter of the crank chamber", "caliper", needed=True)
    chamber_width_mm: Measured = given("mm", 5, 400, "inside width of the crank chamber", "caliper", needed=True)
    crank_and_rod_cc: Measured = given(
        "cc",
        1,
        5000,
        "volume of flywheels, pin and rod: by displacement in water",
        "measuring jug",
        needed=True,
    )
    passages_cc: Measured = given(
        "cc", 0, 2000, "transfer passages and intake up to the reed or skirt", "measuring jug", needed=True
    )
    under_piston_cc: Measured = given(
        "cc", 0, 2000, "space inside the piston and in the barrel below it at bottom dead centre", "measuring jug",
        needed=True,
    )  # fmt: skip


class Crankcase(Part):
    """The space under the piston. One of the three is enough; two are compared."""

    volume_at_bdc_cc: Measured | None = given(
        "cc",
        5,
        10000,
        "fill through the intake or transfers with thin oil, piston at bottom dead centre",
        "burette",
    )
    volume_at_tdc_cc: Measured | None = given(
        "cc",
        5,
        10000,
        "fill through the intake or transfers with thin oil, piston at top dead centre",
        "burette",
    )
    estimate: CrankcaseEstimate | None = None
