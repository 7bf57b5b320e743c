"""Sheets as the page orders them: from the work in hand to previews, to one PDF with all, to files in a zip."""

import hashlib
import re
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import lru_cache
from io import BytesIO
from typing import Any, cast, get_args

from scribeline.engine import read_record
from scribeline.errors import SheetError, TypedValueError
from scribeline.marking.page import Page, pages
from scribeline.marking.paper import PAPERS, paper_named
from scribeline.marking.pdf import write_pdf
from scribeline.marking.sheet import Issue, Sheet
from scribeline.marking.svg import write_page_svg
from scribeline.plan.plan_file import read_plan
from scribeline.tasks.in_hand import plan_toml, record_toml
from scribeline.tasks.marking_in_hand import marking_of
from scribeline.tasks.printer_check import printer_check
from scribeline.tasks.sheet_drawings import SHEETS, sheets_of
from scribeline.tasks.sheet_wishes import Format, Wishes, Worked, pipe_of, worked_for
from scribeline.tasks.sheets import files_of
from scribeline.units import Units, read_quantity

_LENGTHS = {
    "thickness": ("sheet_mm", 0.0, 0.5, "thickness of the paper"),
    "sleeve": ("sleeve_mm", 10.0, 200.0, "outside of the loose sleeve"),
    "bolt": ("bolt_mm", 2.0, 40.0, "bolt of the degree wheel"),
}
_NOT_TO_SCALE = "PREVIEW - NOT TO SCALE"


@dataclass(frozen=True)
class Order:
    """Everything that sheets follow from: equal orders give equal sheets."""

    record: str
    plan: str
    wishes: Wishes
    day: str

    @property
    def key(self) -> str:
        """A name for what it holds."""
        return hashlib.sha256(repr(self).encode()).hexdigest()[:16]

    @property
    def revision(self) -> str:
        """Which state of record and plan stands on the sheets."""
        return " + plan ".join(hashlib.sha256(one.encode()).hexdigest()[:8] for one in (self.record, self.plan) if one)


@dataclass(frozen=True)
class Preview:
    """One kind of sheet, to look at. pictures : its pages as SVG, each saying that it is not to scale

    left_out : why it cannot be made; scale : what its title block says; dxf : there are full-size DXF files of it
    """

    name: str
    title: str
    purpose: str
    pictures: tuple[str, ...]
    scale: str = ""
    left_out: str = ""
    dxf: bool = False


def order_of(document: Mapping[str, Any], day: str, usual_paper: str = "A4", usual_units: Units = "mm") -> Order:
    """What sheets of the work in hand are made from, whichever of them are taken.

    usual_paper, usual_units : of this device, where nobody chose for these sheets. The check bars' correction is in it;
    while they are refused or not measured there is none. Raises SheetError for a wish that cannot be, PlanError for
    what is no plan.
    """
    usual = {"paper": paper_in(document, usual_paper), "units": units_in(document, usual_units)}
    wishes = wishes_of(usual | marking_of(document))
    return Order(record_toml(document), plan_toml(document), wishes, day)


def order_to_take(document: Mapping[str, Any], day: str, usual_paper: str = "A4", usual_units: Units = "mm") -> Order:
    """The same for the sheets that were chosen; SheetError where none was."""
    order, chosen = order_of(document, day, usual_paper, usual_units), chosen_sheets(document)
    if not chosen:
        raise SheetError("no sheet is chosen\n    accepted: one or more\n    what to do: tick the sheets you need")
    only = chosen if len(chosen) < len(SHEETS) else ()
    return replace(order, wishes=replace(order.wishes, only=only))


def wishes_of(marking: Mapping[str, Any]) -> Wishes:
    """Wishes out of the document: texts as they were typed.

    >>> wishes_of({"paper": "Letter", "thickness": "0,12"}).sheet_mm
    0.12
    """
    given: dict[str, Any] = {}
    for key, (name, low, high, what) in _LENGTHS.items():
        if marking.get(key):
            given[name] = _length_mm(str(marking[key]), low, high, what)
    metal = _length_mm(str(marking.get("metal") or "1.0"), 0.3, 3.0, "thickness of the pipe's metal")
    turns = "anticlockwise" if marking.get("turns") == "anticlockwise" else "clockwise"
    return Wishes(
        paper=paper_named(str(marking.get("paper") or "A4")).name,
        printer=printer_check(marking).printer,
        windows=bool(marking.get("windows")),
        wheels_mm=_wheels(str(marking.get("wheels") or "")),
        turns=cast(Any, turns),
        pipe=pipe_of(metal, str(marking.get("stock") or "1000x500")),
        units="inch" if marking.get("units") == "inch" else "mm",
        **given,
    )


