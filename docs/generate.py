"""Writes the pages of docs/reference that follow from the code: `.venv/bin/python docs/generate.py`.

A test compares the committed pages with what this writes, so that they cannot drift apart.
"""

import ast
import inspect
import re
import textwrap
from collections.abc import Iterator
from importlib import import_module
from importlib.util import module_from_spec, spec_from_file_location
from itertools import groupby
from pathlib import Path
from types import ModuleType
from typing import Any

import typer.main
from typer.testing import CliRunner

from scribeline.cli import app
from scribeline.data.cautions import all_cautions
from scribeline.engine import INSTRUMENTS, EngineRecord, read_record_file
from scribeline.engine.measured import Part
from scribeline.geometry.work_out import work_out
from scribeline.geometry.working import Worked
from scribeline.plan.box import Box, read_box_file
from scribeline.plan.carry_out import carry_out, possible_for
from scribeline.plan.description import Operation
from scribeline.plan.limits import RING_ENDS, limits, simulated_limits
from scribeline.plan.operations import all_operations
from scribeline.plan.phrases import shown
from scribeline.plan.steps import Step
from scribeline.plan.what_if import what_moved
from scribeline.recordings import CHANNELS, FORMATS
from scribeline.sources import SOURCES, source
from scribeline.units import show

HERE = Path(__file__).resolve().parent
NOTE = "<!-- Written by docs/generate.py from the code. Do not edit by hand. -->\n\n"
SOUND_EXAMPLES = ("club-kart-98", "reed-125")


def pages() -> dict[str, str]:
    """Every generated page by its file name."""
    return {
        "record.md": "\n".join(_record()),
        "instruments.md": "\n".join(_instruments()),
        "card.md": "\n".join(_card()),
        "recordings.md": "\n".join(_recordings()),
        "command-line.md": "\n".join(_commands()),
        "operations.md": "\n".join(_operations()),
        "limits.md": "\n".join(_limits()),
        "sources.md": "\n".join(_sources()),
        "cautions.md": "\n".join(_cautions()),
        "api.md": "\n".join(_api().api_page(NOTE)),
    }


def documents() -> dict[str, str]:
    """What is generated beside the pages, for programs."""
    return {"openapi.json": _api().openapi_json()}


def _api() -> ModuleType:
    """generate_api.py, which lies beside this file."""
    spec = spec_from_file_location("generate_api", HERE / "generate_api.py")
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def _cell(text: object) -> str:
    return str(text).replace("|", "\\|").replace("\n", " ")


# --- recordings ------------------------------------------------------------------------------------------------------


def _recordings() -> Iterator[str]:
    yield NOTE + "# Recordings: what is read, and what comes out\n"
    yield "How to make one: [record a run](../howto/record-a-run.md). A file is known by what stands in it, not by its"
    yield "name. What a reader repairs, leaves out or assumes is counted in the recording's notes. What could mean two"
    yield "things is refused. Nothing in a file is looked up elsewhere: no network, no other file.\n"
    yield "## Formats\n"
    yield "| note on the format | what |"
    yield "|---|---|"
    for name in FORMATS:
        module = import_module(f"scribeline.recordings.{name}")
        yield f"| [{name}](../../src/scribeline/recordings/{name}/README.md) | {_cell(module.WHAT)} |"
    yield "\n## Channels\n"
    yield "One unit for each meaning, whatever the file was written in. `time_s` counts from the first row; where the"
    yield "file says when that was, the recording has a start in UTC. A moment that is not known has no value, and at a"
    yield "break (a pause, a clock set anew) nothing may be joined across.\n"
    yield "| channel | what, and its unit |"
    yield "|---|---|"
    for name, (unit, what) in CHANNELS.items():
        yield f"| `{name}` | {what}, in {unit} |"
    yield ""


# --- the record ------------------------------------------------------------------------------------------------------


