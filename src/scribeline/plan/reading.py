"""How files of the planner's own are read: TOML into a frozen part, or every problem at once with its line."""

import tomllib
from pathlib import Path
from typing import Any, TypeVar

from pydantic import ValidationError

from scribeline.engine import Part
from scribeline.engine.explaining import explain
from scribeline.engine.lines import Location, lines_by_location
from scribeline.errors import PlanError, Problem

P = TypeVar("P", bound=Part)


def text_of(path: Path) -> str:
    """The text of a file; PlanError where it cannot be opened."""
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else "no UTF-8 text: save it again as UTF-8"
        raise PlanError(
            [Problem("file", None, str(path), "a TOML file that can be read", f"{reason}: check the name")], str(path)
        ) from None


def table_of(text: str, origin: str) -> tuple[dict[str, Any], dict[Location, int]]:
    """The TOML of a text with the line of each place in it; PlanError where it is no TOML."""
    text = text.removeprefix("\ufeff")
    try:
        return tomllib.loads(text), lines_by_location(text)
    except (ValueError, RecursionError) as error:
        problem = Problem(
            "file", None, str(error)[:80] or "nested too deep", "TOML: key = value, with a dot as the decimal point",
            "look at the place that is named, and the line before",
        )  # fmt: skip
        raise PlanError([problem], origin) from None


def read_part(text: str, model: type[P], origin: str) -> P:
    """Read one part of the planner from TOML text; raises PlanError with each problem."""
    data, lines = table_of(text, origin)
    part, problems = validated(data, lines, model)
    if part is None:
        raise PlanError(problems, origin)
    return part


def validated(
    data: dict[str, Any], lines: dict[Location, int], model: type[P], place: Location = ()
) -> tuple[P | None, list[Problem]]:
    """A part from a table, or what is wrong with it; `place` is where the table stands in the file."""
    try:
        return model.model_validate(_tuples(data), by_alias=True, by_name=False), []
    except ValidationError as error:
        below = {where[len(place) :]: line for where, line in lines.items() if where[: len(place)] == place}
        return None, [explain(one, data, below, model) for one in error.errors(include_url=False)]


def _tuples(value: Any) -> Any:
    if isinstance(value, list):
        return tuple(_tuples(one) for one in value)
    if isinstance(value, dict):
        return {key: _tuples(one) for key, one in value.items()}
    return value
