"""Where the words about a port go on a wrap: above its roof, inside it, or below its floor, wherever there is room."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import product

from scribeline.marking.drafting import Box, bounds, text_box
from scribeline.marking.labels import wrapped
from scribeline.marking.port_outline import Placed, PortOutline
from scribeline.marking.shapes import Group, Polyline, Text, group

_LETTER_MM = 1.8
_STEP_MM = 3.1
_AIR_MM = 1.0
_WIDTHS_MM = (30.0, 22.0, 16.0, 13.0, 10.0)


@dataclass(frozen=True)
class Port:
    """One opening on a wrap: as it is, its target and its stop line, with its middle at x."""

    placed: Placed
    target_placed: Placed | None
    today: tuple[Polyline, ...]
    target: tuple[Polyline, ...]
    stop: tuple[Polyline, ...]
    x: float

    @property
    def target_port(self) -> PortOutline | None:
        return None if self.target_placed is None else self.target_placed.port

    @property
    def box(self) -> Box:
        """Round everything of it."""
        return bounds([group("today", *self.today, *self.target)])


def port_labels(
    ports: list[Port], band: Box, blocked: list[Box], windows: bool, value: Callable[[float], float]
) -> list[Group]:
    """The words of every port.

    band : where words may stand; blocked : where they may not; value : turns a depth into what the datum counts
    """
    taken = [_grown(one.box, 1.2) for one in ports]
    groups = []
    for one in sorted(ports, key=lambda port: -port.box.top):
        best: tuple[float, list[Text], Box] | None = None
        for texts, box, inside, short in _candidates(one, band, value):
            own = _grown(one.box, 1.2)
            others = [other for other in taken if not (inside and other == own)]
            # As wide as the port and no taller than need be, so that its neighbours find room as well.
            trouble = 1000.0 * sum(box.overlaps(other) for other in others)
            trouble += 200.0 * sum(box.overlaps(other) for other in blocked)
            trouble += 3.0 * max(0.0, box.width - one.box.width - 4.0) + box.height
            trouble += abs(0.5 * (box.bottom + box.top) - 0.5 * (one.box.bottom + one.box.top)) / 100.0
            trouble += 60.0 * short + 2000.0 * (not _within(box, band)) + 500.0 * (inside and windows)
            if best is None or trouble < best[0]:
                best = (trouble, texts, box)
        assert best is not None
        taken.append(best[2])
        groups.append(group("note", *best[1], about=f"{one.placed.port.name} at {one.placed.clock_deg:.0f}°"))
    return groups


def _candidates(one: Port, band: Box, value: Callable[[float], float]) -> Iterator[tuple[list[Text], Box, bool, bool]]:
    port, target = one.placed.port, one.target_port
    facts = [
        (port.name, True),
        (f"{one.placed.clock_deg:.0f}°", False),
        (_pair("roof", port.roof_depth_mm, None if target is None else target.roof_depth_mm, value), False),
    ]
    if target is not None and abs(target.floor_depth_mm - port.floor_depth_mm) > 1e-6:
        facts.append((_pair("floor", port.floor_depth_mm, target.floor_depth_mm, value), False))
    if port.opens_deg_atdc is not None:
        opens = f"opens {port.opens_deg_atdc:.1f}°"
        then = None if target is None else target.opens_deg_atdc
        facts.append(
            (opens if then is None or abs(then - port.opens_deg_atdc) < 0.05 else f"{opens} to {then:.1f}°", False)
        )
    box = one.box
    for said, width in product((facts, facts[:3]), _WIDTHS_MM):
        rows = [(row, bold) for words, bold in said for row in wrapped(words, width, _LETTER_MM)]
        high = _STEP_MM * len(rows)
        widest = max(text_box(Text((0, 0), row, _LETTER_MM, bold=bold)).width for row, bold in rows)
        places = ((box.top + 3.2, False), (box.bottom - 3.2 - high, False), (0.5 * (box.bottom + box.top - high), True))
        for low, inside in places:
            if inside and (widest > box.width - 2.0 or high > box.height - 0.4):
                continue
            x = min(max(one.x, band.left + 0.5 * widest + 1.0), band.right - 0.5 * widest - 1.0)
            texts = [
                Text((x, low + high - _STEP_MM * (i + 1) + 0.8), row, _LETTER_MM, "middle", bold=bold)
                for i, (row, bold) in enumerate(rows)
            ]
            yield texts, Box(x - 0.5 * widest, low, x + 0.5 * widest, low + high), inside, said is not facts


def _pair(edge: str, before: float, after: float | None, value: Callable[[float], float]) -> str:
    words = f"{edge} {value(before):.2f}"
    return words if after is None or abs(after - before) < 1e-6 else f"{words} to {value(after):.2f}"


def _grown(box: Box, by: float) -> Box:
    return Box(box.left - by, box.bottom - by, box.right + by, box.top + by)


def _within(box: Box, band: Box) -> bool:
    return box.left >= band.left and box.right <= band.right and box.bottom >= band.bottom and box.top <= band.top