WISHES: tuple[tuple[str, str, Mapping[Units, str]], ...] = (
    ("thickness", "Thickness of the paper", {"mm": "0.1", "inch": "0.004"}),
    ("sleeve", "Outside of a loose sleeve, for the mirrored wrap", {"mm": "none", "inch": "none"}),
    ("wheels", "Degree wheels, diameters", {"mm": "120 160", "inch": "4.724 6.299"}),
    ("bolt", "Bolt that the wheel goes on", {"mm": "10", "inch": "0.394"}),
    ("metal", "Thickness of the pipe's metal", {"mm": "1.0", "inch": "0.039"}),
    ("stock", "Sheets of that metal", {"mm": "1000x500", "inch": "39.37x19.69"}),
)
"""What may be wished for in lengths, and what is taken where nothing is typed."""


def wish_typed(key: str, typed: str, units: Units = "mm") -> str | None:
    """A wish as it was typed, when it can be; None for an empty field, which is the usual.

    units : what bare numbers are meant in; inches are kept with their unit

    >>> wish_typed("thickness", " 0.12 "), wish_typed("wheels", "4.5 6", "inch"), wish_typed("stock", "")
    ('0.12', '4.5 6 in', None)
    """
    meant = typed.strip() + (" in" if units == "inch" and _BARE.fullmatch(typed.strip()) else "")
    if not typed.strip():
        return None
    wishes_of({key: meant})
    return meant


def wish_shown(kept: object, units: Units = "mm") -> str:
    """A kept wish as its field shows it: as it was typed, with its unit where the field is for another.

    >>> wish_shown("120 160", "inch"), wish_shown("4.5 6 in"), wish_shown(None)
    ('120 160 mm', '4.5 6 in', '')
    """
    text = "" if kept is None else str(kept)
    return f"{text} mm" if units == "inch" and _BARE.fullmatch(text) else text


_BARE = re.compile(r"[0-9][0-9.,;x× ]*")


def units_in(document: Mapping[str, Any], usual: Units = "mm") -> Units:
    """What the sheets of the work in hand are written in; as this device reads where nobody chose."""
    chosen = marking_of(document).get("units")
    return next((one for one in get_args(Units) if one == chosen), usual)


def paper_in(document: Mapping[str, Any], usual: str = "A4") -> str:
    """The paper that the work in hand is printed on; the usual one of this device where nobody chose."""
    chosen = marking_of(document).get("paper")
    return next((str(one) for one in (chosen, usual) if one in PAPERS), "A4")


def chosen_sheets(document: Mapping[str, Any]) -> tuple[str, ...]:
    """Names of the sheets that are taken: all of them where nobody chose.

    >>> chosen_sheets({"marking": {"sheets": ["cut-list", "bore-wrap"]}})
    ('bore-wrap', 'cut-list')
    """
    chosen = marking_of(document).get("sheets")
    return tuple(name for name in SHEETS if chosen is None or name in chosen)


def today() -> str:
    """The day of issue, as it stands on sheets."""
    return datetime.now(UTC).astimezone().date().isoformat()


def _length_mm(typed: str, low: float, high: float, what: str) -> float:
    try:
        value = read_quantity(typed, "mm").value
    except TypedValueError as refused:
        raise SheetError(f"{what}: {refused}") from None
    if not low <= value <= high:
        raise SheetError(
            f"{what}: {value:g} mm\n    accepted: {low:g} to {high:g} mm\n    what to do: measure it, and type it again"
        )
    return value


def _wheels(typed: str) -> tuple[float, ...]:
    numbers, unit = re.fullmatch(r"(.*?)\s*(mm|in|inch|inches|\")?", typed.strip(), re.DOTALL).groups()  # type: ignore[union-attr]
    each = [f"{one} {unit or ''}".strip() for one in re.split(r"[;\s]+|,(?!\d)", numbers) if one]
    return tuple(_length_mm(one, 40.0, 400.0, "diameter of a degree wheel") for one in each) or Wishes().wheels_mm


# --- made in a worker -------------------------------------------------------------------------------------------------


@lru_cache(maxsize=4)
def _worked(record: str, plan: str) -> Worked:
    return worked_for(read_record(record, "the record in hand"), read_plan(plan, "the plan in hand") if plan else None)


