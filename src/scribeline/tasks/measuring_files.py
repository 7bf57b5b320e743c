"""The record in hand from a TOML file and to one, finished or not."""

import tomllib
from collections.abc import Mapping
from typing import Any

import tomlkit

from scribeline.engine import record_of, write_record
from scribeline.errors import NotebookError, Problem, RecordError
from scribeline.notebook.entries import document_of, json_of
from scribeline.notebook.places import normal

LARGEST_TOML_BYTES = 1024**2  # a record has a few kilobytes


def record_from_toml(data: bytes, name: str) -> dict[str, Any]:
    """What a TOML file says, as the work in hand keeps a record; whether it is a possible engine is judged later.

    name : of the file, for the refusal. Raises RecordError where it is no TOML in UTF-8, or too large for a record.
    """
    try:
        if len(data) > LARGEST_TOML_BYTES:
            raise ValueError(f"it has {len(data)} bytes; a record has at most {LARGEST_TOML_BYTES}")
        text = data.decode("utf-8-sig")
        record: dict[str, Any] = normal(json_of(document_of(text)))
    except (ValueError, NotebookError) as error:
        problem = Problem("file", None, name, "an engine record in TOML, in UTF-8", str(error).splitlines()[0])
        raise RecordError([problem], name) from None
    if not {"scribeline_record", "crank", "cylinder", "name"} & record.keys():
        remedy = "choose the file that was saved as a record; `scribeline schema` says what belongs into it"
        raise RecordError([Problem("file", None, name, "an engine record", remedy)], name)
    return record


def toml_of_record(record: Mapping[str, Any]) -> str:
    """The record in hand as TOML: with a comment to each value where it is whole, as it is where it is not.

    Reading it back gives the same record.
    """
    try:
        return write_record(record_of(dict(record)))
    except RecordError:
        text = tomlkit.dumps(tomlkit.item(dict(record)))
        tomllib.loads(text)  # what is saved must be readable, whatever is in it
        return "# An engine record that is not whole yet: it cannot be kept or worked out as it is.\n" + text
