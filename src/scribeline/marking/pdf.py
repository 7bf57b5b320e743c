"""Writes pages as PDF at their true size, for printers: lettering embedded, print scaling switched off.

Lines are drawn with the pens of `shapes`, on white, in black and one dark red that prints as a dark grey on a printer
without colour; what matters is told apart by dashes and thickness as well. The same pages always give the same bytes.
"""

import io
import math
from collections.abc import Iterable, Sequence
from functools import cache
from typing import Any

from scribeline.errors import SheetError
from scribeline.marking.drafting import CAPITALS_PER_EM, dimension_parts, edge_circle, hatch_lines
from scribeline.marking.page import Page
from scribeline.marking.png import font_file
from scribeline.marking.shapes import PENS, Circle, Group, Hatch, Point, Polyline, Shape, Text, polar
from scribeline.marking.svg import PRINTED
from scribeline.units import MM_PER_INCH

POINTS_PER_MM = 72.0 / float(MM_PER_INCH)  # a point is 1/72 in (iso-32000)
_PLAIN, _BOLD = "DejaVuSans", "DejaVuSans-Bold"
_STEP_DEG = 30.0  # a cubic curve for so much of a turn is off by 4e-7 of the radius


def write_pdf(pages: Sequence[Page], title: str = "") -> bytes:
    """Pages as one PDF file.

    title : of the document; the first page's where it is left out
    Raises SheetError for no pages at all, for one without its check bars and for a coordinate that is not a number.
    """
    from reportlab.pdfgen.canvas import Canvas

    if not pages:
        raise SheetError("there is no page to write: the record has nothing that could be drawn on this sheet")
    proved = [page.proved for page in pages]
    _load_faces()
    out = io.BytesIO()
    canvas = Canvas(out, invariant=1, pageCompression=1)
    canvas.setTitle(title or pages[0].sheet.drawing.title)
    canvas.setCreator("scribeline")
    canvas.setSubject("Print at 100 %, actual size, and measure the check bars.")
    canvas.setViewerPreference("PrintScaling", "None")
    for page, furniture in zip(pages, proved, strict=True):
        _page(canvas, page, furniture)
    canvas.save()
    return out.getvalue()


@cache
def _load_faces() -> None:
    """DejaVu Sans and its bold."""
    from reportlab.pdfbase.pdfmetrics import registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    for name in (_PLAIN, _BOLD):
        registerFont(TTFont(name, str(font_file(name))))


def _page(canvas: Any, page: Page, furniture: Iterable[Group]) -> None:
    paper = page.paper
    canvas.setPageSize((paper.width_mm * POINTS_PER_MM, paper.height_mm * POINTS_PER_MM))
    canvas.scale(POINTS_PER_MM, POINTS_PER_MM)
    # The printer's correction leaves the middle of the paper where it is.
    across, up = page.printer.factors
    canvas.translate(0.5 * paper.width_mm * (1.0 - across), 0.5 * paper.height_mm * (1.0 - up))
    canvas.scale(across, up)
    canvas.setLineCap(1)
    canvas.setLineJoin(1)
    canvas.saveState()
    window = canvas.beginPath()
    window.rect(page.window.left, page.window.bottom, page.window.width, page.window.height)
    canvas.clipPath(window, stroke=0, fill=0)
    canvas.translate(*page.shift)
    for one in page.sheet.drawing.groups:
        _group(canvas, one)
    canvas.restoreState()
    for one in furniture:
        _group(canvas, one)
    canvas.showPage()


def _group(canvas: Any, one: Group) -> None:
    pen = PENS[one.role]
    canvas.setStrokeColor(PRINTED[pen.ink])
    canvas.setLineWidth(pen.width_mm)
    canvas.setDash(list(pen.dashes_mm))
    for shape in one.shapes:
        canvas.setFillColor(PRINTED[one.fill or pen.ink])
        _shape(canvas, shape, one.fill is not None, PRINTED[pen.ink])


def _shape(canvas: Any, shape: Shape, filled: bool, ink: str) -> None:
    if isinstance(shape, Polyline):
        _draw(canvas, [shape], filled)
    elif isinstance(shape, Circle):
        canvas.circle(*map(_finite, (*shape.centre, shape.radius_mm)), stroke=1, fill=int(filled))
    elif isinstance(shape, Text):
        _text(canvas, shape, ink)
    elif isinstance(shape, Hatch):
        _draw(canvas, [Polyline(ends) for ends in hatch_lines(shape)], filled=False)
    else:
        parts = dimension_parts(shape)
        _draw(canvas, parts.lines, filled=False)
        canvas.setFillColor(ink)
        _draw(canvas, parts.arrows, filled=True, stroked=False)
        for words in parts.words:
            _text(canvas, words, ink)


def _draw(canvas: Any, polylines: Iterable[Polyline], filled: bool, stroked: bool = True) -> None:
    path = canvas.beginPath()
    for polyline in polylines:
        path.moveTo(*map(_finite, polyline.points[0]))
        for start, end, bulged in polyline.edges():
            if bulged:
                for curve in _curves(start, end, bulged):
                    path.curveTo(*map(_finite, curve))
            else:
                path.lineTo(*map(_finite, end))
        if polyline.closed:
            path.close()
    canvas.drawPath(path, stroke=int(stroked), fill=int(filled))


def _curves(start: Point, end: Point, bulged: float) -> Iterable[tuple[float, ...]]:
    """A round edge as cubic curves of at most 30 degrees: handles of 4/3 tan(a/4) radii along the tangents."""
    centre, radius, from_deg, turn_deg = edge_circle(start, end, bulged)
    count = max(1, math.ceil(abs(turn_deg) / _STEP_DEG))
    step = turn_deg / count
    handle = 4.0 / 3.0 * math.tan(math.radians(step) / 4.0) * radius
    for i in range(count):
        before, after = from_deg + i * step, from_deg + (i + 1) * step
        a = start if i == 0 else polar(centre, radius, before)
        b = end if i == count - 1 else polar(centre, radius, after)
        c1, c2 = polar(a, handle, before + 90.0), polar(b, -handle, after + 90.0)
        yield *c1, *c2, *b


def _text(canvas: Any, text: Text, ink: str) -> None:
    canvas.setFillColor(ink)
    canvas.setFont(_BOLD if text.bold else _PLAIN, text.height_mm / CAPITALS_PER_EM)
    write = {"start": canvas.drawString, "middle": canvas.drawCentredString, "end": canvas.drawRightString}[text.anchor]
    if text.turned_deg:
        canvas.saveState()
        canvas.translate(*map(_finite, text.at))
        canvas.rotate(text.turned_deg)
        write(0.0, 0.0, text.words)
        canvas.restoreState()
    else:
        write(*map(_finite, text.at), text.words)


def _finite(value: float) -> float:
    if not math.isfinite(value):
        raise SheetError("a drawing holds a coordinate that is not a number: a value it was made from is missing")
    return value
