"""A degree wheel to cut out and bolt to the crank, with this engine's timing printed on it.

The wheel turns with the crank under a fixed pointer. Seen from the wheel's side, a crank that turns clockwise brings
the marks that lie further anticlockwise to the pointer; so the degrees run anticlockwise on its wheel, and the other
way round on that of a crank that turns anticlockwise.
"""

import math
from dataclasses import dataclass
from typing import Literal

from scribeline.errors import SheetError
from scribeline.marking.dial_view import Window
from scribeline.marking.drafting import text_width_mm
from scribeline.marking.port_outline import PortKind
from scribeline.marking.shapes import Circle, Drawing, Fill, Group, Text, group, line, polar, ring_sector
from scribeline.units import Units, length

HOLES_MM = (6.0, 8.0, 10.0, 12.0, 14.0)
"""Bolts that hold flywheels and rotors of small engines; common practice, no source."""
SMALLEST_MM, LARGEST_MM = 90.0, 400.0
_NUMBER_MM = 2.0
_BAND_MM = 7.0
_FILLS: dict[PortKind, Fill] = {"exhaust": "accent wash", "transfer": "wash", "intake": "paper"}


@dataclass(frozen=True)
class Wheel:
    """A wheel and what is printed on it.

    hole_mm : the bolt it goes on; smaller bolts' circles are printed inside
    windows, planned : what is open from where to where, as it is and as it shall become
    turns : which way the crank turns, seen from the wheel
    units : what its diameters are written in
    """

    diameter_mm: float
    hole_mm: float = 10.0
    windows: tuple[Window, ...] = ()
    planned: tuple[Window, ...] = ()
    ignition_deg_btdc: float | None = None
    turns: Literal["clockwise", "anticlockwise"] = "clockwise"
    engine: str = ""
    name: str = "degree-wheel"
    units: Units = "mm"

    def __post_init__(self) -> None:
        if not SMALLEST_MM <= self.diameter_mm <= LARGEST_MM:
            raise SheetError(
                f"a degree wheel of {self.diameter_mm:g} mm\n    accepted: {SMALLEST_MM:g} to {LARGEST_MM:g} mm\n"
                "    what to do: choose a diameter that clears the crankcase"
            )
        if not 0.0 < self.hole_mm <= 0.3 * self.diameter_mm:
            raise SheetError(
                f"a hole of {self.hole_mm:g} mm in a wheel of {self.diameter_mm:g} mm\n"
                f"    accepted: more than 0, at most {0.3 * self.diameter_mm:g} mm\n"
                "    what to do: give the diameter of the bolt the wheel goes on"
            )

    @property
    def radius_mm(self) -> float:
        return 0.5 * self.diameter_mm

    def paper_deg(self, deg_atdc: float) -> float:
        """A crank angle as an angle on the paper, top dead centre up.

        >>> Wheel(120.0).paper_deg(90.0), Wheel(120.0, turns="anticlockwise").paper_deg(90.0)
        (180.0, 0.0)
        """
        return 90.0 + (deg_atdc if self.turns == "clockwise" else -deg_atdc)


def wheel_drawing(wheel: Wheel) -> Drawing:
    """The wheel at full size. SheetError for a diameter or a hole out of range.

    >>> wheel_drawing(Wheel(120.0)).title
    'Degree wheel, 120 mm'
    """
    groups = [
        group("cut", Circle((0, 0), wheel.radius_mm), about="rim: cut here"),
        *_scale(wheel),
        *_bands(wheel),
        *_ignition(wheel),
        *_middle(wheel),
    ]
    across = length(wheel.diameter_mm, wheel.units, None)
    words = [f"A degree wheel {across} across for a crank that turns {wheel.turns}."]
    words += [
        f"{one.name} opens {one.opens_deg_atdc:.1f} and closes {one.closes_deg_atdc:.1f} degrees after top dead centre."
        for one in wheel.windows
    ]
    return Drawing(wheel.name, f"Degree wheel, {across}", " ".join(words), tuple(groups))


def _scale(wheel: Wheel) -> list[Group]:
    r = wheel.radius_mm
    ticks, words = [], []
    for deg in range(360):
        long = 6.0 if deg % 10 == 0 else 4.2 if deg % 5 == 0 else 2.6
        at = wheel.paper_deg(deg)
        ticks.append(line(polar((0, 0), r, at), polar((0, 0), r - long, at)))
        if deg % 10 == 0:
            place = polar((0, 0), r - 7.0 - _NUMBER_MM, at)
            words.append(Text(place, str(deg), _NUMBER_MM, "middle", at - 90.0, bold=deg % 30 == 0))
    return [group("scale", *ticks, about="degrees after top dead centre"), group("scale", *words)]


