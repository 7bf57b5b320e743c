"""Pages: a sheet's drawing at full size on paper, with its frame, its check bars, its cautions and its title block.

A drawing is never shrunk. One that does not fit is cut into tiles that overlap; marks stand in the overlap, at which
neighbouring tiles are laid over each other. Page coordinates are millimetres from the paper's lower left corner, y up.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from scribeline.errors import SheetError
from scribeline.marking.check_bars import prove
from scribeline.marking.drafting import Box, bounds
from scribeline.marking.paper import MARGIN_MM, Paper
from scribeline.marking.printer import Printer
from scribeline.marking.shapes import Circle, Group, Point, Polyline, Text, group, line
from scribeline.marking.sheet import Issue, Sheet
from scribeline.marking.title_block import BARS_WIDE_MM, around, below_mm

OVERLAP_MM = 12.0
"""How much of the drawing two neighbouring tiles share."""
_AIR_MM = 2.0  # between the frame and the drawing
_MOST_TILES = 64  # more is a slip in a length, not a drawing


@dataclass(frozen=True)
class Page:
    """One page, ready for a writer; `pages` makes them.

    window : where the drawing shows; what lies outside is cut off
    shift : where the drawing's origin lies
    furniture : everything else, uncut; writers take it from `proved`
    printer : its correction across and up this page, as it lies
    number, of : its place among the pages of its sheet
    tile : its place in the grid of tiles, rows A, B from the top, columns 1, 2 from the left; "" for a whole drawing
    """

    sheet: Sheet
    paper: Paper
    window: Box
    shift: Point
    furniture: tuple[Group, ...]
    printer: Printer
    number: int = 1
    of: int = 1
    tile: str = ""

    @property
    def name(self) -> str:
        """The sheet's name, with the page's number where there are several."""
        return self.sheet.name if self.of == 1 else f"{self.sheet.name}-{self.number}"

    @cached_property
    def proved(self) -> tuple[Group, ...]:
        """The furniture, when the check bars are certain to be in it; SheetError otherwise."""
        prove(self.furniture, self.paper.width_mm, self.paper.height_mm)
        return self.furniture


def room(sheet: Sheet, paper: Paper) -> Box:
    """Where on a page of this paper the sheet's drawing may lie."""
    return Box(
        MARGIN_MM + BARS_WIDE_MM + _AIR_MM,
        MARGIN_MM + below_mm(sheet, paper) + _AIR_MM,
        paper.width_mm - MARGIN_MM - _AIR_MM,
        paper.height_mm - MARGIN_MM - _AIR_MM,
    )


def pages(sheet: Sheet, issue: Issue, paper: Paper, printer: Printer | None = None) -> list[Page]:
    """The pages of a sheet, the drawing at full size.

    paper : upright or lying; it is turned where that takes fewer pages
    printer : what the check bars of an earlier print measured; None where they have not been measured
    A drawing that fits stands in the middle of one page. One that does not is tiled; SheetError where it is said to
    be `whole`, where it would take more than 64 tiles, or where the paper is too small for the check bars.

    >>> from scribeline.marking.paper import PAPERS
    >>> from scribeline.marking.shapes import Drawing, line
    >>> rule = Drawing("rule", "A rule", "A line of 400 mm.", (group("outline", line((0, 0), (400, 0))),))
    >>> [page.tile for page in pages(Sheet(rule, "its left end"), Issue("engine", "1", "2026-11-25"), PAPERS["A4"])]
    ['A1', 'A2']
    """
    drawn = bounds(sheet.drawing.groups)
    turned = min((paper, paper.turned()), key=lambda one: math.prod(_grid(drawn, room(sheet, one))))
    space = room(sheet, turned)
    columns, rows = _grid(drawn, space)
    if columns * rows > 1 and sheet.whole:
        raise SheetError(
            f"{sheet.drawing.title} takes {drawn.width:.0f} x {drawn.height:.0f} mm and must not be cut into tiles\n"
            f"    accepted: at most {space.width:.0f} x {space.height:.0f} mm on {paper.name}\n"
            "    what to do: choose a larger paper"
        )
    if columns * rows > _MOST_TILES:
        raise SheetError(
            f"{sheet.drawing.title} takes {drawn.width:.0f} x {drawn.height:.0f} mm, {columns * rows} pages of "
            f"{paper.name}\n    accepted: at most {_MOST_TILES} pages\n"
            "    what to do: check the record's lengths, or choose a larger paper"
        )
    printer = printer or Printer()
    made_for = printer if turned.width_mm <= turned.height_mm else printer.turned()
    made = []
    for number, (row, column, corner) in enumerate(_tiles(drawn, space, columns, rows), start=1):
        shift = (space.left - corner[0], space.bottom - corner[1])
        if sheet.words_only and columns * rows == 1:
            shift = (shift[0], space.top - drawn.top)
        tile = "" if columns * rows == 1 else _tile(row, column)
        place = f"{number} of {columns * rows}" + (f", tile {tile}" if tile else "")
        furniture = around(sheet, issue, turned, printer, place)
        furniture += tuple(_joints(space, row, column, columns, rows))
        made.append(Page(sheet, turned, space, shift, furniture, made_for, number, columns * rows, tile))
    return made


