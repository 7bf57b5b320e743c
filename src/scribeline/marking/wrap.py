"""The wrap: the bore unrolled as a template to cut out, lay in the bore, and scratch the ports' new edges along.

It is drawn for the sheet's own thickness: paper of thickness t in a bore B bends about its middle, so a full turn of it
is pi (B - t) long, and everything across is drawn smaller by (B - t)/B. Round a sleeve of diameter D it is pi (D + t).
Depths are not changed by bending. From the deck it hangs by its upper edge; from the crown it stands on the piston at
bottom dead centre.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from scribeline.errors import SheetError
from scribeline.marking.bore_view import Bore, seam
from scribeline.marking.drafting import Box, bounds, text_box
from scribeline.marking.moving import moved, stretched
from scribeline.marking.port_outline import Placed, PortOutline
from scribeline.marking.ruler import ruler
from scribeline.marking.shapes import (
    LINE_STEP,
    Drawing,
    Group,
    Hatch,
    Polyline,
    Role,
    Shape,
    Text,
    group,
    line,
    polygon,
    rectangle,
)
from scribeline.marking.stop_line import STOP_MM, stop_outline
from scribeline.marking.wrap_labels import Port, port_labels
from scribeline.units import Units, length, length_number, unit_of

PAPER_MM = 0.10
"""Thickness of copying paper of 80 g/m2; common practice, no source. Ten sheets in a caliper tell yours."""
_BELOW_MM = 14.0  # paper kept below the lowest thing on it, for the clock positions
_TICK_MM = 3.0

Datum = Literal["deck", "crown"]
_SPOKEN: dict[Units, str] = {"mm": "millimetres", "inch": "inches"}


@dataclass(frozen=True)
class Wrap:
    """What the wrap is made from.

    bore : ports as they are and `planned`, all depths from the deck that the sheet will lie against
    paper_mm : thickness of the sheet
    sleeve_mm : outside diameter of a loose sleeve that the wrap goes round; None for the bore
    mirrored : printed face against the wall, or round the outside: left for right
    datum : "deck", hanging from the barrel's top face, or "crown", standing on the piston at bottom dead centre
    windows : target outlines are to be cut out of the paper
    stops : ports at their stop lines, by name, where they are known; otherwise they keep `stop_mm` short of the target
    degrees : for the crown: (crank degrees after top dead centre, depth of the crown's edge below the deck then)
    """

    bore: Bore
    paper_mm: float = PAPER_MM
    sleeve_mm: float | None = None
    mirrored: bool = False
    datum: Datum = "deck"
    windows: bool = False
    stop_mm: float = STOP_MM
    stops: tuple[PortOutline, ...] = ()
    degrees: tuple[tuple[float, float], ...] = ()
    name: str = "bore-wrap"

    def __post_init__(self) -> None:
        if not 0.0 <= self.paper_mm <= 1.0:
            raise SheetError(
                f"a sheet {self.paper_mm:g} mm thick\n    accepted: 0 to 1 mm\n"
                "    what to do: measure ten sheets together with a caliper and divide by ten"
            )
        if self.sleeve_mm is not None and self.sleeve_mm <= self.bore.bore_mm:
            raise SheetError(
                f"a sleeve of {self.sleeve_mm:g} mm round a bore of {self.bore.bore_mm:g} mm\n"
                "    accepted: an outside diameter larger than the bore\n    what to do: measure across the sleeve"
            )

    @property
    def around_mm(self) -> float:
        """Length of the sheet for one full turn, at its own middle.

        >>> round(Wrap(Bore(47.0, (), 0.0, 42.0), paper_mm=0.1).around_mm, 4)
        147.3407
        """
        if self.sleeve_mm is not None:
            return math.pi * (self.sleeve_mm + self.paper_mm)
        return math.pi * (self.bore.bore_mm - self.paper_mm)

    @property
    def share(self) -> float:
        """How much smaller or larger than on the bore wall everything is across."""
        return self.around_mm / (math.pi * self.bore.bore_mm)


def wrap_drawing(wrap: Wrap) -> Drawing:
    """The wrap at full size, with its legend below it.

    SheetError for a sheet thicker than 1 mm and for a crown wrap that has no port above the crown.

    >>> wrap_drawing(Wrap(Bore(50.0, (), crown_at_tdc_mm=0.6, crown_at_bdc_mm=50.6))).scale
    1.0
    """
    laid = _Laid(wrap)
    words = [*_clock(laid), *port_labels(laid.shown, laid.band, laid.blocked, wrap.windows, laid.written)]
    taken = _taken(laid, words)
    groups = [
        *_ports(laid),
        *_centre_lines(laid),
        *_piston(laid),
        *_edges(laid),
        *words,
        *_depths(laid, taken),
        *_degrees(laid, taken),
    ]
    placed = moved(groups, (laid.around, 0.0), mirrored=True) if wrap.mirrored else tuple(groups)
    legend = _legend(laid, bounds(placed))
    title = {"deck": "Bore wrap from the deck", "crown": "Bore wrap from the crown at BDC"}[wrap.datum]
    if wrap.mirrored:
        title += ", mirrored"
    return Drawing(wrap.name, title, _description(laid), (*placed, *legend))


class _Laid:
    """The wrap on paper: the seam at x = 0 and x = around, the deck at y = 0."""

    def __init__(self, wrap: Wrap) -> None:
        self.wrap, self.around = wrap, wrap.around_mm
        self.seam_deg = seam(wrap.bore)
        self.crown = wrap.datum == "crown"
        bdc = wrap.bore.crown_at_bdc_mm
        self.shown = [one for one in self._shown() if not self.crown or one.placed.port.roof_depth_mm < bdc]
        if self.crown and not self.shown:
            raise SheetError(
                "no port stands above the crown at bottom dead centre\n    accepted: a record with such a port\n"
                "    what to do: use the wrap from the deck"
            )
        lowest = max([bdc, *(-box.bottom for one in self.shown for box in [one.box])])
        skirts = (wrap.bore.skirt_exhaust_side_at_tdc_mm, wrap.bore.skirt_intake_side_at_tdc_mm)
        self.bottom = bdc if self.crown else math.ceil(max([lowest, *(s for s in skirts if s)]) + _BELOW_MM)
        low, high = (0.0, -9.5) if self.crown else (9.5, -_TICK_MM - 1.0)
        self.band = Box(0.0, -self.bottom + low, self.around, high)
        self.blocked = (
            [] if self.crown else [Box(0.0, -bdc - 2.6, 26.0, -bdc), Box(0.0, -bdc - 0.4, self.around, -bdc + 0.4)]
        )

    def _shown(self) -> Iterator[Port]:
        """Every opening as it is, with its target where something of it is cut; then those that are new."""
        bore = self.wrap.bore
        targets = {one.name: one for one in bore.planned}
        stops = {one.name: one for one in self.wrap.stops}
        for port in bore.ports:
            target = targets.pop(port.name, port)
            stop = stops.get(port.name)
            if stop is None and target != port:
                stop = stop_outline(port, target, self.wrap.stop_mm)
            for one, then in zip(port.placed(), target.placed(), strict=True):
                there = None if target == port else then
                between = None if stop is None else replace(one, port=stop)
                for x in self._middles(one):
                    yield Port(one, there, self._loops(one, x), self._loops(there, x), self._loops(between, x), x)
        for new in targets.values():
            for one in new.placed():
                for x in self._middles(one):
                    yield Port(one, one, (), self._loops(one, x), (), x)

    def x(self, clock_deg: float) -> float:
        return (clock_deg - self.seam_deg) % 360.0 / 360.0 * self.around

    def value(self, depth_mm: float) -> float:
        """A depth as the wrap's datum counts it."""
        return self.wrap.bore.crown_at_bdc_mm - depth_mm if self.crown else depth_mm

    def written(self, depth_mm: float) -> str:
        """The same as it stands beside a port."""
        return length_number(self.value(depth_mm), self.wrap.bore.units)

    def _middles(self, placed: Placed) -> list[float]:
        low, high = (self.wrap.share * reach for reach in placed.reach_mm)
        x = self.x(placed.clock_deg)
        return [one for one in (x - self.around, x, x + self.around) if one + high > 0 and one + low < self.around]

    def _loops(self, placed: Placed | None, x: float) -> tuple[Polyline, ...]:
        if placed is None:
            return ()
        share = self.wrap.share
        if placed.port.outline_mm or abs(share - 1.0) > 0.004:
            return tuple(stretched(loop, share, x) for loop in placed.loops(x))
        port = placed.port
        narrower = replace(port, width_arc_mm=share * port.width_arc_mm, bridge_mm=share * port.bridge_mm)
        return tuple(replace(placed, port=narrower).loops(x))


def _ports(laid: _Laid) -> list[Group]:
    groups = []
    cut: Role = "cut" if laid.wrap.windows else "target"
    for one in laid.shown:
        name = one.placed.port.name
        if one.today:
            groups.append(group("today", *one.today, about=f"{name}, as it is"))
        if one.stop:
            groups.append(group("stop", *one.stop, about=f"{name}, stop line"))
        if one.target:
            groups.append(group(cut, *one.target, about=f"{name}, target"))
        if laid.wrap.windows:
            window = one.target or one.today
            groups.append(group("hatch", Hatch(window, 2.5), about=f"{name}, cut out of the paper"))
            if not one.target:
                groups.append(group("cut", *one.today))
    return groups


def _centre_lines(laid: _Laid) -> list[Group]:
    lines = []
    for one in laid.shown:
        for y, way in ((one.box.top, 1.0), (one.box.bottom, -1.0)):  # not through the words inside
            lines.append(line((one.x, y + way * 2.5), (one.x, y - way * 2.5)))
        lines.append(line((one.x, 0.0), (one.x, -_TICK_MM)))
    return [group("centre", *lines, about="middles of the ports")]


def _piston(laid: _Laid) -> list[Group]:
    """Crown at both dead centres across the wrap, ring ends, skirts; each named at the left edge."""
    bore, around = laid.wrap.bore, laid.around
    groups = []
    if not laid.crown:
        depth = bore.crown_at_bdc_mm
        words = Text((1.0, -depth - 2.2), f"crown at BDC {length_number(depth, bore.units)}", 1.5)
        groups += [
            group("edge", line((0, -depth), (around, -depth)), about="crown's edge at BDC"),
            group("note", words),
        ]
        marks = [_peg(laid.x(peg), -0.6) for peg in bore.ring_pegs_deg]
        if marks:
            groups.append(group("note", *marks, fill="ink", about="ring ends"))
    return groups


def _peg(x: float, y: float) -> Polyline:
    return polygon((x, y - _TICK_MM), (x - 0.9, y), (x + 0.9, y))


def _edges(laid: _Laid) -> list[Group]:
    """The line to cut the sheet out along, and which of its edges is the datum."""
    around, bottom = laid.around, laid.bottom
    datum = line((0, -bottom), (around, -bottom)) if laid.crown else line((0, 0), (around, 0))
    return [
        group("cut", rectangle(0, -bottom, around, 0), about="outer edge of the wrap: cut here"),
        group("outline", datum, about=f"datum: {'crown at bottom dead centre' if laid.crown else 'deck'}"),
    ]


def _clock(laid: _Laid) -> list[Group]:
    """Clock positions along the edge that is not the datum, and ticks along the datum to set the wrap by."""
    ticks, words = [], []
    foot, up = (0.0, -1.0) if laid.crown else (-laid.bottom, 1.0)
    for clock in range(0, 360, 5):
        x = laid.x(clock)
        long = _TICK_MM if clock % 30 == 0 else 2.0 if clock % 10 == 0 else 1.0
        ticks.append(line((x, foot), (x, foot + up * long)))
        if clock % 90 == 0:
            other = -laid.bottom if laid.crown else 0.0
            ticks.append(line((x, other), (x, other - (1.0 if not laid.crown else -1.0) * _TICK_MM)))
        if clock % 30 == 0 and 3.0 < x < laid.around - 3.0:
            base = foot + up * 3.8 - (1.6 if laid.crown else 0.0)
            words.append(Text((x, base), f"{clock}°", 1.6, "middle", bold=clock % 180 == 0))
            if clock % 180 == 0:
                side = "intake side" if clock else "exhaust side"
                words.append(Text((x, base + up * 2.8), side, 1.6, "middle", bold=True))
    return [group("scale", *ticks, about="clock positions, degrees"), group("scale", *words)]


def _depths(laid: _Laid, taken: list[Box]) -> list[Group]:
    """A rule along the seam: how far from the datum."""
    units = laid.wrap.bore.units
    marks = []
    for tick in ruler(laid.bottom, units):
        y = -laid.bottom + tick.at_mm if laid.crown else -tick.at_mm
        marks.append((y, {"number": 3.4, "half": 2.4, "small": 1.4}[tick.kind], tick.words))
    return [_rule(laid, 0.0, marks, 1.7, taken, f"{_SPOKEN[units]} from the datum")]


def _degrees(laid: _Laid, taken: list[Box]) -> list[Group]:
    """Crank degrees along the right-hand edge: where the crown's edge stands then."""
    if not laid.crown:
        return []
    marks = []
    free = -math.inf
    for deg, depth in sorted(laid.wrap.degrees, key=lambda one: -one[1]):
        y = -depth
        if not -laid.bottom - 1e-9 <= y <= 0.0:
            continue
        five = round(deg) % 5 == 0
        named = five and y >= free
        marks.append((y, 3.0 if five else 1.6, f"{deg:g}°" if named else ""))
        free = y + 2.2 if named else free
    return [_rule(laid, laid.around, marks, 1.5, taken, "crank degrees after top dead centre, on the way down")]


def _rule(
    laid: _Laid, x: float, marks: list[tuple[float, float, str]], letter_mm: float, taken: list[Box], about: str
) -> Group:
    """Ticks across one of the short edges: the outer ones with every number, to read before the wrap is cut out, the
    inner ones to stay on it, left out where a port or lettering is. marks : height, length, number"""
    out = -1.0 if x == 0.0 else 1.0
    shapes: list[Shape] = []
    for y, long, words in marks:
        on_edge = abs(y) < 1e-9 or abs(y + laid.bottom) < 1e-9
        low, high = sorted((x, x - out * (long + 0.5)))
        inner = 0.0 if on_edge or any(Box(low, y - 0.3, high, y + 0.3).overlaps(one) for one in taken) else long
        shapes.append(line((x - out * inner, y), (x + out * long, y)))
        if not words:
            continue
        base = y - 0.5 * letter_mm
        shapes.append(Text((x + out * (long + 0.6), base), words, letter_mm, "end" if out < 0.0 else "start"))
        again = Text((x - out * (long + 0.6), base), words, letter_mm, "start" if out < 0.0 else "end")
        box = text_box(again)
        room = Box(box.left - 0.4, box.bottom - 0.4, box.right + 0.4, box.top + 0.4)
        whole = -laid.bottom < room.bottom and room.top < 0.0
        if inner and whole and not any(room.overlaps(one) for one in taken):
            shapes.append(again)
    return group("scale", *shapes, about=about)


def _taken(laid: _Laid, groups: list[Group]) -> list[Box]:
    """Where ports, lettering and the lines across the wrap are."""
    words = [text_box(shape) for one in groups for shape in one.shapes if isinstance(shape, Text)]
    return [*(one.box for one in laid.shown), *laid.blocked, *words]


def _legend(laid: _Laid, box: Box) -> list[Group]:
    """What the lines mean, and what the wrap was drawn for."""
    wrap, bore = laid.wrap, laid.wrap.bore
    y = box.bottom - 6.0
    rows: list[tuple[Role, str]] = [("today", "as it is today")]
    if any(one.target for one in laid.shown):
        rows.append(("stop", "stop line: the coarse tool stops here; measure, then go on by hand"))
        rows.append(("cut" if wrap.windows else "target", "target: file up to the middle of this line"))
    rows.append(("centre", "middle of a port"))
    groups = []
    if bore.ring_pegs_deg and not laid.crown:
        groups += [group("note", _peg(90.0, y + 2.0), fill="ink"), group("note", Text((93.0, y), "ring end", 1.8))]
    for role, words in rows:
        groups.append(group(role, line((0, y + 0.8), (14, y + 0.8))))
        groups.append(group("note", Text((17, y), words, 1.8)))
        y -= 4.0
    around, paper = length(wrap.around_mm, bore.units), length_number(wrap.paper_mm, bore.units)
    if wrap.sleeve_mm is not None:
        sleeve = length_number(wrap.sleeve_mm, bore.units)
        made = f"Round a sleeve of {sleeve}, paper {paper}: π · ({sleeve} + {paper}) = {around}."
    else:
        across = length_number(bore.bore_mm, bore.units)
        made = f"In a bore of {across}, paper {paper}: π · ({across} − {paper}) = {around} from edge to edge."
    seen = "Mirrored: printed face against the wall." if wrap.mirrored else "Printed face inwards, seen from inside."
    if wrap.sleeve_mm is not None:
        seen = "Seen from outside."
    laid_words = {
        "deck": "Cut out along the thick border. Upper edge flush with the deck, 0° on the middle of the exhaust side.",
        "crown": "Cut out along the thick border. Piston at BDC, lower edge down on the crown's edge all round.",
    }[wrap.datum]
    said = (
        f"{made} {seen}",
        f"{laid_words}",
        f"The two short edges must just meet, at {laid.seam_deg:.0f}°. Gap or overlap: do not use it.",
        f"Clock positions: exhaust side 0°, clockwise seen from above. Lengths in {unit_of(bore.units, spelled=True)}.",
    )
    for row in said:
        groups.append(group("note", Text((0, y), row, 1.8)))
        y -= LINE_STEP * 1.8
    return groups


def _description(laid: _Laid) -> str:
    wrap, units = laid.wrap, laid.wrap.bore.units
    across, around, paper = (length(mm, units) for mm in (wrap.bore.bore_mm, wrap.around_mm, wrap.paper_mm))
    sentences = [
        f"A template of the wall of a {across} bore, unrolled, {around} round for a sheet {paper} thick, cut open at "
        f"{laid.seam_deg:.0f} degrees."
    ]
    for one in laid.shown:
        port, target = one.placed.port, one.target_port
        words = f"{port.name} at {one.placed.clock_deg:.0f} degrees, "
        words += f"roof {laid.written(port.roof_depth_mm)} {unit_of(units)}"
        if target is not None:
            words += f", to become {laid.written(target.roof_depth_mm)} {unit_of(units)}"
        sentences.append(words + ".")
    return " ".join(sentences)
