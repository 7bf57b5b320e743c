"""What there is to measure on one engine, station by station, each field with all that a page says about it.

Built on what `scribeline new` knows: labels, conditions and kinds of answer (new_wording, new_fields, new_answers).
Paths are those of the work in hand, such as ``record.ports.0.roof_from_deck_mm``.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, Literal, get_args, get_origin

from scribeline.engine import INSTRUMENTS, EngineRecord, Part, Port, Spec
from scribeline.tasks import new_fields as fields
from scribeline.tasks import new_wording as wording
from scribeline.tasks.measuring_pictures import picture_of
from scribeline.tasks.measuring_stations import PORT_GROUPS, STATION_PLANS, StationPlan
from scribeline.tasks.new_questions import ordered_fields

RECORD = "record"

Kind = Literal["measured", "number", "count", "words", "choice", "yes or no", "several", "points"]

# The smallest step that is read off an instrument, by unit. All of it is judgement, no source: the last digit of a
# digital caliper or micrometer, half a division of a scale read by eye.
RESOLUTION: Mapping[str, Mapping[str, float]] = {
    "caliper": {"mm": 0.01},
    "caliper in the bore": {"mm": 0.05},
    "depth gauge": {"mm": 0.01},
    "micrometer": {"mm": 0.005},
    "bore gauge": {"mm": 0.005},
    "feeler gauge": {"mm": 0.01},
    "ruler": {"mm": 0.5},
    "tape": {"mm": 1.0},
    "solder and caliper": {"mm": 0.01},
    "degree wheel": {"deg": 0.5},
    "protractor": {"deg": 0.5},
    "judged by eye": {"mm": 0.5, "deg": 1.0, "cc": 5.0, "mm2": 10.0},
    "rubbing": {"mm": 0.1, "mm2": 1.0},
    "burette": {"cc": 0.1},
    "measuring jug": {"cc": 5.0},
    "timing light": {"deg": 0.5},
    "kitchen scales": {"g": 1.0},
    "bathroom scales": {"kg": 0.5},
    "counted": {"ratio": 0.1},
    "tachometer": {"rpm": 50.0},
    "maker's figure": {"mm": 0.01, "cc": 0.1, "deg": 0.5, "g": 1.0, "kg": 0.5, "rpm": 50.0, "ratio": 0.1},
    "estimate": {"mm": 0.5, "cc": 5.0, "ratio": 0.01, "m2": 0.01, "kg": 1.0, "deg": 1.0, "rpm": 100.0},
    "chosen": {"deg": 0.5, "rpm": 50.0, "ratio": 0.1, "mm": 0.01},
}


# What else one takes into the hand where another instrument is the usual one. Judgement.
_ALIKE: Mapping[str, tuple[str, ...]] = {
    "caliper": ("micrometer", "depth gauge", "ruler"),
    "caliper in the bore": ("depth gauge", "caliper", "rubbing"),
    "depth gauge": ("caliper", "feeler gauge", "ruler"),
    "bore gauge": ("caliper in the bore", "caliper", "micrometer"),
    "micrometer": ("caliper", "feeler gauge", "maker's figure"),
    "ruler": ("tape", "caliper", "estimate"),
    "tape": ("ruler", "maker's figure", "estimate"),
    "solder and caliper": ("feeler gauge", "micrometer", "caliper"),
    "rubbing": ("caliper in the bore", "caliper", "judged by eye"),
    "judged by eye": ("protractor", "degree wheel", "rubbing"),
    "protractor": ("judged by eye", "degree wheel", "maker's figure"),
    "degree wheel": ("protractor", "maker's figure", "estimate"),
}
_NO_INSTRUMENT = ("counted", "chosen", "maker's figure", "estimate", "judged by eye")


@dataclass(frozen=True)
class Instrument:
    """An instrument a field may be measured with: its usual +/-, and the smallest step that is read off it."""

    name: str
    plus_minus: float
    step: float


@dataclass(frozen=True)
class MeasuringField:
    """One thing to measure.

    path : its place in the work in hand; label, how : what it is, and one line how to get at it
    unit, accepted : of a number; "" and what may be answered for other kinds
    instruments : the usual one first; empty where nothing is measured
    options : of a choice, each with its words
    picture : the drawing that shows where it is, and which of its dimensions; see `measuring_pictures`
    seldom : one more way to measure what another field is for: a page may fold it away while it is empty
    """

    path: str
    label: str
    how: str
    kind: Kind
    unit: str
    accepted: str
    needed: bool
    instruments: tuple[Instrument, ...] = ()
    options: tuple[tuple[str, str], ...] = ()
    default: Any = None
    picture: tuple[str, str] = ("", "")
    seldom: bool = False

    @property
    def is_length(self) -> bool:
        """Whether it is shown in inches where the builder wants inches."""
        return self.unit == "mm"


@dataclass(frozen=True)
class Group:
    """Fields under one heading.

    list_path, position : where they belong to one element of a list, else "" and 0
    part : what of that element this heading is about, such as "roof"; "" for the first of its headings
    """

    title: str
    fields: tuple[MeasuringField, ...]
    list_path: str = ""
    position: int = 0
    part: str = ""


@dataclass(frozen=True)
class GrowingList:
    """A list to which elements can be added: sheets, ports, solder readings, sections of a pipe."""

    path: str
    label: str
    count: int


@dataclass(frozen=True)
class Station:
    """One station with what there is to measure at it on this engine."""

    plan: StationPlan
    groups: tuple[Group, ...]
    lists: tuple[GrowingList, ...]

    @property
    def key(self) -> str:
        return self.plan.key

    @property
    def title(self) -> str:
        return self.plan.title

    def fields(self) -> Iterator[MeasuringField]:
        """Every field of it."""
        for group in self.groups:
            yield from group.fields


def fields_of_measuring(record: Mapping[str, Any], station: str | None = None) -> tuple[Station, ...]:
    """The stations in the order of measuring, with the fields that make sense for what is in hand so far.

    record : as the TOML has it, finished or not; station : only this one
    """
    return tuple(_station(plan, record) for plan in STATION_PLANS if station in (None, plan.key))


def field_at(path: str) -> tuple[type[Part], str]:
    """The part of the record and the field in it that a path of the work in hand leads to; KeyError where none does.

    >>> field_at("record.ports.0.roof_from_deck_mm")[1]
    'roof_from_deck_mm'
    """
    model: Any = EngineRecord
    name = ""
    for key in path.removeprefix(f"{RECORD}.").split("."):
        if name and key.isdigit():
            continue
        if name:
            model, _ = fields.inside(model, name)
        if not fields.is_part(model) or key not in model.model_fields:
            raise KeyError(path)
        name = key
    return model, name


def instruments_for(spec: Spec) -> tuple[Instrument, ...]:
    """Every instrument that gives this unit: the usual one first, then what else one takes here; last what is none."""
    able = [Instrument(name, units[spec.unit], RESOLUTION[name][spec.unit])
            for name, units in INSTRUMENTS.items() if spec.unit in units]  # fmt: skip
    alike = (spec.instrument, *_ALIKE.get(spec.instrument, ()))

    def rank(one: Instrument) -> tuple[int, bool, float]:
        return alike.index(one.name) if one.name in alike else len(alike), one.name in _NO_INSTRUMENT, one.plus_minus

    return tuple(sorted(able, key=rank))


def _station(plan: StationPlan, record: Mapping[str, Any]) -> Station:
    groups: list[Group] = []
    lists: list[GrowingList] = []
    for title, places in plan.places:
        own: list[MeasuringField] = []
        for place in places:
            if place.endswith(".*") and fields.inside(*field_at(place[:-2]))[1]:
                groups += _elements(place[:-2], record)
                elements = _at(record, place[:-2])
                count = len(elements) if isinstance(elements, list) else 0
                lists.append(GrowingList(f"{RECORD}.{place[:-2]}", fields.label_of(*field_at(place[:-2])), count))
            elif place.endswith(".*"):
                own += _whole_part(place[:-2], record)
            else:
                own += _one(place, record)
        if own:
            groups.append(Group(title, tuple(own)))
    return Station(plan, tuple(groups), tuple(lists))


def _whole_part(place: str, record: Mapping[str, Any]) -> list[MeasuringField]:
    """Every field of a part that is there once, where the part itself makes sense."""
    model, name = field_at(place)
    around = _at(record, place.rpartition(".")[0]) if "." in place else record
    if not _is_sensible(model, name, around if isinstance(around, Mapping) else {}, record):
        return []
    part = _at(record, place)
    return _of_part(fields.inside(model, name)[0], place, part if isinstance(part, Mapping) else {}, record)


def _elements(place: str, record: Mapping[str, Any]) -> list[Group]:
    model, name = field_at(place)
    part, _ = fields.inside(model, name)
    found = []
    elements = _at(record, place)
    for position, given in enumerate(elements if isinstance(elements, list) else []):
        element = given if isinstance(given, Mapping) else {}
        title = element.get("name") or f"{fields.label_of(model, name)} {position + 1}"
        inner = _of_part(part, f"{place}.{position}", element, record)
        for words, names in PORT_GROUPS if part is Port else (("", ()),):
            own = [one for one in inner if not names or one.path.rpartition(".")[2] in names]
            own.sort(key=lambda one: names.index(one.path.rpartition(".")[2]) if names else 0)
            found.append(Group(f"{title}: {words}" if words else str(title), tuple(own), f"{RECORD}.{place}", position,
                               words))  # fmt: skip
    return [one for one in found if one.fields]


def _of_part(model: type[Part], place: str, part: Mapping[str, Any], record: Mapping[str, Any]) -> list[MeasuringField]:
    """Every field of a part that makes sense; parts inside it have places of their own in the stations' plan."""
    found = [
        _field(model, name, f"{place}.{name}")
        for name in ordered_fields(model)
        if not fields.is_part(fields.inside(model, name)[0]) and _is_sensible(model, name, part, record)
    ]
    return [replace(one, seldom=_is_seldom(one, part)) for one in found] if model is Port else found


