"""A rubbing measured for an engine: which opening is which port, how it compares with the record, and the record with
the ports written in."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from dataclasses import replace as replaced
from math import hypot, pi
from pathlib import Path
from typing import get_args

import numpy as np

from scribeline.engine import EngineRecord, Measured, Port, judged_again, read_record_file
from scribeline.engine.ports import Role
from scribeline.errors import RubbingError
from scribeline.geometry.work_out import work_out
from scribeline.rubbing.edges import Opening
from scribeline.rubbing.outlines import Outline, describe
from scribeline.rubbing.photograph import open_photograph
from scribeline.rubbing.reading import Reading, Seen, read_rubbing
from scribeline.rubbing.scanning import ScanMarks
from scribeline.tasks.rubbing_sheet import marker_sheet

LAID_MM = 0.15
"""Judgement, for about 95 %: how well the deck line lay on the deck, and the middle mark on the exhaust's middle."""
NEAR_DEG = 12.0
"""Judgement: an opening is a port when its middle is this near to the port's clock position, or half inside it."""
MOST_BRIDGE_MM = 8.0


@dataclass(frozen=True)
class Found:
    """One port as the rubbing shows it, in mm on the bore's wall.

    number : by which the report and the overlay name it; name : of the port in the record, None for a stranger
    second : the opening is the mirror image of the record's port
    bridge_mm : width of the bar between two openings that are one port, or None
    doubt : why it must be looked at before it is believed; "" where nothing speaks against it
    """

    number: int
    seen: Seen
    outline: Outline
    clock_deg: float
    name: str | None
    second: bool = False
    bridge_mm: float | None = None
    doubt: str = ""

    @property
    def height_plus_minus_mm(self) -> float:
        """Of a height below the deck, for about 95 %."""
        return hypot(self.seen.edge_plus_minus_mm, LAID_MM)

    @property
    def width_plus_minus_mm(self) -> float:
        """Of the width, whose two edges are measured alike and do not depend on how the paper was laid."""
        return hypot(self.seen.edge_plus_minus_mm, self.seen.edge_plus_minus_mm)


@dataclass(frozen=True)
class Rubbing:
    """A photograph measured for one engine."""

    photograph: str
    record: EngineRecord
    reading: Reading
    found: tuple[Found, ...]


def measure_rubbing(
    photograph: Path,
    engine: Path,
    *,
    paper_mm: float = 0.1,
    printed: tuple[float, float] = (1.0, 1.0),
    scan: ScanMarks | None = None,
) -> Rubbing:
    """Measure the ports on a photograph or scan; arguments as `rubbing.reading.read_rubbing`.

    Raises RubbingError where the picture does not allow it, RecordError where the record is refused.
    """
    record = read_record_file(engine)
    sheet = marker_sheet(work_out(record, draws=0), paper_mm)
    bore_mm = record.cylinder.bore_mm.value
    reading = read_rubbing(
        open_photograph(photograph), sheet, bore_mm=bore_mm, paper_mm=paper_mm, printed=printed, scan=scan
    )
    return Rubbing(photograph.name, record, reading, tuple(named(record, reading.seen)))


def named(record: EngineRecord, seen: Sequence[Seen]) -> list[Found]:
    """Openings with the ports they are, by their clock positions; two with a bar between them become one."""
    around = pi * record.cylinder.bore_mm.value
    found: list[Found] = []
    left = list(seen)
    while left:
        one = left.pop(0)
        outline, bridge, doubt = one.outline, None, one.doubt
        partner = next((other for other in left if _one_port(record, one.outline, other.outline)), None)
        if partner is not None:
            left.remove(partner)
            bridge = partner.outline.left_mm - one.outline.right_mm
            outline = _joined(one, partner)
            doubt = doubt or partner.doubt
        clock = (0.5 * (outline.left_mm + outline.right_mm)) / around * 360.0
        name, second = _port_at(record, clock, outline.width_mm / around * 180.0)
        found.append(Found(len(found) + 1, one, outline, clock % 360.0, name, second, bridge, doubt))
    return [_alone(one, found) for one in found]


