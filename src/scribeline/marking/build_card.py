"""The build card: one picture of an engine before and after, for those who show their work to others.

Drawn in units of which 10 are a dot: 192 x 108 for a wide picture, 108 x 108 for a square one. It is no template and
says so: nothing on it is full size.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scribeline.marking.bore_view import Bore, seam
from scribeline.marking.dial_view import Window
from scribeline.marking.drafting import fitted
from scribeline.marking.moving import moved
from scribeline.marking.port_outline import PortKind
from scribeline.marking.shapes import (
    Circle,
    Drawing,
    Fill,
    Group,
    Role,
    Text,
    group,
    line,
    polar,
    rectangle,
    ring_sector,
)

DOTS_PER_UNIT = 10
WIDE, SQUARE = (192.0, 108.0), (108.0, 108.0)
_EDGE = 7.0
_FILLS: dict[PortKind, Fill] = {"exhaust": "accent wash", "transfer": "wash", "intake": "paper"}


@dataclass(frozen=True)
class Row:
    """One number before and after, as they are shown; `after` is "" where there is no after."""

    name: str
    before: str
    after: str = ""


@dataclass(frozen=True)
class BuildCard:
    """What the picture shows.

    heads : what the two columns are called, such as ("as it was", "planned")
    bore : ports before, and `planned` after; windows likewise
    foot : where the numbers come from
    """

    engine: str
    subtitle: str
    heads: tuple[str, str]
    rows: tuple[Row, ...]
    bore: Bore | None
    windows: tuple[Window, ...]
    planned: tuple[Window, ...]
    foot: str
    square: bool = False
    name: str = "build-card"

    @property
    def size(self) -> tuple[float, float]:
        return SQUARE if self.square else WIDE


def build_card(card: BuildCard) -> Drawing:
    """The picture's drawing, inside (0, 0) and `card.size`.

    >>> build_card(BuildCard("Engine", "", ("before", "after"), (), None, (), (), "")).title
    'Engine: before and after'
    """
    wide, high = card.size
    column = wide - 2 * _EDGE if card.square else 80.0
    groups = [*_heading(card, column, high), *_table(card, column, high - (25.0 if card.square else 29.0))]
    if card.square:
        groups += _strip(card, _EDGE, 11.5, wide - 2 * _EDGE, 26.0)
    else:
        left = _EDGE + column + 9.0
        groups += _strip(card, left, 60.0, wide - left - _EDGE, 38.0)
        groups += _dial(card, (left + 0.5 * (wide - left - _EDGE), 32.5), 20.5)
    foot = fitted(Text((_EDGE, 4.2), f"{card.foot} Not to scale: no template.", 1.5), wide - 2 * _EDGE)
    groups.append(group("note", foot))
    return Drawing(card.name, f"{card.engine}: before and after", _description(card), tuple(groups))


def _heading(card: BuildCard, column: float, high: float) -> list[Group]:
    title = fitted(Text((_EDGE, high - 13.0), card.engine, 6.0, bold=True), column)
    words = [title]
    if card.subtitle:
        words.append(fitted(Text((_EDGE, high - 19.0), card.subtitle, 2.3), column))
    return [group("note", *words), group("target", line((_EDGE, high - 21.5), (_EDGE + column, high - 21.5)))]


def _table(card: BuildCard, column: float, top: float) -> list[Group]:
    """Names on the left, the two numbers ranged right; the second bold."""
    if not card.rows:
        return []
    low = 40.0 if card.square else 11.0
    step = min(9.0, (top - low) / len(card.rows))
    letter = min(3.0, 0.42 * step)
    right = (_EDGE + 0.72 * column, _EDGE + column)
    heads = [Text((x, top), head, 1.9, "end") for x, head in zip(right, card.heads, strict=True)]
    words, rules = [*heads], []
    for number, row in enumerate(card.rows, start=1):
        y = top - number * step + 0.25 * step
        words += [
            fitted(Text((_EDGE, y), row.name, letter), 0.44 * column),
            Text((right[0], y), row.before, letter, "end"),
            Text((right[1], y), row.after, letter, "end", bold=True),
        ]
        rules.append(line((_EDGE, y - 0.3 * step), (_EDGE + column, y - 0.3 * step)))
    return [group("hatch", *rules), group("note", *words)]


def _strip(card: BuildCard, left: float, bottom: float, wide: float, high: float) -> list[Group]:
    """The bore unrolled: before dashed, after full."""
    bore = card.bore
    if bore is None:
        return []
    around = math.pi * bore.bore_mm
    start = seam(bore)
    ports = [one for port in bore.ports for one in port.placed()]
    after = [one for port in bore.planned for one in port.placed()]
    depth = max([bore.crown_at_bdc_mm, *(one.port.floor_depth_mm for one in (*ports, *after))]) + 3.0
    scale = min(wide / around, high / depth)
    today: Role = "today" if after else "outline"
    groups = [group("edge", rectangle(0, -depth, around, 0)), group("outline", line((0, 0), (around, 0)))]

    def x(clock: float) -> float:
        return (clock - start) % 360.0 / 360.0 * around

    same = {port.name for port in bore.planned if port in bore.ports}
    for one in (one for one in after if one.port.name not in same):
        groups.append(group("target", *one.loops(x(one.clock_deg)), fill=_FILLS[one.port.kind], about=one.port.name))
    for one in ports:
        fill = None if after and one.port.name not in same else _FILLS[one.port.kind]
        groups.append(group(today, *one.loops(x(one.clock_deg)), fill=fill, about=one.port.name))
    shift = left + 0.5 * (wide - scale * around), bottom + 0.5 * (high + scale * depth)
    return list(moved(groups, shift, scale=scale))


def _dial(card: BuildCard, middle: tuple[float, float], radius: float) -> list[Group]:
    """One turn of the crank, top dead centre up, turning clockwise: after filled, before as a thin dashed arc."""
    if not card.windows:
        return []
    shown = card.planned or card.windows
    pitch = min(5.0, (radius - 6.0) / len(shown))
    before = {one.name: one for one in card.windows}
    ticks = [
        line(polar(middle, radius, deg), polar(middle, radius + (1.6 if deg % 30 == 0 else 0.9), deg))
        for deg in range(0, 360, 10)
    ]
    groups = [group("scale", Circle(middle, radius), *ticks)]
    for i, window in enumerate(shown):
        outer, inner = radius - 0.8 - i * pitch, radius - 0.8 - (i + 0.82) * pitch
        ends = 90.0 - window.opens_deg_atdc, 90.0 - window.opens_deg_atdc - window.duration_deg
        band = ring_sector(middle, inner, outer, *ends)
        groups.append(group(window.kind, band, fill=_FILLS[window.kind], about=window.name))
        was = before.get(window.name)
        if card.planned and was is not None:
            old = [90.0 - deg for deg in (was.opens_deg_atdc, was.closes_deg_atdc)]
            groups.append(group("today", *(line(polar(middle, inner, at), polar(middle, outer, at)) for at in old)))
        flat = 270.0 if (180.0 - window.opens_deg_atdc) % 360.0 < window.duration_deg else 90.0
        x, y = polar(middle, 0.5 * (inner + outer), flat)
        groups.append(group("note", Text((x, y - 0.85), f"{window.duration_deg:.0f}°", 1.7, "middle", bold=True)))
        left, level = middle[0] - radius - 26.0, middle[1] + 6.0 - 6.0 * i
        groups.append(group(window.kind, rectangle(left, level, left + 5.0, level + 3.0), fill=_FILLS[window.kind]))
        groups.append(group("note", Text((left + 7.0, level + 0.6), window.name, 1.9)))
    names = [Text((middle[0], middle[1] + radius + 2.4), "TDC", 1.6, "middle"),
             Text((middle[0], middle[1] - radius - 4.0), "BDC", 1.6, "middle")]  # fmt: skip
    return [*groups, group("note", *names)]


def _description(card: BuildCard) -> str:
    heads = card.heads
    rows: Sequence[str] = [
        f"{row.name}: {heads[0]} {row.before}" + (f", {heads[1]} {row.after}" if row.after else "") for row in card.rows
    ]
    return ". ".join([card.engine, *rows]) + "."
