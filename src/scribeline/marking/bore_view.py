"""The bore unrolled, full size: every port at its clock position and depth, seen from inside.

Depths are millimetres below the barrel's deck; clock positions are degrees, exhaust side = 0, clockwise seen from
above; widths are arcs along the bore wall. Angles and depths come in from outside: nothing is worked out here but
where things lie on the paper.
"""

import math
from dataclasses import dataclass, replace
from itertools import pairwise

from scribeline.marking.labels import Label, column, rail, wrapped
from scribeline.marking.port_outline import Placed, PortOutline
from scribeline.marking.ruler import ruler
from scribeline.marking.shapes import (
    NOTE_MM,
    Drawing,
    Fill,
    Group,
    Point,
    Role,
    Text,
    group,
    lettering,
    line,
    polygon,
)
from scribeline.units import Units, length, length_number, unit_of

_LABEL_MM = 22.0  # names are broken into lines of about this width
_BELOW_MM = 4.0  # wall shown below the lowest thing on it
_AWAY_MM = 3.0  # between the seam and the nearest port
_CLEAR_MM = 1.0  # the same where there is no more room
_RAIL_MM = 4.0  # from the deck up to where the leaders begin to slant


@dataclass(frozen=True)
class Bore:
    """What the view of the bore shows; depths below the deck.

    skirt_..._at_tdc_mm : bottom edge of the piston's skirt at top dead centre, where it was measured
    ring_pegs_deg : clock positions of the ring ends
    planned : target outlines, drawn over the ports of the same name as they are today; the others stay
    measured : outlines as measured, drawn thin under ports that are shown as if they were different
    piston : what covers the wall, as a part that a page moves with the crank; None leaves it out
    units : what whoever reads it measures lengths in
    """

    bore_mm: float
    ports: tuple[PortOutline, ...]
    crown_at_tdc_mm: float
    crown_at_bdc_mm: float
    skirt_exhaust_side_at_tdc_mm: float | None = None
    skirt_intake_side_at_tdc_mm: float | None = None
    ring_pegs_deg: tuple[float, ...] = ()
    planned: tuple[PortOutline, ...] = ()
    name: str = "bore"
    measured: tuple[PortOutline, ...] = ()
    piston: "Unrolled | None" = None
    units: Units = "mm"


@dataclass(frozen=True)
class Unrolled:
    """The piston unrolled, for a page: cut-outs of its skirt, open below.

    cut_outs : (clock position, half its angle round the bore, its top below the crown's edge), degrees and mm
    """

    cut_outs: tuple[tuple[float, float, float], ...] = ()


@dataclass(frozen=True)
class _Wall:
    """The unrolled wall on paper: the seam at x = 0 and at x = around, the deck at y = 0."""

    around_mm: float
    seam_deg: float
    bottom_mm: float

    def x(self, clock_deg: float) -> float:
        return (clock_deg - self.seam_deg) % 360.0 / 360.0 * self.around_mm

    def middles(self, placed: Placed) -> list[float]:
        """Where the middle of a port is drawn: at both ends where the seam cuts it."""
        low, high = placed.reach_mm
        x = self.x(placed.clock_deg)
        turns = (x - self.around_mm, x, x + self.around_mm)
        return [middle for middle in turns if middle + high > 0 and middle + low < self.around_mm]


