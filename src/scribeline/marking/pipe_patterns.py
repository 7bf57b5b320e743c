"""Flat patterns of a pipe's pieces as drawings: one piece at full size, and the pieces nested on sheets of stock.

Layers by meaning: cut, mark (lines to scratch and lettering), bend (lines along the wall, where rollers or folding
bars are laid). What is seen is the outside of the sheet. How a piece is developed stands in `geometry.flat_pattern`.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from scribeline.errors import SheetError
from scribeline.geometry.flat_pattern import Sheet as Metal
from scribeline.geometry.flat_pattern import line_along
from scribeline.geometry.pipe_pieces import CutPiece
from scribeline.marking.drafting import Box, bounds, customary_scale, flattened, text_width_mm
from scribeline.marking.labels import wrapped
from scribeline.marking.shapes import (
    LINE_STEP,
    NOTE_MM,
    Dimension,
    Drawing,
    Group,
    Point,
    Polyline,
    Shape,
    Text,
    group,
    lettering,
    line,
    rectangle,
)
from scribeline.units import MM_PER_INCH, Units, in_inches, length, length_number, unit_of

BEND_LINES = 8
"""Lines along the wall, evenly round the pipe, the seam counted. Judgement."""
_RING_MM = 40.0  # a shorter piece has no room for its diameters
_DRAWN = 0.3  # of a bend line, at each end
_CAPTION_MM = 150.0
_BETWEEN_MM = 7.0
_OVERVIEW_MM = (240.0, 112.0)
SPACING_MM = 6.0
"""Between neighbours and to the edge of the stock: room for snips or a saw. Judgement."""


def pattern(piece: CutPiece, pieces: int, units: Units = "mm") -> tuple[Group, ...]:
    """One piece at full size with straights to check the print with, in the pattern's own place.

    piece : one of `pieces` in all; units : what lengths are written in
    """

    def straight(start: Point, end: Point, offset_mm: float) -> Dimension:
        return Dimension(start, end, length_number(math.dist(start, end), units, 1), offset_mm)

    shape = _polyline(piece)
    right = piece.outline.far_right
    near = shape.points[0], shape.points[right - 1]
    far = shape.points[-1], shape.points[right]
    box = _box(flattened(shape))
    return (
        *piece_groups(piece, pieces, units),
        group(
            "dimension",
            straight(*near, box.bottom - 6.0 - near[0][1]),
            straight(*far, box.top + 5.0 - far[0][1]),
            straight(near[1], far[1], -6.0),
        ),
    )


def pattern_drawings(pieces: Sequence[CutPiece], metal: Metal, room: Box, units: Units = "mm") -> list[Drawing]:
    """All pieces at full size in their order: under each other while they fit into `room`, a larger one by itself.

    metal : the sheet they are cut from
    """
    notes = [row for one in _captions(metal, units) for row in wrapped(one, min(room.width, _CAPTION_MM))]
    tall = LINE_STEP * NOTE_MM * (len(notes) + 1)
    lots: list[list[tuple[CutPiece, tuple[Group, ...], Box]]] = []
    left = 0.0
    for piece in pieces:
        groups = pattern(piece, len(pieces), units)
        box = bounds(groups)
        if not lots or box.width > room.width or box.height + _BETWEEN_MM > left:
            lots.append([])
            left = room.height - tall + _BETWEEN_MM if box.width <= room.width else 0.0
        lots[-1].append((piece, groups, box))
        left -= box.height + _BETWEEN_MM
    return [_under_each_other(lot, notes, len(pieces)) for lot in lots]


def _under_each_other(
    lot: Sequence[tuple[CutPiece, tuple[Group, ...], Box]], notes: Sequence[str], pieces: int
) -> Drawing:
    top, groups = 0.0, []
    for _, drawn, box in lot:
        shift = (-0.5 * (box.left + box.right), top - box.top)
        groups += [_moved(one, 0.0, shift) for one in drawn]
        top -= box.height + _BETWEEN_MM
    groups.append(group("note", *lettering((0.0, top - NOTE_MM), notes, anchor="middle")))
    numbers = [piece.number for piece, _, _ in lot]
    which = f"piece {numbers[0]}" if len(lot) == 1 else f"pieces {numbers[0]} to {numbers[-1]}"
    names = ", ".join(f"{piece.number} {piece.name}" for piece, _, _ in lot)
    title = f"Pipe, {which} of {pieces}" + (f": {lot[0][0].name}" if len(lot) == 1 else "")
    return Drawing(f"pipe-pieces-{numbers[0]:02d}", title, f"Flat patterns: {names}. {' '.join(notes)}", tuple(groups))


def piece_groups(piece: CutPiece, pieces: int, units: Units = "mm") -> Iterator[Group]:
    """What is cut, scratched and bent of one piece, and its lettering, in the pattern's own place."""
    yield group("cut", _polyline(piece), about=f"outline of piece {piece.number}, {piece.name}")
    yield group("bend", *_bend_lines(piece), about="lines along the wall")
    yield group("mark", *_mark_lines(piece))
    yield group("mark", *_lettering(piece, pieces, units))