def preview(order: Order, name: str) -> Preview:
    """One kind of sheet to look at. Raises RecordError and PlanError for what is no engine or no plan of it."""
    worked, wishes = _worked(order.record, order.plan), replace(order.wishes, only=(name,))
    made, lacking = sheets_of(worked, wishes, paper_named(wishes.paper))
    if lacking:
        return Preview(name, name.replace("-", " "), SHEETS[name], (), left_out=lacking[0].why)
    printed = _pages(made, _issue(order, worked), wishes)
    dxf = any(sheet.template and not sheet.words_only for sheet in made)
    pictures = tuple(not_to_scale(write_page_svg(page), page) for page in printed)
    return Preview(name, made[0].drawing.title, SHEETS[name], pictures, made[0].scale, dxf=dxf)


def not_to_scale(svg: str, page: Page) -> str:
    """A page's picture with the words over it that no metal is cut to it, whatever size it is shown at."""
    across, up = 0.5 * page.paper.width_mm, 0.5 * page.paper.height_mm
    words = (
        f'<text x="{across:g}" y="{up:g}" font-size="15" font-weight="bold" text-anchor="middle" '
        f'style="fill:#a3200d;fill-opacity:0.2;stroke:none" transform="rotate(-35 {across:g} {up:g})">'
        f"{_NOT_TO_SCALE}</text>"
    )
    head, end, tail = svg.rpartition("</svg>")
    return head + words + end + tail


def _pages(made: list[Sheet], issue: Issue, wishes: Wishes) -> list[Page]:
    paper = paper_named(wishes.paper)
    return [page for sheet in made if sheet.printed for page in pages(sheet, issue, paper, wishes.printer)]


def _issue(order: Order, worked: Worked) -> Issue:
    record = worked.out.record
    return Issue(record.name, order.revision, order.day, record.invented)


@dataclass(frozen=True)
class Download:
    """A file to take along. left_out : sheets that are not in it, each with its reason; pages : how many it prints."""

    name: str
    media_type: str
    data: bytes
    pages: int
    left_out: tuple[str, ...]


def as_pdf(order: Order) -> Download:
    """Every chosen sheet that can be made, in one PDF. SheetError where none can."""
    worked, made, left_out = _made(order)
    printed = _pages(made, _issue(order, worked), order.wishes)
    return Download(f"{_stem(order, worked)}.pdf", "application/pdf", write_pdf(printed), len(printed), left_out)


def as_zip(order: Order, kind: Format) -> Download:
    """Every chosen sheet as SVG pages or as full-size DXF, in a zip. SheetError where there is none."""
    worked, made, left_out = _made(order)
    wishes = replace(order.wishes, formats=(kind,))
    files = dict(files_of(made, _issue(order, worked), paper_named(wishes.paper), wishes))
    if not files:
        raise SheetError(
            f"none of these sheets has a {kind.upper()} file\n    accepted: a sheet drawn at full size\n"
            "    what to do: choose the bore wrap, a degree wheel or the head profile as well"
        )
    packed = BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), data, zipfile.ZIP_DEFLATED)
    name = f"{_stem(order, worked)}-{kind}.zip"
    return Download(name, "application/zip", packed.getvalue(), len(files), left_out)


def _made(order: Order) -> tuple[Worked, list[Sheet], tuple[str, ...]]:
    worked = _worked(order.record, order.plan)
    made, lacking = sheets_of(worked, order.wishes, paper_named(order.wishes.paper))
    if not made:
        raise SheetError("\n".join(f"{one.name}: {one.why}" for one in lacking) or "no sheet is chosen")
    return worked, made, tuple(f"{one.name}: {one.why}" for one in lacking)


def _stem(order: Order, worked: Worked) -> str:
    """What files of this order are called: engine, and which state of it."""
    slug = re.sub(r"[^a-z0-9]+", "-", worked.out.record.name.lower()).strip("-") or "engine"
    return f"{slug[:40].strip('-')}-sheets-{order.revision.replace(' + plan ', '-')}"


def printed_entry(order: Order, made: Download, at: str) -> dict[str, Any]:
    """What is kept of sheets that were taken for printing: when, of what, and which."""
    return {
        "at": at,
        "file": made.name,
        "revision": order.revision,
        "paper": order.wishes.paper,
        "printer": order.wishes.printer.words,
        "pages": made.pages,
        "sheets": list(order.wishes.only or SHEETS),
    }


PAPER_NAMES = tuple(PAPERS)