def _record() -> Iterator[str]:
    yield NOTE + "# The engine record, field by field\n"
    yield "A measured number is written plain, `bore_mm = 50.02`, or with its +/- and instrument,"
    yield '`bore_mm = { value = 50.02, plus_minus = 0.02, with = "bore gauge" }`. Without a +/-, the usual one of the'
    yield "[instrument](instruments.md) is taken, and without an instrument the one named here. Unknown keys are"
    yield "refused.\n"
    yield from _part(EngineRecord, "")


def _part(part: type[Part], place: str) -> Iterator[str]:
    """A heading and a table for one part of the record, then the same for the parts in it."""
    inner: list[tuple[type[Part], str]] = []
    yield f"## {place or 'Top of the file'}\n"
    yield inspect.cleandoc(part.__doc__ or "") + "\n"
    yield "| key | needed | accepted | what it is, how to measure it and with what |"
    yield "|---|---|---|---|"
    said = _said_of_fields(part)
    for name, field in part.model_fields.items():
        key, needed, words = field.alias or name, "yes" if field.is_required() else "", said.get(name, "")
        spec, below = part.spec(name), _part_in(field.annotation)
        if spec is not None:
            accepted = spec.accepted.removesuffix(" ratio")
            accepted = f"list of {accepted}" if "tuple" in str(field.annotation) else accepted
            words = f"{spec.how} ({spec.instrument})"
        elif below is not None:
            where = f"{place.strip('[]')}.{key}".removeprefix(".")
            shown = f"[[{where}]]" if "tuple" in str(field.annotation) else f"[{where}]"
            inner.append((below, shown))
            accepted = f"table{'s' if shown.startswith('[[') else ''} `{shown}`"
        else:
            accepted = _plain(field.annotation, field.json_schema_extra)
        if not (field.is_required() or below or field.default in (None, (), "")):
            words = f"{words} {_toml(field.default)} where left out".strip()
        yield f"| `{key}` | {needed} | {_cell(accepted)} | {_cell(words)} |"
    yield ""
    for below, where in inner:
        yield from _part(below, where)


def _said_of_fields(part: type[Part]) -> dict[str, str]:
    """What the source says under a field, in a string of its own."""
    (body,) = ast.parse(textwrap.dedent(inspect.getsource(part))).body
    assert isinstance(body, ast.ClassDef)
    return {
        field.target.id: inspect.cleandoc(said.value.value)
        for field, said in zip(body.body, body.body[1:], strict=False)
        if isinstance(field, ast.AnnAssign) and isinstance(field.target, ast.Name)
        if isinstance(said, ast.Expr) and isinstance(said.value, ast.Constant) and isinstance(said.value.value, str)
    }


def _part_in(annotation: object) -> type[Part] | None:
    if isinstance(annotation, type) and issubclass(annotation, Part):
        return annotation
    for one in getattr(annotation, "__args__", ()):
        if (found := _part_in(one)) is not None:
            return found
    return None


def _plain(annotation: object, extra: Any) -> str:
    """What a field that is no measured number and no table takes."""
    if choices := list(_literals(annotation)):
        return " or ".join(f"`{_toml(one)}`" for one in choices)
    if isinstance(extra, dict) and "minimum" in extra:
        return f"{extra['minimum']} to {extra['maximum']}"
    text = str(annotation)
    if text.count("tuple") == 2:
        return "list of points"
    for word, plain in (("bool", "true or false"), ("int", "whole number"), ("float", "number"), ("str", "text")):
        if word in text:
            return ("list of " if "tuple" in text else "") + plain + ("s" if "tuple" in text else "")
    return text


def _toml(value: object) -> str:
    """A value as it is written in a record."""
    return f'"{value}"' if isinstance(value, str) else str(value).lower()


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
        widths = [show(width, unit) for unit, width in by_unit.items() if width]
        yield f"| {name} | {', '.join(widths) or 'none: exact'} |"
    yield ""


