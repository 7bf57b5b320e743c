"""The assembly drawing of a pipe: its pieces put together, with lengths, diameters and joints, and the list of pieces.

Drawn at the middle of the sheet, reduced, never a template. The bend of the header is drawn as it is mitred; a pipe
that bends elsewhere as well is drawn with those bends straightened, because a record does not say which way they go.
"""

import math
from collections.abc import Sequence

from scribeline.errors import SheetError
from scribeline.geometry.cones import frustum_pattern
from scribeline.geometry.flat_pattern import Sheet as Metal
from scribeline.geometry.pipe_pieces import CutPiece, PipeSection, bend_of
from scribeline.marking.drafting import Box, bounds, customary_scale, scale_words, text_width_mm
from scribeline.marking.labels import Label, rail, wrapped
from scribeline.marking.shapes import (
    LINE_STEP,
    NAME_MM,
    NOTE_MM,
    Circle,
    Drawing,
    Group,
    Point,
    Polyline,
    Text,
    group,
    lettering,
    line,
    polygon,
)
from scribeline.units import Units, length, length_number, unit_of

_WIDE_MM = 225.0  # across a page that lies on its side
_CLEAR_MM = 6.0
_LABEL_MM = 22.0
_ROW_MM = 4.6
_SMALL_MM = 1.9


def assembly(
    sections: Sequence[PipeSection],
    pieces: Sequence[CutPiece],
    metal: Metal,
    tuned_mm: float | None = None,
    units: Units = "mm",
) -> Drawing:
    """The pipe put together.

    pieces : what `geometry.pipe_pieces.cut_up` made of the sections; tuned_mm : from the flange to the mid point of the
    baffle, marked where it is known; units : what lengths are written in
    """

    def say(mm: float) -> str:
        return length_number(mm, units, None)

    if not sections:
        raise SheetError("a pipe without sections cannot be drawn: give each its length and diameters")
    bent = bool(sections[0].bend_deg) and not any(one.bend_deg for one in sections[1:])
    first = sum(1 for piece in pieces if piece.section == sections[0].name) if bent else 0
    bend_rad = math.radians(sections[0].bend_deg) if bent else 0.0
    straight = sum(one.length_mm for one in sections) - (sections[0].length_mm if bent else 0.0)
    header = sections[0].length_mm if bent else 0.0
    scale = customary_scale(straight + header * (1.0 if bend_rad < 1.0 else 0.6), _WIDE_MM, 0.5)
    drawn = _profile(pieces, first, bend_rad, scale)
    body = [one for one in pieces if one.number > first]
    joints = [0.0]
    for one in sections[1:] if bent else sections:
        joints.append(joints[-1] + scale * one.length_mm)
    widest = 0.5 * scale * max(max(one.piece.start_mm, one.piece.end_mm) for one in body)
    groups: list[Group] = [group("outline", shape, fill="wash", about=words) for shape, words in drawn]
    whole = bounds(groups)
    foot, head = -widest - _CLEAR_MM, widest + _CLEAR_MM
    left, right = whole.left - 2.0, joints[-1] + 16.0
    straight_sections = sections[1:] if bent else sections
    lengths = [
        Label((0.5 * (a + b), foot), (*wrapped(one.name, _LABEL_MM), say(one.length_mm), _angle(one)))
        for one, a, b in zip(straight_sections, joints[:-1], joints[1:], strict=True)
    ]
    diameters = [
        Label((x, 0.5 * scale * mm), (f"Ø{say(mm)}",))
        for x, mm in zip(
            joints, [straight_sections[0].start_mm, *(one.end_mm for one in straight_sections)], strict=True
        )
    ]
    extensions = [
        line((x, -0.5 * scale * one.start_mm - 0.7), (x, foot - 1.2))
        for x, one in zip(joints[:-1], straight_sections, strict=True)
    ]
    extensions.append(line((joints[-1], -0.5 * scale * straight_sections[-1].end_mm - 0.7), (joints[-1], foot - 1.2)))
    groups += [
        group("centre", line((-2.0 if bent else -4.0, 0.0), (joints[-1] + 4.0, 0.0))),
        group("dimension", line((0.0, foot), (joints[-1], foot)), *extensions),
        group("dimension", *(Circle((x, foot), 0.5) for x in joints), fill="ink"),
        *rail(diameters, base_mm=head - 3.0, side="above", left_mm=-6.0, right_mm=right),
        *rail(lengths, base_mm=foot - 2.0, side="below", dots=False, left_mm=left, right_mm=right),
        group("note", *_numbers(body, joints, first, scale)),
    ]
    if bent:
        groups += _header_words(sections[0], whole, bounds(groups).top + 3.0, units)
    if tuned_mm is not None:
        x = scale * (tuned_mm - header)
        groups.append(group("measured", line((x, -widest - 2.0), (x, widest + 2.0)), about="mid point of the baffle"))
        groups.append(group("measured", Text((x + 0.8, -widest - 1.2), "M", _SMALL_MM, bold=True)))
    box = bounds(groups)
    captions = _captions(sections, metal, scale, tuned_mm, units)
    y = box.bottom - 3.0 * NOTE_MM
    groups.append(group("note", *lettering((box.left, y), captions)))
    description = (
        f"The pipe put together from {len(pieces)} pieces, "
        f"{length(sum(one.length_mm for one in sections), units, None)} along its middle line. "
        + ". ".join(
            f"{one.name} {length(one.length_mm, units, None)}, Ø{say(one.start_mm)} to Ø{say(one.end_mm)}"
            for one in sections
        )
    )
    return Drawing("pipe-assembly", "Pipe, put together", description, tuple(groups), scale)


