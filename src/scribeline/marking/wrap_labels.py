"""Where the words about a port go on a wrap: above its roof, inside it, or below its floor, wherever there is room."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import product

from scribeline.marking.drafting import Box, bounds, text_box
from scribeline.marking.labels import wrapped
from scribeline.marking.port_outline import Placed, PortOutline
from scribeline.marking.shapes import Group, Polyline, Text, group, line

_LETTERS_MM = (1.8, 1.5, 1.25)
_STEP = 1.72  # from row to row, in heights of the capitals
_AWAY_MM = (3.2, 7.0, 11.0, 15.0, 19.0)
_ASIDE_MM = (-9.0, -6.0, -3.0, 0.0, 3.0, 6.0, 9.0)
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

    @cached_property
    def box(self) -> Box:
        """Round everything of it."""
        return bounds([group("today", *self.today, *self.target)])


@dataclass(frozen=True)
class _Place:
    """Where the words of a port could stand, row by row; `left_out` is how much of what is said of it is left out."""

    rows: tuple[tuple[str, bool], ...]
    box: Box
    inside: bool
    left_out: int
    letter_mm: float

    def texts(self) -> list[Text]:
        middle, top, step = 0.5 * (self.box.left + self.box.right), self.box.top, _STEP * self.letter_mm
        return [
            Text((middle, top - step * (i + 1) + 0.45 * self.letter_mm), row, self.letter_mm, "middle", bold=bold)
            for i, (row, bold) in enumerate(self.rows)
        ]


def port_labels(
    ports: list[Port], band: Box, blocked: list[Box], windows: bool, value: Callable[[float], str]
) -> list[Group]:
    """The words of every port, in letters small enough for all of them to find room.

    band : where words may stand; blocked : where they better do not; value : writes a depth as the datum counts it
    """
    for letter in _LETTERS_MM:
        groups, crowded = _laid_out(ports, band, blocked, windows, value, letter)
        if not crowded:
            break
    return groups


def _laid_out(
    ports: list[Port],
    band: Box,
    blocked: list[Box],
    windows: bool,
    value: Callable[[float], str],
    letter_mm: float,
) -> tuple[list[Group], bool]:
    """The words of every port in letters of one size, and whether some found no room."""
    taken = [_grown(one.box, 1.2) for one in ports]
    groups, crowded = [], False
    for one in sorted(ports, key=lambda port: -port.box.top):
        own = _grown(one.box, 1.2)

        def trouble(place: _Place, one: Port = one, own: Box = own) -> float:
            box = place.box
            others = [other for other in taken if not (place.inside and other == own)]
            found = 1000.0 * sum(box.overlaps(other) for other in others) + 2000.0 * (not _within(box, band))
            found += 200.0 * sum(box.overlaps(other) for other in blocked) + 500.0 * (place.inside and windows)
            # As wide as the port, no taller than need be and close to it, so that its neighbours find room as well.
            found += 3.0 * max(0.0, box.width - one.box.width - 4.0) + box.height + 40.0 * place.left_out
            away_y = abs(box.bottom + box.top - one.box.bottom - one.box.top)
            return found + away_y / 8.0 + abs(box.left + box.right - 2.0 * one.x)

        best = min(_places(one, band, value, (0.0,), letter_mm), key=trouble)
        if trouble(best) >= 1000.0:
            best = min(_places(one, band, value, _ASIDE_MM, letter_mm), key=trouble)
        crowded = crowded or trouble(best) >= 1000.0
        taken.append(best.box)
        groups.append(group("note", *best.texts(), about=f"{one.placed.port.name} at {one.placed.clock_deg:.0f}°"))
        groups += _leader(one, best.box)
    return groups, crowded


def _leader(one: Port, words: Box) -> list[Group]:
    """A line from words that stand further off than usual to the middle of their port."""
    x = min(max(one.x, words.left), words.right)
    if words.bottom - one.box.top > _AWAY_MM[0] + 0.1:
        return [group("note", line((x, words.bottom), (one.x, one.box.top)))]
    if one.box.bottom - words.top > _AWAY_MM[0] + 0.1:
        return [group("note", line((x, words.top), (one.x, one.box.bottom)))]
    return []


def _places(
    one: Port, band: Box, value: Callable[[float], str], aside_mm: tuple[float, ...], letter_mm: float
) -> "Iterator[_Place]":
    """Inside the port where it fits, close to it, then further and further away; in rows of several widths."""
    facts, box = _facts(one, value), one.box
    for said, width in product((facts, facts[:3], facts[:2]), _WIDTHS_MM):
        rows = tuple((row, bold) for words, bold in said for row in wrapped(words, width, letter_mm))
        high = _STEP * letter_mm * len(rows)
        half = 0.5 * max(text_box(Text((0, 0), row, letter_mm, bold=bold)).width for row, bold in rows)
        left_out = len(facts) - len(said)
        fits = 2 * half <= box.width - 2.0 and high <= box.height - 0.4 and not one.placed.port.bridge_mm
        lows = [(0.5 * (box.bottom + box.top - high), True)] if fits else []
        lows += [(low, False) for up in _AWAY_MM for low in (box.top + up, box.bottom - up - high)]
        for (low, inside), aside in product(lows, aside_mm):
            x = min(max(one.x + aside, band.left + half + 1.0), band.right - half - 1.0)
            yield _Place(rows, Box(x - half, low, x + half, low + high), inside and x == one.x, left_out, letter_mm)


def _facts(one: Port, value: Callable[[float], str]) -> list[tuple[str, bool]]:
    """What is said of a port, the most needed first, and whether in bold."""
    port, target = one.placed.port, one.target_port or one.placed.port
    facts = [
        (port.name if one.today else f"{port.name} (new)", True),
        (f"{one.placed.clock_deg:.0f}°", False),
        (_pair("roof", value(port.roof_depth_mm), value(target.roof_depth_mm)), False),
    ]
    if abs(target.floor_depth_mm - port.floor_depth_mm) > 1e-6:
        facts.append((_pair("floor", value(port.floor_depth_mm), value(target.floor_depth_mm)), False))
    if port.opens_deg_atdc is not None and target.opens_deg_atdc is not None:
        was, becomes = (f"{deg:.1f}°" for deg in (port.opens_deg_atdc, target.opens_deg_atdc))
        facts.append((_pair("opens", was, becomes), False))
    return facts


def _pair(what: str, was: str, becomes: str) -> str:
    return f"{what} {was}" if was == becomes else f"{what} {was} to {becomes}"


def _grown(box: Box, by: float) -> Box:
    return Box(box.left - by, box.bottom - by, box.right + by, box.top + by)


def _within(box: Box, band: Box) -> bool:
    return box.left >= band.left and box.right <= band.right and box.bottom >= band.bottom and box.top <= band.top
