"""What can be said of a record in hand that need not be whole: what is missing, what is refused, what disagrees, where.

And for each edge of a port what nobody measured but follows: its height where the degree wheel was read, its crank
angles where heights were measured. Places are paths of the work in hand.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from scribeline.engine import COVERAGE_FACTOR, Measured, Part
from scribeline.engine.reading import judged_document
from scribeline.engine.salvage import salvaged
from scribeline.errors import GeometryError, Problem, WorkingError
from scribeline.geometry import kinematics
from scribeline.geometry.evaluate import Agreement
from scribeline.geometry.work_out import WorkedOut, work_out
from scribeline.geometry.working import FloatArray
from scribeline.tasks.measuring_fields import RECORD, MeasuringField, fields_of_measuring
from scribeline.tasks.new_fields import without_keys
from scribeline.units import Units, show, show_in

DRAWS = 512  # of the +/- beside a field; the card draws more


@dataclass(frozen=True)
class Refusal:
    """Something that is refused. path : the field it stands at, or the nearest place that is known."""

    path: str
    value: str
    accepted: str
    remedy: str

    @property
    def words(self) -> str:
        return without_keys(f"{self.value} is refused; accepted: {self.accepted}; {self.remedy}")


@dataclass(frozen=True)
class Disagreement:
    """Two ways of measuring one thing that differ by more than their +/-. paths : the fields both rest on."""

    paths: tuple[str, ...]
    words: str


@dataclass(frozen=True)
class OtherWay:
    """What a field that nobody filled in would be, worked out from another. value in its unit, +/- for about 95 %."""

    path: str
    value: float
    plus_minus: float | None
    unit: str

    def words(self, units: Units = "mm") -> str:
        """In the builder's units."""
        return show_in(self.value, self.unit, self.plus_minus, units)


@dataclass(frozen=True)
class Standing:
    """How a record in hand stands.

    missing : fields that are needed and empty; refused : what cannot be so; the record can be kept where both are empty
    disagreements, other_ways : of what is there, as far as enough of it is
    worked_out : whether that was looked for
    """

    missing: tuple[MeasuringField, ...]
    refused: tuple[Refusal, ...]
    disagreements: tuple[Disagreement, ...]
    other_ways: tuple[OtherWay, ...]
    worked_out: bool = True

    @property
    def can_be_kept(self) -> bool:
        return not self.missing and not self.refused


def standing_of(record: Mapping[str, Any], *, working_out: bool = True) -> Standing:
    """Judge a record in hand, finished or not.

    working_out : False leaves out what has to be worked out for it, and takes some milliseconds instead of a hundred
    """
    data = dict(record)
    problems, _ = judged_document(data)
    missing = missing_fields(data)
    empty = {one.path for one in missing}
    refusals = [Refusal(path_of(one), one.value, one.accepted, one.remedy) for one in problems]
    refused_ = tuple(one for one in refusals if not _is_about_missing(one, empty))
    out = _worked_out(data) if working_out else None
    if isinstance(out, str):
        refused_ += (Refusal(RECORD, "the readings together", "readings of one engine", out),)
    if not isinstance(out, WorkedOut):
        return Standing(missing, refused_, (), (), working_out)
    return Standing(missing, refused_, tuple(_disagreements(out)), tuple(_other_ways(out, data)))


def standing_job(record: Mapping[str, Any], *, tell: Callable[[Any], None], stopped: Callable[[], bool]) -> Standing:
    """The same for a worker process. tell, stopped : not needed for so short a job."""
    return standing_of(record)


def warm() -> None:
    """Have ready what the first judgement needs: called where there is nothing else to do."""
    standing_of({"crank": {"stroke_mm": 50, "rod_length_mm": 100}, "cylinder": {"bore_mm": 50}, "ports": [
        {"name": "a", "role": "exhaust", "clock_deg": 0, "roof_from_deck_mm": 30, "floor_from_deck_mm": 45,
         "width_chord_mm": 25}]})  # fmt: skip


def both_ways(record: Mapping[str, Any]) -> tuple[OtherWay, ...]:
    """For each edge of a port, the height or the crank angles that were not measured, where they can be worked out."""
    out = _worked_out(dict(record))
    return tuple(_other_ways(out, dict(record))) if isinstance(out, WorkedOut) else ()


def missing_fields(record: Mapping[str, Any]) -> tuple[MeasuringField, ...]:
    """Needed fields without a value."""
    return tuple(_missing(dict(record)))


def _missing(data: dict[str, Any]) -> Iterator[MeasuringField]:
    """Needed fields without a value: of parts that every engine has, and of those that were begun."""
    for station in fields_of_measuring(data):
        for field in station.fields():
            keys = field.path.split(".")[1:]
            begun = len(keys) == 1 or keys[:-1] in (["crank"], ["cylinder"]) or _at(data, keys[:-1]) not in (None, {})
            if field.needed and begun and _at(data, keys) in (None, ""):
                yield field


def _at(value: Any, keys: list[str]) -> Any:
    for key in keys:
        if isinstance(value, list):
            value = value[int(key)] if key.isdigit() and int(key) < len(value) else None
        else:
            value = value.get(key) if isinstance(value, Mapping) else None
    return value


def path_of(problem: Problem) -> str:
    """The field a problem stands at; what is inside a measured value belongs to the value's field."""
    keys = [str(key) for key in problem.at]
    inside = ("value", "plus_minus", "with", "typed")
    while keys and keys[-1] in inside and len(keys) > 1:
        keys.pop()
    return ".".join([RECORD, *keys])


