"""From TOML text to an engine record, or to a list of everything that is wrong with it."""

import difflib
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from scribeline.engine.lines import Location, line_of, lines_by_location
from scribeline.engine.possible import impossibilities
from scribeline.engine.record import EngineRecord
from scribeline.errors import Problem, RecordError


def read_record(text: str, origin: str = "engine record") -> EngineRecord:
    """Read an engine record from TOML text.

    Unknown keys, wrong kinds of value, values out of range and impossible geometry are refused together in one
    RecordError, each with its line, the value, what is accepted and what to do. `origin` names the file in it.
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise RecordError([_not_toml(error, text)], origin) from None
    lines = lines_by_location(text)
    try:
        record = EngineRecord.model_validate(_tuples(data))
    except ValidationError as error:
        problems = [_explain(one, data, lines) for one in error.errors(include_url=False)]
        raise RecordError(_sorted(problems), origin) from None
    problems = [
        Problem(_named(one.location, data), line_of(one.location, lines), one.value, one.accepted, one.remedy)
        for one in impossibilities(record)
    ]
    if problems:
        raise RecordError(_sorted(problems), origin)
    return record


def read_record_file(path: Path) -> EngineRecord:
    """Read an engine record from a file; what cannot be opened is refused like what cannot be understood."""
    try:
        text = path.read_text(encoding="utf-8")
    except OSError as error:
        reason = error.strerror or str(error)
        problem = Problem("file", None, str(path), "a TOML file that can be read", f"{reason}: check the name")
        raise RecordError([problem], str(path)) from None
    except UnicodeDecodeError as error:
        problem = Problem(
            "file",
            None,
            f"byte {error.start} is no UTF-8 text",
            "a TOML file in UTF-8",
            "save it again as UTF-8",
        )
        raise RecordError([problem], str(path)) from None
    return read_record(text, str(path))


def _tuples(value: Any) -> Any:
    """TOML arrays come as lists; the record is frozen and keeps tuples, which strict validation tells apart."""
    if isinstance(value, list):
        return tuple(_tuples(one) for one in value)
    if isinstance(value, dict):
        return {key: _tuples(one) for key, one in value.items()}
    return value


def _sorted(problems: Iterable[Problem]) -> list[Problem]:
    return sorted(problems, key=lambda p: (p.line or 0, p.where))


def _not_toml(error: tomllib.TOMLDecodeError, text: str) -> Problem:
    message = str(error)
    line = getattr(error, "lineno", None)
    if line is None and " line " in message:
        line = int("".join(c for c in message.split(" line ")[1].split(",")[0] if c.isdigit()))
    rows = text.splitlines()
    value = rows[line - 1].strip() if line and line <= len(rows) else "end of the file"
    remedy = f"{message.split(' (at')[0].rstrip('.').lower()}; look at this line and the one before"
    return Problem("file", line, value, "TOML: key = value, with a dot as the decimal point", remedy)


def _named(location: Location, data: Any) -> str:
    """Dotted place for people: a list element by its name where it has one, else by its number from 1."""
    words = []
    for part in location:
        if isinstance(part, int):
            data = data[part] if isinstance(data, list) and part < len(data) else None
            name = data.get("name") if isinstance(data, dict) else None
            words.append(str(name or part + 1))
        else:
            data = data.get(part) if isinstance(data, dict) else None
            words.append(part)
    return ".".join(words)


def _explain(error: Any, data: dict[str, Any], lines: dict[Location, int]) -> Problem:
    """Turn one finding of the validation library into a Problem in plain words."""
    location: Location = error["loc"]
    kind: str = error["type"]
    context = error.get("ctx", {})
    given = error["input"]
    where, line = _named(location, data), line_of(location, lines)
    if kind == "extra_forbidden":
        known = _known_keys(location[:-1])
        close = difflib.get_close_matches(str(location[-1]), known, n=1)
        remedy = f"did you mean {close[0]}?" if close else "take it out, or put it under `note`"
        return Problem(where, line, _shown(given), "one of: " + ", ".join(known), remedy)
    if kind == "missing":
        spec = _spec_at(location)
        accepted = spec.accepted if spec else "a value"
        return Problem(
            where, line, "nothing", accepted, f"measure: {spec.how}" if spec else f"add {location[-1]} = ..."
        )
    if kind == "out_of_range":
        return Problem(where, line, f"{context['value']:g}", context["accepted"], context["remedy"])
    spec = _spec_at(location)
    accepted = error["msg"].removeprefix("Input should be ")
    if spec and kind in ("not_a_number", "float_type", "model_type", "finite_number"):
        accepted = f"a number, {spec.accepted}"
    return Problem(where, line, _shown(given), accepted, _remedy(kind, given))


def _remedy(kind: str, given: Any) -> str:
    if isinstance(given, str) and kind in ("not_a_number", "float_type", "float_parsing", "int_type"):
        return "write the number alone, without quotation marks or unit: the unit stands in the key's name"
    if kind == "unknown_instrument":
        return "choose one of these, or leave `with` out and write plus_minus"
    return "correct the value"


def _shown(value: Any) -> str:
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_shown(one)}" for key, one in list(value.items())[:4]) + " }"
    return str(value)


def _model_at(location: Location) -> type[BaseModel] | None:
    """The part of the record that a location leads into, found through the field annotations."""
    model: type[BaseModel] | None = EngineRecord
    for part in location:
        if model is None:
            return None
        if isinstance(part, int):
            continue
        by_alias = {field.alias or name: field for name, field in model.model_fields.items()}
        field = by_alias.get(part)
        model = _model_in(field.annotation) if field else None
    return model


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for inner in getattr(annotation, "__args__", ()):
        if (found := _model_in(inner)) is not None:
            return found
    return None


def _known_keys(location: Location) -> list[str]:
    model = _model_at(location)
    return [field.alias or name for name, field in model.model_fields.items()] if model else []


def _spec_at(location: Location) -> Any:
    names = [part for part in location if isinstance(part, str)]
    for end in range(len(names), 0, -1):
        owner = _model_at(tuple(names[: end - 1]))
        spec_of = getattr(owner, "spec", None)
        if spec_of is not None and owner is not None and names[end - 1] in owner.model_fields:
            return spec_of(names[end - 1])
    return None