def _polyline(piece: CutPiece) -> Polyline:
    points = tuple((float(x), float(y)) for x, y in piece.outline.points)
    return Polyline(points, tuple(float(one) for one in piece.outline.bulges), closed=True)


def _box(points: Sequence[Point]) -> Box:
    xs, ys = zip(*points, strict=True)
    return Box(min(xs), min(ys), max(xs), max(ys))


def _along(piece: CutPiece, phi_deg: float) -> tuple[Point, Point]:
    """A line along the wall from edge to edge of the cut piece."""
    near, far = line_along(piece.piece, phi_deg, piece.seam_deg)
    length = math.dist(near, far)
    shares = piece.back_mm[0] / length, 1.0 - piece.back_mm[1] / length
    return _between(near, far, shares[0]), _between(near, far, shares[1])


def _between(start: Point, end: Point, share: float) -> Point:
    return start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])


def _bend_lines(piece: CutPiece) -> Iterator[Polyline]:
    """Both ends of each line; the middle is left to the lettering, a straightedge joins them."""
    quarters = {round(phi % 360.0, 6) for phi in _quarters(piece)}
    for i in range(1, BEND_LINES):
        phi = piece.seam_deg + 360.0 * i / BEND_LINES
        if round(phi % 360.0, 6) not in quarters:
            near, far = _along(piece, phi)
            yield line(near, _between(near, far, _DRAWN))
            yield line(far, _between(near, far, 1.0 - _DRAWN))


def _quarters(piece: CutPiece) -> tuple[float, ...]:
    """Where marks stand that meet those of the next piece: long side, short side and the two between."""
    return (0.0, 90.0, 180.0, 270.0) if piece.parts > 1 else ()


def _mark_lines(piece: CutPiece) -> Iterator[Polyline]:
    """Short ends of the quarter lines of a bend, and the true seam where a seam allowance goes beyond it."""
    for phi in _quarters(piece):
        turn = (phi - piece.seam_deg) % 360.0
        if turn:
            near, far = _along(piece, piece.seam_deg + turn)
            yield line(near, _between(near, far, _DRAWN))
            yield line(far, _between(near, far, 1.0 - _DRAWN))
    true_edge = _along(piece, piece.seam_deg + 360.0)
    right = piece.outline.points[piece.outline.far_right - 1]
    if right[0] > true_edge[0][0] + 1e-6:
        yield line(*true_edge)


def _lettering(piece: CutPiece, pieces: int, units: Units) -> Iterator[Text]:
    """The number large in the middle, what it is under it, what it joins at its ends."""
    near, far = _along(piece, piece.seam_deg + 180.0)
    high = math.dist(near, far)
    x, y = _between(near, far, 0.5)
    across = math.pi * 0.5 * (piece.piece.start_mm + piece.piece.end_mm)
    words = [piece.name]
    if high > _RING_MM:
        ends = (length_number(round(one, 1), units, None) for one in piece.inside_mm)
        words.append("Ø{} to Ø{} inside".format(*ends))
    size, small = min(5.0, 0.22 * high), min(NOTE_MM, 0.1 * high)
    yield Text((x, y + 0.25 * small), str(piece.number), size, "middle", bold=True)
    yield from lettering((x, y - 1.35 * small), words, small, "middle")
    joins_near = f"joins {piece.number - 1}" if piece.number > 1 else "engine"
    joins_far = f"joins {piece.number + 1}" if piece.number < pieces else "open end"
    beside, edge = piece.seam_deg + 180.0 + 180.0 / BEND_LINES, 0.08
    if piece.parts > 1:  # there is most room on the outside of the bend, to the middle of it
        outside = (-piece.seam_deg) % 360.0
        beside, edge = piece.seam_deg + outside + math.copysign(180.0 / BEND_LINES, 180.0 - outside), 0.13
    for words_, share in ((joins_near, edge), (joins_far, 1.0 - edge)):
        place = _between(*_along(piece, beside), share)
        wide = 0.85 * math.pi * (piece.piece.end_mm if share > 0.5 else piece.piece.start_mm) / BEND_LINES
        height = small * min(1.0, wide / text_width_mm(words_, small))
        yield Text((place[0], place[1] - 0.5 * height), words_, height, "middle")
    for phi, side in ((0.0, "outside of bend"), (180.0, "inside of bend")) if piece.parts > 1 else ():
        place = _between(*_along(piece, piece.seam_deg + (phi - piece.seam_deg) % 360.0), 0.5)
        height = small * min(1.0, 0.2 * across / text_width_mm(side, small))
        yield Text((place[0], place[1] - 0.5 * height), side, height, "middle")


