"""The wrap for a rubbing: paper with markers above and below, rubbed in the bore and then photographed.

Where markers stand and what they look like comes in as plain numbers; a photograph is measured by them, so they are
filled to their exact size: each stretch of black is drawn smaller by half its pen.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from scribeline.marking.shapes import PENS, Drawing, Polyline, Text, group, line, rectangle
from scribeline.units import Units, length, length_number

_HALF_PEN = 0.5 * PENS["note"].width_mm


@dataclass(frozen=True)
class PrintedMarker:
    """A marker: its middle, across and down from the deck [mm], and its rows of black cells from the top."""

    across_mm: float
    down_mm: float
    black: tuple[tuple[bool, ...], ...]


@dataclass(frozen=True)
class RubbingWrap:
    """What the sheet shows; across from the middle of the exhaust, down from the deck.

    edge_mm : left, top, right and bottom of the paper to cut out; rub_to_mm : how far down pencil may go
    units : what lengths are written in
    """

    edge_mm: tuple[float, float, float, float]
    rub_to_mm: float
    markers: tuple[PrintedMarker, ...]
    marker_mm: float
    units: Units = "mm"


def rubbing_wrap_drawing(wrap: RubbingWrap) -> Drawing:
    """The sheet at full size: cut line, deck line, the exhaust's middle, markers, and how it is used."""
    left, top, right, bottom = wrap.edge_mm
    cells = [box for marker in wrap.markers for box in _black(marker, wrap.marker_mm)]
    groups = (
        group("cut", rectangle(left, -bottom, right, -top), about="outer edge of the wrap: cut here"),
        group("note", *cells, fill="ink", about="markers, by which a photograph is measured"),
        group("outline", line((left, 0.0), (right, 0.0)), about="deck line"),
        group("centre", line((0.0, 0.0), (0.0, -top)), line((0.0, -wrap.rub_to_mm), (0.0, -bottom))),
        group("note", *_words(wrap), about="how it is used"),
    )
    return Drawing(
        "rubbing-wrap",
        "Wrap for a rubbing",
        f"A strip {length_number(right - left, wrap.units, 1)} by {length(bottom - top, wrap.units, 1)} with "
        f"{len(wrap.markers)} markers in two rows. Its deck line is laid on the barrel's top face; between the deck "
        f"line and {length(wrap.rub_to_mm, wrap.units, None)} below it the ports are rubbed.",
        groups,
    )


def _black(marker: PrintedMarker, size_mm: float) -> Iterator[Polyline]:
    """The black cells of a marker, each row's neighbours as one rectangle."""
    cell = size_mm / len(marker.black)
    for i, row in enumerate(marker.black):
        upper = -(marker.down_mm - 0.5 * size_mm + i * cell)
        start = None
        for j, black in enumerate((*row, False)):
            if black and start is None:
                start = j
            elif not black and start is not None:
                x = [marker.across_mm - 0.5 * size_mm + k * cell for k in (start, j)]
                yield rectangle(x[0] + _HALF_PEN, upper - cell + _HALF_PEN, x[1] - _HALF_PEN, upper - _HALF_PEN)
                start = None


def _words(wrap: RubbingWrap) -> Iterator[Text]:
    left, _, right, bottom = wrap.edge_mm
    yield Text((right - 1.0, 0.7), "deck line", 1.5, "end")
    yield Text((left + 1.0, 0.7), "top", 1.5)
    to = length(wrap.rub_to_mm, wrap.units, None)
    steps = (
        "1  Cut out along the line. The printed side looks into the bore; the upper markers stand out at the top.",
        "2  Deck line level with the barrel's top face all round, middle mark at the middle of the exhaust. Tape it.",
        f"3  Soft pencil laid flat: grey all over, from the deck line to the lower markers ({to}),",
        "    round every port on all sides. Leave the markers clean. The paper must not creep.",
        "4  Lay it flat under glass and photograph all of it, sharp, without glare.",
        "5  If you did not rub in the bore but on plain paper: lay that over this sheet, deck edge on the deck line.",
    )
    for i, words in enumerate(steps):
        yield Text((left, -bottom - 6.0 - 4.2 * i), words, 2.0)
