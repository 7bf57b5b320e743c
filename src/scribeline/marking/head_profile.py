"""The head cut through its middle: squish band and chamber, as it is and as it shall become.

Radius to the right from the cylinder's axis, height up from the head's gasket face.
"""

import math
from dataclasses import dataclass
from typing import Literal

from scribeline.errors import SheetError
from scribeline.marking.drafting import Box, bounds, customary_scale, scale_words
from scribeline.marking.moving import moved
from scribeline.marking.shapes import (
    Dimension,
    Drawing,
    Group,
    Point,
    Polyline,
    Text,
    bulge,
    group,
    lettering,
    line,
)
from scribeline.units import Units, length, length_number, unit_of

RIM_MM = 8.0
"""Of the gasket face drawn outside the band."""
_OPEN_MM = 6.0  # of the chamber's wall drawn where nobody measured its shape
ENLARGED_MM = 210.0
"""Room for the enlarged half."""


@dataclass(frozen=True)
class Chamber:
    """The chamber above the band, from its mouth; `floor_mm` of a bowl, 0 for a dome."""

    kind: Literal["dome", "bowl", "bathtub"]
    depth_mm: float
    mouth_mm: float
    floor_mm: float = 0.0
    step_mm: float = 0.0


@dataclass(frozen=True)
class HeadShape:
    """Diameters of the band, its angle, how far it is sunk into the head, and the chamber where it was measured."""

    outer_mm: float
    inner_mm: float
    band_angle_deg: float
    recess_mm: float
    chamber: Chamber | None = None

    @property
    def rise_mm(self) -> float:
        """By how much the band rises from its outer to its inner edge."""
        return 0.5 * (self.outer_mm - self.inner_mm) * math.tan(math.radians(self.band_angle_deg))


@dataclass(frozen=True)
class HeadProfile:
    """What is drawn: the head as it is, and as it shall become where something is cut. units : of its dimensions"""

    today: HeadShape
    target: HeadShape | None = None
    name: str = "head-profile"
    units: Units = "mm"


def profile(shape: HeadShape) -> Polyline:
    """The right half, from the gasket face to the axis, or to where the chamber's shape is not known.

    >>> [round(y, 3) for _, y in profile(HeadShape(50.0, 34.0, 9.0, 0.1, Chamber("dome", 9.0, 34.0))).points]
    [0.0, 0.0, 0.1, 1.367, 10.367]
    """
    outer, inner = 0.5 * shape.outer_mm, 0.5 * shape.inner_mm
    mouth_y = shape.recess_mm + shape.rise_mm
    points: list[Point] = [(outer + RIM_MM, 0.0), (outer, 0.0), (outer, shape.recess_mm), (inner, mouth_y)]
    if abs(shape.recess_mm) < 1e-9:
        del points[2]
    bulges = [0.0] * (len(points) - 1)
    chamber = shape.chamber
    if chamber is None:
        points.append((inner, mouth_y + _OPEN_MM))
        return Polyline(tuple(points), (*bulges, 0.0))
    half = 0.5 * chamber.mouth_mm
    base = mouth_y + chamber.step_mm
    for corner in ((inner, base), (half, base)):
        if math.dist(points[-1], corner) > 1e-9:
            points.append(corner)
            bulges.append(0.0)
    if chamber.kind == "dome":
        radius = (half**2 + chamber.depth_mm**2) / (2.0 * chamber.depth_mm)
        points.append((0.0, base + chamber.depth_mm))
        bulges.append(bulge(math.degrees(math.atan2(half, radius - chamber.depth_mm))))
    else:
        floor = 0.5 * chamber.floor_mm if chamber.kind == "bowl" else half
        points += [(floor, base + chamber.depth_mm), (0.0, base + chamber.depth_mm)]
        bulges += [0.0, 0.0]
    return Polyline(tuple(points), tuple(bulges))


def head_drawing(head: HeadProfile) -> Drawing:
    """The whole profile at full size. SheetError for a band whose inner edge lies outside its outer one.

    >>> head_drawing(HeadProfile(HeadShape(50.0, 34.0, 9.0, 0.1))).scale
    1.0
    """
    return _drawing(head, 1.0, head.name, "Head: band and chamber")