def bore_view(bore: Bore) -> Drawing:
    """The unrolled bore at full size, deck at the top as datum.

    The seam is at the intake side, 180 degrees, or nearest to it where no port is cut.

    >>> bore_view(Bore(50.0, (), crown_at_tdc_mm=0.6, crown_at_bdc_mm=50.6)).scale
    1.0
    """
    wall = _Wall(math.pi * bore.bore_mm, seam(bore), math.ceil(_lowest(bore) + _BELOW_MM))
    placed = [one for port in bore.ports for one in port.placed()]
    around, bottom = wall.around_mm, wall.bottom_mm
    groups = [
        group("centre", line((0, 0), (0, -bottom)), line((around, 0), (around, -bottom)), about="seam"),
        group("scale", line((0, -bottom), (around, -bottom))),
    ]
    cut = {port.name for port in bore.planned}
    for one in placed:
        loops = [loop for x in wall.middles(one) for loop in one.loops(x)]
        role: Role = "today" if one.port.name in cut else one.port.kind
        fill: Fill = "accent wash" if one.port.kind == "exhaust" else "wash"
        groups.append(group(role, *loops, fill=fill, about=_in_words(one, bore.units)))
    for one in (image for port in bore.planned for image in port.placed()):
        loops = [loop for x in wall.middles(one) for loop in one.loops(x)]
        groups.append(group("target", *loops, about="planned: " + _in_words(one, bore.units)))
    for one in (image for port in bore.measured for image in port.placed()):
        loops = [loop for x in wall.middles(one) for loop in one.loops(x)]
        groups.append(group("today", *loops, about="as measured: " + _in_words(one, bore.units)))
    groups += _edges_of_the_piston(bore, wall)
    if bore.piston is not None:
        groups += _piston(bore, bore.piston, wall)
    groups.append(group("outline", line((0, 0), (around, 0)), about="deck, the datum of all depths"))
    groups.append(group("centre", *(line((x, -one.port.roof_depth_mm + 2), (x, -one.port.floor_depth_mm - 2))
                                    for one in placed for x in wall.middles(one))))  # fmt: skip
    pegs = [line((x, -bore.crown_at_tdc_mm), (x, -bore.crown_at_tdc_mm - 3)) for x in map(wall.x, bore.ring_pegs_deg)]
    groups.append(group("outline", *pegs, about="ring ends, at the crown's edge at top dead centre"))
    known = {port.name for port in bore.ports}
    fresh = [one for port in bore.planned if port.name not in known for one in port.placed()]
    labels = _labels(bore, [*placed, *fresh], wall)
    groups += rail(labels, base_mm=_RAIL_MM, left_mm=-14.0, right_mm=around + 26.0, side="above")
    groups += _depth_scale(wall, bore.units)
    groups += _clock_scale(wall, bore.units)
    return Drawing(bore.name, "The bore, unrolled", _description(bore, placed, wall), tuple(groups))


def wall_places(bore: Bore) -> list[tuple[Placed, float]]:
    """Every opening of every port with the x of its middle on the drawing; the deck is at y = 0, 1 mm to a mm."""
    wall = _Wall(math.pi * bore.bore_mm, seam(bore), 0.0)
    return [(one, x) for port in bore.ports for one in port.placed() for x in wall.middles(one)]


def seam(bore: Bore) -> float:
    """Clock position of the seam: 180 degrees, or the nearest to it that cuts no port; 180 where every one does.

    The seam keeps 3 mm away from ports. Gaps too narrow for that are used at their middle, if that leaves 1 mm.

    >>> intake = PortOutline("intake", "intake", 180.0, 50.0, 66.0, 26.0)
    >>> round(seam(Bore(50.0, (intake,), crown_at_tdc_mm=0.6, crown_at_bdc_mm=50.6)), 1)
    216.7
    """
    per_mm = 360.0 / (math.pi * bore.bore_mm)
    spans = []
    for one in (image for port in bore.ports + bore.planned for image in port.placed()):
        low, high = (one.clock_deg + reach * per_mm for reach in one.reach_mm)
        spans += [(low + turn, high + turn) for turn in (-720.0, -360.0, 0.0, 360.0, 720.0)]
    if not spans:
        return 180.0
    spans.sort()
    gaps, reached = [], spans[0][1]
    for low, high in spans:
        if low - reached >= 2 * _CLEAR_MM * per_mm:
            away = min(_AWAY_MM * per_mm, 0.5 * (low - reached))
            gaps.append(min(max(180.0, reached + away), low - away))
        reached = max(reached, high)
    gaps = [place for place in gaps if 0.0 <= place < 360.0]  # further out a neighbour may be missing
    # Of two mirror-image gaps the one past the intake side, which keeps the intake whole at the right-hand end.
    return min(gaps, key=lambda place: (round(abs(place - 180.0), 6), -place), default=180.0) % 360.0


def _lowest(bore: Bore) -> float:
    skirts = (bore.skirt_exhaust_side_at_tdc_mm, bore.skirt_intake_side_at_tdc_mm)
    floors = [
        max(port.floor_depth_mm, *(point[1] for point in port.outline_mm), 0.0) for port in bore.ports + bore.planned
    ]
    return max([bore.crown_at_bdc_mm, *floors, *(skirt for skirt in skirts if skirt is not None)])