# --- the card --------------------------------------------------------------------------------------------------------


def _card() -> Iterator[str]:
    yield NOTE + "# The numbers of the card\n"
    yield "Every name that `--explain` and `--json` know, as worked out for the two demonstration engines. A formula"
    yield "grows and shrinks with the number of ports, sheets and sections in it, and where a number was measured in"
    yield "another way it has the formula of that way: `--explain` shows the one of your engine, and says what each"
    yield "symbol stands for. `P` is the name of a port, `N` the number of a gear. The last column is the key of a"
    yield "[source](sources.md).\n"
    for topic, lines in groupby(_lines(), key=lambda one: one.topic):
        yield f"## {topic}\n"
        of_topic = list(lines)
        for inner in (False, True):
            chosen = [one for one in of_topic if one.inner is inner]
            if inner and chosen:
                yield "Steps on the way:\n"
            if chosen:
                yield "| name | what | unit | formula | source |\n|---|---|---|---|---|"
            for one in chosen:
                unit = "" if one.unit == "ratio" else one.unit
                yield f"| `{one.name}` | {_cell(one.label)} | {unit} | `{_cell(one.formula)}` | {one.source} |"
            if chosen:
                yield ""


def _lines() -> list[Worked]:
    """Every number of both engines once, as if the record had one port called P; by topic, in the order of the card."""
    found: dict[str, Worked] = {}
    for example in SOUND_EXAMPLES:
        record = read_record_file(HERE.parent / "examples" / f"{example}.toml")
        for worked in work_out(record, draws=0).values.values():
            name, label = worked.name, worked.label
            for port in record.ports:
                name = name.replace(f"ports.{port.name}.", "ports.P.")
                label = label.removeprefix(f"{port.name}: ")
            name = re.sub(r"_gear_\d+_", "_gear_N_", name)
            label = re.sub(r"in gear \d+$", "in gear N", label)
            if worked.value is not None:
                found.setdefault(name, _renamed(worked, name, label))
    topics = list(dict.fromkeys(one.topic for one in found.values()))
    return sorted(found.values(), key=lambda one: topics.index(one.topic))


def _renamed(worked: Worked, name: str, label: str) -> Worked:
    return worked._replace(name=name, label=label)


# --- operations and limits -------------------------------------------------------------------------------------------

# What the further numbers of an example step are, where an operation has no usual one.
EXAMPLE_DETAILS = {
    "clock_deg": 60.0, "height_mm": 6.0, "below_exhaust_mm": 3.0, "below_transfers_mm": 1.0, "depth_mm": 2.0,
    "top_from_crown_mm": 30.0, "bottom_from_crown_mm": 42.0,
}  # fmt: skip
EXAMPLE_TARGETS = {"trim skirt": "intake side"}
EXAMPLE_AMOUNTS = {
    "square exhaust floor corners": 3.0,
    "recut squish band angle": 11.0, "add auxiliary exhausts": 6.0, "open boost port": 12.0, "cut piston window": 16.0,
    "change tract length": 20.0, "change pipe length": -30.0, "change ignition advance": -2.0, "change mixture": 12.2,
    "change fuel": 102.0, "change oil in petrol": 30.0, "change gearing": 6.4,
}  # fmt: skip


def _operations() -> Iterator[str]:
    yield NOTE + "# The operations\n"
    yield "What a plan is made of: each is one thing that can be done to an engine. The example of each was carried"
    yield "out on a demonstration engine (invented) with the [parts at hand](../../examples/parts-at-hand.toml),"
    yield "and what moves is what came out, not what a book says: every number of the card that changed by more"
    yield "than 0.2 % of itself, steps on the way and single ports left out. Red in a drawing is what comes off or"
    yield "is changed; dashed is what is there today. `scribeline plan ENGINE.toml --can` lists what your own"
    yield "engine allows, with its ranges.\n"
    yield "Metal does not grow back. [Cautions](cautions.md) come first; [the limits](limits.md) say where to stop."
    yield "[How to plan the cuts](../howto/plan-the-cuts.md) shows how they are put together.\n"
    at_hand = read_box_file(HERE.parent / "examples" / "parts-at-hand.toml")
    for stage, of_stage in groupby(all_operations(), key=lambda one: one.stage):
        yield f"## {stage.words.capitalize()}\n"
        for operation in of_stage:
            yield from _operation(operation, at_hand)


