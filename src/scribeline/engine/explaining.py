"""What the validation library finds wrong with a record, said in plain words."""

import difflib
from collections.abc import Mapping
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from scribeline.engine.lines import Location, line_of
from scribeline.engine.measured import Measured, Part, Spec
from scribeline.engine.record import EngineRecord
from scribeline.errors import Problem

_QUOTED_NUMBER = "write the number alone, without quotation marks or unit: the unit stands in the key's name"


def explain(
    error: ErrorDetails, data: dict[str, Any], lines: dict[Location, int], root: type[BaseModel] = EngineRecord
) -> Problem:
    """Turn one finding of the validation library into a Problem.

    data : the file as the TOML reader gave it
    lines : line of each location, for the Problem to point at; root : what the whole file should have been
    """
    location, kind = error["loc"], error["type"]
    where, line, value = named(location, data), line_of(location, lines), _shown(error["input"])
    context: Mapping[str, Any] = error.get("ctx", {})
    if kind == "extra_forbidden":
        known = _keys(_model_at(location[:-1], root))
        close = difflib.get_close_matches(str(location[-1]), known, n=1)
        remedy = f"did you mean {close[0]}?" if close else "take it out, or put it under `note`"
        return Problem(where, line, value, "one of: " + ", ".join(known), remedy)
    if kind == "out_of_range":
        return Problem(where, line, f"{context['value']:g}", context["accepted"], context["remedy"])
    if kind == "unknown_instrument":
        remedy = "choose one of these, or leave `with` out and write plus_minus"
        return Problem(where, line, value, error["msg"], remedy)
    half_a_pair = kind == "missing" and isinstance(location[-1], int)
    spec, annotation = _field_at(location[:-1] if half_a_pair else location, root)
    if spec:
        accepted = f"a list of numbers, {spec.accepted}" if _is_list(annotation) else f"a number, {spec.accepted}"
    else:
        accepted = _accepted(annotation)
    if kind == "missing":
        how = f"measure: {spec.how}" if spec else "add what is missing"
        return Problem(where, line, "nothing", accepted, how)
    if kind == "greater_than_equal":
        return Problem(where, line, value, "0 or more", "a +/- has no sign of its own")
    quoted = isinstance(error["input"], str) and "number" in accepted
    return Problem(where, line, value, accepted, _QUOTED_NUMBER if quoted else "correct the value")


def named(location: Location, data: Any) -> str:
    """Dotted place for people: a list element by its name where it has one, else by its number from 1."""
    words = []
    for part in location:
        if isinstance(part, int):
            data = data[part] if isinstance(data, list) and part < len(data) else None
            name = data.get("name") if isinstance(data, dict) else None
            words.append(name if isinstance(name, str) and name else str(part + 1))
        else:
            data = data.get(part) if isinstance(data, dict) else None
            words.append(part)
    return ".".join(words)


def _shown(value: Any) -> str:
    """A value as it would stand in TOML, cut short where it is long."""
    if isinstance(value, str):
        text = f'"{value}"'
    elif isinstance(value, bool):
        text = str(value).lower()
    elif isinstance(value, dict):
        text = "{ " + ", ".join(f"{key} = {_shown(one)}" for key, one in list(value.items())[:4]) + " }"
    elif isinstance(value, list | tuple):
        text = "[" + ", ".join(_shown(one) for one in value[:4]) + "]"
    elif isinstance(value, int) and value.bit_length() > 200:
        text = "a number of more than 60 digits"
    else:
        text = str(value)
    return text if len(text) <= 80 else text[:77] + "..."


def _accepted(annotation: Any) -> str:
    """What a field without a measuring description takes."""
    if get_origin(annotation) is Literal:
        return ", ".join(_shown(one) for one in get_args(annotation))
    if _is_list(annotation):
        inner = get_args(annotation)
        if len(inner) == 2 and inner[1] is not ...:
            return "two numbers in square brackets: [across, from deck]"
        tables = ", each a table with: " + ", ".join(_keys(inner[0])) if _is_part(inner[0]) else ""
        return "a list in square brackets" + tables
    if _is_part(annotation):
        return "one table with: " + ", ".join(_keys(annotation))
    plain = {float: "a number", int: "a whole number", bool: "true or false", str: "text in quotation marks"}
    if annotation in plain:
        return plain[annotation]
    return _accepted(next(one for one in get_args(annotation) if one is not type(None)))


def _is_list(annotation: Any) -> bool:
    return get_origin(annotation) is tuple


def _is_part(annotation: Any) -> bool:
    return isinstance(annotation, type) and issubclass(annotation, Part)


def _keys(model: type[BaseModel] | None) -> list[str]:
    """The keys a table takes, as they are written in the file."""
    return [field.alias or name for name, field in model.model_fields.items()] if model else []


def _field_at(location: Location, root: type[BaseModel]) -> tuple[Spec | None, Any]:
    """Description and annotation of what a location means; the description only where a measured number goes."""
    model: type[BaseModel] | None = root
    spec: Spec | None = None
    annotation: Any = root
    for part in location:
        if isinstance(part, int):
            inner = [one for one in get_args(annotation) if one is not type(None)]
            annotation = inner[0] if inner else annotation
        elif model is not None:
            fields = {field.alias or name: name for name, field in model.model_fields.items()}
            if part not in fields:
                break
            if issubclass(model, Part):
                spec = model.spec(fields[part])
            elif part != "value":  # beside the value stand its +/-, its instrument and what was typed
                spec = None
            annotation = model.model_fields[fields[part]].annotation
        model = _model_in(annotation)
    return spec, annotation


def _model_at(location: Location, root: type[BaseModel]) -> type[BaseModel] | None:
    return _model_in(_field_at(location, root)[1]) if location else root


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """The part of the record that an annotation such as `tuple[Port, ...]` or `Measured | None` is about."""
    if isinstance(annotation, type) and issubclass(annotation, Part | Measured):
        return annotation
    for inner in get_args(annotation):
        if (found := _model_in(inner)) is not None:
            return found
    return None
