"""From TOML text to an engine record, or to a list of everything that is wrong with it."""

import re
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from scribeline.engine.explaining import explain, named
from scribeline.engine.lines import Location, line_of, lines_by_location
from scribeline.engine.possible import Impossible, impossibilities
from scribeline.engine.record import EngineRecord
from scribeline.engine.salvage import salvaged, still_impossible, validated
from scribeline.errors import Problem, RecordError

_TOO_DEEP = Problem("file", None, "brackets in brackets in brackets", "an engine record", "take them out")


def read_record(text: str, origin: str = "engine record") -> EngineRecord:
    """Read an engine record from TOML text.

    Unknown keys, wrong kinds of value, values out of range and impossible geometry are refused together in one
    RecordError, each with its line, the value, what is accepted and what to do. Where something is refused, the rest
    is still checked as far as enough of it is left. `origin` names the file in the refusal.

    >>> read_record("[crank]\\nstroke_mm = '50 mm'")  # doctest: +IGNORE_EXCEPTION_DETAIL
    Traceback (most recent call last):
    scribeline.errors.RecordError: engine record: 6 problems
    """
    text = text.removeprefix("\ufeff")  # some editors begin a UTF-8 file with this mark
    try:
        data = tomllib.loads(text)
    except ValueError as error:
        raise RecordError([_not_toml(error, text)], origin) from None
    except RecursionError:
        raise RecordError([_TOO_DEEP], origin) from None
    try:
        problems, record = _judged(data, lines_by_location(text))
    except RecursionError:
        raise RecordError([_TOO_DEEP], origin) from None
    if record is None or problems:
        raise RecordError(sorted(problems, key=lambda p: (p.line or 0, p.where)), origin)
    return record


def read_record_file(path: Path) -> EngineRecord:
    """Read an engine record from a file; what cannot be opened is refused like what cannot be understood."""
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, ValueError) as error:
        problem = Problem("file", None, str(path), "a TOML file that can be read", _why_not_opened(error))
        raise RecordError([problem], str(path)) from None
    return read_record(text, str(path))


def judged_document(data: dict[str, Any]) -> tuple[list[Problem], EngineRecord | None]:
    """Judge a record that is still being written, as the TOML reader would give it: everything wrong with it at once.

    Where something is refused, what is left without it comes back as a record, if enough is left to be one.
    """
    try:
        problems, record = _judged(data, {})
    except RecursionError:
        return [_TOO_DEEP], None
    return problems, salvaged(data) if problems else record


def record_of(document: dict[str, Any], origin: str = "engine record") -> EngineRecord:
    """The engine record that a document in memory is, or its refusal: what `read_record` does without the text."""
    try:
        problems, record = _judged(document, {})
    except RecursionError:
        raise RecordError([_TOO_DEEP], origin) from None
    if record is None or problems:
        raise RecordError(problems, origin)
    return record


def judged_again(record: EngineRecord) -> EngineRecord:
    """Return a record that was changed in memory, or refuse it as a file with the same content would be."""
    problems, same = _judged(record.model_dump(mode="json", by_alias=True, exclude_none=True), {})
    if same is None or problems:
        raise RecordError(problems, record.name)
    return same


def _why_not_opened(error: OSError | ValueError) -> str:
    if isinstance(error, UnicodeDecodeError):
        return f"byte {error.start} is no UTF-8 text: save it again as UTF-8"
    reason = error.strerror if isinstance(error, OSError) else None
    return f"{reason or error}: check the name"


def _judged(data: dict[str, Any], lines: dict[Location, int]) -> tuple[list[Problem], EngineRecord | None]:
    try:
        record = validated(data)
    except ValidationError as error:
        errors = error.errors(include_url=False)
        refused = [replace(explain(one, data, lines), at=one["loc"]) for one in errors]
        return refused + [_problem(one, data, lines) for one in still_impossible(data, errors)], None
    return [_problem(one, data, lines) for one in impossibilities(record)], record


def _problem(finding: Impossible, data: dict[str, Any], lines: dict[Location, int]) -> Problem:
    where, line = named(finding.location, data), line_of(finding.location, lines)
    return Problem(where, line, finding.value, finding.accepted, finding.remedy, finding.location)


def _not_toml(error: ValueError, text: str) -> Problem:
    """A text that the TOML reader refuses; it names the line at the end of its message, if at all."""
    rows = text.split("\n")
    message, line = str(error), None
    if found := re.search(r" \(at (?:line (\d+), column \d+|end of document)\)$", message):
        message = message[: found.start()]
        line = int(found[1]) if found[1] else None
    elif not isinstance(error, tomllib.TOMLDecodeError):  # a whole number too long for Python
        message = "a number this long is not read"
        line = next((number for number, row in enumerate(rows, start=1) if re.search(r"\d[\d_]{4000}", row)), None)
    value = rows[line - 1].strip()[:60] if line and line <= len(rows) else "end of the file"
    remedy = f"{message[0].lower()}{message[1:].rstrip('.')}; look at this line and the one before"
    return Problem("file", line, value, "TOML: key = value, with a dot as the decimal point", remedy)
