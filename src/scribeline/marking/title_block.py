"""What stands round the drawing on every page: frame, title block, check bars with their instruction, cautions.

+--+----------------------------+
|  |                            |      left strip: the two bars up
|up|          drawing           |      below: cautions across the whole page, then
+--+----------------------------+      the title block and, beside it, the two bars across
|  cautions                     |
+-------------+-----------------+
| title block | bars across     |
+-------------+-----------------+
"""

from scribeline.data.cautions import cautions_for
from scribeline.marking.check_bars import bars
from scribeline.marking.drafting import BOLD_WIDTH, Box, fitted, text_width_mm
from scribeline.marking.labels import wrapped
from scribeline.marking.paper import MARGIN_MM, Paper
from scribeline.marking.printer import LONG, SHORT, Printer
from scribeline.marking.shapes import Group, Shape, Text, group, lettering, line, rectangle
from scribeline.marking.sheet import Issue, Sheet

BARS_WIDE_MM = 15.0
"""Width of the strip with the bars that go up."""
_BLOCK_MM = 31.0
_BARS_ACROSS_MM = 109.0
_SMALL_MM = 1.6
_STEP_MM = 2.9
_VALUE_MM = 2.1
_CAPTION_MM = 1.3
_INSTRUCTION = (
    "Measure all four bars before you trust a line: from the middle of one end line to the",
    "middle of the other, 100.0 mm and 4.000 in, across and up. If one is off, print again at",
    "100 % (actual size), or have the sheet issued again with what the bars measured.",
)


def frame(paper: Paper) -> Box:
    """The border."""
    return Box(MARGIN_MM, MARGIN_MM, paper.width_mm - MARGIN_MM, paper.height_mm - MARGIN_MM)


def below_mm(sheet: Sheet, paper: Paper) -> float:
    """Height of what stands under the drawing, from the frame's lower edge."""
    return _BLOCK_MM + _strip_mm(sheet, paper)


def around(sheet: Sheet, issue: Issue, paper: Paper, printer: Printer, place: str) -> tuple[Group, ...]:
    """Everything round the drawing of one page; `place` says which page it is, such as "2 of 4, tile A2"."""
    box, upright = frame(paper), paper.width_mm <= paper.height_mm
    top_of_block, over_strip = box.bottom + _BLOCK_MM, box.bottom + below_mm(sheet, paper)
    split = box.right - _BARS_ACROSS_MM
    lines = [
        rectangle(box.left, box.bottom, box.right, box.top),
        line((box.left, over_strip), (box.right, over_strip)),
        line((box.left, top_of_block), (box.right, top_of_block)),
        line((split, box.bottom), (split, top_of_block)),
        line((box.left + BARS_WIDE_MM, over_strip), (box.left + BARS_WIDE_MM, box.top)),
    ]
    across = split + 0.5 * (_BARS_ACROSS_MM - 101.6)
    return (
        group("frame", *lines),
        *_cells(Box(box.left, box.bottom, split, top_of_block), sheet, issue, paper, printer, place),
        *bars((across, top_of_block - 5.0), up=False, edge=SHORT if upright else LONG),
        *bars((box.left + 4.5, over_strip + 4.0), up=True, edge=LONG if upright else SHORT),
        group("note", *_instruction(across, box.bottom)),
        group("note", *_cautions(sheet, paper, top_of_block)),
    )


def _cells(box: Box, sheet: Sheet, issue: Issue, paper: Paper, printer: Printer, place: str) -> list[Group]:
    """The title block: a title, then rows of cells with a caption and what it says."""
    record = issue.record + (" (invented)" if issue.invented else "")
    rows = (
        (("engine record", record, 1.0),),
        (("revision", issue.revision, 0.5), ("date", issue.date, 0.5)),
        (("datum", sheet.datum, 1.0),),
        (("scale", sheet.scale, 0.5), ("page", f"{place}, {paper.name}", 0.5)),
        (("printer correction", printer.words, 1.0),),
    )
    high = (box.height - 6.5) / len(rows)
    title = Text((box.left + 1.8, box.top - 4.9), sheet.drawing.title, 3.0, bold=True)
    shapes: list[Shape] = [fitted(title, box.width - 3.6)]
    lines = []
    for i, row in enumerate(rows):
        top, left = box.top - 6.5 - i * high, box.left
        lines.append(line((box.left, top), (box.right, top)))
        for caption, words, share in row:
            if left > box.left:
                lines.append(line((left, top), (left, top - high)))
            base = top - 0.5 * high - 0.5 * _VALUE_MM
            shapes.append(Text((left + 1.2, base + 0.3), caption, _CAPTION_MM))
            begin = left + 2.4 + text_width_mm(caption, _CAPTION_MM)
            value = Text((begin, base), words, _VALUE_MM, bold=caption in ("engine record", "scale"))
            shapes.append(fitted(value, left + share * box.width - begin - 0.8))
            left += share * box.width
    return [group("frame", *lines), group("note", *shapes)]


def _instruction(left: float, bottom: float) -> tuple[Text, ...]:
    return lettering((left, bottom + 2.0 + 2 * 1.75 * _SMALL_MM), _INSTRUCTION, _SMALL_MM)


def _caution_lines(sheet: Sheet, paper: Paper) -> list[tuple[str, bool]]:
    """Statements in bold, then the cautions, broken to the page's width."""
    width = frame(paper).width - 4.0
    said = [("! " + one, True) for one in sheet.statements]
    said += [("\N{BULLET} " + one.text, False) for one in cautions_for(*sheet.cautions)]
    return [
        (row, bold) for words, bold in said for row in wrapped(words, width / (BOLD_WIDTH if bold else 1.0), _SMALL_MM)
    ]


def _strip_mm(sheet: Sheet, paper: Paper) -> float:
    return _STEP_MM * len(_caution_lines(sheet, paper)) + 2.2


def _cautions(sheet: Sheet, paper: Paper, bottom: float) -> list[Text]:
    lines = _caution_lines(sheet, paper)
    first = bottom + 1.7 + _STEP_MM * (len(lines) - 1)
    return [
        Text((MARGIN_MM + 2.0, first - i * _STEP_MM), words, _SMALL_MM, bold=bold)
        for i, (words, bold) in enumerate(lines)
    ]