def _alone(one: Found, found: Sequence[Found]) -> Found:
    """In doubt where another opening would be the same port."""
    rivals = [
        two.number for two in found if two is not one and one.name and (two.name, two.second) == (one.name, one.second)
    ]
    return replaced(one, doubt=f"opening {rivals[0]} would be the same port") if rivals and not one.doubt else one


def _one_port(record: EngineRecord, first: Outline, second: Outline) -> bool:
    """Whether two openings are one port with a bar down its middle: close together, and so the record says."""
    gap = second.left_mm - first.right_mm
    if not 0.0 < gap <= MOST_BRIDGE_MM or abs(first.floor_mm - second.floor_mm) > 2.0:
        return False
    middle = 0.5 * (first.right_mm + second.left_mm) / (pi * record.cylinder.bore_mm.value) * 360.0
    bridged = [port for port in record.ports if port.bridge_mm is not None and port.bridge_mm.value > 0.0]
    return any(abs(_turn(middle - clock)) < NEAR_DEG / 2 for port in bridged for clock in port.clocks_deg)


def _joined(first: Seen, second: Seen) -> Outline:
    """Both openings described as one, the bar's edges left out."""
    bar = 0.5 * (first.outline.right_mm + second.outline.left_mm)
    reach = 0.5 * (second.outline.left_mm - first.outline.right_mm)
    points = np.vstack([first.opening.edge_mm, second.opening.edge_mm])
    corner = 0.25 * min(first.outline.width_mm, second.outline.width_mm)
    outer = points[np.abs(points[:, 0] - bar) > reach + corner]
    middle = outer.mean(axis=0)
    around = np.argsort(np.arctan2(*(outer - middle).T[::-1]))
    noise = max(first.opening.noise_mm, second.opening.noise_mm)
    return describe(Opening(outer[around], noise, max(first.opening.blur_mm, second.opening.blur_mm)))


def _port_at(record: EngineRecord, clock_deg: float, half_deg: float) -> tuple[str | None, bool]:
    near = [
        (abs(_turn(clock_deg - clock)), port.name, i == 1)
        for port in record.ports
        for i, clock in enumerate(port.clocks_deg)
    ]
    if not near:
        return None, False
    away, name, second = min(near)
    return (name, second) if away <= max(NEAR_DEG, 0.5 * half_deg) else (None, False)


def _turn(deg: float) -> float:
    return (deg + 180.0) % 360.0 - 180.0


# --- into the record --------------------------------------------------------------------------------------------------


_PLAIN = (
    "roof_from_deck_mm", "floor_from_deck_mm", "width_arc_mm", "roof_corner_radius_mm", "floor_corner_radius_mm",
)  # fmt: skip


@dataclass(frozen=True)
class Kept:
    """A value of the record that was measured otherwise and stays: what it is and what the rubbing says."""

    place: str
    recorded: Measured
    rubbed: Measured


def with_ports(
    rubbing: Rubbing,
    names: Mapping[int, tuple[str, str]] | None = None,
    *,
    replace: bool = False,
    accept: Collection[int] = (),
) -> tuple[EngineRecord, tuple[Kept, ...]]:
    """The record with the rubbing's ports, and the values that were left because another instrument gave them.

    names : for openings that are no port of the record, by number: the new port's name and role
    replace : write over values measured otherwise too
    accept : openings in doubt that somebody has looked at; the others in doubt are not written
    A pair of mirror images is written as one port, the mean of both. Raises RubbingError for a number that is not
    there or a role that does not exist, RecordError where the record with these ports would be of no engine.
    """
    names = dict(names or {})
    numbers = {one.number for one in rubbing.found}
    for number in (*names, *accept):
        if number not in numbers:
            raise RubbingError(
                f"opening {number}\n    accepted: {min(numbers)} to {max(numbers)}\n    what to do: see the overlay"
            )
    doubtful = {one.number: one.doubt for one in rubbing.found if one.doubt and one.number not in accept}
    for number, (_, role) in names.items():
        if number in doubtful:
            raise RubbingError(
                f"opening {number}: {doubtful[number]}\n    accepted: one that nothing speaks against\n    what to do: "
                f"rub it again; if the overlay shows that the metal is so, add --accept {number}"
            )
        if role not in get_args(Role):
            raise RubbingError(
                f"opening {number} as {role}\n    accepted: {', '.join(get_args(Role))}\n    what to do: choose one"
            )
    ports, kept = list(rubbing.record.ports), []
    for i, port in enumerate(ports):
        mine = [one for one in rubbing.found if one.name == port.name and one.number not in {*names, *doubtful}]
        if mine:
            ports[i], left = written(port, mine, replace)
            kept += left
    for number, (name, role) in sorted(names.items()):
        one = next(one for one in rubbing.found if one.number == number)
        new = Port(name=name, role=role, clock_deg=_rubbed(one.clock_deg, 1.0))  # type: ignore[arg-type]
        ports.append(written(new, [one], True)[0])
    return judged_again(rubbing.record.model_copy(update={"ports": tuple(ports)})), tuple(kept)


