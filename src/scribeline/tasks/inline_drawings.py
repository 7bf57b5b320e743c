"""Drawings as they stand inside a page: SVG text that takes the page's colours."""

import re
from dataclasses import dataclass

from scribeline.marking.drafting import CUSTOMARY_SCALES
from scribeline.marking.shapes import Drawing
from scribeline.marking.svg import style, write_svg

_WIDTH = re.compile(r'width="([\d.]+)mm"')
NARROW_MM = 130.0  # a drawing no wider than this is legible on a telephone without sliding it


@dataclass(frozen=True)
class InlineDrawing:
    """svg : with its title and description inside, for those who do not see it. wide_mm : its own width."""

    name: str
    title: str
    svg: str
    wide_mm: float

    @property
    def slides(self) -> bool:
        """Whether a telephone should let it slide sideways instead of making its lettering too small."""
        return self.wide_mm > NARROW_MM


def inline_drawing(drawing: Drawing) -> InlineDrawing:
    """A drawing for a page that holds `drawing_style()` once. Errors as `marking.svg.write_svg`.

    A scale that is written in it does not hold on a screen, and is not shown there.
    """
    svg = write_svg(drawing, inline=True)
    for words in (*CUSTOMARY_SCALES.values(), "full size"):
        svg = svg.replace(words, "not to scale")
    stated = _WIDTH.search(svg)  # the writer has been through the whole drawing for it; once is enough
    assert stated is not None
    return InlineDrawing(drawing.name, drawing.title, svg, float(stated[1]))


def drawing_style() -> str:
    """The style rules that every inline drawing needs."""
    return style()