def _edges_of_the_piston(bore: Bore, wall: _Wall) -> list[Group]:
    """Crown at both dead centres, skirt at top dead centre, each with its label at the right-hand end."""
    around = wall.around_mm
    crowns = [("at TDC", bore.crown_at_tdc_mm), ("at BDC", bore.crown_at_bdc_mm)]
    lines = [line((0, -depth), (around, -depth)) for _, depth in crowns]
    extensions = []
    labels = [Label((around, 0.0), ("deck 0",))]
    labels += [
        Label((around, -depth), ("crown's edge", f"{words} {length_number(depth, bore.units)}"))
        for words, depth in crowns
    ]
    for side, middle_deg, depth in (
        ("exhaust", 0.0, bore.skirt_exhaust_side_at_tdc_mm),
        ("intake", 180.0, bore.skirt_intake_side_at_tdc_mm),
    ):
        if depth is None:
            continue
        start, end = wall.x(middle_deg - 90.0), wall.x(middle_deg + 90.0)
        for low, high in [(start, end)] if start < end else [(0.0, end), (start, around)]:
            lines.append(line((low, -depth), (high, -depth)))
            if high < around and start < end:
                extensions.append(line((high, -depth), (around, -depth)))
        labels.append(Label((around, -depth), (f"skirt, {side} side,", f"at TDC {length_number(depth, bore.units)}")))
    return [
        group("edge", *lines, about="edges of the piston"),
        group("centre", *extensions),
        *column(labels, edge_mm=around + 1.0, side="right"),
    ]


def _piston(bore: Bore, piston: Unrolled, wall: _Wall) -> list[Group]:
    """The piston at top dead centre as it covers the wall, and its crown's edge; both go down with it."""
    crown, around = bore.crown_at_tdc_mm, wall.around_mm
    skirts = bore.skirt_exhaust_side_at_tdc_mm, bore.skirt_intake_side_at_tdc_mm

    def lower_edge(clock: float) -> float:
        skirt = skirts[0 if min(clock, 360.0 - clock) < 90.0 else 1]
        edge = wall.bottom_mm if skirt is None else skirt
        for middle, half, top in piston.cut_outs:
            if abs((clock - middle + 180.0) % 360.0 - 180.0) < half:
                edge = min(edge, crown + top)
        return edge

    corners = [90.0, 270.0, *(middle + way * half for middle, half, _ in piston.cut_outs for way in (-1.0, 1.0))]
    places = sorted({0.0, around, *(wall.x(clock) for clock in corners)})
    below: list[Point] = []
    for left, right in pairwise(places):
        edge = lower_edge((wall.seam_deg + 0.5 * (left + right) / around * 360.0) % 360.0)
        below += [(left, -edge), (right, -edge)]
    window = (0.0, -wall.bottom_mm, around, 1.0)
    body = group(
        "hatch", polygon((around, -crown), (0.0, -crown), *below), fill="paper", about="piston", moves="piston"
    )
    top = group("outline", line((0.0, -crown), (around, -crown)), about="crown's edge", moves="piston")
    return [replace(one, window=window) for one in (body, top)]


def _labels(bore: Bore, placed: list[Placed], wall: _Wall) -> list[Label]:
    labels: list[Label] = []
    target = {port.name: port for port in bore.planned}
    boxes = [(one, x + one.reach_mm[0], x + one.reach_mm[1]) for one in placed for x in wall.middles(one)]
    for one in placed:
        port = one.port
        x = _leader(one, wall.x(one.clock_deg), boxes, labels)
        new = target.get(port.name, port)
        roof = _from_to(port.roof_depth_mm, new.roof_depth_mm, bore.units)
        words = [*wrapped(port.name, _LABEL_MM), f"roof {roof}"]
        if port.opens_deg_atdc is not None:
            angle, _, rest = after_or_before(port.opens_deg_atdc).partition(" ")
            words += [f"opens {angle}"]
            if new.opens_deg_atdc is not None and abs(new.opens_deg_atdc - port.opens_deg_atdc) >= 0.05:
                words += [f"then {after_or_before(new.opens_deg_atdc).partition(' ')[0]}"]
            words += [rest] if "before" in rest else []
        inside = 0.25 * (port.floor_depth_mm - port.roof_depth_mm)
        labels.append(Label((x, -port.roof_depth_mm - inside), tuple(words)))
    for peg in bore.ring_pegs_deg:
        labels.append(Label((wall.x(peg), -bore.crown_at_tdc_mm - 3), ("ring end", f"at {peg:g}°")))
    return labels