def _profile(pieces: Sequence[CutPiece], first: int, bend_rad: float, scale: float) -> list[tuple[Polyline, str]]:
    """Each piece from the side: the last of the header's ends at the origin, what follows lies along x."""
    corners: list[list[Point]] = []
    x, y, heading = 0.0, 0.0, -bend_rad
    origin = (0.0, 0.0)
    for piece in pieces:
        cone = piece.piece
        sides = []
        for phi, way in ((0.0, -1.0), (180.0, 1.0)):
            for end in (False, True):
                along = cone.along_mm(phi, end)
                sides.append((along, way * cone.radius_mm(along)))
        c, s = math.cos(heading), math.sin(heading)
        placed = [(x + a * c - b * s, y + a * s + b * c) for a, b in sides]
        corners.append([placed[0], placed[1], placed[3], placed[2]])
        x, y = x + cone.length_mm * c, y + cone.length_mm * s
        if piece.number <= first and cone.end_tilt_deg:
            heading += math.radians(2.0 * cone.end_tilt_deg)
        if piece.number == first:
            origin = (x, y)
    return [
        (
            polygon(*((scale * (px - origin[0]), scale * (py - origin[1])) for px, py in one)),
            f"piece {piece.number}, {piece.name}",
        )
        for piece, one in zip(pieces, corners, strict=True)
    ]


def _angle(section: PipeSection) -> str:
    """The included angle of a cone, or that it is a tube."""
    if section.start_mm == section.end_mm:
        return "tube"
    taper = float(frustum_pattern(section.start_mm, section.end_mm, section.length_mm).included_angle_deg)
    return f"{taper:.1f}°"


def _numbers(body: Sequence[CutPiece], joints: Sequence[float], first: int, scale: float) -> list[Text]:
    """The numbers of the pieces, each in its place."""
    found, x = [], 0.0
    for piece in body:
        length = scale * piece.piece.length_mm
        size = min(NAME_MM, 0.35 * scale * min(piece.piece.start_mm, piece.piece.end_mm), 0.6 * length)
        found.append(Text((x + 0.36 * length, -0.5 * size), str(piece.number), max(size, 1.2), "middle", bold=True))
        x += length
    return found


def _header_words(header: PipeSection, whole: Box, top: float, units: Units) -> list[Group]:
    """What is to be known of the bent header, beside its flange."""
    bend = bend_of(header)
    assert bend is not None
    long, start, end = (length_number(mm, units, None) for mm in (header.length_mm, header.start_mm, header.end_mm))
    radius, straight = (length_number(mm, units, 1) for mm in (bend.radius_mm, bend.straight_mm))
    words = [
        f"{header.name}, {long} along the middle line, Ø{start} to Ø{end}",
        f"bend {header.bend_deg:g}°: {bend.joints} joints of {bend.turn_deg:.2f}°, radius {radius}",
        f"straight before and after the bend: {straight}",
    ]
    foot = top + LINE_STEP * NOTE_MM * (len(words) - 1)
    return [group("note", *lettering((whole.left, foot), words))]


