"""A section through cylinder, piston, rod and head at a crank angle, and the squish region enlarged beside it.

True to scale: bore, stroke, rod, offset, piston heights, port edges, squish band and gaps. What a builder does not
measure (wall thickness, the rod's shape, flywheels, the outside of the head) is drawn for orientation only, and the
drawing says so. The exhaust side is drawn on the right; the crank turns clockwise.
"""

import math
from dataclasses import dataclass, replace
from typing import Any, Literal

from scribeline.marking.bore_view import after_or_before
from scribeline.marking.drafting import bounds, customary_scale, scale_words
from scribeline.marking.labels import Label, column, wrapped
from scribeline.marking.parts import WALL_SHARE, barrel, piston, rod
from scribeline.marking.shapes import (
    NOTE_MM,
    Circle,
    Dimension,
    Drawing,
    Group,
    Hatch,
    Point,
    Polyline,
    arc,
    group,
    joined,
    lettering,
    line,
    path,
    rectangle,
)
from scribeline.marking.squish_detail import WIDTH_MM, SquishBand, squish_detail
from scribeline.units import Units, length, length_number

PAPER_MM = 170.0  # the section is reduced until it is no taller
_LABEL_MM = 24.0
_BETWEEN_MM = 36.0  # room for labels between section and detail


@dataclass(frozen=True)
class WallOpening:
    """A port that the section cuts: its edges below the deck."""

    name: str
    side: Literal["exhaust", "intake"]
    roof_depth_mm: float
    floor_depth_mm: float


@dataclass(frozen=True)
class Section:
    """What the section shows, full-size millimetres.

    compression_height_mm : gudgeon pin to crown edge
    chamber_depth_mm : from the inner edge of the band, or the head's face without one, up to the chamber's roof
    chamber_floor_mm : diameter of a flat roof; 0 for a dome
    pin_offset_mm : plus towards the side the crank pin moves to on the down stroke (here the right)
    band : None where the head has no squish band; then there is no detail
    assumed : names of what was not measured and has a typical size here; the drawing says so
    units : what whoever reads it measures lengths in
    """

    bore_mm: float
    stroke_mm: float
    rod_length_mm: float
    compression_height_mm: float
    skirt_exhaust_side_mm: float
    skirt_intake_side_mm: float
    deck_clearance_mm: float
    head_gasket_mm: float
    chamber_depth_mm: float
    chamber_floor_mm: float = 0.0
    plug_mm: float = 14.0
    dome_height_mm: float = 0.0
    pin_offset_mm: float = 0.0
    crank_deg_atdc: float = 60.0
    band: SquishBand | None = None
    openings: tuple[WallOpening, ...] = ()
    assumed: tuple[str, ...] = ()
    name: str = "section"
    units: Units = "mm"

    @property
    def crank_pin(self) -> Point:
        """Centre of the crank pin; the crank's centre is (0, 0)."""
        throw = 0.5 * self.stroke_mm
        angle = math.radians(self.crank_deg_atdc) + math.asin(self.pin_offset_mm / (self.rod_length_mm + throw))
        return throw * math.sin(angle), throw * math.cos(angle)

    @property
    def gudgeon_pin(self) -> Point:
        """Centre of the gudgeon pin."""
        x, y = self.crank_pin
        return self.pin_offset_mm, y + math.sqrt(self.rod_length_mm**2 - (x - self.pin_offset_mm) ** 2)

    def crown_mm(self, dead_centre: Literal["top", "bottom"]) -> float:
        """Height of the crown's edge over the crank's centre at a dead centre."""
        reach = self.rod_length_mm + (0.5 if dead_centre == "top" else -0.5) * self.stroke_mm
        return math.sqrt(reach**2 - self.pin_offset_mm**2) + self.compression_height_mm

    @property
    def deck_mm(self) -> float:
        """Height of the deck over the crank's centre."""
        return self.crown_mm("top") + self.deck_clearance_mm


