"""Looking at a record by itself: check it, print its schema."""

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scribeline.engine import EngineRecord, read_record_file, readings, record_of, write_record
from scribeline.geometry.work_out import work_out

if TYPE_CHECKING:
    from scribeline.tasks.notebook import Where


def check_record(path: Path) -> str:
    """Read and validate a record; return one sentence about what is in it.

    Raises RecordError with all problems; WorkingError or GeometryError where each number could be but together they
    are of no engine, which only working it out brings to light.
    """
    record = read_record_file(path)
    work_out(record, draws=0)
    count = sum(1 for _ in readings(record))
    ports = sum(2 if port.mirrored else 1 for port in record.ports)
    return f"{path}: sound. {record.name}: {count} measured numbers, {ports} ports."


def record_in_hand(build: str, *, where: "Where" = None) -> str:
    """The record in hand on a build as TOML; RecordError where it is not of a possible engine yet."""
    from scribeline.tasks.desk import desk_of

    desk = desk_of(build, where=where)
    return write_record(record_of(desk.document.get("record", {}), f"the work in hand on {desk.build}"))


def record_schema() -> str:
    """The JSON Schema (draft 2020-12) of the engine record as text.

    It says what each key takes; what more than one number decides, such as a floor above its roof, no schema can say.
    """
    schema = EngineRecord.model_json_schema(by_alias=True)
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    _as_in_toml(schema)
    return json.dumps(schema, indent=2, ensure_ascii=False)


def _as_in_toml(schema: Any) -> None:
    """Say of each measured key its range, for a bare number and for a table; and leave out null, which TOML lacks."""
    if isinstance(schema, list):
        for one in schema:
            _as_in_toml(one)
    elif isinstance(schema, dict):
        for one in list(schema.values()):
            _as_in_toml(one)
        if {"type": "null"} in schema.get("anyOf", []):
            (left,) = (one for one in schema.pop("anyOf") if one != {"type": "null"})
            schema.update(left)
        if schema.get("default", ...) is None:
            del schema["default"]
        if isinstance(schema.get("low"), int | float):
            limits = {"minimum": schema["low"], "maximum": schema["high"]}
            schema.get("items", schema).update(limits, properties={"value": limits})
