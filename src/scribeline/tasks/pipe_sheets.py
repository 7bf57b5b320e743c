"""The sheets of a pipe: assembly, list of pieces, every flat pattern at full size, and the sheets of stock.

They are one book of `scribeline sheets`, for the pipe of a record, and what `scribeline pipe --patterns` writes, for a
designed one as well and for other sheet metal than the usual.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from scribeline.errors import GeometryError, SheetError
from scribeline.geometry.flat_pattern import MOST_TURN_DEG
from scribeline.geometry.flat_pattern import Sheet as Metal
from scribeline.geometry.pipe_design import tuned_length_of
from scribeline.geometry.pipe_pieces import CutPiece, PipeSection, cut_up
from scribeline.marking.page import room
from scribeline.marking.paper import Paper
from scribeline.marking.pipe_assembly import assembly, piece_list
from scribeline.marking.pipe_patterns import SPACING_MM, Stock, nest, nested, overview_scale, pattern_drawings
from scribeline.marking.shapes import Drawing
from scribeline.marking.sheet import Sheet
from scribeline.units import Units

BOOK = "pipe"
_FLANGE = "the engine's end of the pipe"
_STOCK = "the lower left corner of the stock"


@dataclass(frozen=True)
class PipeMaking:
    """How a pipe is made of sheet metal.

    metal : thickness, weld gap, seam allowance; stock : as it is bought; most_turn_deg : what one joint of a bend turns
    at most; spacing_mm : between the pieces on the stock
    """

    metal: Metal = field(default_factory=Metal)
    stock: Stock = field(default_factory=lambda: Stock(1000.0, 500.0))
    most_turn_deg: float = MOST_TURN_DEG
    spacing_mm: float = SPACING_MM


@dataclass(frozen=True)
class PipeSheets:
    """The sheets, in the order of the book, and the pieces they show."""

    sheets: tuple[Sheet, ...]
    pieces: tuple[CutPiece, ...]


def pipe_sheets(
    sections: Sequence[PipeSection],
    making: PipeMaking,
    paper: Paper,
    statements: tuple[str, ...] = (),
    units: Units = "mm",
) -> PipeSheets:
    """Every sheet of a pipe.

    Small patterns are laid under each other on a page, larger ones are tiled. The sheets of stock are printed reduced,
    to see how the pieces lie, and go to a machine at full size. statements : what every page must say; units : what
    lengths on them are written in
    Raises SheetError for no sections, a bend that cannot be made and a piece larger than the stock.
    """
    if not sections:
        raise SheetError(
            "the record lacks an exhaust pipe\n    accepted: a record with [[exhaust.sections]]\n    what to do: "
            "measure the pipe section by section, or design one: scribeline pipe ENGINE.toml --rpm 9000"
        )
    try:
        pieces = cut_up(sections, making.metal, making.most_turn_deg)
    except GeometryError as refusal:
        raise SheetError(str(refusal)) from None
    together = assembly(sections, pieces, making.metal, tuned_length_of(0.0, sections), units)
    placed = nest(pieces, making.stock, making.spacing_mm)
    of = len(placed)
    small = overview_scale(making.stock)
    plain = Sheet(Drawing(BOOK, "", "", ()), _FLANGE, book=BOOK, statements=statements)
    on_stock = replace(plain, datum=_STOCK)
    drawn = [
        replace(plain, drawing=together, cautions=("template", "pipe")),
        replace(plain, drawing=piece_list(pieces, together.scale, units), words_only=True),
    ]
    for i, one in enumerate(placed, start=1):
        drawn.append(replace(on_stock, drawing=nested(one, making.stock, len(pieces), i, of, small, units)))
    patterns = pattern_drawings(pieces, making.metal, room(plain, paper), units)
    drawn += [replace(plain, drawing=one) for one in patterns]
    for i, one in enumerate(placed, start=1):
        full = nested(one, making.stock, len(pieces), i, of, units=units)
        drawn.append(replace(on_stock, drawing=full, printed=False))
    return PipeSheets(tuple(drawn), tuple(pieces))
