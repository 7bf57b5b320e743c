"""Sheets to print and mark out by: every drawing of an engine at full size, as PDF, SVG and DXF."""

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

from scribeline.engine import EngineRecord, read_record_file
from scribeline.errors import SheetError
from scribeline.marking.dxf import write_dxf
from scribeline.marking.page import pages
from scribeline.marking.paper import Paper, paper_named
from scribeline.marking.pdf import write_pdf
from scribeline.marking.printer import LONG, SHORT, Printer, bar_reading_mm
from scribeline.marking.sheet import Issue, Sheet
from scribeline.marking.svg import write_page_svg
from scribeline.plan.limit_table import read_limits_file
from scribeline.plan.plan_file import read_plan_file
from scribeline.tasks.sheet_drawings import SHEETS, LeftOut, sheets_of
from scribeline.tasks.sheet_files import write_files
from scribeline.tasks.sheet_wishes import Wishes, worked_for


@dataclass(frozen=True)
class Written:
    """Files that were written, and sheets that could not be made."""

    files: tuple[Path, ...]
    left_out: tuple[LeftOut, ...]


def write_sheets(
    engine: Path,
    folder: Path,
    wishes: Wishes | None = None,
    *,
    plan: Path | None = None,
    limits: Path | None = None,
    on: date | None = None,
) -> Written:
    """Make the sheets of a record file, and of a plan for it, and write them into a folder.

    limits : the builder's limits, in place of the plan's own; the sheets say which are looser or off
    on : the day of issue, today where left out
    Raises RecordError and PlanError where a file is refused, SheetError where a sheet asked for by name cannot be
    made, where none can, and where something of somebody else's stands in the way. Then nothing is written.
    """
    wishes = wishes or Wishes()
    unknown = [name for name in wishes.only if name not in SHEETS]
    if unknown:
        raise SheetError(
            f"no such sheet: {', '.join(unknown)}\n    accepted: {', '.join(SHEETS)}\n    what to do: choose from these"
        )
    record = read_record_file(engine)
    table = None if limits is None else read_limits_file(limits)
    worked = worked_for(record, None if plan is None else read_plan_file(plan), table)
    paper = paper_named(wishes.paper)
    made, left_out = sheets_of(worked, wishes, paper)
    if left_out and (wishes.only or not made):
        raise SheetError("\n".join(f"{one.name}: {one.why}" for one in left_out))
    also = "" if limits is None else f" + limits {hashlib.sha256(limits.read_bytes()).hexdigest()[:8]}"
    issue = issue_of(record, engine, plan, on, also)
    files = dict(files_of(made, issue, paper, wishes))
    return Written(tuple(write_files(files, folder)), tuple(left_out))


def issue_of(record: EngineRecord, engine: Path, plan: Path | None, on: date | None = None, also: str = "") -> Issue:
    """What a sheet says about where it comes from. The revision is the beginning of the SHA-256 of the record's file,
    and of the plan's: the same file always has the same, and a changed one another. also : what else it was made from
    """
    digests = [hashlib.sha256(path.read_bytes()).hexdigest()[:8] for path in (engine, plan) if path is not None]
    day = on or datetime.now(tz=UTC).astimezone().date()
    return Issue(record.name, " + plan ".join(digests) + also, day.isoformat(), record.invented)


def files_of(sheets: Sequence[Sheet], issue: Issue, paper: Paper, wishes: Wishes) -> Iterator[tuple[str, bytes]]:
    """Each file's name and content: a PDF to a book, an SVG to a page, a DXF to a full-size drawing."""
    books: dict[str, list[Sheet]] = {}
    for sheet in sheets:
        books.setdefault(sheet.book or sheet.name, []).append(sheet)
    for book, inside in books.items():
        made = [page for sheet in inside if sheet.printed for page in pages(sheet, issue, paper, wishes.printer)]
        if "pdf" in wishes.formats:
            yield f"{book}.pdf", write_pdf(made)
        if "svg" in wishes.formats:
            yield from ((f"{page.name}.svg", write_page_svg(page).encode()) for page in made)
        if "dxf" in wishes.formats:
            cut = [sheet for sheet in inside if sheet.template and not sheet.words_only]
            yield from ((f"{sheet.name}.dxf", write_dxf(sheet, issue).encode()) for sheet in cut)


def printer_of(across: str | None, up: str | None) -> Printer:
    """The printer's correction from what the builder typed; None for a direction that was not measured.

    across : what the bar along the paper's short edge measured; up : the one along its long edge

    >>> printer_of("98.7", None).across_mm
    98.7
    """
    return Printer(*(100.0 if typed is None else bar_reading_mm(typed, way) for typed, way in
                     ((across, SHORT), (up, LONG))))  # fmt: skip
