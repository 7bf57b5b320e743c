"""Writes the pages of docs/reference that follow from the code: `.venv/bin/python docs/generate.py`.

A test compares the committed pages with what this writes, so that they cannot drift apart.
"""

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

from scribeline.data.cautions import all_cautions
from scribeline.engine import INSTRUMENTS, EngineRecord, read_record_file
from scribeline.engine.measured import Part
from scribeline.geometry.work_out import work_out
from scribeline.sources import SOURCES

HERE = Path(__file__).resolve().parent
NOTE = "<!-- Written by docs/generate.py from the code. Do not edit by hand. -->\n\n"
COMMANDS = (
    (),
    ("card",),
    ("new",),
    ("check",),
    ("schema",),
    ("notebook",),
    ("notebook", "keep"),
    ("notebook", "list"),
    ("notebook", "show"),
    ("notebook", "diff"),
    ("notebook", "export"),
    ("notebook", "import"),
)


def pages() -> dict[str, str]:
    """Every generated page by its file name."""
    return {
        "record.md": "\n".join(_record()),
        "instruments.md": "\n".join(_instruments()),
        "card.md": "\n".join(_card()),
        "command-line.md": "\n".join(_commands()),
        "sources.md": "\n".join(_sources()),
        "cautions.md": "\n".join(_cautions()),
    }


def _cell(text: object) -> str:
    return str(text).replace("|", "\\|").replace("\n", " ")


def _record() -> Iterator[str]:
    yield NOTE + "# The engine record, field by field\n"
    yield "A measured number is written plain, `bore_mm = 50.02`, or with its +/- and instrument,"
    yield '`bore_mm = { value = 50.02, plus_minus = 0.02, with = "bore gauge" }`. Unknown keys are refused.\n'
    seen: set[type[Part]] = set()
    yield from _part(EngineRecord, "top of the file", seen)


def _part(part: type[Part], place: str, seen: set[type[Part]]) -> Iterator[str]:
    if part in seen:
        return
    seen.add(part)
    inner: list[tuple[type[Part], str]] = []
    yield f"## {place}\n"
    yield (part.__doc__ or "").strip() + "\n"
    yield "| key | needed | accepted | usual instrument | how to measure |"
    yield "|---|---|---|---|---|"
    for name, field in part.model_fields.items():
        key = field.alias or name
        needed = "yes" if field.is_required() else ""
        spec = part.spec(name)
        below = _part_in(field.annotation)
        if spec is not None:
            yield f"| `{key}` | {needed} | {_cell(spec.accepted)} | {spec.instrument} | {_cell(spec.how)} |"
        elif below is not None:
            many = "tuple" in str(field.annotation)
            where = key if place == "top of the file" else f"{place.strip('[]')}.{key}"
            shown = f"[[{where}]]" if many else f"[{where}]"
            inner.append((below, shown))
            yield f"| `{key}` | {needed} | table, see `{shown}` | | |"
        else:
            yield f"| `{key}` | {needed} | {_cell(_plain(field.annotation))} | | |"
    yield ""
    for below, where in inner:
        yield from _part(below, where, seen)


def _part_in(annotation: object) -> type[Part] | None:
    if isinstance(annotation, type) and issubclass(annotation, Part):
        return annotation
    for one in getattr(annotation, "__args__", ()):
        if (found := _part_in(one)) is not None:
            return found
    return None


def _plain(annotation: object) -> str:
    choices = [one for one in _literals(annotation)]
    if choices:
        return "one of " + ", ".join(f"`{one}`" for one in choices)
    text = str(annotation)
    for word, plain in (("bool", "true or false"), ("int", "whole number"), ("float", "number"), ("str", "text")):
        if word in text:
            return ("list of " if "tuple" in text else "") + plain
    return text


def _literals(annotation: object) -> Iterator[object]:
    if "Literal" in str(getattr(annotation, "__origin__", "")):
        yield from getattr(annotation, "__args__", ())
    else:
        for one in getattr(annotation, "__args__", ()):
            yield from _literals(one)


def _instruments() -> Iterator[str]:
    yield NOTE + "# Instruments and their usual +/-\n"
    yield "Taken where a reading has no `plus_minus` of its own, and listed on the card as assumed. All of it is"
    yield "judgement, no source: for about 95 % of readings by a careful amateur.\n"
    yield "| instrument | usual +/- |\n|---|---|"
    for name, by_unit in INSTRUMENTS.items():
        yield f"| {name} | {', '.join(f'{width:g} {unit}' for unit, width in by_unit.items())} |"
    yield ""


def _card() -> Iterator[str]:
    yield NOTE + "# The numbers of the card\n"
    yield "Every name that `--explain` and `--json` know, with its formula and source, as worked out for the two"
    yield "demonstration engines. `P` stands for the name of a port.\n"
    yield "| name | what | unit | formula | source |\n|---|---|---|---|---|"
    seen: set[str] = set()
    for example in ("club-kart-98", "reed-125"):
        record = read_record_file(HERE.parent / "examples" / f"{example}.toml")
        for name, worked in work_out(record, draws=0).values.items():
            label = worked.label
            for port in record.ports:
                name = name.replace(f"ports.{port.name}.", "ports.P.")
                label = label.removeprefix(f"{port.name}: ")
            if name in seen or worked.value is None:
                continue
            seen.add(name)
            yield f"| `{name}` | {_cell(label)} | {worked.unit} | {_cell(worked.formula)} | {worked.source} |"
    yield ""


def _commands() -> Iterator[str]:
    yield NOTE + "# Commands\n"
    plain = {**os.environ, "COLUMNS": "100", "NO_COLOR": "1", "TERM": "dumb"}
    for command in COMMANDS:
        called = [sys.executable, "-c", "from scribeline.cli import main; main()", *command, "--help"]
        text = subprocess.run(called, capture_output=True, text=True, check=True, env=plain).stdout
        text = text.replace("-c [OPTIONS]", "scribeline [OPTIONS]").replace("Usage: -c", "Usage: scribeline")
        yield f"## {' '.join(('scribeline', *command))}\n"
        yield "```text\n" + "\n".join(line.rstrip() for line in text.strip().splitlines()) + "\n```\n"


def _sources() -> Iterator[str]:
    yield NOTE + "# Sources\n"
    yield "What scribeline relies on. The key is what the card and the code write.\n"
    for kind in ("published", "definition", "common practice", "judgement"):
        yield f"## {kind}\n"
        for entry in SOURCES.values():
            if entry.kind == kind:
                yield f"- `{entry.key}`: {entry.text}"
        yield ""


def _cautions() -> Iterator[str]:
    yield NOTE + "# Cautions\n"
    yield "They are printed on whatever scribeline hands out for the kind of work they belong to. Local law, safety data"
    yield "sheets, the makers' manuals and qualified people come before anything written here.\n"
    for caution in all_cautions().values():
        yield f"- **{caution.key.replace('-', ' ')}** ({', '.join(caution.goes_on)}): {caution.text}"
    yield ""


if __name__ == "__main__":
    for file, text in pages().items():
        (HERE / "reference" / file).write_text(text, encoding="utf-8")
        print(f"docs/reference/{file}")
