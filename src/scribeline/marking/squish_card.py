"""The squish card: where the solder goes, drawn on a full-size disc of the bore, and boxes for what it says."""

from dataclasses import dataclass

from scribeline.marking.shapes import (
    Circle,
    Drawing,
    Group,
    Polyline,
    Shape,
    Text,
    group,
    lettering,
    line,
    polar,
    polygon,
    rectangle,
)
from scribeline.units import Units, length, length_number

CLOCKS_DEG = (0.0, 90.0, 180.0, 270.0)
"""Along and across the gudgeon pin, whose axis runs from 90 to 270: opposite readings cancel the piston's rock."""
SOLDER_LONG_MM = 14.0
_ROW_MM = 8.0


@dataclass(frozen=True)
class SquishCard:
    """What the card shows.

    gap_mm, target_mm : as measured, and as it shall become; None where not known
    least_mm, most_mm : the range of practice the card is held against, with its source in `source`
    readings : (clock position, gap) as measured last
    units : what it is read and written in
    """

    bore_mm: float
    band_inner_mm: float | None
    solder_mm: float
    gap_mm: float | None = None
    target_mm: float | None = None
    least_mm: float | None = None
    most_mm: float | None = None
    source: str = ""
    readings: tuple[tuple[float, float], ...] = ()
    name: str = "squish-card"
    units: Units = "mm"


def squish_card(card: SquishCard) -> Drawing:
    """The card at full size.

    >>> squish_card(SquishCard(50.0, 34.0, 2.0)).title
    'Squish check'
    """
    r = 0.5 * card.bore_mm
    groups: list[Group] = [group("cut", Circle((0, 0), r), about="the bore: a disc to lay on the crown")]
    if card.band_inner_mm is not None:
        groups.append(group("edge", Circle((0, 0), 0.5 * card.band_inner_mm), about="inner edge of the squish band"))
    groups.append(group("centre", line((-r - 4, 0), (r + 4, 0)), line((0, -r - 4), (0, r + 4))))
    groups.append(group("mark", *_solder(card, r), fill="wash", about="solder"))
    groups.append(group("note", *_names(r)))
    groups += _table(card, r + 18.0, r + 4.0)
    groups.append(group("note", *lettering((-r - 4.0, -r - 18.0), _how(card), 1.9)))
    return Drawing(card.name, "Squish check", _description(card), tuple(groups))


def _solder(card: SquishCard, r: float) -> list[Polyline]:
    half = 0.5 * card.solder_mm
    pieces = []
    for clock in CLOCKS_DEG:
        at = 90.0 - clock
        inner, outer = r - SOLDER_LONG_MM, r
        side = [polar((0, 0), half, at + 90.0), polar((0, 0), half, at - 90.0)]
        ends = [polar((0, 0), inner, at), polar((0, 0), outer, at)]
        corners = [
            (ends[i][0] + s[0], ends[i][1] + s[1]) for i, s in ((0, side[0]), (1, side[0]), (1, side[1]), (0, side[1]))
        ]
        pieces.append(polygon(*corners))
    return pieces


def _names(r: float) -> list[Text]:
    return [
        Text((0, r + 6.0), "0° exhaust side", 2.2, "middle", bold=True),
        Text((0, -r - 8.0), "180° intake side", 2.2, "middle", bold=True),
        Text((r - SOLDER_LONG_MM - 2.0, 1.0), "gudgeon pin", 1.7, "end"),
        Text((-r - 5.0, -0.9), "270°", 1.8, "end"),
        Text((r + 5.0, -0.9), "90°", 1.8),
    ]


def _table(card: SquishCard, left: float, top: float) -> list[Group]:
    heads, widths = ("place", "last", "now 1", "now 2", "now 3"), (14.0, 14.0, 17.0, 17.0, 17.0)
    last = {clock % 360.0: gap for clock, gap in card.readings}
    rows = [
        (f"{clock:g}°", length_number(last[clock], card.units) if clock in last else "") for clock in CLOCKS_DEG
    ] + [("mean", "")]
    if last:
        rows[-1] = ("mean", length_number(sum(last.values()) / len(last), card.units))
    high = _ROW_MM * (len(rows) + 1)
    edges = [left + sum(widths[:i]) for i in range(len(widths) + 1)]
    lines: list[Shape] = [rectangle(left, top - high, edges[-1], top)]
    lines += [line((left, top - i * _ROW_MM), (edges[-1], top - i * _ROW_MM)) for i in range(1, len(rows) + 1)]
    lines += [line((x, top), (x, top - high)) for x in edges[1:-1]]
    words = [
        Text((0.5 * (edges[i] + edges[i + 1]), top - 0.65 * _ROW_MM), head, 2.0, "middle", bold=True)
        for i, head in enumerate(heads)
    ]
    for number, (place, value) in enumerate(rows, start=1):
        y = top - (number + 0.65) * _ROW_MM
        words += [
            Text((0.5 * (edges[i] + edges[i + 1]), y), one, 2.2, "middle") for i, one in enumerate((place, value))
        ]
    facts = []
    if card.gap_mm is not None:
        facts.append(f"gap as it is {length(card.gap_mm, card.units)}")
    if card.target_mm is not None:
        facts.append(f"gap after the plan {length(card.target_mm, card.units)}")
    if card.least_mm is not None and card.most_mm is not None:
        least, most = length_number(card.least_mm, card.units, None), length(card.most_mm, card.units, None)
        facts.append(f"practice: {least} to {most}")
        facts.append(card.source)
    return [
        group("frame", *lines, about="a table to write readings into"),
        group("note", *words),
        group("note", *lettering((left, top - high - 6.0), facts, 2.0)),
    ]


def _how(card: SquishCard) -> list[str]:
    thick, long = length(card.solder_mm, card.units, None), length(SOLDER_LONG_MM, card.units, None)
    return [
        f"1  Four pieces of solder, {thick} thick and {long} long, where they are drawn, ends against the bore wall,",
        "    each held with a dab of grease. Plug lead off and secured.",
        "2  Head on with its gasket, nuts tight in the usual order. Turn the crank by hand over top dead centre, once.",
        "3  Head off. Measure the thinnest flat of each piece, at its outer end, and write it down. Twice more.",
        "4  A difference from side to side is a tilted head or barrel: find it before you cut anything.",
        "5  The smallest of all readings counts for safety, the mean of opposite ones for the gap.",
    ]


def _description(card: SquishCard) -> str:
    across = length(card.bore_mm, card.units)
    return (
        f"A disc of the {across} bore with four pieces of solder at 0, 90, 180 and 270 degrees, and a table to write "
        "the readings into."
    )