def _operation(operation: Operation, at_hand: Box) -> Iterator[str]:
    name = operation.key.replace(" ", "-")
    yield f"### {operation.key.capitalize()}\n"
    yield f"![{operation.key.capitalize()}](../pictures/operations/{name}.svg)\n"
    yield f"{operation.what[0].upper()}{operation.what[1:]}.\n"
    amounts = [*([operation.amount] if operation.amount else []), *operation.details]
    for amount in amounts:
        usual = f"; {amount.usual:.4g} where left out" if amount.usual is not None else ""
        usual = usual or ("" if amount.needed else "; may be left out")
        yield f"- `{amount.key}`: {amount.what}; {amount.accepted}{usual}"
    if operation.choices:
        yield "- `choice`: the name of what is fitted, from what is at hand"
    yield f"- Needs: {', '.join(operation.tools)}. Skill: {operation.skill}."
    yield f"- Undo: {operation.undo}."
    if operation.instead:
        yield f"- Instead of putting metal back: {operation.instead}."
    limits_of = ", ".join(f"`{limit}`" for limit in operation.limits) or "no limit of the table comes nearer by it"
    yield f"- Must respect: {limits_of}."
    if operation.caution:
        yield f"- **Careful:** {operation.caution}"
    yield ""
    for number, one in enumerate(operation.instructions, start=1):
        yield f"{number}. {one.do}" + (f" **Measure here: {one.measure}.**" if one.measure else "")
    record, step = _example_of(operation, at_hand)
    before = work_out(record, draws=0)
    moved = what_moved(before, work_out(carry_out(record, [step], at_hand), draws=0))
    shown_moves = [one for one in moved if not one.inner and not one.name.startswith("ports.")]
    example = f"\nExample, on {record.name}: `{shown(step)}`."
    if shown_moves:
        yield f"{example} What moves:\n"
        yield "| number of the card | before | after |\n|---|---|---|"
        for one in shown_moves:
            was, now = (("none" if v is None else show(float(f"{v:.4g}"), one.unit)) for v in (one.before, one.after))
            yield f"| {_cell(one.label)} | {was} | {now} |"
    else:
        yield f"{example} No number of the card moves by geometry; the simulation tells."
    yield ""


def _example_of(operation: Operation, at_hand: Box) -> tuple[EngineRecord, Step]:
    """A small step of this kind on the first demonstration engine that allows it."""
    for example in SOUND_EXAMPLES:
        record = read_record_file(HERE.parent / "examples" / f"{example}.toml")
        for one in possible_for(record, at_hand):
            if one.operation is operation and one.target == EXAMPLE_TARGETS.get(operation.key, one.target):
                amount = EXAMPLE_AMOUNTS.get(operation.key, 0.4) if operation.amount else None
                details = {d.key: EXAMPLE_DETAILS[d.key] for d in operation.details if d.usual is None and d.needed}
                if operation.key == "cut piston window":
                    details["bottom_from_crown_mm"] = EXAMPLE_DETAILS["bottom_from_crown_mm"]
                choice = next((c for c in one.choices if not c.startswith(("no ", "fitted"))), "")
                return record, Step(operation.key, one.target, amount, choice, tuple(sorted(details.items())))
    raise AssertionError(f"no example engine allows {operation.key}")


