"""What `scribeline pipe` writes beside its report: the drawing of the pipe, and the sheets to make it by."""

from collections.abc import Sequence
from pathlib import Path

from scribeline.geometry.flat_pattern import Sheet as Metal
from scribeline.geometry.pipe_pieces import PipeSection
from scribeline.marking.paper import paper_named
from scribeline.marking.pipe_patterns import stock_named
from scribeline.marking.pipe_view import Pipe, pipe_view
from scribeline.marking.pipe_view import PipeSection as Drawn
from scribeline.marking.shapes import Drawing
from scribeline.tasks.pipe import PipeReport
from scribeline.tasks.pipe_sheets import PipeMaking, pipe_sheets
from scribeline.tasks.sheet_files import write_files
from scribeline.tasks.sheet_wishes import Wishes, formats_of
from scribeline.tasks.sheets import files_of, issue_of, printer_of


def pipe_wishes(
    thickness_mm: float,
    gap_mm: float,
    overlap_mm: float,
    stock: str,
    most_turn_deg: float,
    paper: str,
    formats: str,
    bar_across: str | None = None,
    bar_up: str | None = None,
) -> Wishes:
    """What was typed, read; refused in words where it cannot be. bar_across, bar_up : what the 100 mm bars measured."""
    making = PipeMaking(Metal(thickness_mm, gap_mm, overlap_mm), stock_named(stock), most_turn_deg)
    paper_named(paper)
    return Wishes(paper, formats_of(formats), (), printer_of(bar_across, bar_up), pipe=making)


def write_patterns(report: PipeReport, wishes: Wishes, engine: Path, folder: Path) -> list[Path]:
    """Write the sheets of a report's pipe into a folder; returns the files.

    engine : the file of the record, whose digest is the revision; a designed pipe says so beside it
    Raises SheetError as `tasks.sheets.write_sheets`.
    """
    paper = paper_named(wishes.paper)
    sheets = pipe_sheets(report.chosen.sections, wishes.pipe, paper).sheets
    designed = "" if report.wanted is None else f" + pipe for {report.wanted.speed_rpm:g} rpm"
    issue = issue_of(report.record, engine, None, also=designed)
    return write_files(dict(files_of(sheets, issue, paper, wishes)), folder)


def report_drawing(report: PipeReport) -> Drawing:
    """The pipe handed on, drawn over the fitted one where there are both."""
    fitted = report.candidate("fitted")
    before = fitted.sections if fitted is not None and fitted is not report.chosen else ()
    return pipe_view(_drawn(report.chosen.sections), _drawn(before) if before else None)


def _drawn(sections: Sequence[PipeSection]) -> Pipe:
    return Pipe(tuple(Drawn(one.name, one.length_mm, one.start_mm, one.end_mm, one.bend_deg) for one in sections))