def section_view(section: Section) -> Drawing:
    """The section at the largest customary scale that fits, with the squish region as an enlarged detail.

    >>> section_view(Section(50.0, 50.0, 100.0, 31.0, 55.0, 50.0, 0.6, 0.7, chamber_depth_mm=16.0)).scale
    0.5
    """
    tall = section.deck_mm + section.chamber_depth_mm + section.stroke_mm
    scale = customary_scale(tall, PAPER_MM)
    small = scaled(section, scale)
    axis, edge = small.pin_offset_mm, _edge(small)
    groups = [
        *_cylinder(small),
        *_head(small),
        *(replace(one, moves=None) for one in _moving_parts(small)),
        group("dimension", Dimension((-0.5 * small.stroke_mm, 0), (0.5 * small.stroke_mm, 0),
                                     f"stroke {length_number(section.stroke_mm, section.units)}", -_foot(small) - 6.0)),
    ]  # fmt: skip
    left, right = _labels(section, small)
    groups += column(left, edge_mm=axis - edge, side="left", dots=True)
    groups += column(right, edge_mm=axis + edge, side="right", dots=True)
    beside, crown = axis + edge + _BETWEEN_MM, small.crown_mm("top")
    below = crown
    if section.band:
        mark = Circle((axis + 0.5 * small.bore_mm, crown), 0.11 * small.bore_mm)
        groups.append(group("measured", mark, about="the place of detail A"))
        clearances = section.deck_clearance_mm, section.head_gasket_mm
        detail = squish_detail(section.band, section.bore_mm, *clearances, detail_corner(small), section.units)
        groups += detail
        below = bounds(detail).bottom - 4 * NOTE_MM
    captions = [f"Section, {scale_words(scale)}.", *_captions(section)]
    groups.append(group("note", *lettering((beside, below), captions)))
    return Drawing(section.name, "Section through the engine", _description(section), tuple(groups), scale)


def turning_view(section: Section) -> Drawing:
    """The section alone, full size, at top dead centre: for a page that turns the crank.

    What would point at a moving part is left out. The crank's centre is the origin.

    >>> turning_view(Section(50.0, 50.0, 100.0, 31.0, 55.0, 50.0, 0.6, 0.7, chamber_depth_mm=16.0)).scale
    1.0
    """
    still = replace(section, crank_deg_atdc=0.0)
    edge = _edge(still)
    groups = [*_cylinder(still), *_head(still), *_moving_parts(still)]
    left, right = _labels(still, still)
    moving = {"piston", "gudgeon pin", "crank pin"}
    left = [one for one in left if one.lines[0] not in moving and not one.lines[0].startswith("rod ")]
    right = [one for one in right if one.lines[0] not in moving]
    groups += column(left, edge_mm=still.pin_offset_mm - edge, side="left", dots=True)
    groups += column(right, edge_mm=still.pin_offset_mm + edge, side="right", dots=True)
    words = ["Exhaust side on the right; turning clockwise.", "Walls, flywheel and the rod's shape: for orientation."]
    words += ["Lengths in inches."] if still.units == "inch" else []
    words += wrapped(_assumed(still), 2.0 * edge + 20.0)
    groups.append(group("note", *lettering((0.0, -_foot(still) - 7.0), words, anchor="middle")))
    return Drawing(section.name, "Section through the engine", _description(still), tuple(groups))


def squish_view(section: Section) -> Drawing | None:
    """The squish region alone, enlarged; None where the head has no band."""
    if section.band is None:
        return None
    clearances = section.deck_clearance_mm, section.head_gasket_mm
    detail = squish_detail(section.band, section.bore_mm, *clearances, (0.0, 0.0), section.units)
    words = f"The gap is {_gap_words(section, section.band)}."
    return Drawing("squish", "Squish, enlarged", words, tuple(detail))


def _gap_words(section: Section, band: SquishBand) -> str:
    wall, inner, gasket = (length(mm, section.units) for mm in (band.gap_mm, band.inner_gap_mm, section.head_gasket_mm))
    return f"{wall} at the wall and {inner} at the inner edge of the band, under a head gasket of {gasket}"


def _edge(small: Section) -> float:
    """How far from the axis labels stand."""
    return max((0.5 + WALL_SHARE) * small.bore_mm + 2.0, _foot(small) - 2.0)


def detail_corner(small: Section) -> Point:
    """Where the crown's edge at the bore wall lies in the enlarged squish region beside a section of this size."""
    return small.pin_offset_mm + _edge(small) + _BETWEEN_MM + WIDTH_MM, small.crown_mm("top") - 12.0


