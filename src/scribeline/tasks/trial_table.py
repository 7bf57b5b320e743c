"""Typed gate times as runs: which rows belong to one run, which columns say when and how it was driven."""

import re
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal

from scribeline.errors import TrialError
from scribeline.recordings import GateTable, GateTime
from scribeline.trials.gates import Gate
from scribeline.trials.runs import Measure, Run, Value

ACCELERATION = "mean acceleration"

# Headers of further columns by what they mean, in small letters without spaces and marks.
_ORDER = {"order", "place", "nr", "no", "number", "sequence", "reihenfolge"}
_DAY = {"day", "date", "session", "tag", "datum"}
_PAIR = {"pair", "paar"}
_DROPPED = {"dropped", "leftout", "drop", "why"}
MOST_ROWS = 20_000


def gate_measure(gate: Gate) -> Measure:
    """The time through a gate as a measure; the widest gate speaks first.

    >>> gate_measure(Gate(30 / 3.6, 55 / 3.6)).key
    '30 to 55 km/h'
    """
    return Measure(gate.name, "s", "less", abs(gate.to_m_s - gate.from_m_s))


def acceleration_measure(gate: Gate) -> Measure:
    """Mean acceleration through a gate as a measure: the same times turned round, for those who think that way."""
    return Measure(f"{ACCELERATION}, {gate.name}", "m/s²", "more", 0.5 * abs(gate.to_m_s - gate.from_m_s))


def with_acceleration(measures: Mapping[str, Value], gate: Gate) -> dict[str, Value]:
    """The measures of a run and, where it went through this gate, its mean acceleration there."""
    both = dict(measures)
    timed = measures.get(gate.name)
    if timed is not None:
        mean = (gate.to_m_s - gate.from_m_s) / timed.value
        widths = (timed.plus_minus, timed.step)
        spread, step = (None if one is None else abs(mean) * one / timed.value for one in widths)
        both[acceleration_measure(gate).key] = Value(mean, spread, step)
    return both


def runs_of_table(table: GateTable, setup: str = "") -> tuple[list[Run], list[Measure]]:
    """The runs of a table and the measures they have, gates first, the widest of them first.

    setup : what was driven where the table does not say it
    Rows with the same setup, run, day and direction are one run. Where no run is named, the first row of a gate
    belongs to the first run of its setup, the second to the second. Raises TrialError for a gate that a run has twice.
    """
    if len(table.rows) > MOST_ROWS:
        raise TrialError(
            f"{table.source}: {len(table.rows)} rows\n    accepted: at most {MOST_ROWS}\n    what to do: cut it up"
        )
    steps = _steps(table.rows)
    numbers = _numeric_columns(table.rows)
    found: dict[tuple[str, str, str, str], list[GateTime]] = {}
    counted: dict[tuple[str, str, float, float, str, str], int] = {}
    for row in table.rows:
        name, day = row.run, _text(row, _DAY)
        driven = row.setup or setup
        if not name:
            gate = (driven, day, row.from_m_s, row.to_m_s, row.direction, _text(row, _PAIR))
            counted[gate] = counted.get(gate, 0) + 1
            name = str(counted[gate])
        found.setdefault((driven, name, day, row.direction), []).append(row)
    ambiguous = _names_twice(found)
    runs, gates = [], dict[str, Gate]()
    for (driven, name, day, direction), rows in found.items():
        measures: dict[str, Value] = {}
        for row in rows:
            gate_of_row = Gate(row.from_m_s, row.to_m_s)
            if gate_of_row.name in measures:
                raise TrialError(
                    f"{table.source}, line {row.line}: run {name} of {driven or 'the table'} has "
                    f"{gate_of_row.name} twice\n    accepted: each gate once a run\n    what to do: give the second "
                    "one a run of its own"
                )
            gates[gate_of_row.name] = gate_of_row
            measures[gate_of_row.name] = Value(row.seconds, row.plus_minus_s, steps[gate_of_row.name])
        label = " ".join(part for part in (name, direction, day) if part) if (driven, name) in ambiguous else name
        order = _text(rows[0], _ORDER)
        beside = {header: _number(rows[0].beside.get(header, "")) for header in numbers}
        runs.append(
            Run(
                driven,
                label,
                measures,
                _number(order) if order else None,
                direction,
                day,
                _text(rows[0], _PAIR),
                {header: value for header, value in beside.items() if value is not None},
                _text(rows[0], _DROPPED),
            )
        )
    ordered = sorted(gates.values(), key=lambda one: -abs(one.to_m_s - one.from_m_s))
    if ordered:
        widest = ordered[0]
        runs = [_replaced(run, with_acceleration(run.measures, widest)) for run in runs]
        return runs, [*(gate_measure(gate) for gate in ordered), acceleration_measure(widest)]
    return runs, []


def _replaced(run: Run, measures: Mapping[str, Value]) -> Run:
    return Run(**(vars(run) | {"measures": measures}))


def _names_twice(found: Iterable[tuple[str, str, str, str]]) -> set[tuple[str, str]]:
    """Runs of one setup that share a name and differ in day or direction."""
    seen: dict[tuple[str, str], int] = {}
    for driven, name, _, _ in found:
        seen[(driven, name)] = seen.get((driven, name), 0) + 1
    return {key for key, count in seen.items() if count > 1}


def _steps(rows: Sequence[GateTime]) -> dict[str, float]:
    """The step of the clock for each gate: one of the last digit that any of its times has."""
    digits: dict[str, int] = {}
    for row in rows:
        key = Gate(row.from_m_s, row.to_m_s).name
        exponent = Decimal(str(round(row.seconds, 6))).normalize().as_tuple().exponent
        behind = max(0, -int(exponent)) if isinstance(exponent, int) else 0
        digits[key] = max(digits.get(key, 0), behind)
    return {key: 10.0**-behind for key, behind in digits.items()}


def _plain(header: str) -> str:
    return re.sub(r"[\W_]+", "", header.casefold())


def _text(row: GateTime, names: set[str]) -> str:
    return next((text.strip() for header, text in row.beside.items() if _plain(header) in names), "")


def _numeric_columns(rows: Sequence[GateTime]) -> list[str]:
    """Further columns of numbers that are filled in every row: those can go in beside the setup."""
    known = _ORDER | _DAY | _PAIR | _DROPPED
    headers = dict.fromkeys(header for row in rows for header in row.beside)
    return [
        header
        for header in headers
        if _plain(header) not in known and all(_number(row.beside.get(header, "")) is not None for row in rows)
    ]


def _number(text: str) -> float | None:
    plain = text.strip().replace("\u2212", "-")
    plain = plain.replace(",", ".") if plain.count(",") == 1 and "." not in plain else plain
    match = re.fullmatch(r"[+-]?\d+(?:\.\d+)?", plain)
    clock = re.fullmatch(r"(\d{1,2}):(\d{2})(?::(\d{2}))?", plain)
    if clock is not None:  # a time of day, in hours
        return int(clock[1]) + int(clock[2]) / 60.0 + int(clock[3] or 0) / 3600.0
    return float(plain) if match else None