def _from_to(was: float, now: float, units: Units) -> str:
    before, after = length_number(was, units, 1), length_number(now, units, 1)
    return before if abs(was - now) < 0.05 else f"{before} to {after}"


def _leader(one: Placed, middle: float, boxes: list[tuple[Placed, float, float]], taken: list[Label]) -> float:
    """Where the leader enters a port: where it crosses fewest others on its way from the deck, near the middle."""
    shares = (0.3, 0.5, 0.7) if one.port.bridge_mm else (0.0, 0.3, 0.5, 0.7)
    places = [middle + share * reach for share in shares for reach in one.reach_mm[::-1]]

    def trouble(x: float) -> tuple[int, float]:
        crossed = sum(
            left - 0.5 < x < right + 0.5 and other.port.roof_depth_mm < one.port.roof_depth_mm
            for other, left, right in boxes
            if other is not one
        )
        close = sum(abs(label.place[0] - x) < 1.0 for label in taken)
        return crossed + close, abs(x - middle)

    return min(places, key=trouble)


def _depth_scale(wall: _Wall, units: Units) -> list[Group]:
    ticks, words = [], []
    for tick in ruler(wall.bottom_mm, units):
        long = {"number": 4.0, "half": 2.8, "small": 1.6}[tick.kind]
        ticks.append(line((-long, -tick.at_mm), (0, -tick.at_mm)))
        if tick.words:
            words.append(Text((-5.0, -tick.at_mm - 0.5 * NOTE_MM), tick.words, NOTE_MM, "end"))
    unit = Text((-5.0, -wall.bottom_mm - 0.5 * NOTE_MM - 4.0), unit_of(units), NOTE_MM, "end")
    return [group("scale", *ticks, *words, unit, about=f"depth below the deck, {unit_of(units)}")]


def _clock_scale(wall: _Wall, units: Units) -> list[Group]:
    ticks, words = [], []
    y = -wall.bottom_mm
    for clock in range(0, 360, 5):
        x = wall.x(clock)
        long = 3.0 if clock % 30 == 0 else 2.0 if clock % 10 == 0 else 1.0
        ticks.append(line((x, y), (x, y - long)))
        if clock % 30 == 0:
            words.append(Text((x, y - 4.2 - NOTE_MM), f"{clock}°", NOTE_MM, "middle"))
    for clock, side in ((0, "exhaust side"), (180, "intake side")):
        words.append(Text((wall.x(clock), y - 5.6 - 2 * NOTE_MM), side, NOTE_MM, "middle"))
    seen = f"Seen from inside, full size (1:1), cut open at {wall.seam_deg:.0f}°."
    captions = (
        f"{seen} Depths in {unit_of(units, spelled=True)} below the deck.",
        "Opening angles are degrees after top dead centre (TDC) where nothing else is said.",
    )
    words += lettering((0.5 * wall.around_mm, y - 9.5 - 3 * NOTE_MM), captions, NOTE_MM, "middle")
    return [group("scale", *ticks, *words, about="clock positions, degrees")]


def after_or_before(deg_atdc: float) -> str:
    """A crank angle as it is spoken of: after or before top dead centre, whichever is nearer.

    >>> after_or_before(283.0)
    '77.0° before TDC'
    """
    return f"{deg_atdc:.1f}° after TDC" if deg_atdc <= 180.0 else f"{360.0 - deg_atdc:.1f}° before TDC"


def _in_words(one: Placed, units: Units) -> str:
    port = one.port
    words = f"{port.name}, at {one.clock_deg:.0f}°, roof {length(port.roof_depth_mm, units, 1)} and floor "
    words += f"{length(port.floor_depth_mm, units, 1)} below the deck"
    if port.opens_deg_atdc is not None:
        words += f", opens {after_or_before(port.opens_deg_atdc)}"
    return words


def _description(bore: Bore, placed: list[Placed], wall: _Wall) -> str:
    across, top, bottom = (length(mm, bore.units) for mm in (bore.bore_mm, bore.crown_at_tdc_mm, bore.crown_at_bdc_mm))
    sentences = [
        f"The wall of a {across} bore cut open at {wall.seam_deg:.0f}° and laid flat, seen from inside, full size. The "
        f"deck is at the top; the crown's edge stands {top} below it at top and {bottom} at bottom dead centre."
    ]
    sentences += [f"{_in_words(one, bore.units)}." for one in placed]
    return " ".join(sentences)
