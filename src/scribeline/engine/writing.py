"""From an engine record to TOML text that a person can read and edit, each value with a comment how it is measured."""

from typing import Any

import tomlkit
from tomlkit.items import InlineTable, Table

from scribeline.engine.measured import Measured, Part
from scribeline.engine.record import EngineRecord


def write_record(record: EngineRecord, *, comments: bool = True) -> str:
    """TOML text of a record; reading it back gives an equal record. `comments` adds how each value is measured."""
    document = tomlkit.document()
    if comments:
        document.add(tomlkit.comment("An engine record: what was measured, and nothing that follows from it."))
        document.add(tomlkit.comment("The unit stands in each key's name. +/- is for about 95 % of readings."))
    tables: list[tuple[str, Any]] = []
    for field, value in _set_fields(record):
        if isinstance(value, Part) or (isinstance(value, tuple) and value and isinstance(value[0], Part)):
            tables.append((field, value))
        else:
            document.add(field, _plain(value))
    for field, value in tables:
        if isinstance(value, tuple):
            array = tomlkit.aot()
            for one in value:
                array.append(table_of_part(one, comments))
            document.add(field, array)
        else:
            document.add(field, table_of_part(value, comments))
    return tomlkit.dumps(document)


def _set_fields(part: Part) -> list[tuple[str, Any]]:
    """Fields worth writing: everything that is not at its default."""
    return [
        (name, getattr(part, name))
        for name, field in type(part).model_fields.items()
        if field.is_required() or getattr(part, name) != field.default
    ]


def table_of_part(part: Part, comments: bool) -> Table:
    """One part as a TOML table."""
    table = tomlkit.table()
    fields = _set_fields(part)
    for field, value in sorted(fields, key=lambda one: isinstance(one[1], Part)):  # tables inside it come last
        if isinstance(value, Part):
            table.add(field, table_of_part(value, comments))
            continue
        spec = part.spec(field)
        if comments and spec is not None:
            table.add(tomlkit.comment(spec.how))
        table.add(field, _plain(value))
    return table


def _plain(value: Any) -> Any:
    """A value as TOML has it: numbers bare, measured values bare or as an inline table, lists over several lines."""
    if isinstance(value, Measured):
        return _measured(value)
    if isinstance(value, Part):
        table = tomlkit.inline_table()
        for field, one in _set_fields(value):
            table.append(field, _plain(one))
        return table
    if isinstance(value, tuple):
        array = tomlkit.array()
        for one in value:
            array.append(_plain(one))
        return array.multiline(bool(value) and isinstance(value[0], Part | tuple))
    return value


def _measured(value: Measured) -> float | InlineTable:
    if value.plus_minus is None and value.instrument is None and value.typed is None:
        return value.value
    table = tomlkit.inline_table()
    table.append("value", value.value)
    if value.plus_minus is not None:
        table.append("plus_minus", value.plus_minus)
    if value.instrument is not None:
        table.append("with", value.instrument)
    if value.typed is not None:
        table.append("typed", value.typed)
    return table
