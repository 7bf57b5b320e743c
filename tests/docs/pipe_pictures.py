"""The drawings of the pages about pipes, of the invented kart. After a change: python -m tests.docs.pipe_pictures"""

from dataclasses import replace

from scribeline.geometry.flat_pattern import Sheet as Metal
from scribeline.geometry.pipe_design import sections_of, tuned_length_of
from scribeline.geometry.pipe_pieces import cut_up
from scribeline.marking.drafting import Box
from scribeline.marking.pipe_assembly import assembly
from scribeline.marking.pipe_patterns import Stock, nest, nested, pattern_drawings
from scribeline.marking.shapes import Drawing
from scribeline.marking.svg import write_svg
from scribeline.tasks.pipe import Wanted, design_pipe
from scribeline.tasks.pipe_files import report_drawing
from tests.docs.pages import DOCS
from tests.examples import edited


def drawings() -> list[Drawing]:
    """A new pipe over the fitted one, the assembly, three flat patterns, a sheet of stock."""
    record, metal = edited(), Metal(1.0, 0.5)
    sections = sections_of(record)
    pieces = cut_up(sections, metal)
    (placed,) = nest(pieces, Stock(1000.0, 500.0))
    pattern = pattern_drawings(pieces, metal, Box(0.0, 0.0, 171.0, 225.0))[0]
    return [
        replace(report_drawing(design_pipe(record, Wanted(9000.0, first_only=True))), name="pipe-over-fitted"),
        assembly(sections, pieces, metal, tuned_length_of(0.0, sections)),
        replace(pattern, name="pipe-patterns"),
        replace(nested(placed, Stock(1000.0, 500.0), len(pieces), 1, 1, 0.2), name="pipe-on-stock"),
    ]


if __name__ == "__main__":
    for one in drawings():
        (DOCS / "pictures" / f"{one.name}.svg").write_text(write_svg(one), encoding="utf-8")