def scaled(section: Section, scale: float) -> Section:
    """The same engine in paper millimetres."""

    def lengths(of: Section | SquishBand | WallOpening) -> dict[str, Any]:
        return {name: scale * value for name, value in vars(of).items() if name.endswith("_mm")}

    band = section.band and replace(section.band, **lengths(section.band))
    openings = tuple(replace(one, **lengths(one)) for one in section.openings)
    return replace(section, band=band, openings=openings, **lengths(section))


def _foot(small: Section) -> float:
    """How far below the crank's centre the drawing of the engine goes."""
    return 0.95 * small.stroke_mm


def _cylinder(small: Section) -> list[Group]:
    """The barrel with the ports that the section cuts, and where the crown comes to."""
    axis, half = small.pin_offset_mm, 0.5 * small.bore_mm
    floors = [one.floor_depth_mm + 0.08 * small.bore_mm for one in small.openings]
    cuts = {
        side: [(one.roof_depth_mm, one.floor_depth_mm) for one in small.openings if one.side == side]
        for side in ("intake", "exhaust")
    }
    crowns = [line((axis - half, y), (axis + half, y)) for y in (small.crown_mm("top"), small.crown_mm("bottom"))]
    return [
        *barrel(
            axis, small.deck_mm, small.bore_mm, max([1.15 * small.stroke_mm, *floors]), cuts["intake"], cuts["exhaust"]
        ),
        group("edge", *crowns, about="crown's edge at top and bottom dead centre"),
    ]


def _head(small: Section) -> list[Group]:
    """The head in two halves beside the plug hole, and the gasket under it."""
    axis, crown, deck, half = small.pin_offset_mm, small.crown_mm("top"), small.deck_mm, 0.5 * small.bore_mm
    rim, face = half + WALL_SHARE * small.bore_mm, deck + small.head_gasket_mm
    roof = _roof(small)
    plug, hole = roof.points[-1][0], crown + roof.points[-1][1]
    top = hole + 0.2 * small.bore_mm
    halves = []
    for way, under in zip((1.0, -1.0), under_head(small), strict=True):
        gasket_face = path((axis + way * rim, face), (under.points[0][0], face), under.points[0])
        above = path(under.points[-1], (axis + way * plug, top), (axis + way * rim, top))
        halves.append(joined(gasket_face, under, above, closed=True))
    gaskets = [rectangle(axis + x, deck, axis + x + rim - half, face) for x in (half, -rim)]
    return [
        group("hatch", *(Hatch((loop,)) for loop in halves)),
        group("outline", *halves, about="cylinder head with squish band, chamber and plug hole"),
        *([group("note", *gaskets, fill="ink", about="head gasket")] if small.head_gasket_mm > 0 else []),
    ]


def under_head(small: Section) -> tuple[Polyline, Polyline]:
    """The head's lower side on the right and on the left, from the band's outer edge to the plug hole."""
    roof, axis, crown = _roof(small), small.pin_offset_mm, small.crown_mm("top")
    right, left = (
        Polyline(tuple((axis + way * x, crown + y) for x, y in roof.points), tuple(way * turn for turn in roof.bulges))
        for way in (1.0, -1.0)
    )
    return right, left


def _roof(small: Section) -> Polyline:
    """The head's lower side on the right, from the band's outer edge to the plug hole.

    Coordinates from the cylinder's axis and the crown's edge at top dead centre.
    """
    band = small.band
    face = small.deck_clearance_mm + small.head_gasket_mm
    outer, inner = (0.5 * band.outer_mm, 0.5 * band.inner_mm) if band else (0.5 * small.bore_mm, 0.5 * small.bore_mm)
    low, mouth = (band.gap_mm, band.gap_mm + band.rise_mm) if band else (face, face)
    depth, plug = small.chamber_depth_mm, min(0.5 * small.plug_mm, 0.8 * inner)
    if small.chamber_floor_mm > 0 or depth <= 0:
        flat = max(0.5 * small.chamber_floor_mm, plug)
        return path((outer, low), (inner, mouth), (flat, mouth + depth), (plug, mouth + depth))
    radius = (inner**2 + depth**2) / (2 * depth)
    centre = (0.0, mouth + depth - radius)
    start = math.degrees(math.atan2(mouth - centre[1], inner))
    dome = arc(centre, radius, start, math.degrees(math.acos(plug / radius)))
    return joined(line((outer, low), (inner, mouth)), dome)