def _limits() -> Iterator[str]:
    yield NOTE + "# The limits\n"
    yield "What the card and a plan are held against. A limit that is passed is a warning: you decide. Your own table,"
    yield "`--limits LIMITS.toml` or `[limits]` in a plan file, can set any of them tighter, looser or off; whatever is"
    yield "looser or off is said on every card, cut list and sheet.\n"
    yield "```toml"
    yield 'set = [\n    { name = "squish_gap_min_mm", low = 0.6, why = "an old rod" },'
    yield '    { name = "least_land_mm", off = true },\n]'
    yield "```\n"
    yield "| name | accepted | where the figure is from | what happens beyond it | what to do |\n|---|---|---|---|---|"
    units = {worked.name: worked.unit for worked in _lines()}
    for limit in (*limits(), *simulated_limits()):
        unit = units.get(limit.name, "mm" if limit.name.endswith("_mm") else "ratio")
        bounds = (("at least", limit.low), ("at most", limit.high))
        ends = [f"{words} {show(bound, unit)}" for words, bound in bounds if bound is not None]
        beyond = limit.too_low or limit.too_high
        kind = f"{source(limit.source).kind} (`{limit.source}`)"
        yield f"| `{limit.name}` | {', '.join(ends)} | {kind} | {_cell(beyond)} | {_cell(limit.remedy)} |"
    ring = "no ring end passes over a port | common practice (`common-practice`) | the end springs into the port"
    yield f"| `{RING_ENDS}` | {ring} | use another piston or ring position |\n"
    yield "Compression from exhaust closing: the figure is for 95 RON; each octane more bears 0.15 more. The squish"
    yield "gap is held at its tightest place and in the mean. No source was found that says how the least gap"
    yield "follows from speed and stretch ([what is known](../concepts/squish.md)): a long, heavy or fast engine needs"
    yield "more than the least, and only your own limit can say so. An exhaust wider than its share needs a bridge;"
    yield "beside one, each half is held against it. A limit that nobody measured the readings for is not held, and"
    yield "card and plan say which. The knock margin needs a simulated curve.\n"


# --- commands, sources, cautions -------------------------------------------------------------------------------------


def _commands() -> Iterator[str]:
    yield NOTE + "# Commands\n"
    for words in _called(typer.main.get_command(app)):
        yield f"## {' '.join(('scribeline', *words))}\n"
        shown = CliRunner().invoke(app, [*words, "--help"], prog_name="scribeline", env={"COLUMNS": "80"})
        assert shown.exit_code == 0, shown.output
        yield "```text\n" + "\n".join(line.rstrip() for line in shown.output.strip().splitlines()) + "\n```\n"


def _called(command: Any, *words: str) -> Iterator[tuple[str, ...]]:
    """The words that call a command and everything below it."""
    yield words
    for name, below in getattr(command, "commands", {}).items():
        yield from _called(below, *words, name)


def _sources() -> Iterator[str]:
    yield NOTE + "# Sources\n"
    yield "What scribeline relies on. The key is what the card and the code write.\n"
    for kind in dict.fromkeys(
        entry.kind for entry in sorted(SOURCES.values(), key=lambda one: one.kind != "published")
    ):
        yield f"## {kind.capitalize()}\n"
        for entry in SOURCES.values():
            if entry.kind == kind:
                yield f"- `{entry.key}`: {entry.text}"
        yield ""


def _cautions() -> Iterator[str]:
    yield NOTE + "# Cautions\n"
    yield "They are printed on whatever scribeline hands out for the kind of work that stands behind each of them."
    yield "Local law, safety data sheets, the makers' manuals and qualified people come before anything written here.\n"
    for caution in all_cautions().values():
        name = caution.key.replace("-", " ").capitalize()
        yield f"- **{name}.** {caution.text} *({', '.join(kind.replace('-', ' ') for kind in caution.goes_on)})*"
    yield ""


if __name__ == "__main__":
    for file, text in {**pages(), **documents()}.items():
        (HERE / "reference" / file).write_text(text, encoding="utf-8")
        print(f"docs/reference/{file}")
