"""Column mappings that a person gave once, remembered for files with the same headers."""

import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path

import platformdirs
import tomlkit

from scribeline.errors import RecordingError


def usual_place() -> Path:
    """The file in the user's own configuration folder in which mappings are remembered."""
    return platformdirs.user_config_path("scribeline") / "columns.toml"


def remembered(place: Path | None, headers: Sequence[str]) -> dict[str, str]:
    """The mapping given earlier for exactly these headers; empty where there is none, or no memory.

    Raises RecordingError where the file of mappings cannot be read.
    """
    return next((columns for known, columns in _all(place) if known == list(headers)), {})


def remember(place: Path, headers: Sequence[str], columns: Mapping[str, str]) -> None:
    """Keep a mapping for these headers in place of an earlier one. Raises RecordingError where it cannot be written."""
    kept = [(known, given) for known, given in _all(place) if known != list(headers)]
    document = tomlkit.document()
    document.add(tomlkit.comment("Which column of a log means what, by its headers. Yours to edit."))
    tables = tomlkit.aot()
    for known, given in [*kept, (list(headers), dict(columns))]:
        table = tomlkit.table()
        table.add("headers", known)
        table.add("columns", given)
        tables.append(table)
    document.add("mapping", tables)
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        fresh = place.with_suffix(".new")
        fresh.write_text(tomlkit.dumps(document), encoding="utf-8")
        fresh.replace(place)
    except OSError as error:
        raise RecordingError(f"the column mapping cannot be kept in {place.name}: {error.strerror}") from None


def _all(place: Path | None) -> list[tuple[list[str], dict[str, str]]]:
    if place is None or not place.exists():
        return []
    try:
        tables = tomllib.loads(place.read_text(encoding="utf-8")).get("mapping", [])
        return [
            ([str(h) for h in table["headers"]], {str(k): str(v) for k, v in table["columns"].items()})
            for table in tables
        ]
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError, KeyError, TypeError, AttributeError) as error:
        raise RecordingError(
            f"{place.name}, in which column mappings are remembered, cannot be read: {error}\n"
            "    what to do: mend it, or delete it and give the mapping again"
        ) from None