def _bands(wheel: Wheel) -> list[Group]:
    """One ring to a window; targets are thick lines across it."""
    top = wheel.radius_mm - 11.5
    room = top - max(0.5 * wheel.hole_mm + 6.0, 0.28 * wheel.radius_mm)
    pitch = min(_BAND_MM, room / max(1, len(wheel.windows)))
    planned = {one.name: one for one in wheel.planned}
    groups = []
    for i, window in enumerate(wheel.windows):
        outer, inner = top - i * pitch, top - (i + 0.86) * pitch
        opens, closes = window.opens_deg_atdc, window.opens_deg_atdc + window.duration_deg
        ends = wheel.paper_deg(opens), wheel.paper_deg(closes)
        band = ring_sector((0, 0), inner, outer, *ends)
        groups.append(group(window.kind, band, fill=_FILLS[window.kind], about=f"{window.name}, as it is"))
        middle = 0.5 * (inner + outer)
        height = min(2.0, 0.4 * pitch)
        words = [
            _along(wheel, middle, 0.5 * (opens + closes), f"{window.name} {window.duration_deg:.1f}°", height, True)
        ]
        target = planned.get(window.name, window)
        lines = []
        for now, then, side in ((opens, target.opens_deg_atdc, -1.0), (closes, target.closes_deg_atdc, 1.0)):
            further = (then - now + 180.0) % 360.0 - 180.0
            written = f"{now % 360.0:.1f}°" if abs(further) < 0.05 else f"{now % 360.0:.1f}° to {then % 360.0:.1f}°"
            away = math.degrees((0.5 * text_width_mm(written, height) + 1.6) / middle) + max(0.0, side * further)
            words.append(_along(wheel, middle, now + side * away, written, height, False))
            if abs(further) >= 0.05:
                at = wheel.paper_deg(then)
                lines.append(line(polar((0, 0), inner - 0.6, at), polar((0, 0), outer + 0.6, at)))
        groups.append(group("note", *words))
        if lines:
            groups.append(group("target", *lines, about=f"{window.name}, target"))
    return groups


def _along(wheel: Wheel, radius: float, deg: float, words: str, height: float, bold: bool) -> Text:
    """Words along a ring, their middle at a crank angle, feet towards the wheel's middle."""
    at = wheel.paper_deg(deg)
    return Text(polar((0, 0), radius - 0.5 * height, at), words, height, "middle", at - 90.0, bold)


def _ignition(wheel: Wheel) -> list[Group]:
    if wheel.ignition_deg_btdc is None:
        return []
    at = wheel.paper_deg(-wheel.ignition_deg_btdc)
    r = wheel.radius_mm - 11.0
    tip, foot = polar((0, 0), r, at), polar((0, 0), r - 9.0, at)
    words = _along(wheel, r - 11.5, -wheel.ignition_deg_btdc, f"spark {wheel.ignition_deg_btdc:g}°", 1.8, False)
    return [group("measured", line(foot, tip), about="ignition"), group("note", words)]


def _middle(wheel: Wheel) -> list[Group]:
    """The hole, smaller bolts' circles, the axes and what the wheel is for."""
    hole, r = 0.5 * wheel.hole_mm, 0.5 * wheel.hole_mm + 4.0
    smaller = [Circle((0, 0), 0.5 * one) for one in HOLES_MM if one < wheel.hole_mm - 0.5]
    cross = [line((-r, 0), (r, 0)), line((0, -r), (0, r))]
    rim = wheel.radius_mm
    dead = [
        line(polar((0, 0), rim - 6.4, wheel.paper_deg(deg)), polar((0, 0), rim, wheel.paper_deg(deg)))
        for deg in (0.0, 180.0)
    ]
    bolt = length(wheel.hole_mm, wheel.units, None)
    words = [
        Text((0, 0.28 * rim - 1.8), "TDC", 2.4, "middle", bold=True),
        Text((0, -hole - 6.2), f"bolt {bolt}", 1.6, "middle"),
        Text((0, -hole - 9.2), f"turns {wheel.turns}", 1.6, "middle"),
    ]
    if wheel.engine:
        words.append(Text((0, -hole - 12.4), wheel.engine, 1.6, "middle", bold=True))
    return [
        group("cut", Circle((0, 0), hole), about=f"hole for a bolt of {bolt}"),
        group("mark", *smaller, about="smaller bolts"),
        group("centre", *cross),
        group("outline", *dead, about="dead centres"),
        group("note", *words),
    ]