def written(port: Port, found: list[Found], replace: bool) -> tuple[Port, list[Kept]]:
    """A port with what its one or two openings say; what another instrument gave stays, unless `replace`."""
    plain = all(one.outline.kind == "rounded rectangle" for one in found) and not port.outline_mm
    changed: dict[str, object] = {}
    kept: list[Kept] = []
    for field, value in (_plain(found) if plain else {}).items():
        now: Measured | None = getattr(port, field)
        spec = port.spec(field)
        assert spec is not None
        by_rubbing = now is None or (now.instrument or spec.instrument) == "rubbing"
        if by_rubbing or replace:
            changed[field] = value
        elif now is not None:
            kept.append(Kept(f"ports.{port.name}.{field}", now, value))
    if not plain:
        first = min(found, key=lambda one: one.second)
        middle = 0.5 * (first.outline.left_mm + first.outline.right_mm)
        sign = -1.0 if first.second else 1.0
        points = [(round(sign * (x - middle), 2), round(y, 2)) for x, y in first.outline.points_mm.tolist()]
        changed["outline_mm"] = tuple(points if sign > 0.0 else points[::-1])
        changed["outline_plus_minus_mm"] = round(first.height_plus_minus_mm, 2)
        for field in _PLAIN:  # what an earlier rubbing said; other instruments' values stay and are compared
            now, spec = getattr(port, field), port.spec(field)
            if now is not None and spec is not None and (now.instrument or spec.instrument) == "rubbing":
                changed[field] = None
    return port.model_copy(update=changed), kept


def _plain(found: list[Found]) -> dict[str, Measured]:
    """What a rounded rectangle says of its port; the mean where both of a pair were found."""

    def mean(values: list[float | None], plus_minus: float) -> Measured:
        known = [value for value in values if value is not None]
        half = 0.5 * (max(known) - min(known))
        return _rubbed(sum(known) / len(known), hypot(plus_minus, half))

    height = max(one.height_plus_minus_mm for one in found)
    radius = max(one.seen.radius_plus_minus_mm for one in found)
    outlines = [one.outline for one in found]
    fields = {
        "roof_from_deck_mm": mean([one.roof_mm for one in outlines], height),
        "floor_from_deck_mm": mean([one.floor_mm for one in outlines], height),
        "width_arc_mm": mean([one.width_mm for one in outlines], max(one.width_plus_minus_mm for one in found)),
        "roof_corner_radius_mm": mean([one.roof_radius_mm for one in outlines], radius),
        "floor_corner_radius_mm": mean([one.floor_radius_mm for one in outlines], radius),
    }
    bars = [one.bridge_mm for one in found if one.bridge_mm is not None]
    if bars:
        fields["bridge_mm"] = mean(list(bars), max(one.width_plus_minus_mm for one in found))
    return fields


def _rubbed(value: float, plus_minus: float) -> Measured:
    return Measured(value=round(value, 2), plus_minus=round(plus_minus, 2), instrument="rubbing")