def _captions(metal: Metal, units: Units) -> tuple[str, ...]:
    overlap, gap, thick = (length(mm, units, None) for mm in (metal.overlap_mm, metal.gap_mm, metal.thickness_mm))
    seam = (
        f"seam allowance {overlap} on the right, under the other edge"
        if metal.overlap_mm
        else "seam butted" + (f", gap {gap}" if metal.gap_mm else ", no gap")
    )
    ends = f"; {gap} gap at each joint to the next piece" if metal.gap_mm else ""
    return (
        f"Outside of the sheet, {thick} thick. Long edges meet: {seam}{ends}.",
        f"The numbers are straight from corner to corner, {unit_of(units, spelled=True)}: check them on the print, and "
        "again on the sheet.",
        "Broken lines run along the wall: lay the roller or the folding bar along them.",
    )


@dataclass(frozen=True)
class Stock:
    """A sheet of metal as it is bought, mm."""

    wide_mm: float
    high_mm: float

    @property
    def words(self) -> str:
        return f"{self.wide_mm:g} x {self.high_mm:g} mm"


def stock_named(text: str) -> Stock:
    """The stock typed as WIDTHxHEIGHT, in mm or with "in" behind it.

    >>> stock_named("1000x500"), stock_named("40 x 20 in").wide_mm
    (Stock(wide_mm=1000.0, high_mm=500.0), 1016.0)
    """
    sizes, unit, _ = text.lower().replace("×", "x").partition("in")
    try:
        wide, high = (float(part.removesuffix("mm")) for part in sizes.strip().split("x"))
    except ValueError:
        wide = high = math.nan
    if unit:
        wide, high = (float(MM_PER_INCH) * one for one in (wide, high))
    if not (50.0 <= wide <= 5000.0 and 50.0 <= high <= 5000.0):
        raise SheetError(
            f"stock {text!r}\n    accepted: WIDTHxHEIGHT in mm, each 50 to 5000, such as 1000x500, or 40x20 in\n"
            "    what to do: measure the sheet of metal you have"
        )
    return Stock(wide, high)


@dataclass(frozen=True)
class Placed:
    """A piece on a sheet of stock: turned about its pattern's origin, then moved."""

    piece: CutPiece
    turn_deg: float
    shift: Point


