"""The sheets of a pipe: assembly, list of pieces, stock, and every flat pattern at full size, as PDF, SVG and DXF."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path

from scribeline.engine import EngineRecord, write_record
from scribeline.errors import SheetError
from scribeline.geometry.flat_pattern import MOST_TURN_DEG
from scribeline.geometry.flat_pattern import Sheet as Stuff
from scribeline.geometry.pipe_design import sections_of, tuned_length_of
from scribeline.geometry.pipe_pieces import CutPiece, PipeSection, cut_up
from scribeline.marking.dxf import write_dxf
from scribeline.marking.page import pages, room
from scribeline.marking.paper import PAPERS, Paper, paper_named
from scribeline.marking.pdf import write_pdf
from scribeline.marking.pipe_assembly import assembly, piece_list
from scribeline.marking.pipe_patterns import (
    SPACING_MM,
    Stock,
    nest,
    nested,
    overview_scale,
    pattern_drawings,
    stock_named,
)
from scribeline.marking.pipe_view import Pipe, pipe_view
from scribeline.marking.pipe_view import PipeSection as Drawn
from scribeline.marking.shapes import Drawing
from scribeline.marking.sheet import Issue, Sheet
from scribeline.marking.svg import write_page_svg
from scribeline.tasks.curve_page import write_page
from scribeline.tasks.pipe import PipeReport
from scribeline.tasks.pipe_record import record_with

_FLANGE = "the engine's end of the pipe"
_STOCK = "the lower left corner of the stock"


@dataclass(frozen=True)
class PipeMaking:
    """How a pipe is made of sheet, and on what its sheets are drawn.

    stuff : the sheet; stock : as it is bought; most_turn_deg : what one joint of a bend turns at most
    spacing_mm : between pieces on the stock; paper, formats : of the drawings
    """

    stuff: Stuff = field(default_factory=Stuff)
    stock: Stock = field(default_factory=lambda: Stock(1000.0, 500.0))
    most_turn_deg: float = MOST_TURN_DEG
    spacing_mm: float = SPACING_MM
    paper: Paper = PAPERS["A4"]
    formats: tuple[str, ...] = ("pdf", "dxf")


@dataclass(frozen=True)
class PipeSheets:
    """What is printed, and what is cut by a machine: the sheets of stock at full size."""

    printed: tuple[Sheet, ...]
    stock: tuple[Sheet, ...]
    pieces: tuple[CutPiece, ...]


def pipe_sheets(
    sections: Sequence[PipeSection], making: PipeMaking, *, baffle_middle_mm: float | None = None
) -> PipeSheets:
    """Every sheet of a pipe.

    Small patterns are laid under each other on a page, larger ones are tiled.
    baffle_middle_mm : from the flange to the mid point of the baffle, marked in the assembly
    Raises SheetError for no sections or a piece larger than the stock, GeometryError for a bend that cannot be made.
    """
    if not sections:
        raise SheetError(
            "no pipe to make sheets of\n    accepted: a record with [[exhaust.sections]]\n    what to do: measure the "
            "pipe section by section, or design one: scribeline pipe ENGINE.toml --rpm 9000"
        )
    pieces = cut_up(sections, making.stuff, making.most_turn_deg)
    together = assembly(sections, pieces, making.stuff, baffle_middle_mm)
    placed = nest(pieces, making.stock, making.spacing_mm)
    of = len(placed)
    small = overview_scale(making.stock)
    empty = Sheet(Drawing("pipe", "", "", ()), _FLANGE)
    printed = [
        Sheet(together, _FLANGE, ("pipe",), whole=True),
        Sheet(piece_list(pieces, together.scale), _FLANGE),
        *(
            Sheet(nested(one, making.stock, len(pieces), i, of, small), _STOCK, whole=True)
            for i, one in enumerate(placed, start=1)
        ),
        *(Sheet(one, _FLANGE) for one in pattern_drawings(pieces, making.stuff, room(empty, making.paper))),
    ]
    stock = [
        Sheet(nested(one, making.stock, len(pieces), i, of), _STOCK, ("template", "pipe"))
        for i, one in enumerate(placed, start=1)
    ]
    return PipeSheets(tuple(printed), tuple(stock), tuple(pieces))


def pipe_sheets_of(record: EngineRecord, making: PipeMaking) -> PipeSheets:
    """The sheets of the pipe in a record, as `pipe_sheets`."""
    sections = sections_of(record)
    return pipe_sheets(sections, making, baffle_middle_mm=tuned_length_of(0.0, sections) if sections else None)


FORMATS = ("pdf", "svg", "dxf")


def making_of(
    thickness_mm: float, gap_mm: float, overlap_mm: float, most_turn_deg: float, stock: str, paper: str, formats: str
) -> PipeMaking:
    """What was asked on the command line; SheetError or GeometryError for what cannot be."""
    wanted = tuple(dict.fromkeys(one.strip().lower() for one in formats.split(",")))
    if not set(wanted) <= set(FORMATS):
        raise SheetError(
            f"--format {formats}\n    accepted: {', '.join(FORMATS)}, with commas between\n"
            "    what to do: name one or more of them"
        )
    stuff = Stuff(thickness_mm, gap_mm, overlap_mm)
    return PipeMaking(stuff, stock_named(stock), most_turn_deg, SPACING_MM, paper_named(paper), wanted)


def write_patterns(report: PipeReport, making: PipeMaking, folder: Path) -> list[Path]:
    """Write the sheets of a report's pipe into a folder, dated today; returns the files: see `written`."""
    sections = report.chosen.sections
    record = record_with(report.record, sections) if report.wanted is not None else report.record
    sheets = pipe_sheets(sections, making, baffle_middle_mm=tuned_length_of(0.0, sections))
    revision = sha256(write_record(record, comments=False).encode()).hexdigest()[:8]
    issue = Issue(record.name, revision, datetime.date.today().isoformat(), record.invented)
    return written(sheets, folder, issue, making)


def written(sheets: PipeSheets, folder: Path, issue: Issue, making: PipeMaking) -> list[Path]:
    """Write sheets into a folder: pipe.pdf, an SVG for each page, a DXF for each sheet of stock; returns the files."""
    every = [page for sheet in sheets.printed for page in pages(sheet, issue, making.paper)]
    made: list[tuple[Path, str | bytes]] = []
    if "pdf" in making.formats:
        made.append((folder / "pipe.pdf", write_pdf(every, f"Pipe of {issue.record}")))
    if "svg" in making.formats:
        made += [(folder / f"{page.name}.svg", write_page_svg(page)) for page in every]
    if "dxf" in making.formats:
        made += [(folder / f"{sheet.name}.dxf", write_dxf(sheet, issue)) for sheet in sheets.stock]
    for path, content in made:
        write_page(content, path)
    return [path for path, _ in made]


def report_drawing(report: PipeReport) -> Drawing:
    """The pipe handed on, drawn over the fitted one where there are both."""
    fitted = report.candidate("fitted")
    before = fitted.sections if fitted is not None and fitted is not report.chosen else ()
    return pipe_view(_drawn(report.chosen.sections), _drawn(before) if before else None)


def _drawn(sections: Sequence[PipeSection]) -> Pipe:
    return Pipe(tuple(Drawn(one.name, one.length_mm, one.start_mm, one.end_mm, one.bend_deg) for one in sections))