def _is_seldom(field: MeasuringField, port: Mapping[str, Any]) -> bool:
    """Ways that most builders do not measure a port by: the wheel is read at the edge that opens it, if at all."""
    name = field.path.rpartition(".")[2]
    opened_at = "floor" if port.get("role") == "intake" else "roof"
    on_the_wheel = name.endswith("_deg_atdc") and not name.startswith(opened_at)
    return on_the_wheel or "_from_crown_" in name or name in ("outline_mm", "outline_plus_minus_mm", "width_arc_mm")


def _one(place: str, record: Mapping[str, Any]) -> list[MeasuringField]:
    model, name = field_at(place)
    part = _at(record, place.rpartition(".")[0]) if "." in place else record
    sensible = _is_sensible(model, name, part if isinstance(part, Mapping) else {}, record)
    return [_field(model, name, place)] if sensible else []


def _is_sensible(model: type[Part], name: str, part: Mapping[str, Any], record: Mapping[str, Any]) -> bool:
    """Whether a field makes sense with what is known; one that is filled in stays, whatever else is changed."""
    condition = wording.ASKED_IF.get((model, name))
    if condition is None or name in part:
        return True
    used = {group: [way for way in ways if way in part] for group, ways in wording.WAYS.get(model, {}).items()}
    defaults = {one: field.default for one, field in model.model_fields.items() if isinstance(field.default, str)}
    try:
        return condition({**defaults, **part, **used}, record)
    except (KeyError, TypeError):
        return False