def enlarged_drawing(head: HeadProfile) -> Drawing:
    """The right half at the largest customary scale that fits; its sheet says that it is no template.

    >>> enlarged_drawing(HeadProfile(HeadShape(50.0, 34.0, 9.0, 0.1))).scale
    5.0
    """
    scale = customary_scale(0.5 * head.today.outer_mm + RIM_MM, ENLARGED_MM, largest=10.0)
    return _drawing(head, scale, f"{head.name}-enlarged", "Head: band and chamber, enlarged")


def _drawing(head: HeadProfile, scale: float, name: str, title: str) -> Drawing:
    for shape in (head.today, *((head.target,) if head.target else ())):
        if not 0.0 < shape.inner_mm < shape.outer_mm:
            raise SheetError(
                f"a squish band from {shape.inner_mm:g} to {shape.outer_mm:g} mm\n"
                "    accepted: an inner diameter smaller than the outer one\n    what to do: measure both again"
            )
    lines: list[Group] = []
    shapes = [("today", head.today)] if head.target else [("outline", head.today)]
    for role, shape in [*shapes, *([("target", head.target)] if head.target else [])]:
        right = (group(role, profile(shape), about=f"profile, {role}"),)  # type: ignore[arg-type]
        lines += moved(right, scale=scale)
        if scale == 1.0:
            lines += moved(right, mirrored=True)
    box = bounds(lines)
    axis = group("centre", line((0, box.bottom - 4), (0, box.top + 5)), about="axis of the cylinder")
    shown = head.target or head.today
    groups = (
        *lines,
        axis,
        group("dimension", *_dimensions(shown, scale, box, head.units)),
        group("note", *_words(head, box, scale)),
    )
    outer, inner = length_number(shown.outer_mm, head.units), length(shown.inner_mm, head.units)
    described = (
        f"The head cut through its middle. Squish band from {outer} to {inner} across, rising "
        f"{shown.band_angle_deg:.1f} degrees, sunk {length(shown.recess_mm, head.units)}."
    )
    return Drawing(name, title, described, groups, scale)


def _dimensions(shape: HeadShape, scale: float, box: Box, units: Units) -> list[Dimension]:
    def say(mm: float) -> str:
        return length_number(mm, units)

    outer, inner, mouth = 0.5 * shape.outer_mm * scale, 0.5 * shape.inner_mm * scale, shape.recess_mm + shape.rise_mm
    whole = scale == 1.0
    left = -1.0 if whole else 0.0
    mark = "Ø" if whole else "half of Ø"
    found = [
        Dimension((left * inner, 0), (inner, 0), f"{mark} {say(shape.inner_mm)}", -9.0),
        Dimension((left * outer, 0), (outer, 0), f"{mark} {say(shape.outer_mm)}", -16.0),
    ]
    if not whole:
        found.append(Dimension((outer + RIM_MM * scale, 0), (outer + RIM_MM * scale, scale * mouth), say(mouth),
                               -6.0, along=False, outside=True))  # fmt: skip
    if shape.chamber is not None:
        depth = scale * shape.chamber.depth_mm
        base = scale * (mouth + shape.chamber.step_mm)
        x = box.left - 4.0
        found.append(Dimension((x, base), (x, base + depth), say(shape.chamber.depth_mm), 5.0, along=False))
    return found


def _words(head: HeadProfile, box: Box, scale: float) -> list[Text]:
    lines = []
    for name, shape in (("as it is", head.today), ("target", head.target)):
        if shape is not None:
            outer, inner = (length_number(mm, head.units) for mm in (shape.outer_mm, shape.inner_mm))
            recess = length_number(shape.recess_mm, head.units, sign=True)
            lines.append(
                f"{name}: band {outer} to {inner}, rises {shape.band_angle_deg:.1f}° "
                f"({length(shape.rise_mm, head.units)}), outer edge {recess} from the gasket face"
            )
    if (head.target or head.today).chamber is None:
        lines.append("The chamber was measured by volume: its wall is not drawn to shape above the band.")
    lines.append(f"Heights from the head's gasket face, up into the head. {unit_of(head.units, spelled=True)}")
    left = box.left if scale == 1.0 else 0.0
    words = lettering((left, box.bottom - 26.0), lines, 1.8)
    if scale == 1.0:
        return list(words)
    warning = Text((left, box.top + 10.0), f"ENLARGED, {scale_words(scale)}: NOT A TEMPLATE", 4.0, bold=True)
    return [warning, *words]