def nest(pieces: Sequence[CutPiece], stock: Stock, spacing_mm: float = SPACING_MM) -> list[list[Placed]]:
    """Pieces on as few sheets of stock as a simple packing of their rectangles needs, larger ones first.

    Each piece lies in the smallest rectangle round it. Raises SheetError for a piece that fits on no sheet.
    """
    from ezdxf.addons.binpacking import FlatPacker, RotationType
    from shapely import MultiPoint

    turned: dict[int, tuple[CutPiece, float, Box]] = {}
    for piece in pieces:
        outline = flattened(_polyline(piece), 1.0)
        (x0, y0), (x1, y1), *_ = MultiPoint(outline).minimum_rotated_rectangle.exterior.coords
        turn = -math.degrees(math.atan2(y1 - y0, x1 - x0))
        turned[piece.number] = (piece, turn, _box([_turned(point, turn) for point in outline]))
    left = dict(turned)
    sheets: list[list[Placed]] = []
    while left:
        packer = FlatPacker()
        bin_ = packer.add_bin("stock", stock.wide_mm - spacing_mm, stock.high_mm - spacing_mm)
        for number, (_, _, box) in left.items():
            packer.add_item(number, box.width + spacing_mm, box.height + spacing_mm)
        packer.pack()
        placed = []
        for item in bin_.items:
            piece, turn, box = left.pop(item.payload)
            x, y = float(item.position[0]) + spacing_mm, float(item.position[1]) + spacing_mm
            if item.rotation_type == RotationType.HWD:
                turn += 90.0
                box = Box(-box.top, box.left, -box.bottom, box.right)
            placed.append(Placed(piece, turn, (x - box.left, y - box.bottom)))
        if not placed:
            _, _, box = max(left.values(), key=lambda one: max(one[2].width, one[2].height))
            piece = next(one for one, _, its in left.values() if its is box)
            raise SheetError(
                f"piece {piece.number}, {piece.name}, takes {box.width:.0f} x {box.height:.0f} mm and does not fit "
                f"on stock of {stock.words}\n    accepted: stock at least {2 * spacing_mm:g} mm larger than the piece "
                "each way\n    what to do: give larger stock, or divide that section in the record"
            )
        sheets.append(sorted(placed, key=lambda one: one.piece.number))
    return sheets


def nested(
    placed: Sequence[Placed], stock: Stock, pieces: int, number: int, of: int, scale: float = 1.0, units: Units = "mm"
) -> Drawing:
    """One sheet of stock with its pieces: at full size for a machine, or reduced to look at.

    number, of : which sheet of stock; scale : 1 or a customary scale
    """
    groups = [
        group("edge", rectangle(0.0, 0.0, scale * stock.wide_mm, scale * stock.high_mm), about="edge of the stock")
    ]
    for one in placed:
        if scale == 1.0:
            groups += [_moved(g, one.turn_deg, one.shift) for g in piece_groups(one.piece, pieces, units)]
        else:
            groups.append(_moved(group("cut", _polyline(one.piece), fill="wash"), one.turn_deg, one.shift, scale))
            near, far = _along(one.piece, one.piece.seam_deg + 180.0)
            x, y = _placed(_between(near, far, 0.5), one.turn_deg, one.shift, scale)
            groups.append(
                group("note", Text((x, y - 0.5 * NOTE_MM), str(one.piece.number), NOTE_MM, "middle", bold=True))
            )
    numbers = ", ".join(str(one.piece.number) for one in placed)
    words = f"Sheet of stock {number} of {of}, {in_inches(stock.words, units)}: pieces {numbers}."
    name = f"pipe-stock-{number}" + ("" if scale == 1.0 else "-overview")
    return Drawing(name, f"Pipe, sheet of stock {number} of {of}", words, tuple(groups), scale)


def overview_scale(stock: Stock) -> float:
    """The customary scale at which a sheet of stock fits on a page that lies on its side."""
    wide, high = _OVERVIEW_MM
    return min(customary_scale(stock.wide_mm, wide, 0.5), customary_scale(stock.high_mm, high, 0.5))


def _turned(point: Point, turn_deg: float) -> Point:
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    return c * point[0] - s * point[1], s * point[0] + c * point[1]


def _placed(point: Point, turn_deg: float, shift: Point, scale: float) -> Point:
    x, y = _turned(point, turn_deg)
    return scale * (x + shift[0]), scale * (y + shift[1])


def _moved(one: Group, turn_deg: float, shift: Point, scale: float = 1.0) -> Group:
    """A group turned about the origin, moved, and then reduced; lettering keeps its size."""

    def moved(shape: Shape) -> Shape:
        if isinstance(shape, Polyline):
            return replace(shape, points=tuple(_placed(point, turn_deg, shift, scale) for point in shape.points))
        if isinstance(shape, Text):
            at = _placed(shape.at, turn_deg, shift, scale)
            return replace(shape, at=at, turned_deg=shape.turned_deg + turn_deg)
        assert isinstance(shape, Dimension)
        ends = (_placed(point, turn_deg, shift, scale) for point in (shape.start, shape.end))
        return replace(shape, start=next(ends), end=next(ends), offset_mm=scale * shape.offset_mm)

    return replace(one, shapes=tuple(map(moved, one.shapes)))
