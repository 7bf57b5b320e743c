"""What the page "Work out" shows: the work in hand worked out, as measured and as if edges were moved.

Two passes. The numbers alone come in a few milliseconds and follow a finger; their +/- takes a hundred, and until it
is there each number keeps the +/- of the engine as measured, from which a moved edge hardly changes it.
"""

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from scribeline.engine import EngineRecord, judged_document
from scribeline.errors import GeometryError, Problem, RecordError, WorkingError
from scribeline.geometry.evaluate import DRAWS
from scribeline.geometry.work_out import WorkedOut, shares_of, work_out
from scribeline.geometry.working import Assumption, Worked
from scribeline.plan.limits import Warning, warnings
from scribeline.sources import source
from scribeline.tasks.as_if import Moves, Travel, moves_of, record_as_if, travels, words_of
from scribeline.tasks.card import agreement_text, by_usual_plus_minus, number_of, put_in, where_from
from scribeline.tasks.measuring_stations import STATION_PLANS
from scribeline.tasks.questions import (
    CHIEF,
    Answer,
    Number,
    answers,
    capital,
    number_as_read,
    plain,
    question_of,
    rounded_to_two,
)
from scribeline.units import Units, show_in, with_inches


@dataclass(frozen=True)
class Bench:
    """One cylinder worked out, as far as its record allows.

    measured, now : as measured, and as if; the same where nothing is moved. None where the record is no engine yet
    moves : how far edges are moved; refused : why they cannot be, and then `now` is as measured
    problems : what is wrong with the record; without it, the rest is worked out
    units : what the builder reads lengths in; sentences from below say them in mm, and then in inches too
    """

    measured: WorkedOut | None
    now: WorkedOut | None
    moves: Moves
    refused: str = ""
    problems: tuple[Problem, ...] = ()
    contradiction: str = ""
    units: Units = "mm"

    @property
    def record(self) -> EngineRecord | None:
        """The record as measured, as far as it can be worked out."""
        return None if self.measured is None else self.measured.record

    @property
    def as_if(self) -> str:
        """The moved edges in words, or nothing."""
        return "; ".join(words_of(port, sides, self.units) for port, sides in self.moves.items())


def bench_of(
    document: Mapping[str, Any], *, moves: Moves | None = None, plus_minus: bool = True, units: Units = "mm"
) -> Bench:
    """Work out the work in hand.

    moves : edges moved by so much, in place of those that the work in hand keeps
    plus_minus : with the +/- of what is new, which takes 0.1 s; each number keeps that of before where left out
    """
    record, problems = _judged(json.dumps(document.get("record") or {}))
    if record is None:
        return Bench(None, None, {}, problems=problems, units=units)
    kept = _kept(record)
    if isinstance(kept, str):
        smaller = _without_contradiction(record)
        if smaller is None:
            return Bench(None, None, {}, problems=problems, contradiction=with_inches(kept, units), units=units)
        record, contradiction = smaller, with_inches(kept, units)
    else:
        contradiction = ""
    measured = _worked(record, DRAWS if plus_minus or _known_well(record) else 0)
    wanted = moves_of(document, record) if moves is None else moves
    refused, now = "", measured
    if wanted:
        try:
            moved = record_as_if(record, wanted)
            now = _worked(moved, DRAWS) if plus_minus or _known_well(moved) else _as_sure(_worked(moved, 0), measured)
        except (RecordError, WorkingError, GeometryError) as error:
            refused, wanted = with_inches(_in_one_line(error), units), {}
    return Bench(measured, now, wanted, refused, problems, contradiction, units)


def _in_one_line(error: RecordError | WorkingError | GeometryError) -> str:
    if isinstance(error, RecordError) and error.problems:
        first = error.problems[0]
        return f"{first.where}: {first.value}. Accepted: {first.accepted}. {capital(first.remedy)}."
    return " ".join(str(error).split())


@lru_cache(maxsize=32)
def _judged(record: str) -> tuple[EngineRecord | None, tuple[Problem, ...]]:
    problems, found = judged_document(json.loads(record))
    return found, tuple(problems)


@lru_cache(maxsize=16)
def _kept(record: EngineRecord) -> WorkedOut | str:
    """The numbers alone, or why there are none."""
    try:
        return work_out(record, draws=0)
    except (WorkingError, GeometryError) as error:
        return str(error)


_SURE: dict[EngineRecord, None] = {}  # records whose +/- is in the cache of `_worked`


@lru_cache(maxsize=8)
def _worked(record: EngineRecord, draws: int) -> WorkedOut:
    out = work_out(record, draws=draws)
    if draws:
        _SURE[record] = None
        while len(_SURE) > 4:
            _SURE.pop(next(iter(_SURE)))
    return out


def _known_well(record: EngineRecord) -> bool:
    return record in _SURE


