"""Whether a printer can be trusted: what its check bars measured, what follows, and the page to measure it with."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from scribeline.errors import SheetError, TypedValueError
from scribeline.marking.marking_out_views import print_check
from scribeline.marking.page import Page, pages
from scribeline.marking.paper import paper_named
from scribeline.marking.pdf import write_pdf
from scribeline.marking.printer import BAR_MM, LONG, SHORT, Printer, bar_reading_mm
from scribeline.marking.shapes import Drawing, Text, group
from scribeline.marking.sheet import Issue, Sheet
from scribeline.tasks.inline_drawings import InlineDrawing, inline_drawing
from scribeline.units import Units, as_meant

RIGHT_MM = 0.2
"""A bar that is off by no more is right; judgement: 0.06 mm at a port 30 mm below the deck."""

BARS: Mapping[Units, str] = {"mm": "100 mm", "inch": "4 in"}
"""Which of the check bars a builder measures."""

State = Literal["not measured", "refused", "right", "corrected", "proved", "still off"]
DATUM = "nothing: this page only measures a printer"
_STEPS = (
    "1  Print this page at 100 % (actual size), on the paper and by the printer that the sheets will go through.",
    "2  Lay a steel rule or a caliper on the 100 mm bars: one runs along the paper's short edge, one along its long.",
    "3  Measure from the middle of one end line to the middle of the other, to a tenth of a millimetre. With an inch",
    "    rule take the 4 in bars instead, to 0.005 in.",
    "4  Type both into the page. Within 0.2 mm of 100 the printer is right and nothing is corrected.",
    "5  If one is off: look for a setting that fits or shrinks the page, switch it off, and print again.",
    "6  If it stays off, the sheets are corrected by what you typed. Print this page once more, with the correction",
    "    in it: now the bars must be right. Only then trust a line.",
)


@dataclass(frozen=True)
class PrinterCheck:
    """What is known of the printer. printer : its correction; words : what it means and what to do next."""

    state: State
    printer: Printer
    words: str

    @property
    def trusted(self) -> bool:
        """Whether lines may be taken from sheets that it prints."""
        return self.state in ("right", "proved")


def printer_check(marking: Mapping[str, Any], units: Units = "mm") -> PrinterCheck:
    """What the typed readings of the check bars say, to a builder who reads these units.

    marking : the part of the document: `bars` with what was typed for the first print, `proof` for the print after
    the correction, each with `across` (the bar along the paper's short edge) and `up` (along its long one)

    >>> printer_check({}).state, printer_check({"bars": {"across": "100.1", "up": "99.9"}}).state
    ('not measured', 'right')
    >>> printer_check({"bars": {"across": "98.7", "up": "100"}}).printer.across_mm
    98.7
    """
    bars, proof = marking.get("bars") or {}, marking.get("proof") or {}
    try:
        first = _read(bars)
        if first is None:
            return PrinterCheck(
                "not measured",
                Printer(),
                f"Print the check page, measure both {BARS[units]} bars and type what they measured.",
            )
        if _right(*first):
            return PrinterCheck("right", Printer(), "Both bars are right within 0.2 mm: nothing is corrected.")
        printer, again = Printer(*first), _read(proof)
    except (SheetError, TypedValueError) as refused:
        return PrinterCheck("refused", Printer(), str(refused))
    along = f"{_percent(first[0])} along the short edge and {_percent(first[1])} along the long one"
    made = f"Sheets are now made {along}."
    if again is None:
        return PrinterCheck(
            "corrected", printer, f"{made} Print the check page again, with this in it, and type what its bars measure."
        )
    if _right(*again):
        return PrinterCheck("proved", printer, f"{made} Printed again, both bars are right within 0.2 mm.")
    return PrinterCheck(
        "still off",
        printer,
        f"{made} Printed again, the bars measured {again[0]:g} and {again[1]:g} mm: not right. Measure once more; if "
        "it stays, the printer feeds paper unevenly: use another printer.",
    )


def bar_typed(typed: str, way: str, units: Units = "mm") -> str | None:
    """What a builder typed for a bar, as it is kept; None for an empty field. way : "across" or "up"

    units : a bare number is what the 100 mm bar measured in mm, or the 4 in bar in inches

    Raises SheetError and TypedValueError for what no bar of a printer that can be corrected measures.

    >>> bar_typed(" 99.6 mm ", "across")
    '99.6 mm'
    """
    if not typed.strip():
        return None
    meant = as_meant(typed.strip(), "mm", units)
    measured = bar_reading_mm(meant, {"across": SHORT, "up": LONG}[way])
    Printer(*((measured, BAR_MM) if way == "across" else (BAR_MM, measured)))
    return meant


def how_to_measure() -> InlineDrawing:
    """A caliper on the bars."""
    return inline_drawing(print_check())


def _read(typed: Mapping[str, Any]) -> tuple[float, float] | None:
    """Both bars in mm; None while one is missing."""
    both = [str(typed.get(way) or "").strip() for way in ("across", "up")]
    values = [bar_reading_mm(one, way) for one, way in zip(both, (SHORT, LONG), strict=True) if one]
    return (values[0], values[1]) if len(values) == 2 else None


def _right(across: float, up: float) -> bool:
    return all(abs(one - BAR_MM) <= RIGHT_MM + 1e-9 for one in (across, up))


def _percent(measured: float) -> str:
    by = 100.0 * (BAR_MM / measured - 1.0)
    return "as they are" if abs(by) < 0.005 else f"{abs(by):.2f} % {'larger' if by > 0 else 'smaller'}"


def check_page(paper: str, printer: Printer, day: str) -> Page:
    """The page that measures a printer: bars, and what to do with them; `printer` : with its correction."""
    drawing = Drawing(
        "check-page",
        "Check of the printer",
        "Four check bars, and how a printer is measured with them.",
        (group("note", *(Text((0.0, -7.0 * i), words, 2.4) for i, words in enumerate(_STEPS))),),
    )
    sheet = Sheet(drawing, DATUM, cautions=(), words_only=True)
    (made,) = pages(sheet, Issue("any engine", "-", day), paper_named(paper), printer)
    return made


def check_page_pdf(paper: str, printer: Printer, day: str) -> bytes:
    """The same as PDF."""
    return write_pdf([check_page(paper, printer, day)])