def _captions(
    sections: Sequence[PipeSection], metal: Metal, scale: float, tuned_mm: float | None, units: Units
) -> list[str]:
    total = length_number(sum(one.length_mm for one in sections), units, None)
    thick = length(metal.thickness_mm, units, None)
    words = [
        f"{total} along the middle line, {scale_words(scale)}. Lengths and inside diameters in "
        f"{unit_of(units, spelled=True)}, flange on the left.",
        f"Sheet {thick}. Numbers are those of the pieces, counted from the engine.",
    ]
    if tuned_mm is not None:
        words.append(f"M is the mid point of the baffle, {length_number(tuned_mm, units, 0)} from the flange.")
    if any(one.bend_deg for one in sections[1:]):
        words.append("Bends are drawn straight: the record does not say which way they go.")
    return words


_COLUMNS = (
    ("no.", 8.0), ("piece", 33.0), ("Ø engine's end", 25.0), ("Ø far end", 17.0), ("length", 14.0),
    ("arc radii", 27.0), ("sector", 14.0), ("corner to corner", 28.0),
)  # fmt: skip


def piece_list(pieces: Sequence[CutPiece], scale: float, units: Units = "mm") -> Drawing:
    """The list of pieces: inside diameters, middle length, and what a square-ended cone is set out with by hand.

    scale : of the assembly it belongs to, below 1: a list is no template
    """
    left, top = 0.0, 0.0
    rows = [tuple(heading for heading, _ in _COLUMNS), *(_row(piece, units) for piece in pieces)]
    texts, lines = [], []
    for i, row in enumerate(rows):
        y = top - i * _ROW_MM
        x = left
        for words, (_, width) in zip(row, _COLUMNS, strict=True):
            height = _SMALL_MM * min(1.0, (width - 1.0) / max(text_width_mm(words, _SMALL_MM), 1e-9))
            texts.append(Text((x, y), words, height, bold=i == 0))
            x += width
        lines.append(line((left, y - 1.1), (x, y - 1.1)))
    note = (
        "Arc radii, sector and corner to corner: of the flat piece at the middle of the sheet, without gaps and seam "
        "allowance; large end first.",
        "A piece with slanted ends is laid out from its pattern.",
        *(["Lengths in inches."] if units == "inch" else []),
    )
    groups = (
        group("note", *texts),
        group("dimension", *lines),
        group("note", *lettering((left, top - len(rows) * _ROW_MM - 1.0), note, 1.6)),
    )
    spoken = "; ".join(f"{row[0]} {row[1]}, {row[2]} to {row[3]}, {row[4]} long" for row in rows[1:])
    return Drawing("pipe-list", "Pipe, list of pieces", f"{len(pieces)} pieces. {spoken}.", groups, scale)


def _row(piece: CutPiece, units: Units) -> tuple[str, ...]:
    def say(mm: float) -> str:
        return length_number(mm, units, 1)

    cone = piece.piece
    start, end = (length_number(round(one, 1), units, None) for one in piece.inside_mm)
    begin = (str(piece.number), piece.name, start, end, say(cone.length_mm))
    if cone.start_tilt_deg or cone.end_tilt_deg:
        slant = f"slanted {abs(cone.start_tilt_deg or cone.end_tilt_deg):.2f}°"
        return (*begin, slant, "", "")
    flat = frustum_pattern(cone.start_mm, cone.end_mm, cone.length_mm)
    if cone.start_mm == cone.end_mm:
        return (*begin, "tube", "", f"{say(float(flat.outer_arc_mm))} x {say(cone.length_mm)}")
    small = 2.0 * float(flat.inner_radius_mm) * math.sin(math.radians(min(0.5 * float(flat.sector_angle_deg), 90.0)))
    return (
        *begin,
        f"{say(float(flat.outer_radius_mm))} / {say(float(flat.inner_radius_mm))}",
        f"{float(flat.sector_angle_deg):.2f}°",
        f"{say(float(flat.outer_chord_mm))} / {say(small)}",
    )
