"""The build card: a picture of an engine before and after, for those who publish their work."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from scribeline.engine import read_record_file
from scribeline.errors import SheetError
from scribeline.geometry.work_out import WorkedOut, work_out
from scribeline.marking.build_card import DOTS_PER_UNIT, BuildCard, Row, build_card
from scribeline.marking.png import write_png
from scribeline.marking.svg import write_picture
from scribeline.notebook import Revision
from scribeline.plan.plan_file import read_plan_file
from scribeline.tasks.drawings import bore_of, windows_of
from scribeline.tasks.history_compare import record_of_revision
from scribeline.tasks.sheet_files import write_files
from scribeline.tasks.sheet_wishes import Worked, worked_for
from scribeline.tasks.sheets import issue_of
from scribeline.units import Units, in_inches, length

_ROWS = (
    ("exhaust_duration_deg", "exhaust", 1),
    ("transfer_duration_deg", "transfer", 1),
    ("intake_duration_deg", "intake", 1),
    ("blowdown_deg", "blowdown", 1),
    ("squish_gap_mm", "squish gap", 2),
    ("compression_ratio_geometric", "compression", 2),
    ("compression_ratio_trapped", "trapped ratio", 2),
)


@dataclass(frozen=True)
class Looks:
    """How the picture is made: square or wide, dark, without paper; units : what lengths are written in."""

    square: bool = False
    dark: bool = False
    transparent: bool = False
    units: Units = "mm"


def write_build_card(
    engine: Path,
    picture: Path,
    *,
    plan: Path | None = None,
    after: Path | None = None,
    square: bool = False,
    dark: bool = False,
    transparent: bool = False,
    units: Units = "mm",
    on: date | None = None,
) -> Path:
    """Write the picture as SVG or PNG, as its name ends; 1920 x 1080 dots, or 1080 x 1080 where it is square.

    plan : what is planned is the after; after : the record of the engine as it was measured afterwards
    Raises SheetError for both at once, for another ending, and for a file of somebody else's in the way.
    """
    if plan is not None and after is not None:
        raise SheetError(
            "a plan and a record of afterwards are given\n    accepted: one of them\n"
            "    what to do: give the plan before the work, and the record after it"
        )
    if picture.suffix.lower() not in (".svg", ".png"):
        raise SheetError(
            f"{picture}: pictures end in .svg or .png\n    accepted: .svg or .png\n"
            "    what to do: svg for print and for other programs, png for everything else"
        )
    record = read_record_file(engine)
    worked = worked_for(record, None if plan is None else read_plan_file(plan))
    then = worked.target if after is None else work_out(read_record_file(after), draws=0)
    heads = ("as it is", "") if then is None else ("as it was", "planned" if after is None else "measured after")
    issue = issue_of(record, engine, plan or after, on)
    looks = Looks(square, dark, transparent, units)
    data = _picture(worked, then, heads, f"Record {issue.revision}, {issue.date}.", picture.suffix.lower(), looks)
    (written,) = write_files({picture.name: data}, picture.parent)
    return written


def card_of_two(before: Revision, after: Revision, suffix: str, looks: Looks) -> bytes:
    """The picture of two revisions as a file's content. suffix : .svg or .png

    Raises NotebookError where this program does not take one of them any more.
    """
    worked = worked_for(record_of_revision(before), None)
    then = work_out(record_of_revision(after), draws=0)
    foot = (
        f"Revision {before.number} of {before.kept_at:%Y-%m-%d}, revision {after.number} of {after.kept_at:%Y-%m-%d}."
    )
    return _picture(worked, then, (f"revision {before.number}", f"revision {after.number}"), foot, suffix, looks)


def _picture(
    worked: Worked, then: WorkedOut | None, heads: tuple[str, str], foot: str, suffix: str, looks: Looks
) -> bytes:
    """What the two engines say, drawn. then : the engine afterwards, if there is one"""
    record = worked.out.record
    bore = bore_of(worked.on_deck)
    beyond = None if then is None else bore_of(then)
    if bore is not None and beyond is not None:
        bore = replace(bore, planned=beyond.ports)
    card = BuildCard(
        record.name,
        _subtitle(worked.out, looks.units),
        heads,
        tuple(_rows(worked.out, then, looks.units)),
        bore,
        windows_of(worked.out),
        () if then is None else windows_of(then),
        f"{foot}{' Invented engine.' if record.invented else ''}",
        looks.square,
    )
    width, height = card.size
    svg = write_picture(build_card(card), width, height, dark=looks.dark, transparent=looks.transparent)
    if suffix == ".png":
        return write_png(svg, width_px=round(DOTS_PER_UNIT * width), background=None)
    return svg.encode()


def _subtitle(out: WorkedOut, units: Units) -> str:
    """Bore, stroke, capacity."""
    record = out.record
    bore, stroke = record.cylinder.bore_mm.value, record.crank.stroke_mm.value
    words = in_inches(f"{bore:g} x {stroke:g} mm", units)
    capacity = out.values.get("displacement_cc")
    if capacity is not None and capacity.value is not None:
        words += f", {capacity.value:.1f} cc"
    return words


def _rows(out: WorkedOut, then: WorkedOut | None, units: Units) -> Iterator[Row]:
    for name, words, digits in _ROWS:
        was = out.values.get(name)
        if was is None or was.value is None:
            continue
        becomes = None if then is None else then.values.get(name)
        after = "" if becomes is None or becomes.value is None else _shown(becomes.value, digits, was.unit, units)
        yield Row(words, _shown(was.value, digits, was.unit, units), after)


def _shown(value: float, digits: int, unit: str, units: Units) -> str:
    """With the same digits before and after, so that the two can be compared at a glance."""
    if unit == "mm":
        return length(value, units, digits)
    return f"{value:.{digits}f}" + ("°" if unit == "deg" else "")
