"""A port of the record from the openings of a rubbing that somebody has looked at: what it changes, and the port."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import hypot
from typing import Any, get_args

from scribeline.engine import EngineRecord, Measured, Port, judged_again, record_of
from scribeline.engine.ports import Role
from scribeline.errors import RubbingError
from scribeline.tasks.in_hand import part_document
from scribeline.tasks.rubbing import LAID_MM, written
from scribeline.tasks.rubbing_review import OpeningShown, Shape, area_mm2, found_of, outline_of
from scribeline.units import Units, show, show_in

ROLES: tuple[str, ...] = get_args(Role)
NEAR_EXHAUST_DEG = 20.0
_ROWS = (
    ("roof", "roof_from_deck_mm", "below the deck"),
    ("floor", "floor_from_deck_mm", "below the deck"),
    ("width", "width_arc_mm", "along the bore"),
    ("radius above", "roof_corner_radius_mm", ""),
    ("radius below", "floor_corner_radius_mm", ""),
)


@dataclass(frozen=True)
class Change:
    """One number of a port: what the record has, what the rubbing says, what the record will have.

    agrees : whether the two are the same within their +/-; None where the record had none
    stays : the record's number was measured otherwise and is left as it is
    """

    what: str
    recorded: str
    rubbed: str
    agrees: bool | None
    stays: bool


@dataclass(frozen=True)
class Offer:
    """A port as it can be accepted. port : its name; openings : numbers of the openings it is made of

    place : where it goes in `record.ports`; document : what is written there; area : of one opening, in words
    lacking : an opening of a mirrored pair that was not found; doubts : why to look twice before accepting
    """

    port: str
    role: str
    new: bool
    openings: tuple[int, ...]
    place: int
    document: Mapping[str, Any]
    changes: tuple[Change, ...]
    area: str
    lacking: str
    doubts: tuple[str, ...]


def offers(
    record: Mapping[str, Any],
    openings: Sequence[OpeningShown],
    names: Mapping[int, tuple[str, str]] | None = None,
    over: Sequence[str] = (),
    units: Units = "mm",
) -> tuple[Offer, ...]:
    """Every port that can be written from these openings, in their order on the paper.

    record : as it stands in the document; units : what the changes are read in
    names : name and role of openings that are no port of the record; over : ports whose numbers from other instruments
    are written over. Raises RecordError for a record that is none and for a port that no engine can have, RubbingError
    for a role that does not exist and for a name that is taken.
    """
    engine = record_of(dict(record), "the record in hand")
    made: list[Offer] = []
    done: set[str] = set()
    known = {port.name for port in engine.ports}
    for one in openings:
        if one.port in known and one.port not in done:
            done.add(one.port)
            mine = [other for other in openings if other.port == one.port]
            made.append(_offer(engine, one.port, mine, one.port in over, units))
        elif one.port not in known and one.number in (names or {}):
            made.append(_new(engine, one, *(names or {})[one.number], units))
    return tuple(made)


def strangers(record: Mapping[str, Any], openings: Sequence[OpeningShown]) -> tuple[OpeningShown, ...]:
    """Openings that are no port of the record as it is now: they want a name."""
    known = {port.name for port in record_of(dict(record), "the record in hand").ports}
    return tuple(one for one in openings if one.port not in known)


def _offer(engine: EngineRecord, name: str, mine: list[OpeningShown], over: bool, units: Units) -> Offer:
    place = next(i for i, port in enumerate(engine.ports) if port.name == name)
    port = engine.ports[place]
    lacking = ""
    if port.mirrored and len({one.second for one in mine}) < 2:
        lacking = "Only one of the pair was found: its mirror image is taken to be the same. Rub that one too."
    return _made(engine, port, mine, place, over, lacking, units)


def _new(engine: EngineRecord, one: OpeningShown, name: str, role: str, units: Units) -> Offer:
    if role not in ROLES:
        raise RubbingError(f"role {role!r}\n    accepted: {', '.join(ROLES)}\n    what to do: choose one")
    name = name.strip()
    if not name or any(port.name == name for port in engine.ports):
        raise RubbingError(
            f"a port called {name!r}\n    accepted: a name that no port of the record has\n"
            "    what to do: choose another, such as the role and the side"
        )
    clock = Measured(value=round(one.clock_deg, 1), plus_minus=1.0, instrument="rubbing")
    port = Port(name=name, role=role, clock_deg=clock)  # type: ignore[arg-type]
    return _made(engine, port, [one], len(engine.ports), True, "", units)


def _made(
    engine: EngineRecord, port: Port, mine: list[OpeningShown], place: int, over: bool, lacking: str, units: Units
) -> Offer:
    new, kept = written(port, [found_of(one, engine) for one in mine], over)
    ports = (*engine.ports[:place], new, *engine.ports[place + 1 :])
    judged_again(engine.model_copy(update={"ports": ports}))
    document = part_document(new)
    stays = {one.place.rpartition(".")[2] for one in kept}
    areas = [area_mm2(one.shape) for one in mine]
    return Offer(
        port.name, port.role, place == len(engine.ports), tuple(one.number for one in mine), place, document,
        tuple(_changes(port, mine, stays, units)), " and ".join(show(round(area, 1), "mm2") for area in areas), lacking,
        tuple(f"Opening {one.number}: {one.doubt}." for one in mine if one.doubt and not one.by_hand),
    )  # fmt: skip


def _changes(port: Port, mine: list[OpeningShown], stays: set[str], units: Units) -> list[Change]:
    rows = []
    for what, field, words in _ROWS:
        seen = [value for one in mine if (value := _value(one.shape, what)) is not None]
        if not seen:
            continue
        value = sum(seen) / len(seen)
        plus_minus = hypot(max(_plus_minus(one, what) for one in mine), 0.5 * (max(seen) - min(seen)))
        recorded: Measured | None = getattr(port, field)
        spec = port.spec(field)
        before, agrees = "", None
        if recorded is not None and spec is not None:
            was = recorded.resolved_plus_minus(spec)
            before, agrees = (
                show_in(recorded.value, "mm", was, units),
                abs(value - recorded.value) <= hypot(was, plus_minus),
            )
        name = f"{what}, {words}" if words else what
        rows.append(Change(name, before, show_in(value, "mm", plus_minus, units), agrees, field in stays))
    return rows


def _value(shape: Shape, what: str) -> float | None:
    outline = outline_of(shape)
    return {
        "roof": outline.roof_mm,
        "floor": outline.floor_mm,
        "width": outline.width_mm,
        "radius above": outline.roof_radius_mm,
        "radius below": outline.floor_radius_mm,
    }[what]


def _plus_minus(one: OpeningShown, what: str) -> float:
    if what.startswith("radius"):
        return one.radius_mm
    return hypot(one.edge_mm, LAID_MM if what in ("roof", "floor") else one.edge_mm)


def guess(one: OpeningShown, taken: Sequence[str]) -> tuple[str, str]:
    """Name and role to offer for an opening that is no port of the record: only the exhaust is certain by its place.

    >>> guess(OpeningShown(1, "", False, 359.0, Shape("points"), 0.1, 0.1, None, ""), ())
    ('exhaust', 'exhaust')
    """
    away = abs((one.clock_deg + 180.0) % 360.0 - 180.0)
    if away <= NEAR_EXHAUST_DEG and "exhaust" not in taken:
        return "exhaust", "exhaust"
    side = "right" if one.clock_deg < 180.0 else "left"
    name, number = f"transfer {side}", 1
    while (words := name if number == 1 else f"{name} {number}") in taken:
        number += 1
    return words, "transfer"