@lru_cache(maxsize=4096)  # an engine has some 150 fields, and every edit goes through all of them
def _field(model: type[Part], name: str, place: str) -> MeasuringField:
    spec = model.spec(name)
    inner, many = fields.inside(model, name)
    field = model.model_fields[name]
    kind = fields.kind_of(model, name)
    needed = field.is_required() or (model, name) in wording.NEEDED
    return MeasuringField(
        path=f"{RECORD}.{place}",
        label=fields.label_of(model, name) + ("s" if many else ""),
        how=spec.how if spec else wording.HINTS.get((model, name), ""),
        kind=_kind(model, name, inner, many, spec),
        unit=spec.unit if spec else "rpm" if name.endswith("rpm") else "",
        accepted=spec.accepted if spec else kind.accepts,
        needed=needed,
        instruments=instruments_for(spec) if spec and not many else (),
        options=tuple((one, one) for one in get_args(inner)) if get_origin(inner) is Literal else (),
        default=None if field.is_required() else field.default if isinstance(field.default, str | int) else None,
        picture=picture_of(model, name, place),
    )


def _kind(model: type[Part], name: str, inner: Any, many: bool, spec: Spec | None) -> Kind:
    if get_origin(inner) is tuple:
        return "points"
    if many:
        return "several"
    if spec is not None:
        return "measured"
    if get_origin(inner) is Literal:
        return "choice"
    kinds: dict[Any, Kind] = {float: "number", int: "count", bool: "yes or no", str: "words"}
    return kinds[inner]


def _at(record: Any, place: str) -> Any:
    for key in place.split("."):
        if isinstance(record, list):
            record = record[int(key)] if key.isdigit() and int(key) < len(record) else None
        elif isinstance(record, Mapping):
            record = record.get(key)
        else:
            return None
    return record
