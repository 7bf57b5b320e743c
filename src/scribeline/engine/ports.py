"""Ports and the degree wheel as measured.

Each edge of a port may be given in any of several ways, and in more than one at once: heights in the bore, or crank
degrees. Which way is used and whether they agree is worked out by `scribeline.geometry`, not here.
"""

from typing import Literal

from scribeline.engine.measured import Measured, Part, given

Role = Literal["exhaust", "auxiliary exhaust", "transfer", "secondary transfer", "boost", "intake", "finger", "blind"]

EXHAUST_ROLES = ("exhaust", "auxiliary exhaust")
TRANSFER_ROLES = ("transfer", "secondary transfer", "boost", "finger")

_WHEEL = "crank degrees after top dead centre, 0 to 360, "


def _height(edge: str, where: str) -> str:
    return f"{where} the port's {edge} at its middle"


class Port(Part):
    """One port, or one pair of mirror-image ports, as it meets the bore.

    Heights: from the barrel's deck down; from the crown's edge at top dead centre down; or from the crown's edge at
    bottom dead centre up (minus where the edge lies below the crown). Degrees: where the controlling edge of the
    piston meets the port's edge while the port opens or closes; the controlling edge is the crown's, for an intake
    port the bottom of the skirt.
    """

    name: str
    role: Role
    clock_deg: Measured = given(
        "deg",
        0,
        360,
        "middle of the port, exhaust side = 0, clockwise seen from above",
        "judged by eye",
        needed=True,
    )
    mirrored: bool = False

    roof_from_deck_mm: Measured | None = given(
        "mm", 0, 300, _height("roof", "barrel's top face down to"), "caliper in the bore"
    )
    roof_from_crown_tdc_mm: Measured | None = given(
        "mm", 0, 300, _height("roof", "crown's edge at top dead centre down to"), "caliper in the bore"
    )
    roof_from_crown_bdc_mm: Measured | None = given(
        "mm", -100, 300, _height("roof", "crown's edge at bottom dead centre up to"), "caliper in the bore"
    )
    roof_opens_deg_atdc: Measured | None = given(
        "deg", 0, 360, _WHEEL + "when the piston's edge meets the roof as the port opens", "degree wheel"
    )
    roof_closes_deg_atdc: Measured | None = given(
        "deg", 0, 360, _WHEEL + "when the piston's edge meets the roof as the port closes", "degree wheel"
    )
    floor_from_deck_mm: Measured | None = given(
        "mm", 0, 300, _height("floor", "barrel's top face down to"), "caliper in the bore"
    )
    floor_from_crown_tdc_mm: Measured | None = given(
        "mm", 0, 300, _height("floor", "crown's edge at top dead centre down to"), "caliper in the bore"
    )
    floor_from_crown_bdc_mm: Measured | None = given(
        "mm", -100, 300, _height("floor", "crown's edge at bottom dead centre up to"), "caliper in the bore"
    )
    floor_opens_deg_atdc: Measured | None = given(
        "deg", 0, 360, _WHEEL + "when the piston's edge meets the floor as the port opens", "degree wheel"
    )
    floor_closes_deg_atdc: Measured | None = given(
        "deg", 0, 360, _WHEEL + "when the piston's edge meets the floor as the port closes", "degree wheel"
    )
    trust: Literal["height", "wheel"] = "height"
    """Which reading is used where an edge was measured both ways."""

    width_chord_mm: Measured | None = given(
        "mm", 1, 200, "widest place, straight across with a caliper", "caliper in the bore"
    )
    width_arc_mm: Measured | None = given("mm", 1, 300, "widest place, along the bore, on a rubbing", "rubbing")
    roof_corner_radius_mm: Measured | None = given("mm", 0, 50, "radius of the two upper corners", "rubbing")
    floor_corner_radius_mm: Measured | None = given("mm", 0, 50, "radius of the two lower corners", "rubbing")
    bridge_mm: Measured | None = given("mm", 0, 30, "width of a bar down the middle of the port", "caliper in the bore")
    outline_mm: tuple[tuple[float, float], ...] = ()
    """Free outline instead of width and radii: points [across, from deck] along the unrolled bore, across counted
    from the port's middle, clockwise seen from above."""
    outline_plus_minus_mm: float | None = None

    roof_angle_deg: Measured | None = given(
        "deg", -30, 80, "how far the passage's roof points upwards where it meets the bore", "protractor"
    )
    passage_length_mm: Measured | None = given("mm", 1, 500, "along the middle of the passage", "ruler")
    passage_area_mm2: Measured | None = given(
        "mm2", 5, 20000, "cross-section in the middle of the passage", "judged by eye"
    )
    exit_area_mm2: Measured | None = given(
        "mm2",
        5,
        20000,
        "cross-section at the far end: crankcase end of a transfer, flange of an exhaust",
        "judged by eye",
    )

    @property
    def clocks_deg(self) -> tuple[float, ...]:
        """Clock position of the port, and of its mirror image where it is a pair."""
        clock = self.clock_deg.value % 360.0
        return (clock, (360.0 - clock) % 360.0) if self.mirrored else (clock,)

    @property
    def openings(self) -> int:
        """How many openings the bore has of this port: 2 for a mirrored pair."""
        return 2 if self.mirrored else 1


class DegreeWheel(Part):
    """How the wheel was set. With raw readings the two piston-stop readings give true top dead centre."""

    readings: Literal["zeroed", "raw"]
    stop_turning_forwards_deg: Measured | None = given(
        "deg", 0, 360, "wheel reading where the rising piston meets the stop, turned the way the engine runs",
        "degree wheel",
    )  # fmt: skip
    stop_turning_back_deg: Measured | None = given(
        "deg", 0, 360, "wheel reading where the piston meets the stop again, turned backwards", "degree wheel"
    )