def _moving_parts(small: Section) -> list[Group]:
    (px, py), (gx, gy) = small.crank_pin, small.gudgeon_pin
    reach = _foot(small) + 2.0
    axes = line((-reach, 0), (reach, 0)), line((0, -reach), (0, reach))
    skirts = small.skirt_intake_side_mm, small.skirt_exhaust_side_mm
    body = piston(gx, gy + small.compression_height_mm, small.bore_mm, *skirts, small.dome_height_mm)
    links = rod((px, py), (gx, gy), 0.2 * small.stroke_mm, 0.12 * small.bore_mm)
    return [
        *(replace(one, moves="piston") for one in body),
        group("edge", Circle((0, 0), _foot(small)), about="flywheel, for orientation only"),
        *(replace(one, moves="rod") for one in links),
        group("centre", Circle((0, 0), 0.5 * small.stroke_mm), *axes, about="circle of the crank pin's centre"),
        group("centre", line((0, 0), (px, py)), moves="crank"),
        group("centre", line((px, py), (gx, gy)), moves="rod"),
    ]


def _labels(section: Section, small: Section) -> tuple[list[Label], list[Label]]:
    """Labels for the left and the right of the section."""
    axis, half, deck = small.pin_offset_mm, 0.5 * small.bore_mm, small.deck_mm
    in_wall = (0.5 + 0.5 * WALL_SHARE) * small.bore_mm
    roof, (px, py), (gx, gy) = _roof(small), small.crank_pin, small.gudgeon_pin
    hole = small.crown_mm("top") + roof.points[-1][1]

    def label(x: float, y: float, *words: str) -> Label:
        return Label((axis + x, y), tuple(one for part in words for one in wrapped(part, _LABEL_MM)))

    left = [
        label(
            -0.5 * roof.points[-1][0],
            hole + 0.12 * small.bore_mm,
            f"plug hole {length_number(section.plug_mm, section.units, None)}",
        ),
        label(-0.4 * half, hole - 0.3 * small.chamber_depth_mm, "chamber"),
        label(-in_wall, deck, "deck"),
        label(-half, small.crown_mm("bottom"), "crown's edge", "at BDC"),
        Label(
            (0.5 * (px + gx), 0.5 * (py + gy)),
            (f"rod {length_number(section.rod_length_mm, section.units)}", "between centres"),
        ),
        Label((px, py), ("crank pin",)),
    ]
    right = [
        label(half, small.crown_mm("top"), "crown's edge", "at TDC"),
        label(0.8 * half, gy + small.compression_height_mm - 0.05 * small.bore_mm, "piston"),
        label(
            half,
            small.crown_mm("top") - 0.25 * small.stroke_mm,
            f"bore {length_number(section.bore_mm, section.units)}",
        ),
        Label((gx, gy), ("gudgeon pin",)),
    ]
    for one in small.openings:
        way = 1.0 if one.side == "exhaust" else -1.0
        middle = deck - 0.5 * (one.roof_depth_mm + one.floor_depth_mm)
        (right if one.side == "exhaust" else left).append(label(way * in_wall, middle, one.name))
    return left, right


def _captions(section: Section) -> list[str]:
    lines = [
        f"Crank {after_or_before(section.crank_deg_atdc)}, turning clockwise.",
        "Exhaust side on the right.",
        "Walls, flywheel and the rod's shape are",
        "drawn for orientation only.",
    ]
    if section.pin_offset_mm:
        offset = length_number(section.pin_offset_mm, section.units, sign=True)
        lines.append(f"Gudgeon pin offset {offset} (plus is right).")
    if section.units == "inch":
        lines.append("Lengths in inches.")
    return lines + list(wrapped(_assumed(section), 55.0))


def _description(section: Section) -> str:
    bore, stroke, rod_length, clearance = (
        length(mm, section.units)
        for mm in (section.bore_mm, section.stroke_mm, section.rod_length_mm, section.deck_clearance_mm)
    )
    sentences = [
        f"Section through the engine, bore {bore}, stroke {stroke}, rod {rod_length}, with the crank "
        f"{after_or_before(section.crank_deg_atdc)}. The crown's edge stands {clearance} below the deck at top dead "
        "centre."
    ]
    if section.band:
        sentences.append(f"Enlarged beside it, the squish region: the gap is {_gap_words(section, section.band)}.")
    return " ".join([*sentences, _assumed(section)]).strip()


def _assumed(section: Section) -> str:
    return f"Not measured, drawn at a typical size: {', '.join(section.assumed)}." if section.assumed else ""