def _without_contradiction(record: EngineRecord) -> EngineRecord | None:
    """The record without the one port, or all of them, that keeps it from being worked out."""
    for left in (*([one for one in record.ports if one is not port] for port in record.ports), []):
        smaller = record.model_copy(update={"ports": tuple(left)})
        if not isinstance(_kept(smaller), str):
            return smaller
    return None


def _as_sure(now: WorkedOut, measured: WorkedOut) -> WorkedOut:
    """Numbers that were worked out alone, each with the +/- that it has as measured."""
    values = {
        name: worked._replace(plus_minus=measured.values[name].plus_minus) if name in measured.values else worked
        for name, worked in now.values.items()
    }
    widths = {(one.first, one.second): one.plus_minus for one in measured.agreements}
    agreements = []
    for one in now.agreements:
        width = widths.get((one.first, one.second))
        agree = None if width is None else abs(one.difference) <= width
        agreements.append(replace(one, plus_minus=width, agree=agree))
    return replace(now, values=values, agreements=tuple(agreements))


# --- what is read ----------------------------------------------------------------------------------------------------


def chief_numbers(bench: Bench) -> tuple[Number, ...]:
    """What a builder looks at first, where the engine has it."""
    if bench.now is None or bench.measured is None:
        return ()
    found = []
    for name, words in CHIEF:
        worked = bench.now.values.get(name)
        if worked is not None and worked.value is not None:
            number = number_as_read(worked, bench.measured.values.get(name), units=bench.units)
            found.append(replace(number, label=words))
    return tuple(found)


def answers_of(bench: Bench) -> tuple[Answer, ...]:
    """Every number under its question."""
    if bench.now is None or bench.measured is None:
        return ()
    return answers(bench.now, bench.measured, bench.units)


def edges(bench: Bench) -> tuple[Travel, ...]:
    """Every edge of a port that can be moved."""
    if bench.now is None or bench.measured is None:
        return ()
    return tuple(travels(bench.now, bench.measured.record, bench.moves))


def what_moved(bench: Bench) -> tuple[str, ...]:
    """The chief numbers that moved, shortest first in words: "exhaust opens 84.2° (1.3° earlier)"."""
    return tuple(f"{one.label} {plain(one.text)} ({one.change})" for one in chief_numbers(bench) if one.change)


_RING = re.compile(r"(Ring end \d+).* over the (.+) port")
_SAYS = re.compile(r" (?:is|may|passes|exists)\b|: measured twice")  # where a warning's subject ends


@dataclass(frozen=True)
class Warned:
    """One warning as it is read.

    short : what it is about, for a link; kind : what its source is; was : whether it stood as measured too
    """

    question: str
    about: str
    short: str
    message: str
    kind: str
    remedy: str
    certain: bool
    was: bool


def warned(bench: Bench) -> tuple[Warned, ...]:
    """Warnings of the engine as it is shown, with those that came with the moved edges marked."""
    if bench.now is None or bench.measured is None:
        return ()
    before = {(one.about, one.certain) for one in warnings(bench.measured)} if bench.moves else set()
    found: list[Warning] = warnings(bench.now)
    return tuple(
        Warned(
            question_of(one.about),
            one.about,
            _in_short(one),
            with_inches(one.message, bench.units),
            source(one.source).kind,
            with_inches(f"{capital(one.remedy)}.", bench.units),
            one.certain,
            not bench.moves or (one.about, one.certain) in before,
        )
        for one in found
    )


def _in_short(one: Warning) -> str:
    if ring := _RING.match(one.message):
        return f"{ring[1]} over the {ring[2].partition(' port')[0]}"
    return _SAYS.split(one.message, maxsplit=1)[0].partition(",")[0]


def agreed(bench: Bench) -> tuple[tuple[str, bool], ...]:
    """What was measured twice, each as a sentence, and whether the two may stand."""
    if bench.now is None:
        return ()
    return tuple(
        (capital(agreement_text(bench.now, one, bench.units)) + ".", one.agree is not False)
        for one in bench.now.agreements
    )


def taken_as(bench: Bench) -> tuple[str, ...]:
    """What nobody measured and had to be taken as something."""
    if bench.now is None:
        return ()

    def shown(one: Assumption) -> str:
        return show_in(one.value, one.unit, one.plus_minus or None, bench.units)

    said = [
        f"{place_in_words(one.name)} = {shown(one)}: {one.reason}"
        for one in bench.now.assumed.values()
        if not one.chosen
    ]
    usual = by_usual_plus_minus(bench.now, bench.units).items()
    said += [f"{width}: {', '.join(map(place_in_words, places))}" for width, places in usual]
    return tuple(said)


# --- the working of one number ---------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Input:
    """One thing that went into a number. number : the name of the number it is, or empty; place : of the reading."""

    symbol: str
    text: str
    kind: str
    words: str
    number: str = ""
    place: str = ""


