"""The record with another pipe: for the simulation, as a piece of TOML, and as a new file that keeps all the rest."""

from collections.abc import Sequence
from pathlib import Path

import tomlkit
from tomlkit.exceptions import TOMLKitError

from scribeline.engine import EngineRecord, read_record, write_record
from scribeline.engine.breathing import Exhaust, Section
from scribeline.engine.measured import Measured
from scribeline.errors import Problem, RecordError
from scribeline.geometry.pipe_pieces import PipeSection

_HEADING = "The pipe as designed, not measured: measure it once it is made, and write that here."


def record_with(record: EngineRecord, sections: Sequence[PipeSection]) -> EngineRecord:
    """The record with this pipe in place of its own; its numbers count as chosen."""
    return record.model_copy(update={"exhaust": Exhaust(sections=tuple(_section(one) for one in sections))})


def _section(one: PipeSection) -> Section:
    bend = _chosen(one.bend_deg) if one.bend_deg else None
    radius = _chosen(one.bend_radius_mm) if one.bend_deg and one.bend_radius_mm else None
    return Section(
        name=one.name,
        length_mm=_chosen(one.length_mm),
        start_mm=_chosen(one.start_mm),
        end_mm=_chosen(one.end_mm),
        bend_deg=bend,
        bend_radius_mm=radius,
    )


def _chosen(value: float) -> Measured:
    return Measured.model_validate({"value": value, "with": "chosen"})


def fragment(sections: Sequence[PipeSection]) -> str:
    """The pipe as it stands in a record."""
    return tomlkit.dumps(_document(sections)).strip() + "\n"


def _document(sections: Sequence[PipeSection]) -> tomlkit.TOMLDocument:
    document = tomlkit.document()
    array = tomlkit.aot()
    for one in sections:
        table = tomlkit.table()
        table.add("name", one.name)
        bend = [("bend_deg", one.bend_deg), ("bend_radius_mm", one.bend_radius_mm)] if one.bend_deg else []
        for key, value in (("length_mm", one.length_mm), ("start_mm", one.start_mm), ("end_mm", one.end_mm), *bend):
            if value is not None:
                inline = tomlkit.inline_table()
                inline.update({"value": round(value, 3), "with": "chosen"})
                table.add(key, inline)
        array.append(table)
    exhaust = tomlkit.table(is_super_table=True)
    exhaust.add("sections", array)
    document.add(tomlkit.comment(_HEADING))
    document.add("exhaust", exhaust)
    return document


def write_record_with(source: Path, record: EngineRecord, sections: Sequence[PipeSection], target: Path) -> None:
    """Write the record of a file with another pipe; everything else, comments too, stays as it is written there.

    The new file is read back before it is handed on. Raises RecordError where the target is there already or cannot be
    written: a record is never overwritten.
    """
    if target.exists():
        problem = Problem("file", None, str(target), "a name that is free", "give another name with -o")
        raise RecordError([problem], str(target))
    wanted = record_with(record, sections)
    text = _replaced(source.read_text(encoding="utf-8"), sections)
    if text is None or read_record(text) != wanted:
        text = write_record(wanted)
    try:
        with target.open("x", encoding="utf-8") as stream:
            stream.write(text)
    except OSError as error:
        problem = Problem("file", None, error.strerror or str(error), "a folder you may write to", "use another name")
        raise RecordError([problem], str(target)) from None


def _replaced(text: str, sections: Sequence[PipeSection]) -> str | None:
    """The text with its pipe taken out and the new one at its end; None where the text is put together differently."""
    try:
        document = tomlkit.parse(text)
        document.pop("exhaust", None)
        rest = tomlkit.dumps(document).rstrip()
    except (TOMLKitError, ValueError):
        return None
    return f"{rest}\n\n{fragment(sections)}"
