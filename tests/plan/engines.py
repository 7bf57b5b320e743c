"""Engines and helpers for the tests of plans: the demonstration engines, and geometry worked out another way."""

from math import acos, asin, degrees, sqrt

from shapely import Point, Polygon, box

from scribeline.engine import EngineRecord, Port
from scribeline.geometry.work_out import work_out
from scribeline.plan.box import Box, read_box
from scribeline.plan.carry_out import carry_out
from scribeline.plan.phrases import read_step
from tests.examples import KART, REED, edited

__all__ = ["AT_HAND", "KART", "REED", "duration_deg", "edited", "one", "value", "window"]

AT_HAND: Box = read_box(
    """
    [[gaskets]]
    name = "thin paper"
    fits = "base"
    nominal_mm = 0.3
    compressed_mm = 0.25
    [[gaskets]]
    name = "thin copper"
    fits = "head"
    nominal_mm = 0.5
    compressed_mm = 0.4
    count = 2
    [[sections]]
    name = "wide stinger"
    length_mm = 200
    start_mm = 24
    end_mm = 24
    [[pipes]]
    name = "short pipe"
    sections = [{ name = "all of it", length_mm = 700, start_mm = 34, end_mm = 30 }]
    [[reeds]]
    name = "four petals"
    petals = 4
    petal_length_mm = 30
    petal_width_mm = 20
    petal_thickness_mm = 0.4
    material = "glass fibre"
    block_area_mm2 = 600
    [[petals]]
    name = "stiff"
    petal_thickness_mm = 0.5
    material = "glass fibre"
    [[carburettors]]
    name = "28"
    bore_mm = 28
    length_mm = 80
    mouth_mm = 36
    """
)


def one(text: str, record: EngineRecord | None = None, at_hand: Box = AT_HAND) -> EngineRecord:
    """A record after one step typed as text; the kart's where none is given."""
    return carry_out(record or edited(), [read_step(text)], at_hand)


def value(record: EngineRecord, name: str) -> float:
    found = work_out(record, draws=0).value(name)
    assert found is not None
    return found


def duration_deg(depth_mm: float, stroke_mm: float, rod_mm: float, offset_mm: float = 0.0) -> float:
    """How long the crown is below a depth, from the triangle of crank, rod and the line the pin runs on.

    The pin stands h = sqrt((l + r)² - e²) - depth above the crank's centre and e beside it; the crank's angle from the
    line to the pin follows from the cosine rule, on both sides of it, so that the pin's offset drops out of the sum.
    """
    throw = stroke_mm / 2.0
    height = sqrt((rod_mm + throw) ** 2 - offset_mm**2) - depth_mm
    to_pin = sqrt(height**2 + offset_mm**2)
    return 360.0 - 2.0 * degrees(acos((throw**2 + to_pin**2 - rod_mm**2) / (2.0 * throw * to_pin)))


def window(record: EngineRecord, port: Port, barrel_shorter_mm: float = 0.0) -> Polygon:
    """The port on the unrolled bore, counted from the deck as it was before `barrel_shorter_mm` came off the top."""
    if port.outline_mm:
        return Polygon([(x, y + barrel_shorter_mm) for x, y in port.outline_mm])
    bore = record.cylinder.bore_mm.value
    assert port.roof_from_deck_mm is not None
    assert port.floor_from_deck_mm is not None
    assert port.width_chord_mm is not None
    half = bore * asin(port.width_chord_mm.value / bore) / 2.0
    roof, floor = (edge.value + barrel_shorter_mm for edge in (port.roof_from_deck_mm, port.floor_from_deck_mm))
    whole = box(-half, roof, half, floor)
    for edge, y, towards in (("roof", roof, 1.0), ("floor", floor, -1.0)):
        radius = getattr(port, f"{edge}_corner_radius_mm")
        r = radius.value if radius else 0.0
        for side in (-1.0, 1.0):
            corner = box(*sorted_box(side * half, y, side * (half - r), y + towards * r))
            whole = whole.difference(
                corner.difference(Point(side * (half - r), y + towards * r).buffer(r, quad_segs=64))
            )
    return whole


def sorted_box(x1: float, y1: float, x2: float, y2: float) -> tuple[float, float, float, float]:
    return min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2)
