"""The engine card: a record worked out, held against the limits, with everything assumed and the cautions it needs."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from scribeline import __version__
from scribeline.data.cautions import Caution, cautions_for
from scribeline.engine import EngineRecord, Reading, read_record_file
from scribeline.errors import WorkingError
from scribeline.geometry.evaluate import DRAWS, SEED, Agreement
from scribeline.geometry.work_out import WorkedOut, shares_of, work_out
from scribeline.geometry.working import Worked
from scribeline.plan.limit_table import LimitTable, read_limits_file
from scribeline.plan.limits import Statement, Warning, statements, warnings
from scribeline.plan.not_held import not_held_words
from scribeline.sources import source
from scribeline.units import Units, show, show_in


@dataclass(frozen=True)
class EngineCard:
    """What follows from one record: numbers, warnings, cautions; `statements` says which limits are looser or off.

    not_held : in one sentence the limits that it cannot be held against for want of a reading; empty for none
    """

    out: WorkedOut
    warnings: tuple[Warning, ...]
    cautions: tuple[Caution, ...]
    statements: tuple[Statement, ...] = ()
    not_held: str = ""

    @cached_property
    def shares(self) -> Mapping[str, Mapping[str, float]]:
        """Which readings make the +/- of each number, see `geometry.evaluate.shares`."""
        return shares_of(self.out)


def engine_card(
    record: EngineRecord,
    *,
    speed_rpm: float | None = None,
    draws: int = DRAWS,
    seed: int = SEED,
    table: LimitTable | None = None,
) -> EngineCard:
    """Work out a record and hold it against the limits, as the builder set them in `table`.

    Other arguments and errors as for `geometry.work_out`; PlanError where the table names what is no limit.
    """
    out = work_out(record, speed_rpm=speed_rpm, draws=draws, seed=seed)
    said = tuple(statements(table)) if table is not None else ()
    given = tuple(cautions_for("measure", "compression"))
    return EngineCard(out, tuple(warnings(out, table)), given, said, not_held_words(out, table))


def engine_card_of_file(
    path: Path, *, speed_rpm: float | None = None, plus_minus: bool = True, limits: Path | None = None
) -> EngineCard:
    """Read a record file and work it out; `limits` : a file with the builder's own.

    RecordError where the record is refused, WorkingError where it contradicts itself, PlanError for the limits.
    """
    table = read_limits_file(limits) if limits is not None else None
    return engine_card(read_record_file(path), speed_rpm=speed_rpm, draws=DRAWS if plus_minus else 0, table=table)


def card_json(card: EngineCard) -> str:
    """The whole card as one JSON document.

    `values` holds each derived number as {value, plus_minus, unit, label, formula, put_in, source, inputs}; a number
    this engine does not have has value null and says why. `inputs` lists what went in, with its own value and unit.
    """
    out = card.out
    document: dict[str, Any] = {
        "scribeline": __version__,
        "engine": {"name": out.record.name, "invented": out.record.invented, "note": out.record.note},
        "speed_rpm": out.record.speed_rpm,
        "plus_minus": {"covers": "about 95 %", "draws": out.draws, "seed": out.seed, "source": "jcgm-101"},
        "values": {name: _value_json(out, worked) for name, worked in out.values.items()},
        "agreements": [vars(agreement) for agreement in out.agreements],
        "warnings": [vars(warning) for warning in card.warnings],
        "limits_said": [statement.text for statement in card.statements],
        "limits_not_held": card.not_held,
        "assumed": assumed(out),
        "cautions": [caution.text for caution in card.cautions],
    }
    return json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False)


def _value_json(out: WorkedOut, worked: Worked) -> dict[str, Any]:
    inputs = [_input_json(out, symbol, name) for symbol, name in worked.inputs.items()]
    value: dict[str, Any] = {
        "value": worked.value,
        "plus_minus": worked.plus_minus,
        "unit": worked.unit,
        "label": worked.label,
        "formula": worked.formula,
        "put_in": put_in(out, worked),
        "source": worked.source,
        "inputs": inputs,
    }
    if worked.value is None:
        value["why_absent"] = worked.why_absent
    return value


def _input_json(out: WorkedOut, symbol: str, name: str) -> dict[str, Any]:
    value, plus_minus, unit = number_of(out, name)
    return {"symbol": symbol, "name": name, "value": value, "plus_minus": plus_minus, "unit": unit}


def number_of(out: WorkedOut, name: str) -> tuple[float, float | None, str]:
    """Value, +/- and unit of a reading, an assumption or a derived number."""
    if name in out.readings:
        reading = out.readings[name]
        return reading.measured.value, reading.plus_minus, reading.spec.unit
    if name in out.assumed:
        assumption = out.assumed[name]
        return assumption.value, assumption.plus_minus, assumption.unit
    worked = out.values[name]
    assert worked.value is not None
    return worked.value, worked.plus_minus, worked.unit


def put_in(out: WorkedOut, worked: Worked) -> str:
    """The formula of a number with the builder's own numbers in it, to as many digits as their +/- allows."""
    shown = {}
    for name in worked.inputs.values():
        value, plus_minus, _ = number_of(out, name)
        shown[name] = show(value, "ratio", plus_minus).split(" ±")[0]
    return worked.put_in(shown)