def _grid(drawn: Box, space: Box) -> tuple[int, int]:
    """How many tiles across and up a drawing takes."""
    if space.width < 10 * OVERLAP_MM or space.height < 8 * OVERLAP_MM:
        raise SheetError(
            f"the paper leaves {space.width:.0f} x {space.height:.0f} mm for a drawing\n"
            f"    accepted: at least {10 * OVERLAP_MM:.0f} x {8 * OVERLAP_MM:.0f} mm, the check bars need as much\n"
            "    what to do: choose a larger paper"
        )
    across, up = (
        1 if long <= room_mm + 1e-6 else math.ceil((long - OVERLAP_MM) / (room_mm - OVERLAP_MM) - 1e-9)
        for long, room_mm in ((drawn.width, space.width), (drawn.height, space.height))
    )
    return across, up


def _tiles(drawn: Box, space: Box, columns: int, rows: int) -> Iterator[tuple[int, int, Point]]:
    """Row, column and lower left corner, on the drawing, of each tile; from the top left, as one reads."""
    step_x, step_y = space.width - OVERLAP_MM, space.height - OVERLAP_MM
    left = 0.5 * (drawn.left + drawn.right - space.width - (columns - 1) * step_x)
    bottom = 0.5 * (drawn.bottom + drawn.top - space.height - (rows - 1) * step_y)
    for row in range(rows):
        for column in range(columns):
            yield row, column, (left + column * step_x, bottom + (rows - 1 - row) * step_y)


def _tile(row: int, column: int) -> str:
    return chr(ord("A") + row % 26) * (1 + row // 26) + str(column + 1)


def _joints(space: Box, row: int, column: int, columns: int, rows: int) -> Iterator[Group]:
    """The marks of a tile: along the middle of each overlap a line and two crosses, which the neighbour has as well."""
    half = 0.5 * OVERLAP_MM
    upright = [space.bottom + share * space.height for share in (0.2, 0.8)]
    level = [space.left + share * space.width for share in (0.2, 0.8)]
    for side, x in ((-1, space.left + half), (1, space.right - half)):
        if 0 <= column + side < columns:
            ends = (x, space.bottom), (x, space.top)
            yield from _joint(*ends, [(x, y) for y in upright], _tile(row, column + side))
    for side, y in ((1, space.bottom + half), (-1, space.top - half)):
        if 0 <= row + side < rows:
            ends = (space.left, y), (space.right, y)
            yield from _joint(*ends, [(x, y) for x in level], _tile(row + side, column))


def _joint(start: Point, end: Point, crosses: list[Point], neighbour: str) -> Iterator[Group]:
    """One joint with its crosses, each named after the tile that goes over it."""
    marks: list[Polyline | Circle] = [line(start, end)]
    for x, y in crosses:
        marks += [line((x - 4.0, y), (x + 4.0, y)), line((x, y - 4.0), (x, y + 4.0)), Circle((x, y), 2.0)]
    words = [Text((x + 1.2, y + 2.6), f"to {neighbour}", 1.6) for x, y in crosses]
    yield group("register", *marks, about=f"joint with tile {neighbour}")
    yield group("register", *words)
