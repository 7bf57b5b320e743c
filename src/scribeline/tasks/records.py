"""Looking at a record by itself: check it, print its schema."""

import json
from pathlib import Path

from scribeline.engine import EngineRecord, read_record_file, readings


def check_record(path: Path) -> str:
    """Read and validate a record; return one sentence about what is in it. Raises RecordError with all problems."""
    record = read_record_file(path)
    count = sum(1 for _ in readings(record))
    ports = sum(2 if port.mirrored else 1 for port in record.ports)
    return f"{path}: sound. {record.name}: {count} measured numbers, {ports} ports."


def record_schema() -> str:
    """The JSON Schema (draft 2020-12) of the engine record as text."""
    schema = EngineRecord.model_json_schema(by_alias=True)
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    return json.dumps(schema, indent=2, ensure_ascii=False)