def assumed(out: WorkedOut) -> list[dict[str, Any]]:
    """Everything nobody measured: values taken as something, then each +/- taken from its instrument."""
    values: list[dict[str, Any]] = [
        {"name": one.name, "value": one.value, "unit": one.unit, "plus_minus": one.plus_minus, "reason": one.reason}
        for one in out.assumed.values()
        if not one.chosen
    ]
    widths = [
        {
            "name": reading.place,
            "value": reading.measured.value,
            "unit": reading.spec.unit,
            "plus_minus": reading.plus_minus,
            "reason": f"+/- not given: the usual one of {reading.measured.instrument or reading.spec.instrument}",
        }
        for reading in readings_with_usual_plus_minus(out)
    ]
    return values + widths


def readings_with_usual_plus_minus(out: WorkedOut) -> list[Reading]:
    """Readings that some number rests on and whose +/- was not given but taken from the instrument."""
    return [reading for reading in out.readings.values() if reading.plus_minus_is_assumed and reading.place in out.used]


def by_usual_plus_minus(out: WorkedOut, units: Units = "mm") -> dict[str, list[str]]:
    """The places of those readings, together where the same +/- was taken for the same instrument."""
    places: dict[str, list[str]] = {}
    for reading in readings_with_usual_plus_minus(out):
        instrument = reading.measured.instrument or reading.spec.instrument
        width = show_in(reading.plus_minus, reading.spec.unit, units=units)
        places.setdefault(f"± {width}, usual for {instrument}", []).append(reading.place)
    return places


def explain(card: EngineCard, name: str, units: Units = "mm") -> str:
    """The working of one number: formula, the builder's own numbers put in, source, how its inputs are measured.

    units : what lengths are written in; those in the formula stay in mm, for which it is written

    Raises WorkingError for a name that is not on the card, with the names that are closest to it.
    """
    out = card.out
    if name not in out.values:
        raise WorkingError(_no_such_number(out, name))
    worked = out.values[name]
    if worked.value is None:
        return f"{worked.label} ({name})\n    this engine has no such number: {worked.why_absent}"
    lines = [f"{worked.label} ({name})", f"    = {show_in(worked.value, worked.unit, worked.plus_minus, units)}", ""]
    lines += [
        "formula",
        f"    {worked.formula}",
        "with your numbers" + (", lengths in mm" if units == "inch" else ""),
        f"    {put_in(out, worked)}",
    ]
    lines += ["source", f"    {source(worked.source).text}", "what went in"]
    for symbol, given in worked.inputs.items():
        lines += _explained_input(out, symbol, given, units)
    lines += _what_makes_its_plus_minus(card, name, units)
    for a in out.agreements:
        if name in (a.first, a.second) or worked.inputs.get("value") == a.first:
            lines += ["measured twice", f"    {agreement_text(out, a, units)}"]
    return "\n".join(lines)


def _what_makes_its_plus_minus(card: EngineCard, name: str, units: Units) -> list[str]:
    """The readings that blur this number most: which one to measure better. Those that hardly do are left out."""
    made_by, unit = card.shares[name], card.out.values[name].unit
    if not made_by or not card.out.draws:
        return []
    least = 0.05 * max(abs(change) for change in made_by.values())
    return ["what makes its +/-, most first"] + [
        f"    {reading}: {show_in(float(f'{abs(change):.2g}'), unit, units=units)}"
        for reading, change in list(made_by.items())[:4]
        if abs(change) >= least
    ]


def _explained_input(out: WorkedOut, symbol: str, name: str, units: Units) -> list[str]:
    typed = out.readings[name].measured.typed if name in out.readings else None
    value, plus_minus, unit = number_of(out, name)
    kind, words = where_from(out, name)
    return [
        f"    {symbol} = {show_in(value, unit, plus_minus, units)}   {name}"
        + (f', typed as "{typed}"' if typed else ""),
        f"        {kind}: {words}" + (f"; see --explain {name}" if name in out.values else ""),
    ]


def where_from(out: WorkedOut, name: str) -> tuple[str, str]:
    """Where an input comes from: "measure" and how, "assumed" or "chosen" and why, "worked out" and what it is."""
    if name in out.readings:
        reading = out.readings[name]
        instrument = reading.measured.instrument or reading.spec.instrument
        width = ", its usual +/- assumed" if reading.plus_minus_is_assumed else ""
        return "measure", f"{reading.spec.how} ({instrument}{width})"
    if name in out.assumed:
        assumption = out.assumed[name]
        return "chosen" if assumption.chosen else "assumed", assumption.reason
    return "worked out", out.values[name].label


def _no_such_number(out: WorkedOut, name: str) -> str:
    import difflib

    close = difflib.get_close_matches(name, out.values, n=5, cutoff=0.4)
    return (
        f'"{name}" is no number of this card\n    accepted: {", ".join(close) if close else "a name of the card"}\n'
        "    what to do: `scribeline card ENGINE.toml --names` lists every name"
    )


def agreement_text(out: WorkedOut, agreement: Agreement, units: Units = "mm") -> str:
    """One sentence on two ways of measuring the same thing."""
    first, second = out.values[agreement.first].label, out.values[agreement.second].label
    difference = show_in(agreement.difference, agreement.unit, agreement.plus_minus, units)
    verdict = {True: "they agree", False: "THEY DO NOT AGREE", None: "no +/- worked out"}[agreement.agree]
    return f"{first}; less {second}: {difference}: {verdict}"