def _is_about_missing(refusal: Refusal, empty: set[str]) -> bool:
    """Whether the page says it already at the empty fields themselves."""
    return refusal.value == "nothing" and any(
        path == refusal.path or path.startswith(f"{refusal.path}.") for path in empty
    )


def _worked_out(data: dict[str, Any]) -> WorkedOut | str | None:
    """What is left of the record worked out; the reason where its readings contradict each other; None: too little.

    What is not possible as it stands, such as a port without its floor, is worked out as far as it goes.
    """
    try:
        left = salvaged(data, possible=False)
        return None if left is None else work_out(left, draws=DRAWS)
    except (WorkingError, GeometryError) as error:
        return str(error).splitlines()[0]
    except (ArithmeticError, LookupError, TypeError, ValueError, RecursionError):
        return None  # nothing that is refused is owed a result


def _disagreements(out: WorkedOut) -> Iterator[Disagreement]:
    paths = _paths(out.record)
    for one in out.agreements:
        if one.agree is False:
            behind = _readings_behind(out, one.first) ^ _readings_behind(out, one.second)
            part = ".".join(one.first.split(".")[:2]) + "."
            own = {name for name in behind if name.startswith(part)} if one.first.startswith("ports.") else set()
            fields = sorted(paths[name] for name in own or behind if name in paths and not name.startswith("crank."))
            yield Disagreement(tuple(fields), _differ(out, one))


def _differ(out: WorkedOut, one: Agreement) -> str:
    """What does not agree, by how much, and how much it might."""
    ways = [out.values[name].label.removeprefix(one.label).strip(" ,") for name in (one.first, one.second)]
    by = show(abs(one.difference), one.unit, one.plus_minus).split(" ±")[0]
    by = by if by.endswith(one.unit) or one.unit == "deg" else f"{by} {one.unit}"
    more = "more" if one.difference > 0 else "less"
    return (
        f"Measured twice and not agreeing: {one.label}. “{ways[0]}” gives {by} {more} than “{ways[1]}”; "
        f"their +/- together is {show(float(f'{one.plus_minus or 0.0:.2g}'), one.unit)}."
    )


def _readings_behind(out: WorkedOut, name: str) -> set[str]:
    """Every reading that a number rests on, through all that it is worked out from."""
    if name in out.readings:
        return {name}
    if name not in out.values:
        return set()
    return set().union(*(_readings_behind(out, one) for one in out.values[name].inputs.values()))


def _paths(part: Part, place: str = "", path: str = RECORD) -> dict[str, str]:
    """Path in the work in hand of every reading, by its place as the card names it."""
    found: dict[str, str] = {}
    for field in type(part).model_fields:
        value = getattr(part, field)
        many = isinstance(value, tuple)
        for position, one in enumerate(value if many else (value,)):
            here = f"{place}.{field}" if place else field
            inner = f"{path}.{field}"
            if many:
                here, inner = f"{here}.{getattr(one, 'name', None) or position + 1}", f"{inner}.{position}"
            if isinstance(one, Measured):
                found[here] = inner if not many else f"{path}.{field}"
            elif isinstance(one, Part):
                found |= _paths(one, here, inner)
    return found


def _other_ways(out: WorkedOut, data: dict[str, Any]) -> Iterator[OtherWay]:
    """Heights and angles that are empty in the document and follow from the depth of their edge."""
    names = [port.name for port in out.record.ports]
    given = data.get("ports")
    for position, port in enumerate(given if isinstance(given, list) else []):
        name = port.get("name") if isinstance(port, Mapping) else None
        if not isinstance(name, str) or names.count(name) != 1:
            continue
        for edge in ("roof", "floor"):
            depth = out.samples.get(f"ports.{name}.{edge}_depth_mm")
            if depth is None:
                continue
            for field, unit, samples in _ways(out, name, edge, depth):
                if field not in port and np.isfinite(samples[0]):
                    yield OtherWay(f"{RECORD}.ports.{position}.{field}", float(samples[0]), _width(samples), unit)


def _ways(out: WorkedOut, name: str, edge: str, depth: FloatArray) -> Iterator[tuple[str, str, FloatArray]]:
    """Each way an edge can be measured, as it would have come out."""
    port = next(one for one in out.record.ports if one.name == name)
    if "deck_clearance_mm" in out.samples:
        yield f"{edge}_from_deck_mm", "mm", depth + out.samples["deck_clearance_mm"]
    yield f"{edge}_from_crown_tdc_mm", "mm", depth
    if "true_stroke_mm" in out.samples:
        yield f"{edge}_from_crown_bdc_mm", "mm", out.samples["true_stroke_mm"] - depth
    crank = [out.samples[key] if key in out.samples else np.zeros_like(depth) for key in _CRANK]
    skirt = port.role == "intake"
    control = out.samples.get(f"ports.{name}.skirt_edge_mm" if skirt else "piston.crown_chamfer_mm")
    if skirt and control is None:
        return
    with np.errstate(invalid="ignore"):
        below = depth - (0.0 if control is None else control)
        down, up = kinematics.angle_down_deg(below, *crank), kinematics.angle_up_deg(below, *crank)
    opens, closes = (up, down) if skirt else (down, up)
    yield f"{edge}_opens_deg_atdc", "deg", opens
    yield f"{edge}_closes_deg_atdc", "deg", closes


_CRANK = ("crank.stroke_mm", "crank.rod_length_mm", "crank.pin_offset_mm")


def _width(samples: FloatArray) -> float | None:
    draws = samples[1:][np.isfinite(samples[1:])]
    return float(COVERAGE_FACTOR * draws.std(ddof=1)) if draws.size > 1 else None
