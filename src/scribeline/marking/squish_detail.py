"""The squish region enlarged: bore wall, crown, band and gasket at the bore wall, piston at top dead centre."""

import math
from collections.abc import Callable
from dataclasses import dataclass

from scribeline.marking.drafting import customary_scale, scale_words
from scribeline.marking.shapes import (
    NAME_MM,
    NOTE_MM,
    Dimension,
    Group,
    Hatch,
    Point,
    Polyline,
    Text,
    group,
    joined,
    lettering,
    line,
    path,
    rectangle,
)
from scribeline.units import Units, length, length_number

_Place = Callable[[float, float], Point]

WIDTH_MM = 50.0
"""Of the part left of the bore wall, at most."""
WALL_MM = 12.0
_BELOW_MM = 9.0
_CHAMBER_MM = 6.0  # of the chamber's wall shown above the band


@dataclass(frozen=True)
class SquishBand:
    """The band and the gap under it, full-size millimetres, piston at top dead centre.

    gap_mm : at the band's outer edge
    inner_mm, outer_mm : diameters of the band
    band_angle_deg, crown_angle_deg : how far band and crown rise towards the centre
    """

    gap_mm: float
    inner_mm: float
    outer_mm: float
    band_angle_deg: float = 0.0
    crown_angle_deg: float = 0.0

    @property
    def width_mm(self) -> float:
        return 0.5 * (self.outer_mm - self.inner_mm)

    @property
    def rise_mm(self) -> float:
        """By how much the band rises from its outer to its inner edge."""
        return self.width_mm * math.tan(math.radians(self.band_angle_deg))

    @property
    def inner_gap_mm(self) -> float:
        return self.gap_mm + self.rise_mm - self.width_mm * math.tan(math.radians(self.crown_angle_deg))


def detail_scale(band: SquishBand) -> float:
    """The customary enlargement that shows the whole band, or its outer part where it is wider than 8.5 mm.

    >>> detail_scale(SquishBand(gap_mm=1.4, inner_mm=34.0, outer_mm=50.0))
    5.0
    """
    return customary_scale(min(band.width_mm, 8.5) + 1.5, WIDTH_MM, largest=10.0)


def squish_detail(
    band: SquishBand,
    bore_mm: float,
    deck_clearance_mm: float,
    head_gasket_mm: float,
    wall_edge: Point,
    units: Units = "mm",
) -> list[Group]:
    """The detail, with the crown's edge at the bore wall at `wall_edge` on the paper; the cylinder's axis lies left.

    The gap at the wall and at the band's inner edge and the deck clearance are dimensioned.
    """
    scale = detail_scale(band)
    x0, y0 = wall_edge
    tan_band, tan_crown = (math.tan(math.radians(deg)) for deg in (band.band_angle_deg, band.crown_angle_deg))
    gap, clearance, gasket = (scale * mm for mm in (band.gap_mm, deck_clearance_mm, head_gasket_mm))
    outer = -scale * 0.5 * (bore_mm - band.outer_mm)
    inner = outer - scale * band.width_mm
    left = max(inner - 1.5 * scale, -WIDTH_MM)
    whole = inner > left  # a wide band is broken off at the left
    end_x = inner if whole else left
    end_y = gap + (outer - end_x) * tan_band
    top = max(end_y, clearance + gasket) + _CHAMBER_MM

    def at(x: float, y: float) -> Point:
        return x0 + x, y0 + y

    crown = path(at(0, -_BELOW_MM), at(0, 0), at(left, -left * tan_crown))
    cylinder = path(at(0, -_BELOW_MM), at(0, clearance), at(WALL_MM, clearance))
    head = path(at(WALL_MM, clearance + gasket), at(outer, clearance + gasket), at(outer, gap), at(end_x, end_y))
    if whole:
        head = joined(head, line(at(end_x, end_y), at(end_x, top)))
    piston_loop = joined(crown, path(at(left, -left * tan_crown), at(left, -_BELOW_MM)), closed=True)
    wall_loop = joined(cylinder, path(at(WALL_MM, clearance), at(WALL_MM, -_BELOW_MM)), closed=True)
    head_loop = joined(head, path(head.points[-1], at(end_x, top)), path(at(end_x, top), at(WALL_MM, top)), closed=True)
    packing = rectangle(x0, y0 + clearance, x0 + WALL_MM, y0 + clearance + gasket)
    return [
        group("hatch", Hatch((piston_loop,), 1.8), Hatch((head_loop,), 1.8), Hatch((wall_loop,), 1.8, 135.0)),
        group("outline", crown, cylinder, head),
        *([group("note", packing, fill="ink", about="head gasket")] if gasket > 0 else []),
        group("dimension", *_thin(at, gap), *_deck_clearance(at, clearance, deck_clearance_mm, units)),
        group("measured", *_gaps(at, band, gap, (end_x, end_y, -end_x * tan_crown) if whole else None, units)),
        group("note", *_words(at, band, scale, left, end_x, top, whole, units)),
    ]


