"""What `scribeline pipe` writes beside its report: the drawing of the pipe, and the sheets to make it by."""

from collections.abc import Sequence
from math import isinf
from pathlib import Path

from scribeline.errors import GeometryError
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
from scribeline.units import Units, as_meant, length, read_quantity


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
    units: Units = "mm",
) -> Wishes:
    """What was typed, read; refused in words where it cannot be. bar_across, bar_up : what the 100 mm bars measured."""
    making = PipeMaking(Metal(thickness_mm, gap_mm, overlap_mm), stock_named(stock), most_turn_deg)
    paper_named(paper)
    return Wishes(paper, formats_of(formats), (), printer_of(bar_across, bar_up), pipe=making, units=units)


def write_patterns(report: PipeReport, wishes: Wishes, engine: Path, folder: Path) -> list[Path]:
    """Write the sheets of a report's pipe into a folder; returns the files.

    engine : the file of the record, whose digest is the revision; a designed pipe says so beside it
    Raises SheetError as `tasks.sheets.write_sheets`.
    """
    paper = paper_named(wishes.paper)
    sheets = pipe_sheets(report.chosen.sections, wishes.pipe, paper, units=wishes.units).sheets
    designed = "" if report.wanted is None else f" + pipe for {report.wanted.speed_rpm:g} rpm"
    issue = issue_of(report.record, engine, None, also=designed)
    return write_files(dict(files_of(sheets, issue, paper, wishes)), folder)


def report_drawing(report: PipeReport, units: Units = "mm") -> Drawing:
    """The pipe handed on, drawn over the fitted one where there are both."""
    fitted = report.candidate("fitted")
    before = fitted.sections if fitted is not None and fitted is not report.chosen else ()
    return pipe_view(_drawn(report.chosen.sections, units), _drawn(before, units) if before else None)


def _drawn(sections: Sequence[PipeSection], units: Units) -> Pipe:
    drawn = tuple(Drawn(one.name, one.length_mm, one.start_mm, one.end_mm, one.bend_deg) for one in sections)
    return Pipe(drawn, units=units)


def typed_length(option: str, typed: str | None, least_mm: float, most_mm: float, units: Units) -> float | None:
    """A length as an option says it, in mm; a bare number is in these units. None where nothing was typed.

    Raises GeometryError outside least to most, TypedValueError for what is no length.

    >>> typed_length("--header", "1 3/8 in", 5.0, 150.0, "mm"), typed_length("--header", "1.375", 5.0, 150.0, "inch")
    (34.925, 34.925)
    """
    if typed is None:
        return None
    mm = read_quantity(as_meant(typed.strip(), "mm", units), "mm").value
    if not least_mm <= mm <= most_mm:
        least = length(least_mm, units, None)
        accepted = f"{least} or more" if isinf(most_mm) else f"{least} to {length(most_mm, units, None)}"
        raise GeometryError(
            f"{option} {typed}, that is {length(mm, units, None)}\n    accepted: {accepted}\n"
            "    what to do: write the unit behind it where it is another, such as 34 mm or 1.34 in"
        )
    return mm
