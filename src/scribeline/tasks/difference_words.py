"""What changed from one record to another, in a builder's words: the part, the reading, before, after, by how much.

The units and the ranges come from the record's own fields, so that a field added there needs no line here.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from scribeline.engine import EngineRecord, Part
from scribeline.learning.words import glyph
from scribeline.tasks.new_fields import inside, is_part, label_of, title_of
from scribeline.units import Units, length, show_in

Table = Mapping[str, Any]


@dataclass(frozen=True)
class Difference:
    """One reading that differs.

    part : where, such as "port exhaust"; reading : what, such as "roof from deck"
    before, after : as they were read, with unit and +/-; "" where there was, or is, nothing
    by : after less before, with its unit and "more" or "less"; "" where that means nothing
    """

    part: str
    reading: str
    before: str
    after: str
    by: str = ""

    def __str__(self) -> str:
        place = f"{self.part}: {self.reading}" if self.reading else self.part
        if not self.before:
            return f"{place}: {self.after}, not there before"
        if not self.after:
            return f"{place}: {self.before}, not there any more"
        return f"{place}: {self.before} -> {self.after}" + (f" ({self.by})" if self.by else "")


def record_differences(before: Table, after: Table, units: Units = "mm") -> list[Difference]:
    """Every reading in which two records differ, in the order of the record.

    before, after : records as the TOML reader gives them; what a newer program added to a record is left out
    units : what lengths are told in

    >>> first = {"crank": {"stroke_mm": 50}}
    >>> second = {"crank": {"stroke_mm": {"value": 50.5, "plus_minus": 0.03}}}
    >>> print(record_differences(first, second)[0])
    crank: stroke: 50 mm -> 50.500 ± 0.030 mm (0.5 mm more)
    """
    return list(_of_part(EngineRecord, "", before, after, units))


def _of_part(model: type[Part], place: str, before: Table, after: Table, units: Units) -> Iterator[Difference]:
    for name in model.model_fields:
        was, now = (_there(model, name, table) for table in (before, after))
        if was == now:
            continue
        spec = model.spec(name)
        inner, many = inside(model, name)
        label = _label(model, name)
        if spec is None and is_part(inner):
            here = f"{place}, {label}" if place else label
            if many:
                yield from _of_list(inner, here if name != "ports" else "port", was or [], now or [], units)
            else:
                yield from _of_part(inner, here, was or {}, now or {}, units)
            continue
        unit = spec.unit if spec else _unit(name)
        first, second = (_words(value, unit, units) for value in (was, now))
        yield Difference(place or "record", label, first, second, _by(was, now, unit, units))


def _of_list(
    model: type[Part], place: str, before: Sequence[Table], after: Sequence[Table], units: Units
) -> Iterator[Difference]:
    """Elements are told apart by their names where each has one of its own, else by their number from 1."""
    first, second = _by_key(before), _by_key(after)
    if first is None or second is None:
        first, second = ({str(i): one for i, one in enumerate(some, 1)} for some in (before, after))
    for key in [*second, *(key for key in first if key not in second)]:
        here = f"{place} {key}"
        if key not in first or key not in second:
            told = _contents(model, second.get(key) or first[key], units)
            yield Difference(here, "", "" if key not in first else told, "" if key not in second else told)
        else:
            yield from _of_part(model, here, first[key], second[key], units)


def _by_key(elements: Sequence[Table]) -> dict[str, Table] | None:
    names = [one.get("name") for one in elements]
    if all(isinstance(name, str) for name in names) and len(set(names)) == len(names):
        return {str(name): one for name, one in zip(names, elements, strict=True)}
    return None


def _contents(model: type[Part], table: Table, units: Units) -> str:
    """A part that came or went, in a few words: its readings."""
    told = []
    for name, value in table.items():
        if name == "name" or name not in model.model_fields or is_part(inside(model, name)[0]):
            continue
        spec = model.spec(name)
        told.append(f"{_label(model, name)} {_words(value, spec.unit if spec else _unit(name), units)}")
    return ", ".join(told) or title_of(model)


def _there(model: type[Part], name: str, table: Table) -> Any:
    """What a field holds: what is written, else the plain default it then has; None for an empty list."""
    default = model.model_fields[name].default
    value = table.get(name, default if isinstance(default, bool | int | float | str) else None)
    return None if value == [] else value


def _label(model: type[Part], name: str) -> str:
    label = label_of(model, name)
    return name.replace("_", " ") if label.endswith("?") else label.removeprefix("a ")


def _unit(name: str) -> str:
    last = name.rsplit("_", 1)[-1]
    return last if last in ("mm", "deg", "rpm", "cc", "kg", "g", "m2", "mm2") else "ratio"


def _words(value: Any, unit: str, units: Units) -> str:
    """A value as it was read: a measured one with its +/- and instrument, a list of them, or plain words."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return show_in(value, unit, units=units)
    if isinstance(value, dict) and isinstance(value.get("value"), int | float):
        told = show_in(value["value"], unit, value.get("plus_minus"), units)
        return f"{told}, {value['with']}" if "with" in value else told
    if isinstance(value, list) and len(value) > 6:
        return f"{len(value)} values"
    if isinstance(value, list):
        return "[" + ", ".join(_words(one, unit, units) for one in value) + "]"
    return str(value) if str(value) else '""'


def _number(value: Any) -> float | None:
    inner = value.get("value") if isinstance(value, dict) else value
    return float(inner) if isinstance(inner, int | float) and not isinstance(inner, bool) else None


def _by(was: Any, now: Any, unit: str, units: Units) -> str:
    first, second = _number(was), _number(now)
    if first is None or second is None or first == second:
        return ""
    size, way = round(abs(second - first), 9), "more" if second > first else "less"
    if unit == "mm" and units == "inch":
        return f"{length(size, units)} {way}"
    return f"{size:.4g}{glyph(unit)} {way}"