@dataclass(frozen=True)
class WorkingShown:
    """The working of one number; `absent` where this engine has none, and then nothing else is filled.

    in_mm : lengths in `put_in` are in mm although the builder reads inches: formulas are written for mm
    """

    name: str
    absent: str = ""
    formula: str = ""
    put_in: str = ""
    inputs: tuple[Input, ...] = ()
    source: str = ""
    makes: tuple[tuple[str, str, str], ...] = ()
    twice: tuple[str, ...] = ()
    as_if: str = ""
    in_mm: bool = False


def working_of(bench: Bench, name: str) -> WorkingShown | None:
    """Formula, the builder's numbers put in, source, how the inputs are measured, and what makes the +/- most."""
    out = bench.now
    if out is None or name not in out.values:
        return None
    worked = out.values[name]
    if worked.value is None:
        return WorkingShown(name, absent=f"{capital(worked.why_absent)}.")
    return WorkingShown(
        name,
        formula=worked.formula,
        put_in=put_in(out, worked),
        in_mm=bench.units == "inch" and _with_lengths(out, worked),
        inputs=tuple(_inputs(out, name, bench.units)),
        source=source(worked.source).text,
        makes=tuple(_makes(out, name, bench.units)),
        twice=tuple(
            f"{capital(agreement_text(out, one, bench.units))}."
            for one in out.agreements
            if name in (one.first, one.second) or worked.inputs.get("value") == one.first
        ),
        as_if=bench.as_if,
    )


def _with_lengths(out: WorkedOut, worked: Worked) -> bool:
    return "mm" in {worked.unit, *(number_of(out, one)[2] for one in worked.inputs.values())}


def _inputs(out: WorkedOut, name: str, units: Units) -> Iterator[Input]:
    for symbol, given in out.values[name].inputs.items():
        value, plus_minus, unit = number_of(out, given)
        kind, words = where_from(out, given)
        typed = out.readings[given].measured.typed if given in out.readings else None
        text = show_in(value, unit, plus_minus, units) + (f', typed as "{typed}"' if typed else "")
        number, place = (given, "") if given in out.values else ("", given if given in out.readings else "")
        yield Input(symbol, text, kind, with_inches(words, units), number, place)


@lru_cache(maxsize=4)
def _shares(record: EngineRecord) -> Mapping[str, Mapping[str, float]]:
    return shares_of(_worked(record, 0))


def _makes(out: WorkedOut, name: str, units: Units) -> Iterator[tuple[str, str, str]]:
    """The readings that blur this number most: (place, its words, by how much). Those that hardly do are left out."""
    made_by = _shares(out.record)[name]
    if not made_by or out.values[name].plus_minus is None:
        return
    least = 0.05 * max(abs(change) for change in made_by.values())
    for place, change in list(made_by.items())[:4]:
        if abs(change) >= least:
            where = place if place in out.readings else ""
            yield where, place_in_words(place), rounded_to_two(abs(change), out.values[name].unit, units)


def measured_at(place: str, record: EngineRecord) -> dict[str, str]:
    """Where on the page "Measure" a reading is taken: its station, and which port; empty where none takes it.

    place : as the card names it, such as ports.exhaust.roof_from_deck_mm
    """
    station = station_of(place)
    which = [str(i) for i, port in enumerate(record.ports) if place.startswith(f"ports.{port.name}.")]
    return {"at": station} | ({"port": which[0]} if which else {}) if station else {}


def station_of(place: str) -> str:
    """The station that takes a reading, or a whole part of the record; empty where none does."""
    for plan in STATION_PLANS:
        for pattern in (f"{one.removesuffix('.*')}." for _, places in plan.places for one in places):
            if f"{place}.".startswith(pattern) or pattern.startswith(f"{place}."):
                return plan.key
    return ""


def place_in_words(place: str) -> str:
    """A dotted place without its dots and unit, for reading.

    >>> place_in_words("ports.exhaust.roof_from_deck_mm")
    'exhaust: roof from deck'
    """
    parts = place.removeprefix("ports.").split(".")
    last = parts[-1].replace("_", " ")
    for unit in (" kg m3", " mm2", " m2", " mm", " deg atdc", " deg", " cc", " g", " kg", " k", " rpm", " ratio"):
        last = last.removesuffix(unit)
    return ": ".join((" ".join(part.replace("_", " ") for part in parts[:-1]), last)) if parts[:-1] else last


def places_in_words(sentence: str) -> str:
    """A sentence that was written for whoever sees the record's file, for whoever does not.

    >>> places_in_words("drivetrain.primary_ratio = 1: as direct; [[exhaust.sections]], [squish]")
    'drivetrain: primary = 1: as direct; exhaust: sections, squish'
    """
    return _A_PLACE.sub(lambda found: place_in_words(found[0].strip("[]")), sentence)


_PARTS = "|".join(EngineRecord.model_fields)
_A_PLACE = re.compile(rf"\b(?:{_PARTS})(?:\.[a-z][a-z0-9_]*)+|\[+(?:{_PARTS})(?:\.[a-z0-9_]+)*\]+")