def squish_edges(
    band: SquishBand, shown: SquishBand, bore_mm: float, deck_clearance_mm: float, head_gasket_mm: float, corner: Point
) -> list[Polyline]:
    """Deck, gasket face and band of another head over the detail of `shown`, to its scale: lines only, no words."""
    scale = detail_scale(shown)
    outer = -scale * 0.5 * (bore_mm - band.outer_mm)
    end = max(outer - scale * band.width_mm, -WIDTH_MM)
    rise = (outer - end) * math.tan(math.radians(band.band_angle_deg))
    deck, gap = scale * deck_clearance_mm, scale * band.gap_mm
    face = deck + scale * head_gasket_mm
    x0, y0 = corner
    head = [(WALL_MM, face), (outer, face), (outer, gap), (end, gap + rise)]
    return [
        line((x0, y0 + deck), (x0 + WALL_MM, y0 + deck)),
        path(*((x0 + x, y0 + y) for x, y in head)),
    ]


def _thin(at: _Place, gap: float) -> list[Polyline]:
    """Extension lines from the bore wall through the cylinder to the dimensions beside it."""
    return [line(at(0, 0), at(WALL_MM, 0)), line(at(0, gap), at(WALL_MM, gap))]


def _deck_clearance(at: _Place, clearance: float, real_mm: float, units: Units) -> list[Dimension]:
    if abs(clearance) < 0.2:
        return []
    low, high = sorted((0.0, clearance))
    words = length_number(real_mm, units)
    return [Dimension(at(WALL_MM, high), at(WALL_MM, low), words, 4.0, outside=True, along=False)]


def _gaps(
    at: _Place, band: SquishBand, gap: float, inner_edge: tuple[float, float, float] | None, units: Units
) -> list[Dimension]:
    words = length_number(band.gap_mm, units)
    dimensions = [Dimension(at(WALL_MM, 0), at(WALL_MM, gap), words, -15.0, along=False)]
    if inner_edge:
        x, high, low = inner_edge
        words = length_number(band.inner_gap_mm, units)
        dimensions.append(Dimension(at(x, low), at(x, high), words, 2.5, along=False))
    return dimensions


def _words(
    at: _Place, band: SquishBand, scale: float, left: float, end_x: float, top: float, whole: bool, units: Units
) -> list[Text]:
    under, middle = -_BELOW_MM - 1.6 * NOTE_MM, 0.5 * (left + WALL_MM)
    wall, inner = (length_number(mm, units) for mm in (band.gap_mm, band.inner_gap_mm))
    captions = [
        f"gap {wall} at the wall, {inner} at the band's inner edge{', inches' if units == 'inch' else ''},",
        f"band rises {band.band_angle_deg:.1f}°, crown {band.crown_angle_deg:.1f}°",
    ]
    if not whole:
        captions.append(f"outer {length(-left / scale, units, 0)} of the band only")
    return [
        Text(at(middle, top + 10.0), "A: squish, piston at TDC", NAME_MM, "middle"),
        Text(at(middle, top + 6.0), scale_words(scale), NOTE_MM, "middle"),
        Text(at(0.5 * (end_x + WALL_MM), top + 1.2), "head", NOTE_MM, "middle"),
        Text(at(0.5 * left, under), "piston", NOTE_MM, "middle"),
        Text(at(0.5 * WALL_MM, under), "cylinder", NOTE_MM, "middle"),
        *lettering(at(middle, under - 3.5 * NOTE_MM), captions, NOTE_MM, "middle"),
    ]
